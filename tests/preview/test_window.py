"""The window without a screen: its switches, its slider, and a click on the body."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from routecut import preview
from routecut.model.job import CableClass
from routecut.model.rim import Rim
from routecut.preview.window import Desk, furnish
from routecut.scene import Picked, picked
from routecut.scene.palette import CLASS_COLOUR
from routecut.scene.tagging import TAG_KINDS, Tagger
from tests.documents import sample


@pytest.fixture(scope="module")
def window() -> Iterator[tuple[Any, Desk]]:
    if not preview.can_draw():
        pytest.skip("this machine can't draw: no OpenGL libraries (libegl1, libgl1)")
    import pyvista

    plotter = pyvista.Plotter(off_screen=True, window_size=[1000, 700])
    desk = furnish(plotter, sample.plan(), sample.body())
    plotter.show(auto_close=False)
    yield plotter, desk
    plotter.close()


RIM: Any = {"part": "roof", "edges": 24, "sigma_m": 0.0, "off_m": 0.0}


def pressed(plotter: Any, key: str, code: str = chr(0)) -> None:
    """A key as a window system hands it on: its press, and then its character."""
    keyboard = plotter.iren.interactor
    keyboard.SetKeyEventInformation(0, 0, code, 0, key)
    for event in ("KeyPressEvent", "CharEvent", "KeyReleaseEvent"):
        keyboard.InvokeEvent(event)


def typed(plotter: Any, text: str) -> None:
    for character in text:
        pressed(plotter, character, character)


def click(plotter: Any, x: int, y: int) -> None:
    plotter.iren._mouse_left_button_press(x, y)
    plotter.iren._mouse_left_button_release(x, y)


def reds(plotter: Any) -> int:
    plotter.render()
    found = np.asarray(plotter.screenshot(return_img=True)).astype(int)[:, 200:]
    return int((np.abs(found - np.array(CLASS_COLOUR[CableClass.POWER])).max(axis=2) < 30).sum())


def test_a_class_is_hidden_with_its_names_and_shown_again(window: tuple[Any, Desk]) -> None:
    plotter, desk = window
    before = reds(plotter)
    assert before > 150  # the red ones; two of the six are black
    desk.show_class(CableClass.POWER, False)
    assert reds(plotter) < before / 20
    assert not any(label.GetVisibility() for label in desk.labels[CableClass.POWER])
    assert all(label.GetVisibility() for label in desk.labels[CableClass.AUDIO])
    desk.show_class(CableClass.POWER, True)
    assert reds(plotter) == before


def test_a_switch_hides_what_it_says(window: tuple[Any, Desk]) -> None:
    plotter, desk = window
    bottom = 700 - 2 * 32 + 11  # the first one: names
    for shown in (False, True):
        plotter.iren._mouse_left_button_press(12 + 11, bottom)
        plotter.iren._mouse_left_button_release(12 + 11, bottom)
        assert [bool(label.GetVisibility()) for label in desk.labels[None]] == [shown] * len(
            desk.labels[None]
        )


def test_the_slider_takes_the_body_away(window: tuple[Any, Desk]) -> None:
    _, desk = window
    desk.cover(0.0)
    assert not any(actor.GetVisibility() for actor in desk.actors.body)
    desk.cover(0.7)
    assert all(
        actor.GetVisibility() and actor.GetProperty().GetOpacity() == 0.7 for actor in desk.actors.body
    )


def test_a_click_on_the_body_picks_a_point_of_the_full_mesh(window: tuple[Any, Desk]) -> None:
    plotter, desk = window
    desk.cover(1.0)
    plotter.render()
    for x, y in ((500, 350), (560, 330), (440, 370)):
        plotter.iren._mouse_left_button_press(x, y)
        plotter.iren._mouse_left_button_release(x, y)
    assert desk.picks
    body = sample.body()
    for pick in desk.picks:
        again = picked(body, pick.at_m, tuple(plotter.camera.position))
        assert again is not None
        assert np.allclose(again.at_m, pick.at_m, atol=1e-9)
        assert np.dot(pick.normal, np.array(plotter.camera.position) - pick.at_m) > 0.0
        assert np.linalg.norm(pick.normal) == pytest.approx(1.0)


def test_keys_say_what_is_picked_and_enough_taps_make_an_entry(window: tuple[Any, Desk]) -> None:
    plotter, desk = window
    desk.cover(1.0)
    plotter.render()
    before = len(desk.tagger.tags)
    typed(plotter, str([k.key for k in TAG_KINDS].index("hinge") + 1))
    assert desk.tagger.kind == "hinge"
    for x, y in ((500, 350), (440, 370)):
        plotter.iren._mouse_left_button_press(x, y)
        plotter.iren._mouse_left_button_release(x, y)
    (tag,) = desk.tagger.tags[before:]
    assert tag.kind == "hinge"
    assert tag.values["first"] == list(desk.picks[-2].at_m)
    assert tag.values["second"] == list(desk.picks[-1].at_m)


def test_what_was_picked_is_named_in_the_window_and_its_mark_follows(
    window: tuple[Any, Desk], monkeypatch: pytest.MonkeyPatch
) -> None:
    plotter, desk = window
    desk.cover(1.0)
    plotter.render()
    monkeypatch.setattr(plotter, "render", lambda: None)  # drawn once for every key, which is slow here
    reached: list[str] = []
    plotter.add_key_event("q", lambda: reached.append("q"))
    typed(plotter, "5")  # keep-out
    typed(plotter, "1")
    click(plotter, 500, 350)
    click(plotter, 440, 370)
    first, last = desk.tagger.tags[-2:]
    pressed(plotter, "Return")
    typed(plotter, "step 3, ")
    pressed(plotter, "udiaeresis", chr(0xC3))
    typed(plotter, "ber eqx")
    pressed(plotter, "BackSpace")
    pressed(plotter, "Return")
    assert last.values["name"] == "step 3, \u00fcber eq"
    assert desk.tagger.kind == "landmark"  # the 3 went into the name
    assert not desk.naming.on
    assert reached == []  # q closes the window where it is no letter of a name
    typed(plotter, "q")
    assert reached == ["q"]
    assert not plotter.render_window.GetStereoRender()
    assert len(desk.marks) == len(desk.tagger.tags) + len(desk.tagger.pending)
    pressed(plotter, "Return")
    pressed(plotter, "Prior")
    typed(plotter, "sill")
    click(plotter, 500, 350)  # what was typed last is kept
    assert first.values["name"] == "sill"
    assert {"sill", "step 3, \u00fcber eq"} <= {text for (_, text), _ in desk.marks}
    count = len(desk.tagger.tags)
    pressed(plotter, "Delete")
    assert desk.tagger.tags[-1] is last
    assert len(desk.marks) == len(desk.tagger.tags) == count - 1


def test_a_click_in_a_hole_is_meant_for_its_rim() -> None:
    """From above into a hole of 40 mm: the floor below is met, the rim is meant; past the rim the floor is."""
    tagger = Tagger(
        sample.plan().job, (Rim(at_m=(0.0, 0.0, 1.0), axis=(0.0, 0.0, 1.0), diameter_m=0.04, **RIM),)
    )
    below = Picked(at_m=(0.017, 0.0, 0.0), part="floor", normal=(0.0, 0.0, 1.0))
    tagger.choose("rim")
    meant = tagger.pointed((0.017, 0.0, 2.0), below)
    assert meant.at_m == pytest.approx((0.017, 0.0, 1.0))
    assert (meant.part, meant.normal) == ("roof", (0.0, 0.0, 1.0))
    assert tagger.pointed((0.017, 0.0, 0.9), below) is below  # the rim lies behind whoever looks
    beside = Picked(at_m=(0.04, 0.0, 0.0), part="floor", normal=(0.0, 0.0, 1.0))
    assert tagger.pointed((0.04, 0.0, 2.0), beside) is beside
    before = Picked(at_m=(0.017, 0.0, 1.2), part="lamp", normal=(0.0, 0.0, 1.0))
    assert tagger.pointed((0.017, 0.0, 2.0), before) is before  # something is in the way
    tagger.choose("landmark")
    assert tagger.pointed((0.017, 0.0, 2.0), below) is below


def test_a_point_beside_the_body_is_put_onto_it() -> None:
    body = sample.body()
    corner = body.triangles_m[body.face_part == body.parts.index("roof")].reshape(-1, 3).min(axis=0)
    found = picked(body, (2.5, 0.1, float(corner[2]) + 0.01), (2.5, 0.1, 9.0))
    assert found is not None
    assert found.part == "roof"
    assert found.at_m == pytest.approx((2.5, 0.1, float(corner[2])))
    assert found.normal == pytest.approx((0.0, 0.0, 1.0))
    below = picked(body, (2.5, 0.1, float(corner[2]) + 0.01), (2.5, 0.1, -9.0))
    assert below is not None
    assert below.normal == pytest.approx((0.0, 0.0, -1.0))
