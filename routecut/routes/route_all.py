"""All cables of a job together: each finds its way, then all are tightened and bent at once.

Units      m
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from routecut.model.body import Floats
from routecut.model.company import Bought, Group, OtherWay, foreign, group_of
from routecut.model.finding import Finding
from routecut.model.plan import Route
from routecut.roadmap.build import Roadmap
from routecut.routes.bends import left_over, round_bends
from routecut.routes.bows import Known, add_bows, mend_bend
from routecut.routes.clips import add_clips, longest_span_m, spans
from routecut.routes.company import Company
from routecut.routes.explain import bend_finding, span_finding, why_no_route
from routecut.routes.finish import finish
from routecut.routes.harness import Harness
from routecut.routes.lanes import lane_of
from routecut.routes.lying import occupy, release
from routecut.routes.negotiate import negotiate
from routecut.routes.others import other_way
from routecut.routes.search import Found, find, lay_out, release_corners, with_trunks
from routecut.routes.strands import Bools, Strand, keep_out_gap_m
from routecut.routes.surface import Surface
from routecut.routes.tighten import tighten
from routecut.routes.trunks import Run, follow, in_turn, runs_shared, stiffened
from routecut.routes.turning import Blocked
from routecut.tables import separation_m

_MENDS = 12
_TRIES = 4
_ROUNDS = 3
"""How often bows over tight bends, clips in long spans and the smoothing of all bends take turns."""

_DETOUR = 1.2
_DETOUR_TRIES = 2
"""A cable laid longer than this share of the way it was found by is looked for again so many times."""

_DIP_M = 5e-4

_LOOP = 1.5
"""A bow that makes a cable longer by more than this many bend radii may be a loop that is not needed."""

_MET_M = 0.3
_MET_BENDS = 4.0
"""A strand stays within this, and so many bend radii, of the box round the way it was found by."""


def _meets(roadmap: Roadmap, strand: Strand) -> Blocked:
    """Whether straight legs of this cable would meet a sheet or a keep-out."""
    pinned = strand.points_m[strand.pinned]
    # Near the ends of its straight pieces a cable is still inside its passage or its connector.
    exempt = cKDTree(pinned) if len(pinned) else None

    def meets(from_m: Floats, to_m: Floats) -> Bools:
        hit = roadmap.sheets.blocked(from_m, to_m)
        rows = np.flatnonzero(~hit)
        if exempt is not None:
            rows = rows[exempt.query(to_m[rows])[0] > strand.stand_off_m]
        hit[rows] |= roadmap.sheets.skin_blocked(from_m[rows], to_m[rows], strand.radius_m)
        rows = np.flatnonzero(~hit)
        owner = np.zeros(len(rows), dtype=np.int64)
        hit[rows] |= keep_out_gap_m([strand], to_m[rows], owner) < -_DIP_M / 2
        return hit

    return meets


def _mended(strand: Strand, meets: Blocked) -> Strand:
    """Bows over the bends that are left too tight, worst first."""
    for _ in range(_MENDS):
        tight = left_over([strand])
        if not tight:
            break
        mended = mend_bend(strand, np.array(tight[0].at_m), meets)
        if mended is None:
            break
        strand = mended
    return strand


def _trouble(roadmap: Roadmap, surface: Surface, strand: Strand) -> Floats:
    """Places where a finished strand breaks a rule, (k, 3): too tight, too long in the air, across a sheet."""
    places = [np.array(bend.at_m) for bend in left_over([strand])]
    longest = longest_span_m(strand, roadmap.job.routing.bridge_m)
    places += [np.array(span.middle_m) for span in spans(surface, strand, longest)]
    inner = np.flatnonzero(~(strand.pinned[:-1] & strand.pinned[1:]))
    start, end = strand.points_m[inner], strand.points_m[inner + 1]
    meets = surface.sheets.blocked(start, end)
    owner = np.zeros(len(inner), dtype=np.int64)
    middle = (start + end) / 2
    meets |= keep_out_gap_m([strand], middle, owner) < -_DIP_M
    places += list(middle[meets])
    return np.array(places).reshape(-1, 3)


def _worse(one: Strand, other: Strand) -> bool:
    """Whether its tightest bend is tighter, as a share of what its cable needs."""
    tightest = [min((b.radius_m / s.bend_m for b in left_over([s])), default=np.inf) for s in (one, other)]
    return tightest[0] < tightest[1]


def _bundled(way: Found) -> bool:
    """Whether it is to be laid otherwise than it would be on its own."""
    return bool(way.trunks) or way.strand.bend_m > way.cable.type.min_bend_radius_m


def _lay(roadmap: Roadmap, surface: Surface, ways: list[Found], say: Callable[[str], None]) -> list[Strand]:
    """The ways pulled tight and bent; those laid before on this roadmap are as they were then."""
    known = roadmap.memory.laid
    keys = [_way_key(way) for way in ways]
    new = [i for i, key in enumerate(keys) if key not in known]
    if new:
        for i, strand in zip(new, _lay_anew(roadmap, surface, [ways[i] for i in new], say), strict=True):
            known[keys[i]] = strand
    # What is looked up was laid beside the same keep-outs; those far away may be others now.
    return [replace(known[key], keep_outs=way.strand.keep_outs) for key, way in zip(keys, ways, strict=True)]


def _way_key(way: Found) -> tuple[object, ...]:
    """All that decides how a way is laid; keep-outs too far from it to be met are left out."""
    strand = way.strand
    low, high = _reached(strand)
    met = [k.keep_out for k in strand.keep_outs if k.boxes_m(low[None], high[None])[0] <= k.clearance_m]
    return (
        strand.points_m.tobytes(),
        strand.pinned.tobytes(),
        strand.free.tobytes(),
        way.corners_m.tobytes(),
        (strand.stand_off_m, strand.radius_m, strand.bend_m, strand.bridge_m),
        tuple(met),
        None if strand.lane is None else strand.lane.key(),
    )


def _apart(roadmap: Roadmap, way: Found, laid: Mapping[str, tuple[Found, Strand]]) -> Found:
    """The way, to be laid apart from the lines of other kinds that lie near it."""
    group = group_of(way.cable.cable_class)
    lines = [
        strand.points_m
        for _, (other, strand) in sorted(laid.items())
        if foreign(group, group_of(other.cable.cable_class))
    ]
    low, high = _reached(way.strand)
    apart_m = separation_m(roadmap.job.rules)
    lane = lane_of(lines, roadmap.sheets, separation_m=apart_m, low=low, high=high)
    return replace(way, strand=replace(way.strand, lane=lane))


def _reached(strand: Strand) -> tuple[Floats, Floats]:
    """Corners of the box that a strand stays in while it is laid, (3,) and (3,). [m]"""
    reach = _MET_M + _MET_BENDS * strand.bend_m
    return strand.points_m.min(axis=0) - reach, strand.points_m.max(axis=0) + reach


def _lay_anew(
    roadmap: Roadmap, surface: Surface, ways: list[Found], say: Callable[[str], None]
) -> list[Strand]:
    say("pulling the routes tight")
    strands = tighten(surface, [way.strand for way in ways])
    say("rounding the bends")
    strands = [release_corners(way, with_trunks(way, s)) for way, s in zip(ways, strands, strict=True)]
    strands = _rounded(roadmap, surface, strands)
    helpless: set[bytes] = set()
    for _ in range(_ROUNDS):
        changed: dict[int, Strand] = {}
        for i, strand in enumerate(strands):
            meets = _meets(roadmap, strand)
            if left_over([strand]):
                # What no bow helped in one round, the same search does not help in the next.
                key = strand.points_m.tobytes()
                changed[i] = strand if key in helpless else _mended(strand, meets)
                if changed[i] is strand:
                    helpless.add(key)
            clipped = add_clips(
                surface, changed.get(i, strand), longest_span_m(strand, roadmap.job.routing.bridge_m), meets
            )
            if clipped is not None:
                changed[i] = clipped
        if not changed:
            break
        for i, strand in zip(changed, round_bends(surface, list(changed.values())), strict=True):
            strands[i] = strand
    return strands


def _rounded(roadmap: Roadmap, surface: Surface, strands: list[Strand]) -> list[Strand]:
    """The strands with bows and bends; a bow that goes round in a loop stays only where it can't be done without."""
    known: list[Known] = [{} for _ in strands]
    bowed = [
        add_bows(strand, _meets(roadmap, strand), known=own)
        for strand, own in zip(strands, known, strict=True)
    ]
    loops = [
        i
        for i, (strand, bow) in enumerate(zip(strands, bowed, strict=True))
        if bow.length_m - strand.length_m > _LOOP * strand.bend_m
    ]
    plain = [
        add_bows(strands[i], _meets(roadmap, strands[i]), longer_m=_LOOP * strands[i].bend_m, known=known[i])
        for i in loops
    ]
    laid = round_bends(surface, bowed + plain)
    done = laid[: len(strands)]
    for i, other in zip(loops, laid[len(strands) :], strict=True):
        if other.length_m < done[i].length_m and len(left_over([other])) <= len(left_over([done[i]])):
            done[i] = other
    return done


def _in_turn_by_kind(
    named: Mapping[str, Found], shared: Mapping[str, tuple[Run, ...]]
) -> Iterator[list[str]]:
    """Cables to be laid at once: one kind after the other, so that the later keep apart from lines that lie."""
    for group in Group:
        own = {n: runs for n, runs in shared.items() if group_of(named[n].cable.cable_class) is group}
        yield from in_turn(own)


def _lay_trunks(
    roadmap: Roadmap, surface: Surface, ways: list[Found], say: Callable[[str], None]
) -> dict[str, tuple[Found, Strand]]:
    """All ways laid, each after the stiffer ones it shares a run with and along their lines.

    One that can't be laid so is laid on its own, and where that can't be, without regard to other kinds.
    """
    shared = runs_shared(ways)
    named = {way.cable.name: way for way in ways}
    stiff = stiffened(named, shared)
    laid: dict[str, tuple[Found, Strand]] = {}

    def lay(ways: list[Found]) -> None:
        strands = _lay(roadmap, surface, ways, say)
        laid.update((way.cable.name, (way, strand)) for way, strand in zip(ways, strands, strict=True))

    def troubled(names: list[str]) -> list[str]:
        return [name for name in names if len(_trouble(roadmap, surface, laid[name][1]))]

    for names in _in_turn_by_kind(named, shared):
        leaders = {name: (named[name], strand) for name, (_, strand) in laid.items()}
        others = dict(laid)
        lay([_apart(roadmap, follow(roadmap, stiff[n], shared[n], leaders), others) for n in names])
        bundled = troubled([n for n in names if _bundled(laid[n][0])])
        lay([_apart(roadmap, named[n], others) for n in bundled])
        apart = {n: laid[n] for n in troubled([n for n in names if laid[n][0].strand.lane is not None])}
        lay([named[n] for n in apart])
        for name, kept in apart.items():
            if _worse(laid[name][1], kept[1]):
                laid[name] = kept
    return {way.cable.name: laid[way.cable.name] for way in ways}


def _straighten(
    roadmap: Roadmap,
    surface: Surface,
    harness: Harness,
    *,
    best: dict[str, tuple[Found, Strand]],
    trouble: dict[str, Floats],
    say: Callable[[str], None],
) -> None:
    """Another way for cables that needed a long loop to get round a bend; the shorter one stays, in `best`."""
    loops = [
        name
        for name, (way, strand) in best.items()
        if not len(trouble[name]) and strand.length_m > _DETOUR * with_trunks(way, way.strand).length_m
    ]
    if not loops:
        return
    say(f"looking for shorter ways for {len(loops)} of {len(best)} cables")
    others: list[Found] = []
    for name in loops:
        way, _ = best[name]
        moving = np.flatnonzero(~way.strand.pinned)
        places = way.strand.points_m[moving[[0, -1]]] if len(moving) else way.corners_m
        harness.shunned[name] = np.concatenate([harness.shunned.get(name, np.zeros((0, 3))), places])
        release(harness, way.way)
        others.append(find(harness, way.cable) or way)
        occupy(harness, way.way)
    others = [_apart(roadmap, other, best) for other in others]
    for other, strand in zip(others, _lay(roadmap, surface, others, say), strict=True):
        name = other.cable.name
        if strand.length_m < best[name][1].length_m and not len(_trouble(roadmap, surface, strand)):
            release(harness, best[name][0].way)
            occupy(harness, other.way)
            best[name] = (other, strand)


@dataclass(frozen=True, slots=True, kw_only=True)
class Routed:
    """What was found for all cables together.

    Attributes
    ----------
    routes : dict of str to Route
        By cable name; of those that have one.
    findings : list of Finding
        ``no-route``, ``bend-not-kept`` and ``span-not-kept`` errors.
    bought : Bought
        What laying like with like cost.
    others : dict of str to OtherWay
        The nearest other way of each cable that has one.
    """

    routes: dict[str, Route]
    findings: list[Finding]
    bought: Bought
    others: dict[str, OtherWay]


def route_all(roadmap: Roadmap, progress: Callable[[str], None] | None = None) -> Routed:
    """Routes of all cables that have one, and why the others have none.

    A route that can't be laid as it was found (a bend without room, a stretch too long in
    the air) is looked for again with the place made dearer, a few times.
    """
    say = progress or (lambda _stage: None)
    say("finding the ways")
    harness = Harness.of(roadmap)
    harness.company = Company(roadmap, separation_m(roadmap.job.rules))
    cables = roadmap.job.cables
    settled = negotiate(harness, cables)
    ways = [lay_out(harness, settled.ways[c.name]) for c in cables if c.name in settled.ways]
    findings = [why_no_route(harness, cable) for cable in cables if cable.name not in settled.ways]
    surface = Surface(roadmap.sheets, roadmap.panels)
    best = _lay_trunks(roadmap, surface, ways, say)
    trouble = {name: _trouble(roadmap, surface, strand) for name, (_, strand) in best.items()}
    for _ in range(_TRIES):
        again = [name for name in best if len(trouble[name])]
        if not again:
            break
        say(f"looking for other ways for {len(again)} of {len(best)} cables")
        others: list[Found] = []
        for name in again:
            before = harness.shunned.get(name, np.zeros((0, 3)))
            harness.shunned[name] = np.concatenate([before, trouble[name]])
            release(harness, best[name][0].way)
            other = find(harness, best[name][0].cable) or best[name][0]
            occupy(harness, other.way)
            others.append(other)
        others = [_apart(roadmap, other, best) for other in others]
        for other, strand in zip(others, _lay(roadmap, surface, others, say), strict=True):
            found = _trouble(roadmap, surface, strand)
            name = other.cable.name
            fewer = len(found) < len(trouble[name])
            if fewer or (len(found) == len(trouble[name]) and not _worse(strand, best[name][1])):
                best[name], trouble[name] = (other, strand), found
            else:  # keep the better one, but don't come back to either place
                release(harness, other.way)
                occupy(harness, best[name][0].way)
                harness.shunned[name] = np.concatenate([harness.shunned[name], found])
    for _ in range(_DETOUR_TRIES):
        _straighten(roadmap, surface, harness, best=best, trouble=trouble, say=say)
    names = [cable.name for cable in roadmap.job.cables if cable.name in best]
    for name in (n for n in names if len(trouble[n])):
        way, strand = best[name]
        findings += [bend_finding(way, bend) for bend in left_over([strand])]
        longest = longest_span_m(strand, roadmap.job.routing.bridge_m)
        findings += [span_finding(roadmap, way, span) for span in spans(surface, strand, longest)]
    routes = {name: finish(roadmap, *best[name]) for name in names}
    say("looking for the next best ways")
    nearest = {name: other_way(harness, best[name][0].way) for name in names}
    return Routed(
        routes=routes,
        findings=findings,
        bought=settled.bought,
        others={name: other for name, other in nearest.items() if other is not None},
    )
