"""Holes in a plan: which candidates are opened, and a card for each that is drilled.

Stage      planning, round routing
Units      m
Safe side  a candidate with something behind it is closed before a cable can take it
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from routecut.drilling.cards import make_card
from routecut.drilling.scene import Scene
from routecut.drilling.study import exists, passing_of, spaces_of, study
from routecut.model.drilling import DrillCard
from routecut.model.finding import Finding, Severity
from routecut.model.job import Job
from routecut.model.plan import PlannedHole, Route
from routecut.roadmap.build import Roadmap
from routecut.routes.harness import Harness, fill
from routecut.units import format_length


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """What was decided of the candidates before routing.

    Attributes
    ----------
    closed : frozenset of str
        Candidates no cable may take: refused, or not worth drilling.
    refused : dict of str to str
        Those that must not be drilled, and why.
    worth : dict of str to str
        Why each of the others is drilled.
    reached : frozenset of str
        Cables that have a way through what is open.
    """

    closed: frozenset[str] = frozenset()
    refused: dict[str, str] = field(default_factory=dict)
    worth: dict[str, str] = field(default_factory=dict)
    reached: frozenset[str] = frozenset()

    def of(self, job: Job, *, every: bool = False) -> Job:
        """The job with the holes that are open; `every`: all that may be drilled."""
        shut = set(self.refused) if every else self.closed
        return replace(job, pass_throughs=tuple(h for h in job.pass_throughs if h.name not in shut))


def open_holes(roadmap: Roadmap, say: Callable[[str], None] | None = None) -> Opened:
    """Choose among the candidates of a job for all cables together."""
    job = roadmap.job
    if all(exists(h) for h in job.pass_throughs):
        return Opened()
    told, _ = study(roadmap, look_for_places=False, progress=say)
    best = told.rows[told.best]
    new = {h.name for h in job.pass_throughs if not exists(h)}
    return Opened(
        closed=frozenset(new - set(best.new)),
        refused=dict(told.refused),
        worth={name: worth_text(more, job) for name, more in told.others},
        reached=frozenset(best.ways),
    )


def worth_text(more_m: float, job: Job) -> str:
    """What doing without a chosen hole would cost, in words."""
    if math.isinf(more_m):
        return "without it a cable could not be reached"
    return (
        f"without it the next best costs {format_length(max(more_m, 0.0), job.length_unit)} of cable more, a new "
        f"hole counted as {format_length(job.drilling.hole_cost_m, job.length_unit)}"
    )


def planned_holes(
    roadmap: Roadmap, job: Job, routes: Mapping[str, Route], opened: Opened
) -> tuple[tuple[PlannedHole, ...], tuple[DrillCard, ...], list[Finding]]:
    """Every pass-through with the cables that use it; a card for each that has to be drilled."""
    harness: Harness | None = None
    scene: Scene | None = None
    holes, cards, findings = [], [], []
    for hole in job.pass_throughs:
        users = [
            c
            for c in job.cables
            if c.name in routes and any(p.name == hole.name for p in routes[c.name].passages)
        ]
        drill = not exists(hole) and bool(users)
        why = "is there already" if users else "not used"
        behind: dict[str, float | None] = {}
        if drill:
            why = opened.worth.get(hole.name, "the holes chosen first leave no way that can be laid")
            if scene is None or harness is None:
                scene = Scene.of(job, roadmap.body, roadmap.sheets, roadmap.keep_outs)
                harness = Harness.of(replace(roadmap, job=job))
            card = make_card(scene, hole, spaces_of(harness, hole), passing_of(job, users))
            cards.append(card)
            findings += _about(card)
            for side in (card.near, card.far):
                behind[side.space] = None if side.met is None else side.met.free_m
        refused = opened.refused.get(hole.name)
        if refused is not None:
            findings.append(_refused(hole.name, refused))
        filled, most = fill(hole, [c.type.diameter_m for c in users])
        holes.append(
            PlannedHole(
                pass_through=hole,
                state=hole.state,
                drill=drill,
                at_m=hole.position.at_m,
                axis=hole.axis,
                cables=tuple(c.name for c in users),
                behind_m=behind,
                refused=refused,
                why=why,
                filled=filled,
                fill_most=most,
            )
        )
    return tuple(holes), tuple(cards), findings


def _refused(name: str, why: str) -> Finding:
    return Finding(
        code="hole-refused",
        severity=Severity.WARNING,
        where=f"pass-through {name}",
        message=f"it must not be drilled and is left out: {why}. Move it, or mend what the job says of it.",
        table="pass_through",
        key=name,
    )


def _about(card: DrillCard) -> list[Finding]:
    """What a card has to say loudly."""
    found = []
    where = f"pass-through {card.name}"
    if card.far.met is None:
        found.append(
            Finding(
                code="hole-blind",
                severity=Severity.WARNING,
                where=where,
                message=f"nothing is seen behind it in {card.far.space}: the mesh may end there. Probe by hand "
                "before drilling.",
                table="pass_through",
                key=card.name,
            )
        )
    if card.fix is None:
        found.append(
            Finding(
                code="hole-unplaced",
                severity=Severity.WARNING,
                where=where,
                message=f"it can't be found with a tape: {card.no_fix}.",
                table="pass_through",
                key=card.name,
            )
        )
    return found
