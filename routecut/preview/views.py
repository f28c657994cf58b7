"""The views and how they are drawn. pyvista is imported inside."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from PIL import Image

from routecut.model.body import Body, Floats
from routecut.model.plan import Plan
from routecut.preview.labels import Point
from routecut.preview.lettering import LEGEND_HEIGHT, LEGEND_WIDTH, Project, letter
from routecut.preview.scene import Actors, add_scene

SIZE: Final = (1600, 1000)
_FINER: Final = 2  # drawn larger and reduced: smooth edges on any driver
_MARGIN: Final = 1.12
_LIGHT: Final = 1.2
_CLOSE: Final = 0.14  # of the diagonal of the whole: how far round the busiest place is shown
_COLOURS: Final = 256
# one light at the eye: each light more is worked out for every point of every sheet, on the processor


@dataclass(frozen=True, slots=True)
class View:
    """A view: its file, its title, where the eye is from the middle, what is up.

    A parallel view is longer than high, so its legend lies below it, else beside it. A close
    one shows the busiest place only.
    """

    file: str
    title: str
    eye: tuple[float, float, float]
    up: tuple[float, float, float]
    parallel: bool
    close: bool = False

    @property
    def area(self) -> tuple[int, int]:
        """Width and height of the picture without its legend. [px]"""
        return (SIZE[0], SIZE[1] - LEGEND_HEIGHT) if self.parallel else (SIZE[0] - LEGEND_WIDTH, SIZE[1])


VIEWS: Final = (
    View("left-front.png", "From the left front", (-1.0, -1.15, 0.75), (0, 0, 1), parallel=False),
    View("right-rear.png", "From the right rear", (1.0, 1.15, 0.75), (0, 0, 1), parallel=False),
    View("above.png", "From above, front on the left", (0, 0, 1), (0, 1, 0), parallel=True),
    View("left.png", "From the left", (0, -1, 0), (0, 0, 1), parallel=True),
    View("close-up.png", "Where it is crowded", (-1.0, -1.15, 1.1), (0, 0, 1), parallel=False, close=True),
)


def draw_views(plan: Plan, body: Body) -> dict[str, bytes]:
    """All views as PNG, by file name; in this process.

    Raises
    ------
    Exception
        Whatever the renderer raises; without OpenGL libraries the process may end.
    """
    import pyvista

    plotter = pyvista.Plotter(off_screen=True, lighting="none")
    plotter.render_window.SetMultiSamples(0)  # reducing smooths already: no need to do it twice
    plotter.add_light(pyvista.Light(light_type="headlight", intensity=_LIGHT))
    plotter.set_background("white")
    actors = add_scene(plotter, plan, body)
    drawn, points, crowded = {}, _points(plan, body), crowded_m(plan)
    for view in VIEWS:
        width, height = view.area
        plotter.window_size = [width * _FINER, height * _FINER]
        _aim(plotter, view, crowded if view.close else points)
        picture = _picture(plotter, actors).reduce(_FINER)
        project = _projection(plotter, width, height)
        sheet = letter(picture, plan, project, keep_outs=actors.keep_outs, title=view.title, size=SIZE)
        written = io.BytesIO()
        # drawn with few tones: with a palette it takes a quarter of the bytes, and no eye tells
        few = sheet.quantize(_COLOURS, method=Image.Quantize.MAXCOVERAGE, kmeans=1, dither=Image.Dither.NONE)
        few.save(written, format="PNG", optimize=True)
        drawn[view.file] = written.getvalue()
    plotter.close()
    return drawn


def _points(plan: Plan, body: Body) -> Floats:
    """What has to be in the picture, (n, 3)."""
    routes = [c.route.points_m for c in plan.cables if c.route is not None]
    devices = np.array([d.position.at_m for d in plan.job.devices], dtype=np.float64).reshape(-1, 3)
    return np.concatenate([body.vertices_m, body.pictured.reshape(-1, 3), *routes, devices])


def crowded_m(plan: Plan) -> Floats:
    """Corners of a box round the busiest place, (8, 3). [m]

    Busy is where most holes and ends of cables lie near each other; without any, the middle of nothing.
    """
    ports = [
        plan.job.port(p).position.at_m for c in plan.cables for p in (c.cable.from_port, c.cable.to_port)
    ]
    spots = np.array([*ports, *(h.at_m for h in plan.holes if h.cables)], dtype=np.float64).reshape(-1, 3)
    if not len(spots):
        return np.array([[x, y, z] for x in (0.0, 1.0) for y in (0.0, 1.0) for z in (0.0, 1.0)])
    reach = (float(np.linalg.norm(np.ptp(spots, axis=0))) or 1.0) * _CLOSE
    apart = np.linalg.norm(spots[:, None] - spots[None, :], axis=2)
    near = spots[apart[int((apart < reach).sum(axis=1).argmax())] < reach]
    low, high = near.min(axis=0) - reach / 4.0, near.max(axis=0) + reach / 4.0
    return np.array(
        [[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )


def _aim(plotter: Any, view: View, points: Floats) -> None:
    """Turn the camera so that all points fill the picture."""
    low, high = points.min(axis=0), points.max(axis=0)
    middle, size = (low + high) / 2.0, float(np.linalg.norm(high - low)) or 1.0
    eye = np.array(view.eye) / np.linalg.norm(view.eye)
    camera = plotter.camera
    camera.focal_point = tuple(middle)
    camera.position = tuple(middle + eye * size * 2.4)
    camera.up = view.up
    camera.parallel_projection = view.parallel
    right = np.cross(-eye, view.up)
    right /= np.linalg.norm(right)
    above = np.cross(right, -eye)
    width, height = plotter.window_size
    off = points - middle
    # tangents of the angles off the axis; lengths off it where nothing shrinks with distance
    away = np.ones(len(off)) if view.parallel else size * 2.4 - off @ eye
    (centre_x, half_x), (centre_y, half_y) = _extent(off @ right / away), _extent(off @ above / away)
    half = max(half_y, half_x * height / width) * _MARGIN
    if view.parallel:
        camera.parallel_scale = half
    else:
        camera.view_angle = 2.0 * math.degrees(math.atan(half))
    camera.SetWindowCenter(centre_x / (half * width / height), centre_y / half)
    plotter.renderer.ResetCameraClippingRange()


def _extent(values: Floats) -> tuple[float, float]:
    """The middle of the values and how far they reach from it."""
    low, high = float(values.min()), float(values.max())
    return (low + high) / 2.0, (high - low) / 2.0


def _picture(plotter: Any, actors: Actors) -> Image.Image:
    """The body, and over it what must never be hidden by it."""
    _show(actors, under=True)
    plotter.render()  # a screenshot right after a camera change returns the picture before
    below = Image.fromarray(plotter.screenshot(return_img=True)).convert("RGBA")
    _show(actors, under=False)
    plotter.render()
    above = Image.fromarray(plotter.screenshot(return_img=True, transparent_background=True))
    return Image.alpha_composite(below, above.convert("RGBA")).convert("RGB")


def _show(actors: Actors, *, under: bool) -> None:
    for actor in actors.under:
        actor.SetVisibility(under)
    for actor in actors.over:
        actor.SetVisibility(not under)


def _projection(plotter: Any, width: int, height: int) -> Project:
    """From positions to pixels of the reduced picture."""
    found = plotter.camera.GetCompositeProjectionTransformMatrix(width / height, -1.0, 1.0)
    matrix = np.array([[found.GetElement(i, j) for j in range(4)] for i in range(4)])

    def project(at_m: Sequence[float]) -> Point:
        x, y, _, w = matrix @ np.array([*at_m, 1.0])
        return (float((x / w + 1.0) * width / 2.0), float((1.0 - y / w) * height / 2.0))

    return project
