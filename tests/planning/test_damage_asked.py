"""A cable damaged at a hole: how it is understood, and whether it can be given a new end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routecut.documents import service_text
from routecut.documents.service_damage import damage_sections
from routecut.model.fitout import CableClass
from routecut.model.plan import Plan
from routecut.model.record import NO_RECORD, Fact, Kind, Record, RecordLine, What
from routecut.model.service import Asked
from routecut.planning.service import answers
from tests.service.test_answer import room


@pytest.fixture(scope="module")
def plan() -> Plan:
    return room()


@pytest.mark.parametrize(
    ("text", "holes"),
    [
        ("D1 chafed at H1, can i reterminate it", ("H1",)),
        ("D1 was cut at hole H1", ("H1",)),
        ("cable D1 is rubbed at hole 1", ("H1",)),
        ("D1 is damaged", ()),
        ("does D1 go through H1", ()),
        ("what is D1 cut to at H1", ()),
        ("D3 chafed at H1", ()),  # it does not go through
    ],
)
def test_the_hole_is_heeded_where_the_cable_goes_through_it(
    plan: Plan, text: str, holes: tuple[str, ...]
) -> None:
    found = next(a for a in answers(plan, text) if a.asked is Asked.CABLE)
    assert found.damaged_at == holes
    assert ("Damaged at H1" in service_text(plan, [found])) is bool(holes)


@pytest.mark.parametrize(
    ("loop_m", "short_m", "can"), [(0.5, 0.0, True), (0.5, 0.3, False), (0.1, 0.0, False)]
)
def test_only_the_far_end_has_something_to_give(plan: Plan, loop_m: float, short_m: float, can: bool) -> None:
    (asked,) = answers(plan, "D1 chafed at H1")
    near, far = asked.spares
    assert near.port == "radio.p1"
    asked = replace(asked, spares=(replace(near, loop_m=9.0), replace(far, loop_m=loop_m)))
    fact = Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name="D1", length_m=-short_m)
    (found,) = damage_sections(plan, asked, Record(lines=(RecordLine(number=1, fact=fact),)))
    (line,) = [x for x in found.lines if "re-ended at radio.p1" in x]
    assert line.startswith("can be" if can else "CAN'T be")


def test_a_joint_is_told_by_class_and_a_ready_made_lead_is_not_ended_anew(plan: Plan) -> None:
    (asked,) = answers(plan, "D1 chafed at H1")
    for kind, said in ((CableClass.COAX, "loses signal"), (CableClass.POWER, "crimped and sealed")):
        cables = tuple(replace(c, cable=replace(c.cable, cable_class=kind)) for c in plan.cables)
        (found,) = damage_sections(replace(plan, cables=cables), asked, NO_RECORD)
        assert any(line.startswith("A joint: ") and said in line for line in found.lines)
    cables = tuple(replace(c, cable=replace(c.cable, ready_made=True)) for c in plan.cables)
    (found,) = damage_sections(replace(plan, cables=cables), asked, NO_RECORD)
    assert [line.startswith("NO: it is a ready-made lead") for line in found.lines] == [True]
