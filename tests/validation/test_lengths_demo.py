"""The sample van: do its cuts suffice as often as they say, and is its order what its routes need?

Truth      as-builts of the real routes: the curve is scaled, its ends and holes are displaced by
           errors of their own, and what lies within 250 mm of such a place is drawn along; the
           length is measured again on the moved curve. The order is worked out anew from routes,
           ends and holes, by code of this file.
Tolerance  94 to 98 % at 0.95 and 98.2 to 99.9 % at 0.99 for each class
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from routecut.cutlist import cut_length
from routecut.model.job import Cable, CableClass, Exposure, HoleState, Job
from routecut.model.plan import OrderLine, Plan, PlannedCable, Route
from routecut.planning import make_plan

Floats = npt.NDArray[np.float64]
VAN = Path(__file__).parents[2] / "meshes" / "river-rescue-van"
DRAWS = 2000
DRAWN_ALONG_M = 0.25


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_plan(VAN)[0]


# --- as-builts ---------------------------------------------------------------------------


def as_built_m(job: Job, cable: Cable, route: Route, rng: np.random.Generator) -> Floats:
    """What of the sum is uncertain, in each as-built: the way, its lay and its sag."""
    steps = np.linalg.norm(np.diff(route.points_m, axis=0), axis=1)
    run = np.r_[0.0, np.cumsum(steps)]
    at = np.unique(np.r_[run, np.arange(0.0, run[-1], 0.02)])
    points = np.stack([np.interp(at, run, route.points_m[:, c]) for c in range(3)], axis=1)
    axes = {h.name: np.array(h.axis) for h in job.pass_throughs}
    known = [(0.0, None), *((p.at_route_m, axes[p.name]) for p in route.passages), (run[-1], None)]
    moved = np.repeat(points[None], DRAWS, axis=0)
    for k, (place, axis) in enumerate(known):
        off = job.vehicle.point_error_m * rng.normal(size=(DRAWS, 3))
        if axis is not None:
            off -= (off @ axis)[:, None] * axis
        before = place - known[k - 1][0] if k else math.inf
        after = known[k + 1][0] - place if k + 1 < len(known) else math.inf
        reach = np.where(at < place, min(DRAWN_ALONG_M, before), min(DRAWN_ALONG_M, after))
        with np.errstate(invalid="ignore", divide="ignore"):
            fade = np.clip(1.0 - np.abs(at - place) / reach, 0.0, 1.0)
        fade[at == place] = 1.0
        moved += np.nan_to_num(fade)[None, :, None] * off[:, None, :]
    length = np.linalg.norm(np.diff(moved, axis=1), axis=2).sum(axis=1)
    length *= 1.0 + job.vehicle.scan_error * rng.normal(size=DRAWS)
    lay = job.lengths.lay + job.lengths.lay / 3 * rng.normal(size=DRAWS)
    sag = 8 * 0.0127**2 / (3 * 0.45**2)
    return np.asarray(length * (1.0 + lay + sag))


SURE = ("route", "lay", "sag", "uncertainty", "rounding up")


@pytest.mark.parametrize(("confidence", "least", "most"), [(0.95, 0.94, 0.98), (0.99, 0.982, 0.999)])
def test_the_cuts_of_the_van_suffice_as_often_as_they_say(
    plan: Plan, confidence: float, least: float, most: float
) -> None:
    job = replace(plan.job, lengths=replace(plan.job.lengths, confidence=confidence))
    rng = np.random.default_rng(5)
    shares: dict[CableClass, list[float]] = defaultdict(list)
    for planned in plan.cables:
        assert planned.route is not None
        cut = cut_length(job=job, cable=planned.cable, route=planned.route)
        fixed = sum(line.length_m for line in cut.lines if line.what not in SURE)
        built = as_built_m(job, planned.cable, planned.route, rng) + fixed
        shares[planned.cable.cable_class].append(float((built <= cut.needed_m).mean()))
    assert set(shares) == set(CableClass)
    for cable_class, found in shares.items():
        assert least <= np.mean(found) <= most, cable_class


# --- the order, line by line -------------------------------------------------------------


def group(plan: Plan, name: str) -> dict[str, OrderLine]:
    return {line.what: line for line in plan.order if line.group == name}


def cut_cables(plan: Plan) -> list[PlannedCable]:
    return [c for c in plan.cables if not c.cable.ready_made]


def spared(count: int) -> float:
    return math.ceil(count + max(1.0, count / 10))


def test_cable_is_what_is_cut(plan: Plan) -> None:
    wanted: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for c in cut_cables(plan):
        assert c.cut is not None
        wanted[c.cable.type.name].append((c.cable.name, c.cut.length_m))
    lines = group(plan, "cable")
    assert set(lines) == set(wanted)
    for name, cuts in wanted.items():
        assert lines[name].quantity == pytest.approx(sum(m for _, m in cuts))
        assert set(lines[name].for_cables) == {n for n, _ in cuts}
        stock = [s for s in plan.job.stock if s.type == name]
        reel = stock[0].reel_m
        assert reel is not None
        # every type of the van fits one reel
        assert sum(m + 0.005 for _, m in cuts) <= reel - 0.05
        assert len(lines[name].cutting) == 1
        assert lines[name].price == (0.0 if stock[0].quantity else stock[0].price)


def test_leads_are_what_was_chosen(plan: Plan) -> None:
    wanted = Counter(
        (c.cable.type.name, round(m * 1000))
        for c in plan.cables
        if c.lead is not None
        for m in c.lead.lengths_m
    )
    found = {what: line.quantity for what, line in group(plan, "ready-made lead").items()}
    assert found == {f"{name}, ready-made lead {mm} mm": n for (name, mm), n in wanted.items()}


def takes(plan: Plan, planned: PlannedCable) -> str:
    """Wire by its gauge, braid by its width, anything else by its type."""
    kind, name = planned.cable.type, planned.cable.name
    if kind.cable_class is CableClass.BOND:
        return f"{kind.diameter_m * 1000:.0f} mm braid"
    assert plan.sizing is not None
    sized = plan.sizing.electrical.get(name)
    return kind.name if sized is None else f"{kind.name.split('-')[1].removesuffix('awg')} AWG (SAE)"


def test_terminals_are_those_of_the_ends(plan: Plan) -> None:
    made = [
        (plan.job.port(end).termination, takes(plan, c))
        for c in cut_cables(plan)
        for end in (c.cable.from_port, c.cable.to_port)
        if plan.job.port(end).termination
    ]
    ends = Counter(f"{termination}, for {wire}" for termination, wire in made)
    found = {what: line.quantity for what, line in group(plan, "terminal or connector").items()}
    assert found == {what: spared(n) for what, n in ends.items()}
    labels = group(plan, "label")["label, printed, for a cable end"]
    assert labels.quantity == spared(2 * len(plan.cables))
    shrink = sum(line.quantity for line in group(plan, "heat shrink").values())
    assert (
        0.05 * sum(ends.values()) * 1.1
        <= shrink
        <= 0.05 * sum(ends.values()) * 1.1 + 0.1 * len(group(plan, "heat shrink"))
    )


def test_fuses_are_those_that_were_sized(plan: Plan) -> None:
    assert plan.sizing is not None
    fuses = [e.fuse for e in plan.sizing.electrical.values() if e.fuse is not None]
    wanted = Counter(f"fuse {f.rating_a:g} A, {f.series}" for f in fuses)
    assert {w: line.quantity for w, line in group(plan, "fuse").items()} == {
        w: n + 1 for w, n in wanted.items()
    }
    holders = sum(not f.in_block for f in fuses)
    blocks = group(plan, "distribution")
    assert sum(line.quantity for w, line in blocks.items() if w.startswith("fuse holder")) == holders
    assert blocks["distribution block"].quantity == 1.0


def test_grommets_are_for_new_holes_alone(plan: Plan) -> None:
    new = [h for h in plan.holes if h.drill]
    assert new
    assert all(h.state is not HoleState.EXISTING for h in new)
    found = group(plan, "grommet")
    # The roof is of two skins: a grommet in each.
    assert {card.name: card.size.sheets for card in plan.drilling} == {"roof gland over cab": 2}
    assert sum(line.quantity for line in found.values()) == 2
    for card in plan.drilling:
        size = card.size
        mine = [
            line for w, line in found.items() if w.startswith(f"grommet, {size.clear_m * 1000:g} mm bore")
        ]
        assert len(mine) == 1
        assert set(mine[0].for_cables) == set(card.cables)
    assert group(plan, "paint and sealant")["touch-up primer and paint, small tin"].quantity == 1.0


def test_clips_hold_every_cable_and_are_shared_by_their_like(plan: Plan) -> None:
    """Fewer than cable by cable, and as many as the longest of what runs together takes alone."""
    apart: dict[str, int] = {}
    loops = 0
    for c in plan.cables:
        assert c.route is not None
        assert c.cut is not None
        apart[c.cable.name] = max(0, math.ceil(c.route.length_m / 0.45 - 1e-9) - 1)
        loops += sum("loop" in line.what for line in c.cut.lines)
        loops += c.lead is not None and c.lead.surplus_m > 0.02
    lines = group(plan, "clip")
    clips = sum(line.quantity for line in lines.values())
    assert max(apart.values()) < clips < sum(apart.values())
    assert {name for line in lines.values() for name in line.for_cables} == {n for n, k in apart.items() if k}
    classes = {c.cable.name: c.cable.cable_class for c in plan.cables}
    supply = {CableClass.POWER, CableClass.BOND}
    for what, line in lines.items():
        if "bundle" in what and {classes[n] for n in line.for_cables} & supply:
            # of one size there may be bundles of several kinds, so each kind has two cables at least
            assert sum(classes[n] in supply for n in line.for_cables) > 1, what
    ties = group(plan, "tie")["cable tie"]
    assert ties.quantity >= spared(2 * loops)
    assert "par. 11-158b" in ties.why


def test_sleeve_is_the_length_in_harsh_spaces(plan: Plan) -> None:
    """By where the points of the route lie among the spaces it visits, not by its holes."""
    harsh = {
        s.name for s in plan.job.spaces if {Exposure.WET, Exposure.HOT, Exposure.STONES} & set(s.exposure)
    }
    metres: dict[str, float] = defaultdict(float)
    for c in plan.cables:
        assert c.route is not None
        middles = (c.route.points_m[1:] + c.route.points_m[:-1]) / 2
        steps = np.linalg.norm(np.diff(c.route.points_m, axis=0), axis=1)
        for middle, step in zip(middles, steps, strict=True):
            inside = next(
                (
                    s.name
                    for s in plan.job.spaces
                    if s.name in c.route.spaces
                    and any(
                        (np.array(b.low_m) <= middle).all() and (middle <= np.array(b.high_m)).all()
                        for b in s.boxes
                    )
                ),
                "",
            )
            if inside in harsh:
                metres[c.cable.name] += float(step)
    lines = group(plan, "sleeve").values()
    served = {name for line in lines for name in line.for_cables}
    assert served == {name for name, m in metres.items() if m > 0.15}
    total = sum(m for name, m in metres.items() if name in served)
    assert sum(line.quantity for line in lines) == pytest.approx(
        1.1 * total, abs=0.1 * len(list(lines)) + 0.1 * total
    )


def test_a_cord_is_left_where_it_is_closed_up(plan: Plan) -> None:
    through = {c.cable.name for c in plan.cables if c.route is not None and "roof cavity" in c.route.spaces}
    (line,) = group(plan, "pull cord").values()
    assert set(line.for_cables) == through


def test_every_line_says_for_what_and_why(plan: Plan) -> None:
    names = {c.cable.name for c in plan.cables}
    for line in plan.order:
        assert line.for_cables, line.what
        assert set(line.for_cables) <= names
        assert line.why
        assert line.quantity > 0
