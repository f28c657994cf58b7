"""What it takes to get at a place along a route once everything is closed up.

Stage      ordering, with the mesh
Units      m, minutes
Safe side  a panel of trim close by counts as in front of the place
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from routecut.geometry.sheets import Sheets
from routecut.model.body import Body, Floats
from routecut.model.job import Access, Job, SurfaceKind
from routecut.model.plan import Covered, Passage, Route
from routecut.roadmap.build import COVER_M
from routecut.routes.polyline import points_at, running_m
from routecut.routes.whereabouts import space_at

IN_HOLE_M: Final = 0.060
"""A joint this near to the middle of a hole would sit in it. [m]"""


_STEP_M: Final = 0.020
"""How finely a route is looked along for trim. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What it takes to get at a place.

    `minutes` is None where nobody knows, or where it can't be reached. `behind` names the trim in
    front of it, or the hole it is in.
    """

    space: str
    access: Access
    minutes: float | None
    behind: str = ""
    in_hole: bool = False

    @property
    def rank(self) -> int:
        """0 open, 1 behind trim, 2 in a hole, 3 sealed."""
        if self.access is Access.SEALED:
            return 3
        if self.in_hole:
            return 2
        return 0 if self.access is Access.OPEN else 1


class Cover:
    """The trim of a vehicle and its spaces, asked for places along routes."""

    def __init__(self, job: Job, body: Body | None = None) -> None:
        self._job = job
        self._spaces = {s.name: s for s in job.spaces}
        self._depths = {h.name: h.depth_m for h in job.pass_throughs}
        self._body = body
        self._sheets: Sheets | None = None
        if body is not None:
            trim = body.faces_of_kind(SurfaceKind.TRIM)
            if trim.any():
                self._sheets = Sheets(body.triangles_m[trim])
                self._part = body.face_part[trim]

    def at(self, route: Route, at_m: Floats) -> list[Reach]:
        """What it takes at each of some positions along a route.

        Parameters
        ----------
        route : Route
        at_m : (n,) float64
            Along its computed curve. [m]
        """
        run = running_m(route.points_m)
        points = points_at(np.asarray(at_m, dtype=np.float64), run, route.points_m)
        trims = self._trims(points)
        found = []
        for at, point, (part, minutes) in zip(at_m, points, trims, strict=True):
            name = space_at(self._job, route, float(at), point)
            space = self._spaces.get(name)
            access = Access.OPEN if space is None else space.access
            hole = self._hole(route.passages, float(at))
            takes: float | None = minutes
            if access is Access.SEALED or (access is Access.TRIM and not part):
                takes = None
            elif part and access is Access.OPEN:
                access = Access.TRIM
            if takes is not None and part:
                takes += self._minutes_before(part)
            found.append(
                Reach(space=name, access=access, minutes=takes, behind=hole or part, in_hole=bool(hole))
            )
        return found

    def along(self, route: Route) -> tuple[Covered, ...]:
        """The stretches of a route with trim in front of them, in order.

        One piece of trim has one stretch for each time the cable comes behind it; gaps of less than
        `COVER_M` don't count, nor stretches that short.
        """
        run = running_m(route.points_m)
        at = np.linspace(0.0, run[-1], max(2, int(np.ceil(run[-1] / _STEP_M)) + 1))
        found: list[Covered] = []
        last: dict[str, int] = {}
        for here, (part, minutes) in zip(
            at.tolist(), self._trims(points_at(at, run, route.points_m)), strict=True
        ):
            if not part:
                continue
            k = last.get(part)
            if k is not None and here - found[k].to_m <= COVER_M:
                found[k] = replace(found[k], to_m=here)
            else:
                last[part] = len(found)
                found.append(Covered(trim=part, from_m=here, to_m=here, minutes=minutes))
        return tuple(c for c in found if c.to_m - c.from_m >= COVER_M)

    def _minutes_before(self, part: str) -> float:
        """What it takes to take off the trim that has to be off before a piece. [min]"""
        if self._body is None:
            return 0.0
        number = {name: k for k, name in enumerate(self._body.parts)}
        before: set[str] = set()
        waiting = [part]
        while waiting:
            for name in self._body.off_before(number[waiting.pop()]):
                if name not in before:
                    before.add(name)
                    waiting.append(name)
        return sum(self._body.rules[number[name]].removal_minutes for name in sorted(before))

    def _trims(self, points_m: Floats) -> list[tuple[str, float]]:
        """The nearest trim in front of each point with its minutes; nothing where there is none."""
        found: list[tuple[str, float]] = [("", 0.0)] * len(points_m)
        if self._sheets is None or self._body is None:
            return found
        _, _, faces = self._sheets.closest(points_m, COVER_M)
        for point, face in enumerate(faces.tolist()):
            if face >= 0:
                part = int(self._part[face])
                found[point] = (self._body.parts[part], self._body.rules[part].removal_minutes)
        return found

    def _hole(self, passages: Sequence[Passage], at_m: float) -> str:
        for passage in passages:
            if abs(at_m - passage.at_route_m) <= IN_HOLE_M + self._depths.get(passage.name, 0.0) / 2:
                return passage.name
        return ""
