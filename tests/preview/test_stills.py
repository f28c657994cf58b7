"""The pictures, where this machine can draw; what happens where it can't, everywhere."""

from __future__ import annotations

import io
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image

from routecut import preview
from routecut.documents import pack_html
from routecut.errors import OutputError
from routecut.model.job import CableClass, Port
from routecut.preview import children, views
from routecut.preview.lettering import LEGEND_HEIGHT, LEGEND_WIDTH
from routecut.preview.scene import Actors, _add_hole
from routecut.scene.palette import CLASS_COLOUR, DRILL
from tests.documents import sample

Pixels = npt.NDArray[np.int64]
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def pictures() -> dict[str, bytes]:
    if not preview.can_draw():
        pytest.skip("this machine can't draw: no OpenGL libraries (libegl1, libgl1)")
    return preview.stills(sample.plan(), sample.body())


def pixels(png: bytes) -> Pixels:
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(np.int64)


FLAT = {"above.png", "left.png"}
"""Their legend lies below the picture, not beside it."""


def scene(name: str, png: bytes) -> Pixels:
    """Without the legend."""
    found = pixels(png)
    return found[:-LEGEND_HEIGHT] if name in FLAT else found[:, :-LEGEND_WIDTH]


def near(found: Pixels, colour: tuple[int, int, int], far: int = 40) -> npt.NDArray[np.bool_]:
    close: npt.NDArray[np.bool_] = np.abs(found - np.array(colour)).max(axis=2) < far
    return close


WHOLE = ["left-front.png", "right-rear.png", "above.png", "left.png"]


def test_views_of_the_size_said(pictures: dict[str, bytes]) -> None:
    assert list(pictures) == [*WHOLE, "close-up.png"]
    assert all(pixels(p).shape == (1000, 1600, 3) for p in pictures.values())


def test_the_views_differ_and_none_is_the_picture_before(pictures: dict[str, bytes]) -> None:
    found = [pixels(p) for p in pictures.values()]
    for a in range(len(found)):
        for b in range(a):
            assert (np.abs(found[a] - found[b]).max(axis=2) > 30).mean() > 0.01


@pytest.mark.parametrize("cable_class", CableClass)
def test_every_class_is_seen_in_every_view(pictures: dict[str, bytes], cable_class: CableClass) -> None:
    for name in WHOLE:
        assert near(scene(name, pictures[name]), CLASS_COLOUR[cable_class], 12).sum() > 60, name


def test_the_body_is_there_and_seen_through(pictures: dict[str, bytes]) -> None:
    for name in WHOLE:
        found = scene(name, pictures[name])
        tinted = (found.max(axis=2) < 250) & (found.min(axis=2) > 150)
        assert tinted.mean() > 0.1
        assert (found.min(axis=2) > 253).mean() > 0.2  # and paper round it


def test_holes_to_drill_are_marked(pictures: dict[str, bytes]) -> None:
    for name in WHOLE:
        assert near(scene(name, pictures[name]), DRILL, 25).sum() > 60


def test_a_vehicle_seen_from_the_left_has_its_front_on_the_left(pictures: dict[str, bytes]) -> None:
    """Power leaves the battery in front; the audio cable of the rear door is at the back."""
    found = scene("left.png", pictures["left.png"])
    power = np.nonzero(near(found, CLASS_COLOUR[CableClass.POWER], 12))[1].min()
    audio = np.nonzero(near(found, CLASS_COLOUR[CableClass.AUDIO], 12))[1].max()
    assert power < 300
    assert audio > 900


def test_a_route_left_out_is_not_drawn(pictures: dict[str, bytes]) -> None:
    plan = sample.plan()
    fewer = replace(plan, cables=tuple(c for c in plan.cables if c.cable.cable_class is not CableClass.AUDIO))
    found = scene("left.png", preview.stills(fewer, sample.body())["left.png"])
    purple = near(found, CLASS_COLOUR[CableClass.AUDIO], 12).sum()
    assert (
        purple < near(scene("left.png", pictures["left.png"]), CLASS_COLOUR[CableClass.AUDIO], 12).sum() / 20
    )


def test_hostile_and_foreign_names_are_drawn_without_complaint(pictures: dict[str, bytes]) -> None:
    odd = sample.renamed(sample.plan(), "\x00\n\u202e Ölpumpe 中 " + "x" * 200)
    assert len(preview.stills(odd, sample.body())) == 5


def test_the_pack_names_every_view(pictures: dict[str, bytes]) -> None:
    html = pack_html(sample.plan(), pictures=pictures)
    assert html.count("<figure>") == 5
    assert ".png<" not in html  # captions in words, not file names


def test_a_child_that_crashes_is_a_no(monkeypatch: pytest.MonkeyPatch) -> None:
    """As where OpenGL is missing: the process ends by a signal, nothing is raised."""

    def crash(module: str, given: bytes, seconds: float) -> subprocess.CompletedProcess[bytes]:
        command = [sys.executable, "-c", "import os; os.abort()"]
        return subprocess.run(command, input=given, capture_output=True, check=False)

    monkeypatch.setattr(children, "_run", crash)
    assert preview.can_draw.__wrapped__() is False
    with pytest.raises(OutputError, match="libegl1"):
        preview.stills(sample.plan(), sample.body())


def test_what_to_install_pulls_in_nothing_more() -> None:
    assert "apt-get install --no-install-recommends libegl1 libgl1" in preview.INSTALL_HINT


def test_the_same_plan_gives_the_same_pictures(pictures: dict[str, bytes]) -> None:
    assert preview.stills(sample.plan(), sample.body()) == pictures


def test_a_child_that_hangs_is_a_no(monkeypatch: pytest.MonkeyPatch) -> None:
    def hang(module: str, given: bytes, seconds: float) -> subprocess.CompletedProcess[bytes]:
        raise subprocess.TimeoutExpired("drawing", seconds)

    monkeypatch.setattr(children, "_run", hang)
    assert preview.can_draw.__wrapped__() is False
    with pytest.raises(OutputError, match="timed out"):
        preview.stills(sample.plan(), sample.body())


def test_importing_the_preview_loads_no_renderer() -> None:
    program = (
        "import sys, routecut.preview; print(any(m.startswith(('pyvista', 'vtk')) for m in sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout.strip() == "False"


def test_the_vehicle_fills_the_picture_and_stays_inside(pictures: dict[str, bytes]) -> None:
    """Whatever lies off the middle: the camera looks at what there is, not at the middle of the mesh."""
    import pyvista

    points = np.random.default_rng(7).uniform([40.0, 2.0, -2.0], [46.0, 4.0, 0.5], (400, 3))
    plotter = pyvista.Plotter(off_screen=True)
    for view in views.VIEWS:
        width, height = view.area
        plotter.window_size = [width, height]
        views._aim(plotter, view, points)
        project = views._projection(plotter, width, height)
        seen = np.array([project(p.tolist()) for p in points])
        low, high = seen.min(axis=0), seen.max(axis=0)
        assert (low > 0).all()
        assert (high < [width, height]).all()
        assert ((high - low) / [width, height]).max() > 0.85
        assert np.allclose((low + high) / 2.0, [width / 2.0, height / 2.0], atol=1.0)
    plotter.close()


def test_the_close_view_shows_the_place_where_most_ends_and_holes_are() -> None:
    """Four devices moved into a corner of their own, and all cables led there."""
    plan = sample.plan()
    corner = np.array([9.0, 9.0, 9.0])
    crowd = {"battery", "fuse box", "hailer", "voice radio"}

    def moved(port: Port) -> Port:
        at = corner + 0.01 * np.array(port.position.at_m)
        return replace(port, position=replace(port.position, at_m=tuple(at.tolist())))

    devices = tuple(
        replace(d, ports=tuple(map(moved, d.ports))) if d.name in crowd else d for d in plan.job.devices
    )
    box = views.crowded_m(replace(plan, job=replace(plan.job, devices=devices), holes=()))
    assert box.shape == (8, 3)
    low, high = box.min(axis=0), box.max(axis=0)
    assert (low < corner).all()
    assert (corner + 0.05 < high).all()
    assert (high - low).max() < 6.0
    assert np.isfinite(views.crowded_m(replace(plan, cables=(), holes=()))).all()


def test_pictures_are_small(pictures: dict[str, bytes]) -> None:
    assert sum(map(len, pictures.values())) < 600_000


def test_a_hole_to_drill_has_a_cross_in_its_ring() -> None:
    hole = next(h for h in sample.plan().holes if h.drill)
    for drill in (True, False):
        meshes: list[Any] = []
        _add_hole(
            SimpleNamespace(add_mesh=lambda m, k=meshes, **_: k.append(m)),
            Actors(),
            replace(hole, drill=drill),
            6.0,
        )
        ring, *strokes = meshes
        assert len(strokes) == (2 if drill else 0)
        for stroke in strokes:  # through the middle and out of the ring on both sides
            assert np.allclose(stroke.center, hole.at_m)
            assert max(np.ptp(stroke.points, axis=0)) > max(np.ptp(ring.points, axis=0))
