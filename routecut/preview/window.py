"""A window to turn the plan round in, where there is a screen."""

from __future__ import annotations

import numpy as np

from routecut.model.body import Body
from routecut.model.plan import Plan
from routecut.plain import plain
from routecut.scene.palette import CLASS_COLOUR, DRILL, INK, fraction


def show(plan: Plan, body: Body) -> None:
    """Open a window with the plan and wait until it is closed.

    Parameters
    ----------
    plan : Plan
    body : Body

    Notes
    -----
    Needs a screen and OpenGL: ask `can_draw` first, which finds out in a child process.
    """
    import pyvista

    from routecut.preview.scene import add_scene

    plotter = pyvista.Plotter(title=plain(plan.job.title), window_size=[1400, 900])
    plotter.set_background("white")
    add_scene(plotter, plan, body)
    for planned in plan.cables:
        if planned.route is not None:
            curve = planned.route.points_m
            colour = fraction(CLASS_COLOUR[planned.cable.cable_class])
            _label(plotter, curve[len(curve) // 2], planned.cable.name, colour)
    for hole in plan.holes:
        if hole.cables or hole.drill:
            name = f"DRILL {hole.pass_through.name}" if hole.drill else hole.pass_through.name
            _label(plotter, hole.at_m, name, fraction(DRILL if hole.drill else INK))
    for device in plan.job.devices:
        _label(plotter, device.position.at_m, device.name, fraction(INK))
    plotter.add_axes(xlabel="rear", ylabel="right", zlabel="up")
    plotter.camera_position = [(-6.0, -7.0, 5.0), tuple(body.vertices_m.mean(axis=0)), (0.0, 0.0, 1.0)]
    plotter.reset_camera()
    plotter.show()


def _label(plotter: object, at_m: object, text: str, colour: tuple[float, float, float]) -> None:
    plotter.add_point_labels(  # type: ignore[attr-defined]
        np.asarray(at_m, dtype=np.float64).reshape(1, 3),
        [plain(text)],
        text_color=colour,
        font_size=14,
        shape_color="white",
        shape_opacity=0.8,
        show_points=False,
        always_visible=True,
    )
