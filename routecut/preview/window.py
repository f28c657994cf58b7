"""A window to turn the plan round in, where there is a screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from routecut.model.body import Body
from routecut.model.drilled import to_drill
from routecut.model.job import CableClass, Vec3
from routecut.model.plan import Plan
from routecut.model.rim import Rim
from routecut.plain import plain
from routecut.preview.scene import BODY_OPACITY, Actors, add_scene
from routecut.scene import Picked, picked
from routecut.scene.naming import Naming, called, letter
from routecut.scene.palette import CLASS_COLOUR, DRILL, INK, Colour, cable_colour, fraction
from routecut.scene.tagging import TAG_KINDS, Tag, Tagger

_BOX_PX: Final = 22
_LINE_PX: Final = 32
_LEFT_PX: Final = 12
_KINDS: Final = {str(number): kind for number, kind in enumerate(TAG_KINDS, start=1)}
_FIRST: Final = 10.0  # before the window's own keys, of which 3 is another kind of picture and e the end


@dataclass(slots=True)
class Desk:
    """What can be changed in the window, and what was picked in it."""

    actors: Actors
    tagger: Tagger
    naming: Naming
    marks: list[tuple[tuple[Vec3, str], Any]] = field(default_factory=list)
    labels: dict[CableClass | None, list[Any]] = field(default_factory=dict)
    picks: list[Picked] = field(default_factory=list)

    def show_class(self, cable_class: CableClass, shown: bool) -> None:
        """Show or hide the cables of a class with their names."""
        for actor in (*self.actors.cables.get(cable_class, ()), *self.labels.get(cable_class, ())):
            actor.SetVisibility(shown)

    def show_names(self, shown: bool) -> None:
        """Show or hide the names of holes and devices."""
        for actor in self.labels.get(None, ()):
            actor.SetVisibility(shown)

    def key(self, key: str, char: str) -> str | None:
        """What to say after a key; None for one that is none of ours."""
        if self.naming.key(key, char):
            return self.naming.prompt
        if char in _KINDS:
            self.tagger.choose(_KINDS[char].key)
            return f"{_KINDS[char].words}: {self.tagger.said}"
        return None

    def tap(self, at: Picked) -> str:
        """Take a point of the body; what to say of it."""
        self.naming.leave()
        self.picks.append(at)
        tag = self.tagger.tap(at)
        return f"{self.tagger.said} ({plain(at.part)})" + ("; Enter: name it" if tag else "")

    def cover(self, opacity: float) -> None:
        """Body from gone (0) to solid (1)."""
        for actor in self.actors.body:
            actor.GetProperty().SetOpacity(opacity)
            actor.SetVisibility(opacity > 0.0)


def show(plan: Plan, body: Body, rims: Sequence[Rim] = ()) -> tuple[Tag, ...]:
    """Open a window with the plan and wait until it is closed.

    Parameters
    ----------
    plan : Plan
    body : Body
    rims : sequence of Rim
        Round holes of the mesh (`routecut.survey.find_rims`).

    Returns
    -------
    tuple of Tag
        What was picked on the body, in order.

    Notes
    -----
    Needs a screen and OpenGL: ask `can_draw` first, which finds out in a child process.
    """
    import pyvista

    plotter = pyvista.Plotter(title=plain(plan.job.title), window_size=[1400, 900])
    desk = furnish(plotter, plan, body, rims)
    plotter.show()
    return tuple(desk.tagger.tags)


def furnish(plotter: Any, plan: Plan, body: Body, rims: Sequence[Rim] = ()) -> Desk:
    """Put the plan, its names and the controls on a plotter."""
    plotter.set_background("white")
    tagger = Tagger(plan.job, rims)
    desk = Desk(actors=add_scene(plotter, plan, body), tagger=tagger, naming=Naming(tagger))
    _name(plotter, plan, desk)
    used = [c for c in CableClass if any(p.route and p.cable.cable_class is c for p in plan.cables)]
    _switch(plotter, 0, "names", INK, desk.show_names)
    for line, cable_class in enumerate(used, start=1):

        def shown(on: bool, of: CableClass = cable_class) -> None:
            desk.show_class(of, on)

        _switch(plotter, line, str(cable_class), CLASS_COLOUR[cable_class], shown)
    plotter.add_slider_widget(
        desk.cover, [0.0, 1.0], value=BODY_OPACITY, title="body", pointa=(0.78, 0.08), pointb=(0.97, 0.08),
        title_height=0.022, slider_width=0.02, tube_width=0.004,
    )  # fmt: skip

    def say(text: str) -> None:
        plotter.add_text(
            text, position="lower_left", font_size=11, name="picked", color="black", render=False
        )
        _mark(plotter, desk)
        plotter.render()

    keys = "   ".join(f"{number} {kind.words}" for number, kind in _KINDS.items())
    plotter.add_text(
        f"a click picks; keys: {keys}   Enter names what was picked   Delete takes it back",
        position="upper_right", font_size=8, name="kinds", color="black",
    )  # fmt: skip
    _listen(plotter, desk, say)

    def clicked(point: Any, _picker: Any) -> None:
        eye = tuple(plotter.camera.position)
        at = picked(body, tuple(point), eye)
        if at is not None:
            say(desk.tap(desk.tagger.pointed(eye, at)))

    plotter.enable_surface_point_picking(
        callback=clicked,
        left_clicking=True,
        show_message=False,
        show_point=False,
        use_picker=True,
        tolerance=0.0,
    )
    plotter.add_axes(xlabel="rear", ylabel="right", zlabel="up")
    plotter.camera_position = [(-6.0, -7.0, 5.0), tuple(body.vertices_m.mean(axis=0)), (0.0, 0.0, 1.0)]
    plotter.reset_camera()
    plotter.camera.zoom(1.3)  # the vehicle, not the room it leaves to the sides
    return desk


def _listen(plotter: Any, desk: Desk, say: Any) -> None:
    """Keys go to the desk before the window has its way with them; what the desk takes goes no further."""
    keyboard, ours = plotter.iren.interactor, [False]

    def pressed(*_: Any) -> None:
        key = keyboard.GetKeySym() or ""
        told = desk.key(key, letter(key, keyboard.GetKeyCode() or ""))
        ours[0] = told is not None
        if told is not None:
            keyboard.GetCommand(first).SetAbortFlag(1)
            say(told)

    def typed(*_: Any) -> None:
        if ours[0]:
            keyboard.GetCommand(second).SetAbortFlag(1)

    first = keyboard.AddObserver("KeyPressEvent", pressed, _FIRST)
    second = keyboard.AddObserver("CharEvent", typed, _FIRST)


def _mark(plotter: Any, desk: Desk) -> None:
    """Names of the entries where they were picked, and a cross for each tap that waits for more."""
    named = [(tag.marked_m, called(tag)) for tag in desk.tagger.tags]
    named += [(pick.at_m, "x") for pick in desk.tagger.pending]
    if named != [mark for mark, _ in desk.marks]:
        for _, actor in desk.marks:
            plotter.remove_actor(actor, render=False)
        desk.marks = [(one, _labels(plotter, [one], INK)) for one in named]


def _name(plotter: Any, plan: Plan, desk: Desk) -> None:
    for planned in plan.cables:
        if planned.route is not None:
            curve, of = planned.route.points_m, planned.cable.cable_class
            label = _label(
                plotter, curve[len(curve) // 2], planned.cable.name, cable_colour(of, planned.cable.type)
            )
            desk.labels.setdefault(of, []).append(label)
    drilled = [(hole.at_m, f"DRILL {hole.pass_through.name}") for hole in plan.holes if to_drill(plan, hole)]
    others = [(d.position.at_m, d.name) for d in plan.job.devices]
    others += [(h.at_m, h.pass_through.name) for h in plan.holes if h.cables and not to_drill(plan, h)]
    # names of one call keep off each other: what finds no room comes up closer by
    desk.labels[None] = [
        _labels(plotter, named, colour) for named, colour in ((drilled, DRILL), (others, INK)) if named
    ]


def _switch(plotter: Any, line: int, words: str, colour: Colour, act: Any) -> None:
    bottom = plotter.window_size[1] - (line + 2) * _LINE_PX
    plotter.add_checkbox_button_widget(
        act, value=True, position=(_LEFT_PX, bottom), size=_BOX_PX, border_size=2, color_on=fraction(colour)
    )
    at = (_LEFT_PX + _BOX_PX + 8, bottom)
    plotter.add_text(words, position=at, font_size=10, color="black", name=f"switch {words}")


def _label(plotter: Any, at_m: Any, text: str, colour: Colour) -> Any:
    return _labels(plotter, [(at_m, text)], colour)


def _labels(plotter: Any, named: Sequence[tuple[Any, str]], colour: Colour) -> Any:
    return plotter.add_point_labels(
        np.array([at_m for at_m, _ in named], dtype=np.float64).reshape(-1, 3),
        [plain(text) for _, text in named],
        text_color=fraction(colour),
        font_size=14,
        shape_color="white",
        shape_opacity=0.8,
        show_points=False,
        always_visible=True,
        pickable=False,
        render=False,
    )
