"""The roadmap of a job: nodes, hops and labels, and what each class of cable may use of them.

Built once a job; everything that depends on the cable (radius, keep-outs of its class,
noise) is worked out when first asked for and kept.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_matrix

from routecut.geometry.keep_out import KEEP_OUT_MARGIN_M, KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.model.body import Body, Floats, Ints
from routecut.model.job import ANY, Exposure, Job, NoiseSource, SurfaceKind
from routecut.roadmap.connect import Hops, connect
from routecut.roadmap.memory import Memory
from routecut.roadmap.sample import Nodes, edge_nodes, surface_nodes
from routecut.roadmap.spaces import NOWHERE, label_nodes

AIR_FACTOR = 2.0
"""Cost of a metre of free air: above sqrt(2), or routes would cut across every inside corner."""

AIR_FEE_M = 0.06
"""Cost of leaving the sheet at all: a chain of short bridges is no better than one long one."""

NOISE_FACTOR = 4.0
"""Cost of a metre alongside a noise source; crossing it costs next to nothing."""

EXPOSURE_COST: Final = {Exposure.DRY: 0.0, Exposure.WET: 0.1, Exposure.HOT: 0.3, Exposure.STONES: 0.3}
"""What a metre costs more where a cable gets wet, hot or stoned; the worst of a space counts (common practice,
no source)."""

TRIM_COST_M_PER_MINUTE: Final = 0.02
"""What going behind trim costs by the minutes it takes to come off: half going in, half coming out (common practice,
no source)."""

COVER_M: Final = 0.100
"""Trim this near to a cable is taken to be in front of it. [m]"""

LENGTH, AIR, NOISE, EXPOSURE, TRIM = "length", "free air", "noise", "exposure", "trim"
"""What a hop costs something for."""

TUBES_M = (0.002, 0.0035, 0.005, 0.0075, 0.010, 0.015)
"""Radii the hops are tried at; a cable counts as the next thicker. Rays round a thinner one would slip
through the cracks of a triangle soup."""


def noise_distance_m(source: NoiseSource, points_m: Floats) -> Floats:
    """Distance of each point to the line of a noise source, (n,). [m]"""
    line = np.array(source.line_m)
    best = np.full(len(points_m), np.inf)
    for start, end in pairwise(line):
        along = end - start
        length2 = float(along @ along)
        t = np.clip((points_m - start) @ along / length2, 0, 1) if length2 > 0 else np.zeros(len(points_m))
        best = np.minimum(best, np.linalg.norm(points_m - start - t[:, None] * along, axis=1))
    return best


@dataclass(frozen=True, slots=True)
class Kind:
    """Cables that the roadmap does not tell apart: same keep-outs, same noise, about as thick. [m]."""

    keep_outs: tuple[KeepOutField, ...]
    noise: tuple[NoiseSource, ...]
    radius_m: float


@dataclass(eq=False)
class Roadmap:
    """Where cables may lie in one job.

    Attributes
    ----------
    label : (n,) int64
        Index of each node's space, or NOWHERE.
    open_pairs : set of (int, int)
        Pairs of spaces with no panel between.
    memory : Memory
        What later stages have worked out on it; shared by copies for other jobs on the same body.
    """

    job: Job
    body: Body
    sheets: Sheets
    panels: npt.NDArray[np.bool_]
    nodes: Nodes
    hops: Hops
    label: Ints
    keep_outs: tuple[KeepOutField, ...]
    open_pairs: frozenset[tuple[int, int]]
    memory: Memory = field(default_factory=Memory)
    _tube: dict[float, npt.NDArray[np.bool_]] = field(default_factory=dict)
    _distance: dict[KeepOutField, Floats] = field(default_factory=dict)
    _clear: dict[tuple[KeepOutField, float], npt.NDArray[np.bool_]] = field(default_factory=dict)
    _graph: dict[Kind, csr_matrix] = field(default_factory=dict)
    _causes: dict[Kind, dict[str, Floats]] = field(default_factory=dict)
    _trim: list[Floats] = field(default_factory=list)

    def keep_outs_for(self, cable_class: str) -> tuple[KeepOutField, ...]:
        """The keep-outs that apply to a class."""
        return tuple(k for k in self.keep_outs if k.applies_to(cable_class))

    def kind(self, cable_class: str, radius_m: float) -> Kind:
        """What matters of a cable on the roadmap: cables of one kind share all that is worked out for it."""
        return Kind(
            keep_outs=self.keep_outs_for(cable_class),
            noise=tuple(
                n for n in self.job.noise_sources if ANY in n.applies_to or cable_class in n.applies_to
            ),
            radius_m=next((r for r in TUBES_M if r >= radius_m), radius_m),
        )

    def tube_free(self, radius_m: float) -> npt.NDArray[np.bool_]:
        """Hops in one space along which a cable of that radius meets no sheet, (n,) bool."""
        if radius_m not in self._tube:
            at = self.nodes.at_m
            # What a thinner cable can't pass, a thicker one can't.
            free = self.same_space()
            for thinner, passes in self._tube.items():
                if thinner < radius_m:
                    free = free & passes
            rows = np.flatnonzero(free)
            free[rows] = ~self.sheets.skin_blocked(at[self.hops.a[rows]], at[self.hops.b[rows]], radius_m)
            self._tube[radius_m] = free
        return self._tube[radius_m]

    def clear_of(self, keep_out: KeepOutField, radius_m: float) -> npt.NDArray[np.bool_]:
        """Hops that keep the clearance to one keep-out, for a cable of that radius, (n,) bool."""
        if (keep_out, radius_m) not in self._clear:
            self._clear[keep_out, radius_m] = self._clear_of(keep_out, radius_m)
        return self._clear[keep_out, radius_m]

    def _clear_of(self, keep_out: KeepOutField, radius_m: float) -> npt.NDArray[np.bool_]:
        if keep_out not in self._distance:
            self._distance[keep_out] = keep_out.distance_m(self.nodes.at_m)
        distance = self._distance[keep_out]
        wanted = keep_out.clearance_m + radius_m + KEEP_OUT_MARGIN_M
        at, a, b = self.nodes.at_m, self.hops.a, self.hops.b
        clear = (distance[a] >= wanted) & (distance[b] >= wanted)
        # A distance changes by no more than the way gone: only hops near the edge need a closer look.
        rows = np.flatnonzero(
            clear & (np.minimum(distance[a], distance[b]) < wanted + self.hops.length_m / 2)
        )
        for t in np.linspace(0.1, 0.9, 9):
            points = at[a[rows]] + t * (at[b[rows]] - at[a[rows]])
            ok = keep_out.distance_m(points) >= wanted
            clear[rows[~ok]] = False
            rows = rows[ok]
        return np.asarray(clear)

    def usable(self, kind: Kind) -> npt.NDArray[np.bool_]:
        """Hops a cable of that kind may use at all, (n,) bool."""
        ok = self.tube_free(kind.radius_m)
        for keep_out in kind.keep_outs:
            ok = ok & self.clear_of(keep_out, kind.radius_m)
        return ok

    def same_space(self) -> npt.NDArray[np.bool_]:
        """Hops that stay in one space or cross an `open_to` border, (n,) bool."""
        la, lb = self.label[self.hops.a], self.label[self.hops.b]
        ok = la == lb
        for one, other in self.open_pairs:
            ok |= (la == one) & (lb == other)
        return np.asarray(ok & (la != NOWHERE) & (lb != NOWHERE))

    def cost(self, kind: Kind) -> Floats:
        """Cost of each hop: its length, dearer through free air and alongside noise, (n,). [m]."""
        return np.asarray(sum(self.causes(kind).values()))

    def causes(self, kind: Kind) -> dict[str, Floats]:
        """The cost of each hop by what it is for, (n,) each; the same ones each time, not to be changed. [m]."""
        if kind not in self._causes:
            self._causes[kind] = self._causes_of(kind)
        return self._causes[kind]

    def _causes_of(self, kind: Kind) -> dict[str, Floats]:
        length, held = self.hops.length_m, self.hops.supported
        air = np.where(held, 0.0, length * (AIR_FACTOR - 1) + AIR_FEE_M)
        dearer = np.ones(len(length))
        middle = (self.nodes.at_m[self.hops.a] + self.nodes.at_m[self.hops.b]) / 2
        for source in kind.noise:
            dearer[noise_distance_m(source, middle) < source.separation_m] *= NOISE_FACTOR
        worst = [max((EXPOSURE_COST[e] for e in space.exposure), default=0.0) for space in self.job.spaces]
        in_space = np.array([*worst, 0.0])[self.label]
        exposed = (in_space[self.hops.a] + in_space[self.hops.b]) / 2
        return {
            LENGTH: length,
            AIR: air,
            NOISE: (length + air) * (dearer - 1),
            EXPOSURE: length * exposed,
            TRIM: self._trim_cost_m(),
        }

    def _trim_cost_m(self) -> Floats:
        """What each hop costs for going behind trim or coming out, (n,). [m]."""
        if not self._trim:
            body = self.body
            part = np.full(len(self.nodes.at_m), -1)
            faces = np.flatnonzero(body.faces_of_kind(SurfaceKind.TRIM))
            if len(faces) and len(part):
                nearest = Sheets(body.triangles_m[faces]).closest(self.nodes.at_m, COVER_M)[2]
                part[nearest >= 0] = body.face_part[faces[nearest[nearest >= 0]]]
            minutes = np.array([*(rule.removal_minutes for rule in body.rules), 0.0])[part]
            one, other = self.hops.a, self.hops.b
            taken = (minutes[one] + minutes[other]) / 2 * (part[one] != part[other])
            self._trim.append(taken * TRIM_COST_M_PER_MINUTE)
        return self._trim[0]

    def graph(self, kind: Kind) -> csr_matrix:
        """Costs of the usable hops as a symmetric sparse matrix; the same one each time, not to be changed."""
        if kind not in self._graph:
            ok = self.usable(kind)
            some = Hops(self.hops.a[ok], self.hops.b[ok], self.hops.length_m[ok], self.hops.supported[ok])
            self._graph[kind] = some.matrix(len(self.nodes.at_m), self.cost(kind)[ok])
        return self._graph[kind]

    def for_job(self, job: Job) -> Roadmap | None:
        """The same roadmap for another job on the same body, or None if it would be another roadmap.

        Devices, pass-throughs, keep-outs, noise and cables may be others; what is known of the
        keep-outs that stayed is kept.
        """
        if made_of(job) != made_of(self.job):
            return None
        known = {field.keep_out: field for field in self.keep_outs}
        fields = tuple(known.get(k) or KeepOutField(k, self.body) for k in job.keep_outs)
        return replace(self, job=job, keep_outs=fields)


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """What takes long of a roadmap: its nodes, hops and labels."""

    nodes: Nodes
    hops: Hops
    label: Ints


def made_of(job: Job) -> tuple[object, ...]:
    """All of a job that a chart depends on, beside the body."""
    return (job.spaces, job.routing)


def _chart(job: Job, body: Body, sheets: Sheets, say: Callable[[str], None]) -> Chart:
    panels = body.faces_of_kind(SurfaceKind.PANEL)
    stand_off, spacing = job.routing.stand_off_m, job.routing.node_spacing_m
    say("placing points along the panels")
    on_sheets = surface_nodes(sheets, panels, spacing_m=spacing, stand_off_m=stand_off)
    on_edges = edge_nodes(sheets, panels, spacing_m=spacing, stand_off_m=stand_off)
    nodes = Nodes(
        np.concatenate([on_sheets.at_m, on_edges.at_m]),
        np.concatenate([on_sheets.away, on_edges.away]),
        np.concatenate([on_sheets.face, on_edges.face]),
    )
    say("joining the points")
    hops = connect(
        sheets, panels, nodes, spacing_m=spacing, stand_off_m=stand_off, bridge_m=job.routing.bridge_m
    )
    say("telling the spaces apart")
    label = label_nodes(sheets, job.spaces, nodes.at_m, hops.matrix(len(nodes.at_m)))
    return Chart(nodes, hops, label)


def build_roadmap(
    job: Job, body: Body, progress: Callable[[str], None] | None = None, *, chart: Chart | None = None
) -> Roadmap:
    """Sample, join and label the whole body; `chart` is what is known of it already."""
    say = progress or (lambda _stage: None)
    say("reading the sheets")
    sheets = Sheets(body.routing_triangles_m)
    chart = chart or _chart(job, body, sheets, say)
    index = {space.name: i for i, space in enumerate(job.spaces)}
    open_pairs = {
        pair
        for space in job.spaces
        for other in space.open_to
        for pair in ((index[space.name], index[other]), (index[other], index[space.name]))
    }
    return Roadmap(
        job=job,
        body=body,
        sheets=sheets,
        panels=body.faces_of_kind(SurfaceKind.PANEL),
        nodes=chart.nodes,
        hops=chart.hops,
        label=chart.label,
        keep_outs=tuple(KeepOutField(k, body) for k in job.keep_outs),
        open_pairs=frozenset(open_pairs),
    )
