from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

import pytest
import segno
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.documents import pack_html, placed_cautions
from routecut.documents.figures import Lengths
from routecut.documents.markup import html as written
from routecut.documents.pack import running_heads
from routecut.documents.pack_cables import cable_cards
from routecut.documents.pack_sums import sums
from routecut.documents.pull_words import (
    bare_text,
    clips_along,
    clips_of,
    comes_off,
    leading_end,
    off_in_order,
)
from routecut.documents.reading import bare_ends, natural, revision_mark
from routecut.documents.run_words import free_spans, run_steps
from routecut.model.company import Member
from routecut.model.job import MadeUp, Reason
from routecut.model.plan import Covered, Plan, PlannedCable, Stretch, SumLine
from routecut.model.service import Removal, Service, Trim
from tests.documents import sample


def named(plan: Plan, name: str) -> PlannedCable:
    return next(c for c in plan.cables if c.cable.name == name)


def with_ends(plan: Plan, name: str, *ends: tuple[MadeUp, float]) -> Plan:
    """The plan with both ends of a cable made up somewhere else, with connectors of other sizes. [m]"""
    cable = named(plan, name).cable
    made = dict(zip((cable.from_port, cable.to_port), ends, strict=True))
    devices = tuple(
        replace(
            d,
            ports=tuple(
                replace(p, made_up=made[p.full_name][0], connector_diameter_m=made[p.full_name][1])
                if p.full_name in made
                else p
                for p in d.ports
            ),
        )
        for d in plan.job.devices
    )
    return replace(plan, job=replace(plan.job, devices=devices))


BENCH, VEHICLE = MadeUp.BENCH, MadeUp.IN_VEHICLE


@pytest.mark.parametrize(
    ("ends", "leads"),
    [
        (((BENCH, 0.02), (VEHICLE, 0.02)), "to"),
        (((VEHICLE, 0.02), (BENCH, 0.01)), "from"),  # the bare end, though the other plug is small
        (((BENCH, 0.02), (BENCH, 0.01)), "to"),
        (((BENCH, 0.01), (BENCH, 0.02)), "from"),
    ],
)
def test_the_bare_end_leads_and_of_two_plugs_the_smaller(
    plan: Plan, ends: tuple[tuple[MadeUp, float], ...], leads: str
) -> None:
    found = with_ends(plan, "P1", *ends)
    cable = named(found, "P1").cable
    port, _ = leading_end(found, named(found, "P1"))
    assert port == (cable.from_port if leads == "from" else cable.to_port)


@pytest.mark.parametrize("at", [0.1, 0.9])
def test_of_two_bare_ends_the_one_nearer_to_the_hole_leads(plan: Plan, at: float) -> None:
    found = with_ends(plan, "C2", (VEHICLE, 0.0), (VEHICLE, 0.0))
    c2 = named(found, "P5")
    assert c2.route is not None
    hole = replace(c2.route.passages[0], at_route_m=at * c2.route.length_m)
    moved = replace(c2, route=replace(c2.route, passages=(hole,)))
    port, _ = leading_end(found, moved)
    assert port == (c2.cable.from_port if at < 0.5 else c2.cable.to_port)


def test_a_cable_that_meets_no_hole_is_laid_in_from_either_end(plan: Plan) -> None:
    assert leading_end(plan, named(plan, "P3"))[0] == ""


def test_trim_comes_off_once_the_quickest_first_what_nobody_timed_last(plan: Plan) -> None:
    cables = [named(plan, name) for name in ("P1", "C10", "A2")]
    assert [(o.trim, o.minutes, o.cables) for o in comes_off(plan, cables)] == [
        ("sill trim, left", 3.0, ("A2", "C10", "P1")),
        ("kick trim, left", 0.0, ("P1",)),
    ]


def test_a_run_is_told_in_words_with_what_it_lies_behind_and_its_clips(plan: Plan) -> None:
    p1 = named(plan, "P1")
    assert p1.route is not None
    long = p1.route.length_m
    along = clips_along(plan, "P1")
    told: dict[str, list[str]] = {}
    for step in run_steps(plan, p1):
        told.setdefault(step.strong, []).append(f"{step.at}{step.rest}")
    kick = [row for row in told["kick panel"] if "behind" in row]
    lengths = Lengths("mm")
    assert [row.split(": ")[0] for row in kick] == [
        f"{lengths.number(0.1 * long)} to {lengths.text(0.2 * long)}"
    ]
    assert all(row.split(": ")[1].startswith("behind kick trim, left") for row in kick)
    assert any("no trim over it" in row for row in told["kick panel"])
    (sill,) = [row for row in told["sill left"] if "behind" in row]
    start, _, end, _ = sill.split(": ")[0].split()
    held = [(at, clip) for at, clip in along if int(start) - 1 < 1000 * at < int(end) + 1]
    shared = sum(len(clip.held) > 1 for _, clip in held)
    assert 0 < shared < len(held)
    assert f"behind sill trim, left, {len(held)} clips" in sill
    assert sill.endswith(f"({shared} of them with P2)")
    assert not any("behind" in row for row in told["floor rear"])


def test_clips_are_told_one_by_one_where_they_are_few_else_by_the_first_and_how_far_apart(plan: Plan) -> None:
    p4 = named(plan, "P4")
    assert p4.route is not None
    alone = replace(plan, cables=(p4,), bundles=())
    for end, rest in (
        (1.2, ": 2 clips at 450, 900 mm"),
        (4.0, ": 8 clips, the first at 450 mm, then 450 mm apart or less"),
    ):
        route = replace(p4.route, length_m=end, parts=(("floor", 0.0, end),), measured=())
        laid = replace(p4, route=route, covered=())
        rows = run_steps(replace(alone, cables=(laid,)), laid)
        assert [step.rest for step in rows if step.strong == "floor"] == [rest]


def test_a_stretch_measured_with_a_string_counts_as_measured_in_all_that_follows(plan: Plan) -> None:
    """From 1000 to 2000 mm of the curve the string says 1400: what was at 1500 is at 1700, what follows is 400 on."""
    p1 = named(plan, "P1")
    assert p1.route is not None
    first, second = p1.route.passages[:2]
    holes = (replace(first, at_route_m=1.0), replace(second, at_route_m=2.0))
    string = Stretch(from_name=first.name, to_name=second.name, computed_m=1.0, measured_m=1.4)
    parts = (("sill", 1.2, 1.5), ("floor", 2.2, 3.0))
    route = replace(p1.route, passages=holes, measured=(string,), parts=parts, length_m=3.4)
    laid = replace(p1, route=route, covered=(), verified=None)
    rows = {step.strong: step.at for step in run_steps(replace(plan, cables=(laid,)), laid)}
    assert rows["sill"] == "1280 to 1700 mm"
    assert (rows[f"through {first.name}"], rows[f"through {second.name}"]) == ("1000 mm", "2400 mm")
    assert rows["floor"] == "2600 to 3400 mm"
    assert rows[f"end at {p1.cable.to_port}"] == "3400 mm"
    assert "free span" in rows
    assert free_spans(route) == [(0.0, 1.2), (1.5, 2.2)]


@pytest.mark.parametrize(
    ("from_m", "said"),
    [
        (0.12, ": nothing to clip to, behind lining 120 to 243 mm"),
        (0.0, ": nothing to clip to, behind lining"),
    ],
)
def test_a_free_span_behind_trim_says_so(plan: Plan, from_m: float, said: str) -> None:
    p4 = named(plan, "P4")
    assert p4.route is not None
    route = replace(p4.route, parts=(("skin", 0.243, 1.0),), measured=())
    lining = Covered(trim="lining", from_m=from_m, to_m=0.6, minutes=12.0)
    assert p4.verified is not None
    held = replace(p4.verified, longest_span_m=0.3)
    laid = replace(p4, route=route, covered=(lining,), verified=held)
    free = [s for s in run_steps(replace(plan, cables=(laid,)), laid) if s.strong == "free span"]
    assert free[0].rest == said


@pytest.mark.parametrize(("made", "said"), [((VEHICLE, VEHICLE), True), ((VEHICLE, BENCH), False)])
def test_a_cable_that_goes_in_with_both_ends_bare_says_so(
    plan: Plan, made: tuple[MadeUp, MadeUp], said: bool
) -> None:
    found = with_ends(plan, "P1", *((m, 0.01) for m in made))
    assert ("neither is terminated before pulling" in bare_text(found, named(found, "P1"))) is said
    lead = named(found, "C1")
    assert bare_text(found, lead) == ""


def test_where_a_cable_is_nearest_to_a_keep_out_stands_with_how_near(plan: Plan) -> None:
    p4 = named(plan, "P4")
    assert p4.verified is not None
    seat = next(k for k in plan.job.keep_outs if k.name == "driver seat")
    near = replace(p4.verified, least_clearance_m={seat.name: 0.043}, least_clearance_at_m={seat.name: 1.82})
    told = placed_cautions(replace(plan, cables=(replace(p4, verified=near),)))
    (moving,) = [p.because for p in told if p.kind == "cable" and p.caution.topic == "moving parts"]
    assert moving == "driver seat 43 mm away at 1820 mm of the run"


def test_no_stretch_between_clips_is_longer_than_allowed_where_there_is_something_to_clip_to(
    plan: Plan,
) -> None:
    for planned in plan.cables:
        if planned.route is None:
            continue
        parts = planned.route.parts
        held = clips_along(plan, planned.cable.name)
        places = [at for at, _ in held]
        assert places == sorted(set(places))
        own = [at for at, clip in held if clip.held[0][0] == planned.cable.name]
        assert all(any(a <= at <= b for _, a, b in parts) for at in own)
        for before, after in pairwise([0.0, *places, planned.route.length_m]):
            could = [a for _, a, b in parts if b > before + 1e-9 and a <= before + 0.45]
            assert after - before <= 0.45 + 1e-9 or not could


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_cables_tied_together_share_the_clips_of_their_bundle(data: st.DataObject) -> None:
    plan = sample.plan()
    routed = [c for c in plan.cables if c.route is not None]
    bundles = []
    for number in range(data.draw(st.integers(1, 3))):
        tied = data.draw(st.lists(st.sampled_from(routed), min_size=2, max_size=5, unique_by=id))
        members = []
        for planned in tied:
            assert planned.route is not None
            ends = sorted(data.draw(st.lists(st.floats(0.0, 1.0), min_size=2, max_size=2)))
            start, end = (planned.route.length_m * share for share in ends)
            way = (start, end) if data.draw(st.booleans()) else (end, start)
            members.append(Member(cable=planned.cable.name, from_m=way[0], to_m=way[1], place_m=(0.0, 0.0)))
        bundles.append(replace(plan.bundles[0], name=f"b{number}", members=tuple(members)))
    tied_so = replace(plan, bundles=tuple(bundles))
    assert [_rounded(clip.held) for clip in clips_of(tied_so)] == [
        _rounded(held) for held in _plainly(tied_so)
    ]
    for planned in routed:
        places = [at for at, _ in clips_along(tied_so, planned.cable.name)]
        assert places == sorted(places)


def _rounded(held: Iterable[tuple[str, float]]) -> list[tuple[str, float]]:
    return [(name, round(at, 7)) for name, at in held]


def _plainly(plan: Plan) -> list[list[tuple[str, float]]]:
    """The clips by looking at every mate of every bundle for every clip: slow, and nothing to get wrong."""
    held: list[list[tuple[str, float]]] = []
    routed = [c for c in plan.cables if c.route is not None]
    for planned in sorted(
        routed, key=lambda c: (-round(c.route.length_m if c.route else 0.0, 4), natural(c.cable.name))
    ):
        name, route, last = planned.cable.name, planned.route, 0.0
        assert route is not None
        there = []
        for bundle in plan.bundles:
            lies = {m.cable: (m.from_m, m.to_m) for m in bundle.members}
            for number, cables in enumerate(held):
                for mate, at in cables:
                    if {name, mate} <= {m for m, (start, end) in lies.items() if start != end}:
                        share = (at - lies[mate][0]) / (lies[mate][1] - lies[mate][0])
                        if 0.0 <= share <= 1.0:
                            there.append((lies[name][0] + (lies[name][1] - lies[name][0]) * share, number))
        while route.length_m - last > 0.45 * (1.0 + 1e-9):
            if ahead := [c for c in there if last + 0.005 < c[0] <= last + 0.45 * (1.0 + 1e-9)]:
                last, number = max(ahead)
            else:
                reach = last + 0.45
                on = [min(end, reach) for _, start, end in route.parts if start <= reach and end > last]
                beyond = min((start for _, start, _ in route.parts if start > reach), default=route.length_m)
                last, number = max((at for at in on if at > last), default=beyond), len(held)
                if last >= route.length_m:
                    break
                held.append([])
            held[number].append((name, last))
    return held


def test_the_running_head_holds_the_title_as_numbers_only(plan: Plan) -> None:
    hostile = replace(plan, job=replace(plan.job, title='x"; } body { display: none } /* </style>\\'))
    head = running_heads(hostile)
    (title,) = re.findall(r'@top-left { content: "(.*?)";', head)
    letters = [chr(int(code, 16)) for code in re.findall(r"\\([0-9a-f]{6})", title)]
    assert "".join(letters) == hostile.job.title
    assert re.sub(r"\\[0-9a-f]{6}", "", title) == ""
    assert pack_html(hostile, pictures={}).count("</style>") == 1


def test_the_revision_changes_with_job_mesh_and_version_and_stands_in_head_and_foot(plan: Plan) -> None:
    others = [
        replace(plan, job=replace(plan.job, title="other")),
        replace(plan, body_digest="cd" * 32),
        replace(plan, version="9"),
    ]
    marks = {revision_mark(p) for p in (plan, *others)}
    assert len(marks) == 4
    page = pack_html(plan, pictures={})
    mark = revision_mark(plan)
    assert f'revision {mark}"' in page.split("</style>", 1)[0]
    assert mark in page.split('id="revision"', 1)[1]


def with_loops(plan: Plan) -> Plan:
    """The first cable has a loop at each end in its sum, so that two lines are of one kind."""
    first = plan.cables[0]
    assert first.cut is not None
    route, *others, up = first.cut.lines
    loops = [SumLine(what=f"service loop at {end}", length_m=0.0302, why="the job") for end in ("a", "b")]
    cut = replace(first.cut, length_m=first.cut.length_m + 0.0604, lines=(route, *loops, *others, up))
    return replace(plan, cables=(replace(first, cut=cut), *plan.cables[1:]))


def test_the_sums_on_paper_add_up_as_printed(plan: Plan) -> None:
    plan = with_loops(plan)
    (table,) = re.findall(r'<table class="sums-table">(.*?)</table>', written(sums(plan)), re.DOTALL)
    heads = re.findall(r"<th[^>]*>(.*?)</th>", table)
    rows = re.findall(r"<tr>(.*?)</tr>", table.split("<tbody>")[1], re.DOTALL)
    assert len(rows) == 19
    cut = heads.index("cut")
    for row in rows:
        cells = [re.sub("<.*?>", "", c) for c in re.findall(r"<td[^>]*?(?:/>|>(.*?)</td>)", row)]
        assert sum(int(c or 0) for c in cells[1:cut]) == int(cells[cut])
    assert table.count("DOES NOT HOLD") == 1  # S3


def test_the_code_on_each_card_says_where_in_the_pack_the_card_is(plan: Plan) -> None:
    """The path drawn is the code of the text it is named by, module for module."""
    page = pack_html(plan, pictures={})
    cards = re.findall(r'<article id="(cable-[0-9]+)".*?<h3>(.*?) <small>.*?</article>', page, re.DOTALL)
    code = r'<svg viewBox="0 0 (\d+) \1" class="qr paper" role="img" aria-label="(.*?)"><path d="(.*?)"'
    codes = re.findall(code, page)
    assert [text for _, text, _ in codes] == [
        f"{name}, revision {revision_mark(plan)}: pack.html#{card}" for card, name in cards
    ]
    assert len(codes) == len(plan.cables)
    for size, text, drawn in codes:
        dark = {(int(x), int(y)) for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", drawn)}
        rows = list(segno.make(text, micro=False, error="m", boost_error=False).matrix)
        assert int(size) == len(rows) + 4
        assert dark == {(x + 2, y + 2) for y, row in enumerate(rows) for x, on in enumerate(row) if on}


@pytest.mark.parametrize(("longest", "said"), [(0.36, "nothing to clip to"), (0.20, "touched in passing")])
def test_a_span_is_not_said_to_hang_for_longer_than_the_verifier_found(
    plan: Plan, longest: float, said: str
) -> None:
    """P4 has 364 mm without a part it is clipped to."""
    cable = named(plan, "P4")
    assert cable.verified is not None
    seen = replace(cable, verified=replace(cable.verified, longest_span_m=longest))
    told = [step.rest for step in run_steps(plan, seen) if step.at.startswith("2820 to 3184")]
    assert len(told) == 1
    assert said in told[0]


@pytest.mark.parametrize(
    ("spans", "at", "free"),
    [
        (
            ((0.4, 0.7), (2.80, 2.95), (2.951, 3.01), (3.10, 3.19), (3.5, 3.53)),
            "2950 mm, 3010 to 3100 mm",
            150,
        ),
        (((2.80, 3.05), (3.10, 3.12)), "3050 to 3184 mm", 250),
        (((2.95, 3.18),), "2820 to 2950 mm", 230),
    ],
)
def test_a_row_of_a_free_span_says_where_the_verifier_found_it_held(
    plan: Plan, spans: tuple[tuple[float, float], ...], at: str, free: int
) -> None:
    """P4 has no part from 2820 to 3184 mm; spans of less than 50 mm are not told."""
    cable = named(plan, "P4")
    assert cable.verified is not None
    seen = replace(cable, verified=replace(cable.verified, longest_span_m=free / 1000, free_spans_m=spans))
    told = next(step.rest for step in run_steps(plan, seen) if step.at.startswith("2820 to 3184"))
    assert told == (
        f": held in passing only, at {at}, on a panel or in a hole; no more than {free} mm hang free"
    )


def test_trim_comes_off_in_the_order_of_the_study_with_what_overlaps_it(plan: Plan) -> None:
    trims = (
        Trim(name="post trim", minutes=8.0, after=("sill trim",)),
        Trim(name="sill trim", minutes=5.0, after=("step trim",)),
        Trim(name="step trim"),
        Trim(name="lining", minutes=1.0),
    )
    order = Removal(trims=("step trim", "sill trim", "post trim", "lining"))
    covered = tuple(
        Covered(trim=t, from_m=0.0, to_m=0.4, minutes=m) for t, m in (("lining", 1.0), ("post trim", 8.0))
    )
    cable = replace(named(plan, "P4"), covered=covered)
    studied = replace(plan, service=Service(trims=trims, strip=order))
    assert [(o.trim, o.minutes, bool(o.cables)) for o in off_in_order(studied, cable)] == [
        ("step trim", 0.0, False),
        ("sill trim", 5.0, False),
        ("post trim", 8.0, True),
        ("lining", 1.0, True),
    ]
    assert [o.trim for o in off_in_order(plan, cable)] == ["lining", "post trim"]


@pytest.mark.parametrize(("reason", "far", "said"), [
    (Reason.OTHER, 0.001, True), (Reason.OTHER, 0.026, False), (Reason.AIRBAG, 0.001, False),
])  # fmt: skip
def test_a_keep_out_without_a_caution_of_the_trade_is_told_where_a_cable_all_but_touches_it(
    plan: Plan, reason: Reason, far: float, said: bool
) -> None:
    cable = named(plan, "P4")
    assert cable.verified is not None
    first, *others = plan.job.keep_outs
    job = replace(plan.job, keep_outs=(replace(first, reason=reason), *others))
    clear, where = {first.name: far}, {first.name: 1.8}
    verified = replace(cable.verified, least_clearance_m=clear, least_clearance_at_m=where)
    near = replace(cable, verified=verified)
    told = written(cable_cards(replace(plan, job=job, cables=(near,)), ()))
    assert (f"{first.name} 1 mm away at 1800 mm of the run, where the job lets no cable lie" in told) == said


def test_what_all_cards_need_of_a_plan_is_worked_out_once(plan: Plan) -> None:
    """Once a card, a plan of 200 cables took minutes to print."""
    asked = (bare_ends, clips_of, revision_mark)
    for one in asked:
        one.cache_clear()
    pack_html(plan, pictures={})
    assert [one.cache_info().misses for one in asked] == [1, 1, 1]
