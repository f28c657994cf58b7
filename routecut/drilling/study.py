"""The drill study: which holes are worth drilling, for all cables together.

Stage      drilling, on the roadmap of a job
Units      m
Safe side  what must not be drilled is not chosen, however short it makes the cables; what the
           choice could not be proved on is said
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

import numpy as np

from routecut.drilling.cards import make_card
from routecut.drilling.choice import Answer, Hole, Question, Wire, choose, table
from routecut.drilling.find import find_places
from routecut.drilling.scene import Scene
from routecut.drilling.size import CLEAR_SIZES_M, Passing, plug_of
from routecut.drilling.ways import Ways, find_ways, length_m, ways_of, with_plug
from routecut.model.drilling import ChoiceRow, DrillCard, DrillStudy, Place
from routecut.model.job import Cable, HoleState, Job, PassThrough
from routecut.roadmap.build import Roadmap
from routecut.routes.harness import Harness
from routecut.units import format_length

LOOK_FEE_M: Final = 0.5
"""What a place found costs more than one the job gives: nobody has looked at it yet. [m]"""

WORTH_A_ROW_M: Final = 0.1
"""A further hole that shortens all cables together by less is not worth a row. [m]"""

_PROOF_M: Final = 1e-4


def exists(hole: PassThrough) -> bool:
    """Whether a pass-through is there already."""
    return hole.state is HoleState.EXISTING


@dataclass(eq=False)
class _Study:
    """What the steps of a study share."""

    scene: Scene
    harness: Harness
    ways: dict[str, Ways]
    question: Question
    barred: frozenset[str]


def study(
    roadmap: Roadmap,
    *,
    at_most: int | None = None,
    without: Sequence[str] = (),
    look_for_places: bool = True,
    progress: Callable[[str], None] | None = None,
) -> tuple[DrillStudy, Job]:
    """Which holes to drill.

    Parameters
    ----------
    roadmap : Roadmap
        Of the job, with the types its cables are laid as.
    at_most : int, optional
        New holes; any number where left out.
    without : sequence of str
        Holes that are not to be used, there or not.
    look_for_places : bool
        Look for places of its own beside the candidates of the job.

    Returns
    -------
    DrillStudy
    Job
        The job with the holes of the best choice and no others to drill, every cable held to
        the holes chosen for it: to be routed for true lengths.
    """
    say = progress or (lambda _stage: None)
    job = roadmap.job
    scene = Scene.of(job, roadmap.body, roadmap.sheets, roadmap.keep_outs)
    barred = set(without)
    say("looking behind the panels")
    refused = _refused(scene, Harness.of(roadmap), [h for h in job.pass_throughs if not exists(h)])
    found: list[PassThrough] = []
    looked_at = kept = 0
    if look_for_places:
        say("looking for places to drill")
        old = tuple(h for h in job.pass_throughs if exists(h) and h.name not in barred)
        before = Harness.of(replace(roadmap, job=replace(job, pass_throughs=old)))
        known = [c for c in job.cables if set(c.through) <= {h.name for h in old}]
        now = {c.name: _price_now_m(before, c) for c in known}
        found, looked_at, kept = find_places(scene, before, known, now)
        found = [h for h in found if not _beside(h, job)]
    say("weighing the ways of all cables")
    whole = replace(job, pass_throughs=(*job.pass_throughs, *found))
    harness = Harness.of(replace(roadmap, job=whole))
    harness.opened = {h.name for h in whole.pass_throughs if not exists(h)}
    ways = {c.name: ways_of(harness, c, there=exists) for c in job.cables}
    parts = _Study(scene, harness, ways, _question(whole, ways), frozenset(barred | set(refused)))
    say("choosing the holes")
    rows = table(parts.question, at_most=at_most, without=parts.barred)
    best = choose(parts.question, at_most=at_most, without=parts.barred)
    rows = _with_best(rows, best)
    told = tuple(_row(parts, answer) for answer in rows)
    index = next(i for i, answer in enumerate(rows) if answer is best)
    chosen, cards = _cards(parts, whole, best)
    return (
        DrillStudy(
            rows=told,
            best=index,
            others=_others(parts, best, at_most),
            places=tuple(_place(scene, h) for h in whole.pass_throughs if not exists(h)),
            refused=refused,
            looked_at=looked_at,
            kept=kept,
            cards=cards,
            plugs=_plugs(parts, best, at_most),
        ),
        _held_to(whole, best, chosen),
    )


def _price_now_m(harness: Harness, cable: Cable) -> float:
    """The cheapest way through what is there, plug and all; infinite when there is none. [m]"""
    graph = with_plug(harness, cable, plug_of(harness.job, cable))
    return find_ways(graph, cable.from_port, cable.to_port, through=cable.through, most=1).least_m


def _beside(hole: PassThrough, job: Job) -> bool:
    """Whether a place found is one the job has given as a candidate already."""
    return any(
        not exists(given)
        and set(given.joins) == set(hole.joins)
        and np.linalg.norm(np.subtract(given.position.at_m, hole.position.at_m)) < given.diameter_m
        for given in job.pass_throughs
    )


def spaces_of(harness: Harness, hole: PassThrough) -> tuple[str, str]:
    """Names of the spaces against a hole's axis and along it."""
    pair = harness.sides.get(hole.name)
    names = [s.name for s in harness.job.spaces]
    return hole.joins if pair is None else (names[pair[0]], names[pair[1]])


def _refused(scene: Scene, harness: Harness, holes: Sequence[PassThrough]) -> dict[str, str]:
    found = {}
    for hole in holes:
        card = make_card(scene, hole, spaces_of(harness, hole), ())
        if card.refused:
            found[hole.name] = card.refused
    return found


def _question(job: Job, ways: Mapping[str, Ways]) -> Question:
    drilling = job.drilling
    cost = dict(drilling.metre_cost)
    holes = tuple(
        Hole(
            name=h.name,
            new=not exists(h),
            fee_m=0.0
            if exists(h)
            else drilling.hole_cost_m + (LOOK_FEE_M if h.state is HoleState.FOUND else 0.0),
            diameters_m=tuple(s for s in CLEAR_SIZES_M if s <= h.diameter_m + 1e-9) or (h.diameter_m,)
            if h.state is HoleState.FOUND
            else (h.diameter_m,),
            in_use_m=h.in_use_m,
            classes=h.classes,
        )
        for h in job.pass_throughs
    )
    wires = tuple(
        Wire(
            name=c.name,
            cable_class=c.cable_class.value,
            diameter_m=c.type.diameter_m,
            ways=ways[c.name].ways,
            plug_m=plug_of(job, c),
            weight=cost.get(c.cable_class.value, 1.0),
        )
        for c in job.cables
    )
    new = [h for h in job.pass_throughs if not exists(h)]
    near = tuple((a.name, b.name) for a, b in combinations(new, 2) if _too_near(a, b, job))
    return Question(
        wires=wires,
        holes=holes,
        apart=tuple(combinations(sorted(drilling.apart), 2)),
        too_near=near,
    )


def _too_near(one: PassThrough, other: PassThrough, job: Job) -> bool:
    off = float(np.linalg.norm(np.subtract(one.position.at_m, other.position.at_m)))
    large = max(one.diameter_m, other.diameter_m)
    small = min(one.diameter_m, other.diameter_m)
    return off < job.drilling.edge_distance_diameters * large + small / 2


def _with_best(rows: tuple[Answer, ...], best: Answer) -> tuple[Answer, ...]:
    """The table with the best choice in the place of its number, without rows that buy nothing."""
    kept = [row for row in rows if len(row.new) != len(best.new)]
    told: list[Answer] = []
    for row in sorted([*kept, best], key=lambda row: len(row.new)):
        last = told[-1] if told else None
        if (
            row is best
            or last is None
            or len(row.lost) < len(last.lost)
            or _cable_m(last) - _cable_m(row) >= WORTH_A_ROW_M
        ):
            told.append(row)
    return tuple(told)


def _cable_m(answer: Answer) -> float:
    return sum(way.price_m for way in answer.ways.values())


def _row(parts: _Study, answer: Answer) -> ChoiceRow:
    cables = {c.name: c for c in parts.harness.job.cables}
    lengths = {
        name: length_m(parts.harness, cables[name], parts.ways[name].chains[way.holes])
        for name, way in answer.ways.items()
    }
    weight = {w.name: w.weight for w in parts.question.wires}
    # any choice that takes a way left out costs at least that way and the least of all other cables;
    # of one number of holes all pay about the same for them
    cable = sum(weight[n] * w.price_m for n, w in answer.ways.items())
    least = {n: weight[n] * w.least_m for n, w in parts.ways.items() if w.ways}
    floor = sum(least.values())
    proved = all(
        w.beyond_m * weight[n] + floor - least.get(n, 0.0) >= cable - _PROOF_M for n, w in parts.ways.items()
    )
    return ChoiceRow(
        most_new=len(answer.new),
        new=tuple(sorted(answer.new)),
        ways={n: w.holes for n, w in sorted(answer.ways.items())},
        lengths_m=lengths,
        unreached=answer.lost,
        price_m=answer.price_m,
        optimal=answer.optimal and proved,
    )


def _others(parts: _Study, best: Answer, at_most: int | None) -> tuple[tuple[str, float], ...]:
    """What doing without each chosen hole costs more. [m]"""
    found = []
    for name in sorted(best.new):
        other = choose(parts.question, at_most=at_most, without={*parts.barred, name})
        more = float("inf") if len(other.lost) > len(best.lost) else other.price_m - best.price_m
        found.append((name, more))
    return tuple(found)


def _plugs(parts: _Study, best: Answer, at_most: int | None) -> tuple[str, ...]:
    """What fitting connectors in the vehicle would change in the choice."""
    made_up = [w.name for w in parts.question.wires if w.plug_m > 0]
    if not made_up:
        return ()
    bare = replace(parts.question, wires=tuple(replace(w, plug_m=0.0) for w in parts.question.wires))
    other = choose(bare, at_most=at_most, without=parts.barred)
    unit, told = parts.scene.job.length_unit, []
    reached = [n for n in best.lost if n not in other.lost]
    if reached:
        told.append(
            f"With its connector fitted in the vehicle {', '.join(reached)} would reach; made up, its plug "
            "passes none of the holes."
        )
    fewer = len(best.new) - len(other.new)
    saved = best.price_m - other.price_m
    if not reached and len(other.lost) == len(best.lost) and (fewer > 0 or saved > 0.1):
        changed = [n for n in made_up if n in other.ways and other.ways[n] != best.ways.get(n)]
        who = f" ({', '.join(changed)})" if changed else ""
        told.append(
            f"With connectors fitted in the vehicle{who} "
            + (f"{fewer} fewer {'hole' if fewer == 1 else 'holes'} would do, " if fewer > 0 else "")
            + f"worth {format_length(max(saved, 0.0), unit)} of cable."
        )
    return tuple(told)


def passing_of(job: Job, cables: Sequence[Cable]) -> list[Passing]:
    """What a hole has to let through for some cables."""
    return [Passing(name=c.name, diameter_m=c.type.diameter_m, plug_m=plug_of(job, c)) for c in cables]


def _cards(parts: _Study, job: Job, best: Answer) -> tuple[tuple[PassThrough, ...], tuple[DrillCard, ...]]:
    """The chosen new holes at their sizes, and a card for each."""
    chosen = tuple(replace(h, diameter_m=best.new[h.name]) for h in job.pass_throughs if h.name in best.new)
    cards = tuple(
        make_card(
            parts.scene,
            hole,
            spaces_of(parts.harness, hole),
            passing_of(
                job, [c for c in job.cables if c.name in best.ways and hole.name in best.ways[c.name].holes]
            ),
        )
        for hole in chosen
    )
    return chosen, cards


def _held_to(job: Job, best: Answer, chosen: Sequence[PassThrough]) -> Job:
    """The job as chosen: no other new hole, and every cable kept off the holes of others."""
    made = {h.name: h for h in chosen}
    holes = tuple(made.get(h.name, h) for h in job.pass_throughs if exists(h) or h.name in made)
    cables = []
    for cable in job.cables:
        way = best.ways.get(cable.name)
        if way is not None:
            others = [h.name for h in holes if h.name not in way.holes and h.name not in cable.avoid]
            cables.append(replace(cable, avoid=(*cable.avoid, *others)))
        else:
            cables.append(cable)
    return replace(job, pass_throughs=holes, cables=tuple(cables))


def _place(scene: Scene, hole: PassThrough) -> Place:
    _, _, face = scene.sheets.closest(
        np.array([hole.position.at_m]) + np.array([hole.axis]) * hole.depth_m / 2, 0.05
    )
    return Place(
        name=hole.name,
        found=hole.state is HoleState.FOUND,
        at_m=hole.position.at_m,
        axis=hole.axis,
        depth_m=hole.depth_m,
        diameter_m=hole.diameter_m,
        joins=hole.joins,
        parts=(scene.part_of(int(face[0])),) if face[0] >= 0 else (),
        classes=hole.classes,
    )
