"""One more cable between two spaces through the holes that are there.

Stage      service; asks nothing of the mesh
Units      m, minutes
Source     room in a hole: the fill rule of `routecut.routes.harness`
Safe side  a hole that has still to be drilled is none; one that nothing goes into is no way, but told
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise

from routecut.model.job import ANY, HoleState
from routecut.model.one_more import Crossing, OneMore, SpareHole
from routecut.model.plan import Plan
from routecut.model.service import Answer, Asked, Focus, PlaceKind, Removal, Service, ServicePlace
from routecut.service.graph import removal_of
from routecut.service.room import hole_room


def spare_holes(plan: Plan) -> tuple[SpareHole, ...]:
    """Every hole that is there once the plan is built, with what room it has; those with most room first."""
    service = plan.service or Service()
    sides: dict[str, list[str]] = {}
    for place in (*service.places, *service.unused):
        if place.kind is PlaceKind.HOLE:
            sides.setdefault(place.name, []).append(place.key)
    found = []
    for hole in plan.holes:
        if hole.state is not HoleState.EXISTING and not hole.drill:
            continue
        name = hole.pass_through.name
        room = hole_room(plan.holes, plan.cables, name)
        found.append(
            SpareHole(
                hole=name,
                joins=hole.pass_through.joins,
                clear_m=hole.pass_through.diameter_m,
                filled=room.filled,
                most=room.most_with,
                largest_m=room.largest_m,
                used_by=hole.cables,
                sides=tuple(sides.get(name, ())),
            )
        )
    return tuple(sorted(found, key=lambda h: (-h.largest_m, h.hole)))


def one_more(plan: Plan, start: str, end: str, *, diameter_m: float = 0.0, cable_class: str = "") -> OneMore:
    """The way with the fewest holes, and of those between two spaces the ones that are quickest to get at.

    Parameters
    ----------
    plan : Plan
        With its service study.
    start, end : str
        Names of spaces.
    diameter_m : float
        Of the cable; where it is not known, whatever goes in. [m]
    cable_class : str
        Of the cable, where that is known: a hole may be for some classes only.
    """
    return _Rooms(plan, diameter_m, cable_class).way(start, end)


def all_ways(plan: Plan) -> tuple[OneMore, ...]:
    """Between any two spaces that a cable of the job begins or ends in, or goes through."""
    rooms = _Rooms(plan)
    used = dict.fromkeys(s for c in plan.cables if c.route is not None for s in c.route.spaces)
    spaces = [s.name for s in plan.job.spaces if s.name in used]
    return tuple(rooms.way(a, b) for a, b in combinations(spaces, 2))


def more_answer(plan: Plan, way: OneMore) -> Answer:
    """The way of one more cable as an answer: the places of its holes, what comes off, what that has near."""
    service = plan.service or Service()
    by_key = {p.key: p for p in (*service.places, *service.unused)}
    return Answer(
        asked=Asked.JOB,
        name="everything",
        focus=Focus.ROOM,
        one_more=way,
        places=tuple(by_key[k] for c in way.crossings for h in c.holes[:1] for k in h.sides),
        removal=Removal(trims=way.trims, minutes=way.minutes, unknown=way.unknown),
        near=tuple((t, keep_out, far) for t in way.trims for keep_out, far in service.trim(t).near),
    )


class _Rooms:
    """The spaces of a plan, joined by what is between them."""

    def __init__(self, plan: Plan, diameter_m: float = 0.0, cable_class: str = "") -> None:
        self.plan, self.diameter_m, self.cable_class = plan, diameter_m, cable_class
        self.only = {h.pass_through.name: h.pass_through.classes for h in plan.holes}
        self.service = plan.service or Service()
        self.holes = spare_holes(plan)
        self.places: Mapping[str, ServicePlace] = {
            p.key: p for p in (*self.service.places, *self.service.unused)
        }
        self.open: set[frozenset[str]] = {
            frozenset((s.name, other)) for s in plan.job.spaces for other in s.open_to
        }

    def way(self, start: str, end: str) -> OneMore:
        """One way, or that there is none."""
        spaces = self._spaces(start, end)
        crossings = tuple(self._crossing(a, b) for a, b in pairwise(spaces))
        through = [c.holes[0].hole for c in crossings if c.holes]
        follow = self._follow(spaces, through) if len(spaces) > 1 else ()
        along = set(follow[:1] or (name for c in crossings for name in c.follow[:1]))
        places = [
            place
            for c in crossings
            for h in c.holes[:1]
            for key in h.sides
            if (place := self.places[key]).removal is not None
        ]
        covered = [cover.trim for c in self.plan.cables if c.cable.name in along for cover in c.covered]
        removal = (removal_of(self.service, places, covered) if spaces else None) or Removal()
        tied = [b.name for b in self.plan.bundles if {m.cable for m in b.members} & along]
        on_way = {frozenset(pair) for pair in pairwise(spaces)}
        full = [h for h in self.holes if not self._takes(h) and (not spaces or frozenset(h.joins) in on_way)]
        return OneMore(
            start=start,
            end=end,
            diameter_m=self.diameter_m,
            cable_class=self.cable_class,
            crossings=crossings,
            follow=follow,
            bundles=tuple(tied),
            trims=removal.trims,
            minutes=removal.minutes,
            unknown=removal.unknown,
            full=tuple(full),
        )

    def _crossing(self, one: str, other: str) -> Crossing:
        holes = self._between(one, other)
        follow = self._follow([one, other], [h.hole for h in holes[:1]])
        return Crossing(from_space=one, to_space=other, holes=holes, follow=follow)

    def _takes(self, hole: SpareHole) -> bool:
        only = self.only[hole.hole]
        for_it = not self.cable_class or ANY in only or self.cable_class in only
        return for_it and hole.largest_m > 0.0 and hole.largest_m >= self.diameter_m - 1e-9

    def _between(self, one: str, other: str) -> tuple[SpareHole, ...]:
        """The holes that take it, the quickest to get at first, then the one with most room."""
        found = [h for h in self.holes if set(h.joins) == {one, other} and self._takes(h)]
        return tuple(sorted(found, key=lambda h: (self._minutes(h), -h.largest_m, h.hole)))

    def _minutes(self, hole: SpareHole) -> float:
        """To get at both sides; of a side that no hand gets to nothing is counted."""
        places = [p for key in hole.sides if (p := self.places[key]).removal is not None]
        removal = removal_of(self.service, places) or Removal()
        return sum(self.service.trim(t).counts_as for t in removal.trims)

    def _spaces(self, start: str, end: str) -> list[str]:
        """From space to space with the fewest crossings; none where there is no way."""
        came: dict[str, str] = {start: ""}
        waiting = [start]
        while waiting:
            here = waiting.pop(0)
            if here == end:
                return list(reversed(list(_back(came, end))))
            for other in self._next(here):
                if other not in came:
                    came[other] = here
                    waiting.append(other)
        return []

    def _next(self, here: str) -> list[str]:
        open_ = [next(iter(pair - {here})) for pair in self.open if here in pair and len(pair) > 1]
        through = [
            next(j for j in h.joins if j != here)
            for h in self.holes
            if here in h.joins and h.joins[0] != h.joins[1] and self._takes(h)
        ]
        order = {s.name: n for n, s in enumerate(self.plan.job.spaces)}
        return sorted({*open_, *through}, key=lambda s: order.get(s, len(order)))

    def _follow(self, spaces: Sequence[str], through: Sequence[str]) -> tuple[str, ...]:
        """The cables that go this way from space to space, in either direction."""
        found = []
        for c in self.plan.cables:
            if c.route is None or not (_has(c.route.spaces, spaces) or _has(c.route.spaces[::-1], spaces)):
                continue
            same = len(set(through) & {p.name for p in c.route.passages})
            found.append((-same, c.route.length_m, c.cable.name))
        return tuple(name for _, _, name in sorted(found))


def _has(spaces: Sequence[str], part: Sequence[str]) -> bool:
    """Whether one stands in the other without a gap."""
    return any(tuple(spaces[k : k + len(part)]) == tuple(part) for k in range(len(spaces)))


def _back(came: Mapping[str, str], end: str) -> Iterator[str]:
    here = end
    while here:
        yield here
        here = came[here]
