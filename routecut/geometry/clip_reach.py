"""What a port sees of the panels: how far its cable may go to the first clip, and what stands in the way.

Asked by the search when it joins a port to its points along the panels, and before a plan by the survey.

Units      m
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from routecut.geometry.keep_out import KEEP_OUT_MARGIN_M, KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.model.body import Body, Floats
from routecut.model.job import Port, Routing, SurfaceKind
from routecut.units import format_length

REACH_SPACINGS: Final = 2.5
"""How far a terminal looks for nodes, in node spacings, where bridges are forbidden."""

BRIDGE_SHARE: Final = 0.75
"""Of the bridge length, what the way from a port to its first clip, or straight across to another, may take: the
bends need the rest."""

STRAIGHT_DIAMETERS: Final = 3.0
"""Straight piece behind a connector, in cable diameters: half of what NASA-STD-8739.4 asks of coax."""

_LEAD_SHARE: Final = 0.8
"""Of a lead-out that is short, what at most is straight."""

_LEAD_OUTS: Final = (1.0, 0.6, 0.3)
"""Shares of the bend radius tried as lead-out where something stands before the port."""

_LOOKS: Final = 400
"""Ways looked along from a port; at 300 mm they are about 55 mm apart, as nodes are."""

_SIDES: Final = 20

_SAMPLES: Final = 9
_AT_ONCE: Final = 64
_HAIR_M: Final = 1e-3
_FIRST_LOOK_M: Final = 0.25


def reach_m(routing: Routing, lead_m: float = 0.0) -> float:
    """How far a cable may go from the end of its lead-out to its first clip. [m]"""
    return max(REACH_SPACINGS * routing.node_spacing_m, BRIDGE_SHARE * routing.bridge_m - lead_m)


def lead_out_m(sheets: Sheets, port: Port, *, radius_m: float, bend_m: float) -> Floats:
    """The port, and the end of the straight it leaves by where it says how, (1 or 2, 3). [m]"""
    at = np.array(port.position.at_m)
    if port.leaves is not None:
        towards = np.array(port.leaves)
        for share in _LEAD_OUTS:
            out = at + towards * max(share * bend_m, 2 * radius_m)
            start = (at + towards * 1e-3)[None]
            if not sheets.tube_blocked(start, out[None], radius_m)[0]:
                return np.stack([at, out])
    return at[None]


def shortest_lead_m(radius_m: float, bend_m: float) -> float:
    """The shortest lead-out that is tried. [m]"""
    return max(_LEAD_OUTS[-1] * bend_m, 2 * radius_m)


def straight_m(diameter_m: float, lead_m: float) -> float:
    """How far a cable goes straight out of its connector on a lead-out of that length. [m]"""
    return min(STRAIGHT_DIAMETERS * diameter_m, _LEAD_SHARE * lead_m)


def wanted_m(keep_out: KeepOutField, radius_m: float) -> float:
    """How far the middle of a cable stays from a keep-out. [m]"""
    return keep_out.clearance_m + radius_m + KEEP_OUT_MARGIN_M


def passes(
    keep_out: KeepOutField, radius_m: float, from_m: Floats, to_m: Floats, *, samples: int
) -> np.ndarray:
    """Whether a cable laid straight from one point to each of others keeps the clearance, (n,) bool."""
    on_way = from_m + np.linspace(0, 1, samples)[:, None, None] * (to_m - from_m)
    gap = keep_out.distance_m(on_way.reshape(-1, 3)).reshape(samples, len(to_m))
    return np.asarray((gap >= wanted_m(keep_out, radius_m)).all(axis=0))


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """From where a cable looks for its first clip, and what it has to keep clear of.

    Attributes
    ----------
    sheets : Sheets
        Of every face of the body, in its order.
    start_m : (3,) float64
        The end of the lead-out. [m]
    lead_m : float
        Length of the lead-out. [m]
    """

    body: Body
    sheets: Sheets
    routing: Routing
    keep_outs: Sequence[KeepOutField]
    radius_m: float
    start_m: Floats
    lead_m: float

    @classmethod
    def of(
        cls,
        port: Port,
        body: Body,
        sheets: Sheets,
        routing: Routing,
        keep_outs: Sequence[KeepOutField],
        *,
        radius_m: float,
        bend_m: float,
    ) -> Outlook:
        """That of a cable at a port; `keep_outs` are those of its class."""
        points = lead_out_m(sheets, port, radius_m=radius_m, bend_m=bend_m)
        lead_m = float(np.linalg.norm(points[-1] - points[0]))
        return cls(body, sheets, routing, keep_outs, radius_m, points[-1], lead_m)

    @property
    def reach_m(self) -> float:
        """How far it may go to its first clip. [m]"""
        return reach_m(self.routing, self.lead_m)

    def sees_panel(self) -> bool:
        """Whether any panel is seen within reach, clear of sheets and keep-outs, of whatever space it is.

        Looked at: the nearest place of every face, and where many ways spread evenly meet sheets first.
        """
        far = self.reach_m + self.routing.stand_off_m
        panel = self.body.faces_of_kind(SurfaceKind.PANEL)
        near = self.sheets.near(self.start_m[None], far)
        ways = _spread(_LOOKS)
        along, face = self.sheets.first_hit(np.repeat(self.start_m[None], len(ways), axis=0), ways, far)
        met = (face >= 0) & panel[face]
        faces = near.face[panel[near.face]]
        places = np.concatenate(
            [
                near.at_m[panel[near.face]],
                self.sheets.triangles_m[faces].reshape(-1, 3),
                self.start_m + along[met, None] * ways[met],
            ]
        )
        # A clip sits off its sheet, and off the edge of one round which the cable goes: to whatever side.
        clips = (places[:, None] + self.routing.stand_off_m * _spread(_SIDES)).reshape(-1, 3)
        clips = np.concatenate([self._clips_m(places), clips])
        distance = np.linalg.norm(clips - self.start_m, axis=1)
        order = np.argsort(distance, kind="stable")
        clips = clips[order[distance[order] <= self.reach_m]]
        clips = clips[~self.sheets.blocked(np.repeat(self.start_m[None], len(clips), axis=0), clips)]
        if not self._clear(self.start_m[None], 1).all():
            return False
        # Keep-outs cost most to ask, and mostly one of the nearest places will do.
        return any(
            self._clear(clips[k : k + _AT_ONCE], _SAMPLES).any() for k in range(0, len(clips), _AT_ONCE)
        )

    def _clear(self, clips_m: Floats, samples: int) -> np.ndarray:
        """Whether straight ways to places keep clear of every keep-out, (n,) bool."""
        clear = np.ones(len(clips_m), dtype=bool)
        for keep_out in self.keep_outs:
            rows = np.flatnonzero(clear)
            clear[rows] = passes(keep_out, self.radius_m, self.start_m, clips_m[rows], samples=samples)
        return clear

    def nearest(self, unit: str) -> str:
        """The nearest panel, how far it is and what stands between, in one sentence."""
        found = self._nearest_panel()
        if found is None:
            return "No part of the mesh is a panel: say in [[surface]] which parts are."
        place, distance, face = found
        what = f"The nearest panel, {self._part(face)!r}, is {format_length(distance, unit)} off"
        if self.lead_m > 0:
            what += f" once the cable has gone {format_length(self.lead_m, unit)} straight out"
        said = [what]
        if distance > self.reach_m + self.routing.stand_off_m:
            said.append(
                f"further than the {format_length(self.reach_m, unit, 'down')} it may hang free to its first clip"
            )
        said += self._between(place, distance)
        if len(said) == 1:
            said.append("with nothing between: it has no room for a cable there, or lies in another space")
        return ", ".join([said[0], " and ".join(said[1:])]) + "."

    def _between(self, place_m: Floats, distance_m: float) -> list[str]:
        """What stands between the start and the nearest place of a panel."""
        said = []
        if distance_m > 2 * _HAIR_M:
            way = (place_m - self.start_m) / distance_m
            _, face = self.sheets.first_hit(
                (self.start_m + _HAIR_M * way)[None], way[None], distance_m - 2 * _HAIR_M
            )
            if face[0] >= 0:
                said.append(f"behind the part {self._part(int(face[0]))!r}")
        clip = self._clips_m(place_m[None])
        said += [
            f"within the clearance of the keep-out {k.name!r} or behind it"
            for k in self.keep_outs
            if not passes(k, self.radius_m, self.start_m, clip, samples=4 * _SAMPLES)[0]
        ]
        return said

    def _clips_m(self, places_m: Floats) -> Floats:
        """Where a cable would be clipped to places that are seen from the start, (n, 3). [m]"""
        way = places_m - self.start_m
        distance = np.linalg.norm(way, axis=1, keepdims=True)
        back = np.minimum(self.routing.stand_off_m, distance)
        return np.asarray(places_m - way * (back / np.maximum(distance, _HAIR_M)))

    def _nearest_panel(self) -> tuple[Floats, float, int] | None:
        panel = self.body.faces_of_kind(SurfaceKind.PANEL)
        if not panel.any():
            return None
        look = _FIRST_LOOK_M
        while True:
            near = self.sheets.near(self.start_m[None], look)
            of_panel = np.flatnonzero(panel[near.face])
            if len(of_panel):
                first = of_panel[0]
                return near.at_m[first], float(near.distance_m[first]), int(near.face[first])
            look *= 2

    def _part(self, face: int) -> str:
        return self.body.parts[int(self.body.face_part[face])]


def _spread(count: int) -> Floats:
    """Unit vectors spread evenly over a sphere, (count, 3)."""
    turn = np.arange(count) * np.pi * (3 - 5**0.5)
    up = 1 - (2 * np.arange(count) + 1) / count
    across = np.sqrt(1 - up**2)
    return np.stack([across * np.cos(turn), across * np.sin(turn), up], axis=1)
