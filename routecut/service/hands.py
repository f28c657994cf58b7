"""Which trim has to be off for a hand to get at a point: looked for on the mesh, all round.

Stage      service, with the mesh
Units      m
Method     a shape that widens from the finger tips to the hand is pushed towards the point from many
           directions. Panels and obstacles stop it; the trim it meets has to come off. Behind it there
           must be room for whoever the hand belongs to. The fewest pieces of each direction are kept
Safe side  what no cone gets to is marked, with the trim nearest to it; a thin gap along a panel is no way
Source     sizes of hand and fingers: common practice, no source
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from routecut.geometry.sheets import Sheets
from routecut.model.body import Body, Floats
from routecut.model.job import SurfaceKind
from routecut.model.service import Room

DIRECTIONS: Final = 162
"""So many directions are tried: some 16 degrees apart, less than the cone is wide."""

FAR_M: Final = 0.60
"""From the point to the shoulder, about: trim within this is met by the arm. [m]"""

_TIP_M: Final = 0.015
_STARTS_M: Final = 0.020
_KNUCKLES_M: Final = 0.100
_SHOULDER_M: Final = 0.35
_SIDES: Final = 8
_OPEN_RAYS: Final = 64
_OPEN_M: Final = 0.45
_OPEN_SHARE: Final = 0.25
"""Room behind the hand: so much of the sphere round it is free as far as `_OPEN_M`."""

_SIZES: Final = ((Room.HAND, 0.045), (Room.FINGERS, 0.022))
"""Half the width of what is pushed in. [m]"""

NEAREST_M: Final = 0.150
"""Trim this near to a point that no cone gets to is taken to be in front of it. [m]"""

Trims = frozenset[str]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Seen:
    """The ways to a point: sets of trim, none of which holds another, and what fits through."""

    ways: tuple[Trims, ...]
    room: Room


class Hands:
    """A body, asked for the ways to points of it."""

    def __init__(self, body: Body) -> None:
        solid = body.faces_of_kind(SurfaceKind.PANEL, SurfaceKind.OBSTACLE)
        self._solid = Sheets(body.triangles_m[solid])
        self._trims: list[tuple[str, Sheets, Floats, Floats]] = []
        for number, (name, rule) in enumerate(zip(body.parts, body.rules, strict=True)):
            faces = body.face_part == number
            if rule.kind is SurfaceKind.TRIM and faces.any():
                corners = body.triangles_m[faces]
                flat = corners.reshape(-1, 3)
                self._trims.append((name, Sheets(corners), flat.min(axis=0), flat.max(axis=0)))
        self._round = _sphere(DIRECTIONS)
        self._eyes = _sphere(_OPEN_RAYS)

    @property
    def trims(self) -> tuple[str, ...]:
        """The parts that come off."""
        return tuple(name for name, _, _, _ in self._trims)

    def ways(self, point_m: Sequence[float] | Floats) -> Seen:
        """The least sets of trim that have to be off for a hand, or else for fingers, to get there.

        Parameters
        ----------
        point_m : (3,) float64
            In free air or on a sheet. [m]

        Returns
        -------
        Seen
            One empty set where the point is open. Without any way `Room.GUESSED` and the nearest trim,
            or no trim at all.
        """
        point = np.asarray(point_m, dtype=np.float64)
        for room, half_m in _SIZES:
            found = self._cones(point, half_m)
            if found:
                return Seen(_least_sets(found), room)
        near = self.nearest(point)
        return Seen((frozenset([near]),) if near else (frozenset(),), Room.GUESSED)

    def nearest(self, point_m: Floats, within_m: float = NEAREST_M) -> str:
        """The trim nearest to a point; empty where none is within reach."""
        best, name = within_m, ""
        for trim, sheets, low, high in self._trims:
            if _off(point_m, low, high) < best:
                distance = float(sheets.closest(point_m[None], best)[0][0])
                if distance < best:
                    best, name = distance, trim
        return name

    def _cones(self, point: Floats, half_m: float) -> list[Trims]:
        lines = self._lines(point, half_m)
        free = ~_met(self._solid, lines)
        directions = self._round[free]
        if not len(directions):
            return []
        lines = [corner[free] for corner in lines]
        met: list[set[str]] = [set() for _ in directions]
        near = [t for t in self._trims if _off(point, t[2], t[3]) < FAR_M]
        for name, sheets, _, _ in near:
            for k in np.flatnonzero(_met(sheets, lines)).tolist():
                met[k].add(name)
        shoulders = point + directions * _SHOULDER_M
        found: list[Trims] = []
        for trims in sorted({frozenset(m) for m in met}, key=lambda s: (len(s), sorted(s))):
            if any(other <= trims for other in found):
                continue
            rows = [k for k, m in enumerate(met) if trims == m]
            if self._open(shoulders[rows], [t for t in near if t[0] not in trims]):
                found.append(trims)
        return found

    def _lines(self, point: Floats, half_m: float) -> list[Floats]:
        """The axis of each cone and lines along its skin: their corners, each (directions, 1 + sides, 3). [m]

        They begin in the point itself: else a cone along a sheet could have its axis before the sheet and
        a side behind it.
        """
        along = self._round
        helper = np.where(np.abs(along[:, :1]) < 0.9, np.array([[1.0, 0, 0]]), np.array([[0, 1.0, 0]]))
        side = np.cross(along, helper)
        side /= np.linalg.norm(side, axis=1)[:, None]
        up = np.cross(along, side)
        turn = np.arange(_SIDES) * (2 * np.pi / _SIDES)
        skin = np.cos(turn)[None, :, None] * side[:, None] + np.sin(turn)[None, :, None] * up[:, None]
        skin = np.concatenate([np.zeros((len(along), 1, 3)), skin], axis=1)
        corners = [(_STARTS_M, min(_TIP_M, half_m)), (_KNUCKLES_M, half_m), (_SHOULDER_M, half_m)]
        begun = np.broadcast_to(point, skin.shape)
        return [begun, *(point + along[:, None] * far + skin * wide for far, wide in corners)]

    def _open(self, shoulders: Floats, trims: Sequence[tuple[str, Sheets, Floats, Floats]]) -> bool:
        """Whether at one of some points there is room round a hand for the arm behind it."""
        eyes = len(self._eyes)
        start = np.repeat(shoulders, eyes, axis=0)
        end = start + np.tile(self._eyes * _OPEN_M, (len(shoulders), 1))
        shut = self._solid.blocked(start, end)
        for _, sheets, _, _ in trims:
            rows = np.flatnonzero(~shut)
            shut[rows] = sheets.blocked(start[rows], end[rows])
        return bool(((~shut).reshape(-1, eyes).mean(axis=1) >= _OPEN_SHARE).any())


def _met(sheets: Sheets, lines: Sequence[Floats]) -> Bools:
    """For each cone whether a sheet meets one of its lines."""
    met = np.zeros(lines[0].shape[:2], dtype=bool)
    for start, end in pairwise(lines):
        met |= sheets.blocked(start.reshape(-1, 3), end.reshape(-1, 3)).reshape(met.shape)
    return np.asarray(met.any(axis=1))


def _least_sets(sets: Sequence[Trims]) -> tuple[Trims, ...]:
    ordered = sorted(set(sets), key=lambda s: (len(s), sorted(s)))
    kept: list[Trims] = []
    for one in ordered:
        if not any(other <= one for other in kept):
            kept.append(one)
    return tuple(kept)


def _off(point: Floats, low: Floats, high: Floats) -> float:
    """Distance of a point from a box."""
    return float(np.linalg.norm(np.maximum(np.maximum(low - point, point - high), 0.0)))


def _sphere(count: int) -> Floats:
    """Directions spread evenly, on a spiral of golden angles (common construction)."""
    k = np.arange(count) + 0.5
    z = 1.0 - 2.0 * k / count
    turn = np.pi * (1.0 + 5.0**0.5) * k
    flat = np.sqrt(1.0 - z * z)
    return np.asarray(np.stack([flat * np.cos(turn), flat * np.sin(turn), z], axis=1))
