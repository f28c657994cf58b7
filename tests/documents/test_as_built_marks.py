"""What the record says stands where the hand is: on the cards, on the service sheet, in the finding."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

from routecut.documents import placed_cautions
from routecut.documents.difference_text import sides
from routecut.documents.markup import html as written
from routecut.documents.pack_cables import cable_cards
from routecut.documents.pack_front import overview
from routecut.documents.pack_holes import holes
from routecut.documents.pack_service import service
from routecut.documents.reading import cable_numbers, state_text
from routecut.documents.summary import summary_text
from routecut.documents.view_data import view_json
from routecut.model.as_built import AsBuilt, Difference
from routecut.model.finding import Finding, Severity
from routecut.model.plan import Plan
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.model.service import PlaceKind, Removal, Service, ServicePlace, Way
from routecut.model.whatif import Moved
from routecut.planning.as_built import too_short
from tests.documents import sample
from tests.drilling.cards import card, plan_of


def built(plan: Plan, *facts: Fact, moved: tuple[Moved, ...] = ()) -> Plan:
    lines = tuple(RecordLine(number=n, fact=f) for n, f in enumerate(facts, start=1))
    return replace(plan, as_built=AsBuilt(record=Record(lines=lines), moved=moved))


def cut(name: str, length_m: float, over_m: float | None = None) -> tuple[Fact, ...]:
    found = [Fact(what=What.CUT, kind=Kind.CABLE, name=name, length_m=length_m)]
    if over_m is not None:
        found.append(Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name=name, length_m=over_m))
    return tuple(found)


def test_a_cable_and_a_device_have_their_record_beside_them_and_no_other(plan: Plan) -> None:
    note = Fact(what=What.NOTE, kind=Kind.DEVICE, name="voice radio", text="20 mm further left")
    told = built(plan, *cut("P1", 4.8, 0.06), note)
    cards = written(cable_cards(told, placed_cautions(told))).split("<article")[1:]
    number = cable_numbers(plan)["P1"]
    said = [f'id="cable-{number}"' in card for card in cards]
    assert [("Recorded: </b>cut to 4800 mm; 60 mm left over." in card) for card in cards] == said
    assert sum(said) == 1
    sheet = written(service(told))
    assert sheet.count("recorded: ") == sheet.count("recorded: 20 mm further left") == 1
    assert "stands with whoever did it" not in sheet
    assert "stands with whoever did it" in written(service(plan))


def test_the_first_page_says_that_it_is_built(plan: Plan) -> None:
    told = written(overview(built(plan, *cut("P1", 4.8, 0.06))))
    assert "Built already: 2 lines recorded, 0 deviations." in told
    assert "Built already" not in written(overview(plan))


def test_a_hole_that_was_moved_says_so_on_its_card_and_is_no_longer_to_be_drilled(plan: Plan) -> None:
    hole = next(h for h in plan.holes if h.drill)
    name = hole.pass_through.name
    x, y, z = hole.at_m
    there = Moved(kind="pass-through", name=name, from_m=hole.at_m, to_m=(x + 0.03, y, z), along=(), stay=())
    place = Fact(what=What.MOVED, kind=Kind.HOLE, name=name, position=hole.pass_through.position)
    told = built(plan, place, moved=(there,))
    page = written(holes(told, placed_cautions(told)))
    assert "DEVIATES, as built: 30 mm from its planned place" in page
    assert (state_text(plan, hole), state_text(told, hole)) == ("to be drilled", "drilled, by the record")
    shown = [json.loads(view_json(p, sample.body()))["holes"] for p in (plan, told)]
    labels = [{h["label"] for h in of if h["name"] == name} for of in shown]
    assert labels == [{f"drill: {name}"}, {f"drilled: {name}"}]
    photo = Fact(what=What.PHOTO, kind=Kind.HOLE, name=name, file="before.jpg", sha256="")
    assert (
        state_text(built(plan, photo), hole) == "to be drilled"
    )  # of the place before, for all anybody knows
    pulled = built(plan, *cut(hole.cables[0], 4.0, 0.1))
    assert state_text(pulled, hole) == "drilled, by the record"


@pytest.mark.parametrize(
    ("over", "cure"),
    [(None, "Pull it dry"), (-0.04, "off without a pull"), (0.06, "One of these figures is wrong")],
)
def test_a_cable_that_left_something_over_was_not_too_short(
    plan: Plan, over: float | None, cure: str
) -> None:
    told = built(plan, *cut("P1", 1.0, over))
    assert told.as_built is not None
    (found,) = too_short(told, told.as_built)
    assert cure in found.message
    assert ("60 mm were left over" in found.message) == (over == 0.06)


def test_a_cable_that_ended_short_is_told_however_long_it_was_cut(plan: Plan) -> None:
    told = built(plan, *cut("P1", 9.0, -0.04))
    assert told.as_built is not None
    (found,) = too_short(told, told.as_built)
    assert "cut to 9000 mm and ended 40 mm too short" in found.message
    long_enough = built(plan, *cut("P1", 9.0, 0.04))
    assert long_enough.as_built is not None
    assert too_short(long_enough, long_enough.as_built) == []


def test_every_card_says_whether_its_cable_is_in_one_piece(plan: Plan) -> None:
    """And the service sheet says it of all at once; a recorded joint stands in place of "no joint"."""
    joint = Fact(what=What.JOINT, kind=Kind.CABLE, name="P1", length_m=1.2, space="cab")
    for told, said in (
        (plan, "no joint: in one piece from"),
        (built(plan, joint), "1 joint: 1200 mm along the run from"),
    ):
        cards = written(cable_cards(told, placed_cautions(told))).split("<article")[1:]
        assert all(card.count("<b>Joints: </b>") == 1 for card in cards)
        (card,) = [c for c in cards if f'id="cable-{cable_numbers(plan)["P1"]}"' in c]
        assert f"<b>Joints: </b>{said}" in card
        sheet = written(service(told))
        (whole,) = re.findall(r"no joint and no fuse holder: ([^<]+)\.</p>", sheet)
        assert ("P1" in whole.split(", ")) == (told is plan)
        assert ("1200 mm along the run from" in sheet) == (told is not plan)


def test_a_card_begins_with_the_length_that_lies_there_and_says_what_contradicts_it(plan: Plan) -> None:
    """One figure first, the planned cut after it; and the finding where what was recorded does not go together."""
    told = built(plan, *cut("P1", 4.8, 0.06))
    odd = Finding(
        code="as-built-short", severity=Severity.WARNING, where="cable P1 as built", message="One is wrong."
    )
    for with_it in (told, replace(told, findings=(*told.findings, odd))):
        cards = written(cable_cards(with_it, placed_cautions(with_it))).split("<article")[1:]
        (card,) = [c for c in cards if f'id="cable-{cable_numbers(plan)["P1"]}"' in c]
        head = re.sub(r"<[^>]+>", " ", card[: card.index("Joints:")])
        planned_m = next(c.cut.length_m for c in plan.cables if c.cable.name == "P1" if c.cut is not None)
        assert re.search(r"4740 mm\s+by the record: this is what lies there", head)
        assert head.index("4740 mm") < head.index(f"planned: cut {1000 * planned_m:.0f} mm")
        assert ("One is wrong." in head) == (with_it is not told)


def test_a_drill_card_has_one_figure_to_go_by_and_says_that_the_lining_is_not_in_the_model() -> None:
    one = card()
    double = replace(one, size=replace(one.size, sheets=2))
    for told in (one, double):
        known = plan_of(told)
        sides = tuple(
            ServicePlace(
                kind=PlaceKind.HOLE,
                name="H1",
                space=s,
                at_m=told.at_m,
                ways=(Way(space=s),),
                removal=Removal(),
            )
            for s in ("cab", "engine bay")
        )
        known = replace(known, service=Service(places=sides))
        page = written(holes(known, ()))
        shown, folded = page.split("why, and how sure", 1)
        assert re.sub(r"<[^>]+>", " ", shown).count("19 times in 20") == 1
        assert "within 15 mm of the planned place, 19 times in 20: tape and 3D model together" in shown
        assert "the check stops at 12 mm" in shown
        assert "with the tape alone" in folded  # the others, once asked for
        assert told.trust in folded
        reach = re.sub(r"<[^>]+>", " ", shown.split("to get at it")[1])
        assert ("is not in the 3D model, so its time is not counted" in reach) == (told is double)


@pytest.mark.parametrize(("off_m", "beyond"), [(0.011, False), (0.013, True)])
def test_a_hole_set_further_off_than_its_check_allows_says_so_beside_how_far(
    off_m: float, beyond: bool
) -> None:
    """The check of this card stops at 12 mm."""
    known = plan_of(card())
    (hole,) = known.holes
    x, y, z = hole.at_m
    there = Moved(kind="pass-through", name="H1", from_m=hole.at_m, to_m=(x, y + off_m, z), along=(), stay=())
    place = Fact(what=What.MOVED, kind=Kind.HOLE, name="H1", position=hole.pass_through.position)
    page = written(holes(built(known, place, moved=(there,)), ()))
    assert f"DEVIATES, as built: {1000 * off_m:.0f} mm from its planned place" in page
    assert ("more than the 12 mm at which the check on this card stops" in page) == beyond


def test_holes_that_are_drilled_are_counted_apart_from_those_to_drill(plan: Plan) -> None:
    drill = [h for h in plan.holes if h.drill]
    places = [
        Fact(what=What.MOVED, kind=Kind.HOLE, name=h.pass_through.name, position=h.pass_through.position)
        for h in drill
    ]
    assert drill
    assert f"To drill: {len(drill)}<" in written(holes(plan, []))
    assert "drilled by the record" not in written(overview(plan)) + summary_text(plan)
    done = built(plan, *places)
    card, front = written(holes(done, [])), written(overview(done))
    assert f"To drill: 0; drilled by the record: {len(drill)}<" in card
    assert card.count("Drilled, by the record. What follows") == len(drill)
    assert "drilled by the record</span>" in front
    assert "hole to drill</span>" not in front
    told = summary_text(done)
    assert "0 holes to drill\n" in told
    assert f"{len(drill)} hole{'' if len(drill) == 1 else 's'} drilled, by the record\n" in told


def test_the_service_sheet_says_that_no_cable_is_spare(plan: Plan) -> None:
    assert f"No cable is spare: all {len(plan.cables)} cables of this job" in written(service(plan))


def test_what_is_wanted_at_least_is_never_printed_smaller(plan: Plan) -> None:
    row = Difference(about="cable C1", what="bend radius, at least", before=0.0401, after=0.0322, unit="m")
    assert sides(row, plan.job) == ("40 mm", "32 mm")
    assert sides(replace(row, up=True), plan.job) == ("41 mm", "33 mm")


def test_spare_of_a_length_that_contradicts_itself_is_doubted_on_the_sheet(plan: Plan) -> None:
    def said(of: Plan) -> int:
        return written(service(of)).count("MIND ITS LENGTH, this may not be there: It ended short.")

    odd = Finding(
        code="as-built-short", severity=Severity.WARNING, where="cable C1 as built", message="It ended short."
    )
    assert said(plan) == 0
    assert (
        said(replace(plan, findings=(*plan.findings, odd))) == 2
    )  # a loop or what is over in its lead, at either end
