"""Labels: pure geometry, no drawing."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from routecut.model.as_built import AsBuilt
from routecut.model.job import CableClass, Reason
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.preview import lettering, window
from routecut.preview.labels import Wish, place
from routecut.scene import dashed
from routecut.scene.palette import CLASS_COLOUR, CLASS_DASHES, REASON_MARK, REASON_TINT
from tests.documents import sample

AREA = (1270.0, 1000.0)
points = st.tuples(st.floats(0, AREA[0]), st.floats(0, AREA[1]))
wishes = st.lists(
    st.builds(
        Wish,
        text=st.just("x"),
        size=st.tuples(st.floats(20, 220), st.just(24.0)),
        anchors=st.lists(points, min_size=1, max_size=4).map(tuple),
        colour=st.just((0, 0, 0)),
        filled=st.booleans(),
        on_top=st.booleans(),
    ),
    max_size=25,
)


def overlap(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    """Two boxes share a point."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@given(wishes, st.lists(points, max_size=10))
def test_labels_never_overlap_and_never_leave_the_picture(
    wanted: list[Wish], taken: list[tuple[float, float]]
) -> None:
    spots = place(wanted, AREA, taken)
    for a, b in itertools.combinations(spots, 2):
        assert not overlap(a.box, b.box)
    for spot in spots:
        left, top, right, bottom = spot.box
        assert left >= 0
        assert top >= 0
        assert right <= AREA[0]
        assert bottom <= AREA[1]
        for x, y in taken:
            assert (x, y) == spot.anchor or not (left < x < right and top < y < bottom)


def test_sixty_labels_in_one_corner_of_the_picture_all_find_room() -> None:
    wanted = [
        Wish("x", (110.0, 24.0), ((200.0 + 40 * (k % 8), 300.0 + 40 * (k // 8)),), (0, 0, 0), False, False)
        for k in range(60)
    ]
    assert len(place(wanted, AREA)) == 60


def test_a_name_on_a_line_lies_on_it_when_there_is_room() -> None:
    (spot,) = place([Wish("P1", (40.0, 24.0), ((500.0, 500.0),), (0, 0, 0), True, True)], AREA)
    assert spot.box == (480.0, 488.0, 520.0, 512.0)


@given(
    st.lists(st.tuples(*[st.floats(-3, 3)] * 3), min_size=2, max_size=8),
    st.floats(0.05, 1),
    st.floats(0.05, 1),
)
def test_dashes_lie_on_the_curve_and_make_up_their_share_of_it(
    corners: list[tuple[float, ...]], drawn: float, left_out: float
) -> None:
    curve = np.array(corners, dtype=float)
    length = float(np.linalg.norm(np.diff(curve, axis=0), axis=1).sum())
    dashes = dashed(curve, drawn, left_out)
    total = sum(float(np.linalg.norm(np.diff(d, axis=0), axis=1).sum()) for d in dashes)
    whole, rest = divmod(length, drawn + left_out)
    assert math.isclose(total, whole * drawn + min(rest, drawn), abs_tol=1e-6) or length == 0.0
    assert np.allclose(dashes[0][0], curve[0])


def test_no_two_classes_share_a_pattern_and_every_class_and_reason_has_a_colour() -> None:
    assert set(CLASS_COLOUR) == set(CLASS_DASHES) == set(CableClass)
    assert set(REASON_TINT) == set(Reason)
    assert len(set(CLASS_DASHES.values())) == len(CableClass)


# Viénot, Brettel and Mollon 1999: linear RGB to what a dichromat sees; figures from memory.
SEEN = {
    "normal": np.eye(3),
    "protanope": np.array([[0.11238, 0.88762, 0.0], [0.11238, 0.88762, 0.0], [0.00401, -0.00401, 1.0]]),
    "deuteranope": np.array([[0.29275, 0.70725, 0.0], [0.29275, 0.70725, 0.0], [-0.02234, 0.02234, 1.0]]),
}


@pytest.mark.parametrize("eye", SEEN)
def test_class_colours_stay_apart_for_eyes_that_do_not_tell_red_from_green(eye: str) -> None:
    """25 of 255 in some channel: far above what a screen or an eye blurs; patterns and names help beyond."""
    shades = {}
    for name, colour in CLASS_COLOUR.items():
        linear = SEEN[eye] @ (np.array(colour) / 255.0) ** 2.2
        shades[name] = 255.0 * np.clip(linear, 0.0, 1.0) ** (1 / 2.2)
    for a, b in itertools.combinations(shades, 2):
        assert np.abs(shades[a] - shades[b]).max() > 25, (a, b)


def test_a_label_makes_way_for_a_point_that_must_stay_free() -> None:
    wish = Wish("P1", (40.0, 24.0), ((500.0, 500.0),), (0, 0, 0), True, True)
    (spot,) = place([wish], AREA, [(505.0, 503.0)])
    left, top, right, bottom = spot.box
    assert not (left < 505.0 < right and top < 503.0 < bottom)


def test_a_label_with_a_short_reach_is_rather_left_out_than_put_far_away() -> None:
    taken = Wish("P1", (120.0, 120.0), ((500.0, 500.0),), (0, 0, 0), True, True)
    far = Wish("H", (22.0, 24.0), ((500.0, 500.0),), (0, 0, 0), True, True)
    assert len(place([taken, far], AREA)) == 2
    assert len(place([taken, replace(far, reach=26.0)], AREA)) == 1


def test_every_reason_has_a_word_of_its_own() -> None:
    assert set(REASON_MARK) == set(Reason)
    assert len(set(REASON_MARK.values())) == len(Reason)


def test_keep_outs_of_one_reason_side_by_side_share_a_word() -> None:
    spots = [(Reason.HOT, (300.0, 300.0)), (Reason.HOT, (320.0, 300.0)), (Reason.HOT, (600.0, 300.0))]
    assert [w.text for w in lettering._marks(spots)] == ["hot", "hot"]
    assert [
        w.text for w in lettering._marks([(Reason.HOT, (300.0, 300.0)), (Reason.FUEL, (300.0, 300.0))])
    ] == [
        "hot",
        "fuel",
    ]


def test_a_legend_flows_through_its_columns_and_counts_what_has_no_room() -> None:
    picture = Image.new("RGB", (600, 100), "white")
    columns = [(10.0, 10.0, 290.0, 90.0), (310.0, 10.0, 590.0, 90.0)]
    pen = lettering._Pen(ImageDraw.Draw(picture), columns)
    for word in ("one", "two", "three"):
        pen.entry(word)
    pen.end()
    assert pen.left_out == 0
    found = np.asarray(picture).min(axis=2) < 128
    assert found[:, :300].any()
    assert found[:, 300:].any()
    for _ in range(9):
        pen.entry("four")
    pen.end()
    assert pen.left_out > 0
    assert not (np.asarray(picture)[92:].min(axis=2) < 128).any()


def test_the_legend_of_a_whole_vehicle_has_room_in_both_layouts() -> None:
    plan = sample.plan()
    first = plan.job.keep_outs[0]
    many = [replace(first, name=f"exhaust pipe {k}", reason=r) for k, r in enumerate(list(Reason) * 4)]
    plan = replace(plan, job=replace(plan.job, keep_outs=tuple(many)))
    for width, height in ((1600 - lettering.LEGEND_WIDTH, 1000), (1600, 1000 - lettering.LEGEND_HEIGHT)):
        sheet = Image.new("RGB", (1600, 1000), "white")
        pen = lettering._Pen(ImageDraw.Draw(sheet), lettering._columns(width, height, sheet.size))
        lettering._legend(pen, plan, "From above, front on the left")
        assert pen.left_out == 0


def test_a_hole_that_was_drilled_is_no_longer_lettered_to_be_drilled() -> None:
    """In pictures, in their legend and in the window."""
    plan = sample.plan()
    hole = next(h for h in plan.holes if h.drill)
    plan = replace(plan, holes=tuple(replace(h, drill=h is hole) for h in plan.holes))
    name = hole.pass_through.name
    there = Fact(what=What.MOVED, kind=Kind.HOLE, name=name, position=hole.pass_through.position)
    record = Record(lines=(RecordLine(number=1, fact=there),))
    drilled = replace(plan, as_built=AsBuilt(record=record))
    for told, word in ((plan, True), (drilled, False)):
        wishes, _ = lettering._wishes(told, lambda at: (float(at[0]), float(at[1])))
        texts = [w.text for w in wishes]
        assert (f"DRILL {name}" in texts) == word
        assert (name in texts) != word
        written: list[str] = []
        pen: Any = SimpleNamespace(
            heading=written.append, entry=lambda text, *_, k=written: k.append(text), end=lambda: None
        )
        lettering._legend(pen, told, "left")
        assert ("hole to drill" in written) == word
        named: list[str] = []
        plotter = SimpleNamespace(add_point_labels=lambda _at, texts, k=named, **_: k.extend(texts))
        desk: Any = SimpleNamespace(labels={})
        window._name(plotter, told, desk)
        assert (f"DRILL {name}" in named) == word
        assert (name in named) != word
