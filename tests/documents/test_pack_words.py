"""The words of the job pack, where the hand is."""

from __future__ import annotations

import re
from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import pytest

from routecut.documents import pack_html
from routecut.documents.fuse_words import fuse_reach
from routecut.documents.markup import html as written
from routecut.documents.pack_service import service
from routecut.documents.pack_words import LEGEND, NO_SOURCE, pack_words
from routecut.documents.reading import pulling_order
from routecut.model.finding import Finding, Severity
from routecut.model.plan import Plan
from routecut.model.service import PlaceKind, Removal, Room, Service, ServicePlace, Way
from routecut.model.sizing import Electrical, Fuse, Sizing
from tests.documents.test_pack import Page, section
from tests.drilling.cards import card, plan_of


def test_the_pulling_order_stands_in_one_line_over_the_cut_list(plan: Plan) -> None:
    line = re.search(r'<p class="in-line">(.*?)</p>', section(pack_html(plan, pictures={}), "cut-list"))
    assert line is not None
    names = [c.cable.name for c in pulling_order(plan)]
    assert re.sub(r"<[^>]+>| \(no route\)", "", line[1]) == f"Pull in this order: {', '.join(names)}"
    assert re.findall('href="#([^"]+)"', line[1]) == [f"cable-{n}" for n in range(1, len(names) + 1)]


def test_what_has_no_source_is_marked_and_said_once(plan: Plan) -> None:
    told = "no further than that (common practice, no source); so much (2 mm, common practice, no source)"
    noted = Finding(code="measure-first", severity=Severity.NOTE, where="here", message=told)
    page = pack_html(replace(plan, findings=(noted,)), pictures={})
    assert "no further than that*; so much (2 mm, common practice*)" in section(page, "findings")
    text = Page(re.sub(r"<(script|style).*?</\1>", "", page, flags=re.DOTALL)).text
    assert NO_SOURCE not in text
    assert text.count(LEGEND) == 1
    assert f'@bottom-left {{ content: "{LEGEND}"' in page  # and at the foot of every sheet


def test_parts_go_by_their_spoken_names_and_whatever_else_bears_such_a_name_keeps_it(plan: Plan) -> None:
    """`sill-left` is a part: `left sill`; `c-2` is a part and a device, `sill-left-2` no part at all."""
    p1, *others = plan.cables
    assert p1.route is not None
    route = replace(p1.route, parts=(("sill-left", 0.1, 0.4), ("c-2", 0.5, 0.8)))
    devices = (replace(plan.job.devices[0], name="c-2", ports=()), *plan.job.devices)
    job = replace(plan.job, devices=devices)
    said = pack_words(replace(plan, job=job, cables=(replace(p1, route=route), *others)))
    assert (
        said("over sill-left, c-2 and sill-left-2; sill-left.")
        == "over left sill, c-2 and sill-left-2; left sill."
    )


@pytest.mark.parametrize(("sheets", "first"), [(1, 0.0), (2, 0.0049)])
def test_a_double_sheet_is_told_on_the_hole_card_with_what_to_look_for(sheets: int, first: float) -> None:
    one = card()
    size = replace(one.size, sheets=sheets)
    near, far = replace(one.near, face_m=0.03), replace(one.far, face_m=0.023)
    double = replace(one, size=size, stop_first_m=first, near=near, far=far)
    page = section(pack_html(plan_of(double), pictures={}), "holes")
    words = (
        "2 sheets about 53 mm (2 1/8 in) apart",
        "look between before you drill",
        "set the stop 5 mm (1/4 in) from the point",
        "what lies between the sheets is not known",
        "looked between the sheets</label>",
        "2 of them, one in each sheet",
    )
    assert [w in page for w in words] == [sheets == 2] * len(words)


def test_a_hole_that_is_there_says_what_grommet_fits_and_why_none_is_ordered(plan: Plan) -> None:
    hole = next(h for h in plan.holes if h.cables and not h.drill)
    for there, words in (
        (True, "there already; if it has to be changed, one with 30 mm bore"),
        (False, "none in it"),
    ):
        through = replace(hole.pass_through, grommet=there, diameter_m=0.03)
        page = pack_html(replace(plan, holes=(replace(hole, pass_through=through),)), pictures={})
        assert words in section(page, "holes")
        assert "and then none is on the order list" in section(page, "holes")


def test_the_way_to_a_fuse_is_told_alike_wherever_it_stands(plan: Plan) -> None:
    """What the service study found goes before what the job says of the space."""
    made = SimpleNamespace(
        rating_a=15.0, series="regular blade", in_block=False, distance_m=0.08, at="battery.p3",
        space="engine bay", access="open",
    )  # fmt: skip
    fuse = cast("Fuse", made)
    assert fuse_reach(plan, "P1", fuse) == "engine bay (access: open)"
    place = ServicePlace(
        kind=PlaceKind.FUSE, name="fuse of P1", space="engine bay", at_m=(0.0, 0.0, 0.0),
        ways=(Way(space="engine bay", room=Room.GUESSED),), removal=Removal(),
    )  # fmt: skip
    sized = {"P1": cast("Electrical", SimpleNamespace(fuse=fuse, least_fuse_a=15.0))}
    sizing = Sizing(profile="", limits=(), electrical=sized)
    seen = replace(plan, sizing=sizing, service=Service(places=(place,)))
    told = fuse_reach(seen, "P1", fuse)
    assert told.startswith("engine bay: nothing to take off as the job says; ")
    assert told.endswith("no way in for a hand: open them and look")
    assert f'<td data-label="reached from">{told}</td>' in written(service(seen))
