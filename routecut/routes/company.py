"""Company: which cables lie where on the roadmap, and what that is worth to another one.

Like runs with like: a hop that a cable of the same group takes already is cheaper, one
alongside a cable of a foreign group is dearer. What crosses pays nothing.

Units      m
Source     FCS 1362:2010 sec. 4.2.5.1 (antenna coax not parallel with vehicle wiring) and 4.6.2 (supply
           pair together along its whole length); how much a metre is worth: common practice, no source
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from routecut.geometry.triangles import unit
from routecut.model.body import Floats, Ints
from routecut.model.company import Group, foreign, group_of
from routecut.model.job import CableClass
from routecut.roadmap.build import Roadmap

SHARED: Final = 0.08
"""Of the cost of a hop, what is saved where a cable of the same group takes it."""

BESIDE: Final = 1.0
"""What a metre alongside a foreign group costs more. [m]"""

ALONGSIDE: Final = 0.7071
"""Least cosine between two directions that run alongside: what meets at more than 45 degrees crosses."""

_STEP_M: Final = 0.03


class Company:
    """The hops that cables take, and those within their separation, counted by group."""

    def __init__(self, roadmap: Roadmap, separation_m: float) -> None:
        hops, at = roadmap.hops, roadmap.nodes.at_m
        self.separation_m = separation_m
        self._hops, self._at = hops, at
        self._taken = {group: np.zeros(len(hops.a), dtype=np.int16) for group in Group}
        self._near = {group: np.zeros(len(hops.a), dtype=np.int16) for group in Group}
        self._lying: dict[str, tuple[Group, Ints, Ints]] = {}
        self._known: dict[bytes, Ints] = {}
        self._tree: cKDTree | None = None

    def lie(self, name: str, cable_class: CableClass, hops: Ints) -> None:
        """A cable takes hops, by their rows in the roadmap."""
        group = group_of(cable_class)
        near = self._alongside(hops)
        self._lying[name] = (group, hops, near)
        self._taken[group][hops] += 1
        self._near[group][near] += 1

    def lift(self, name: str) -> None:
        """A cable is taken up again; nothing where it did not lie."""
        if name in self._lying:
            group, hops, near = self._lying.pop(name)
            self._taken[group][hops] -= 1
            self._near[group][near] -= 1

    def surcharge(self, cable_class: CableClass, cost_m: Floats) -> Floats:
        """What each hop costs a cable more (or less) than `cost_m` for those that lie there, (n,). [m]."""
        return self.charge_m(cable_class) - self.discount_m(cable_class, cost_m)

    def charge_m(self, cable_class: CableClass) -> Floats:
        """What each hop costs a cable for foreign groups alongside, (n,). [m]."""
        group = group_of(cable_class)
        beside = np.zeros(len(self._hops.a), dtype=bool)
        for other in Group:
            if foreign(group, other):
                beside |= self._near[other] > 0
        return np.where(beside, BESIDE * self._hops.length_m, 0.0)

    def discount_m(self, cable_class: CableClass, cost_m: Floats) -> Floats:
        """What each hop costs a cable less where its own group lies, (n,). [m]."""
        return np.where(self._taken[group_of(cable_class)] > 0, SHARED * cost_m, 0.0)

    def of_lying_m(self, name: str, hops: Ints, cost_m: Floats) -> tuple[Floats, Floats]:
        """What each hop of a cable that lies saves it beside its own group, and costs it beside foreign ones. [m].

        As `discount_m` and `charge_m` with that cable taken up, for its own hops of `cost_m` alone.
        """
        group = self._lying[name][0]
        saved = np.where(self._taken[group][hops] > 1, SHARED * cost_m, 0.0)
        beside = np.zeros(len(hops), dtype=bool)
        for other in Group:
            if foreign(group, other):
                beside |= self._near[other][hops] > 0
        return saved, np.where(beside, BESIDE * self._hops.length_m[hops], 0.0)

    def beside_m(self, name: str, hops: Ints) -> float:
        """Length of a cable that lies within the separation of hops, and along them. [m]"""
        near = np.intersect1d(self._alongside(hops), self._lying[name][1])
        return float(self._hops.length_m[near].sum())

    def shared_m(self, one: str, other: str) -> float:
        """Length of the hops that two cables that lie both take. [m]"""
        both = np.intersect1d(self._lying[one][1], self._lying[other][1])
        return float(self._hops.length_m[both].sum())

    def _alongside(self, rows: Ints) -> Ints:
        """Hops within the separation of some others and along them, by row."""
        if not len(rows):
            return rows
        # Cables are taken up and put back where they lay many times.
        key = rows.tobytes()
        if key not in self._known:
            self._known[key] = self._look_alongside(rows)
        return self._known[key]

    def _look_alongside(self, rows: Ints) -> Ints:
        if self._tree is None:
            self._tree = cKDTree((self._at[self._hops.a] + self._at[self._hops.b]) / 2)
        start, along = (
            self._at[self._hops.a[rows]],
            self._at[self._hops.b[rows]] - self._at[self._hops.a[rows]],
        )
        count = np.maximum(1, np.ceil(self._hops.length_m[rows] / _STEP_M)).astype(np.int64)
        hop = np.repeat(np.arange(len(rows)), count)
        share = (np.arange(len(hop)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[hop]
        found = self._tree.query_ball_point(start[hop] + share[:, None] * along[hop], self.separation_m)
        near = np.concatenate([np.array(f, dtype=np.int64) for f in found])
        of = np.repeat(hop, [len(f) for f in found])
        towards = unit(self._at[self._hops.b[near]] - self._at[self._hops.a[near]])
        cosine = np.abs(np.einsum("ij,ij->i", towards, unit(along)[of]))
        return np.unique(near[cosine >= ALONGSIDE])
