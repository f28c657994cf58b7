"""Small vehicles at random: a room or two, holes, keep-outs, one cable; written as real job folders.

All lengths in metres. Distances to keep-outs are worked out here by formulas of their own.
"""

from __future__ import annotations

import itertools
import tempfile
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from routecut.model.finding import Finding, Severity
from routecut.model.plan import Route, Verification
from routecut.roadmap.build import Roadmap, build_roadmap
from routecut.routes.route_all import route_all
from routecut.survey import Survey, survey_job
from routecut.verify import verify_plan

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Vec = tuple[float, float, float]

FRONT, REAR = "front", "rear"


def vec(values: Any) -> Vec:
    # Tenths of a micrometre: a turned world is not spoilt by it, and its job stays readable.
    x, y, z = (round(float(v), 7) + 0.0 for v in values)
    return (x, y, z)


def text(values: Any) -> str:
    return "[" + ", ".join(f"{v:.7f}" for v in np.asarray(values, dtype=float).tolist()) + "]"


# --- keep-outs ----------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Ball:
    at: Vec
    radius: float
    clearance: float = 0.0

    def distance(self, points: Floats) -> Floats:
        return np.asarray(np.linalg.norm(points - np.array(self.at), axis=1) - self.radius)

    def moved(self, motion: Motion) -> Ball:
        return replace(self, at=vec(motion(self.at)))

    def toml(self) -> str:
        return f"sphere = {{ at = {text(self.at)}, radius = {self.radius:.6f} }}"


@dataclass(frozen=True, kw_only=True)
class Rod:
    """A cylinder with round ends."""

    start: Vec
    end: Vec
    radius: float
    clearance: float = 0.0

    def distance(self, points: Floats) -> Floats:
        a, b = np.array(self.start), np.array(self.end)
        t = np.clip((points - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
        return np.asarray(np.linalg.norm(points - a - t[:, None] * (b - a), axis=1) - self.radius)

    def moved(self, motion: Motion) -> Rod:
        return replace(self, start=vec(motion(self.start)), end=vec(motion(self.end)))

    def toml(self) -> str:
        return f"capsule = {{ from = {text(self.start)}, to = {text(self.end)}, radius = {self.radius:.6f} }}"


@dataclass(frozen=True, kw_only=True)
class Block:
    low: Vec
    high: Vec
    clearance: float = 0.0

    def distance(self, points: Floats) -> Floats:
        """Zero inside: enough for what is asked here."""
        nearest = np.clip(points, np.array(self.low), np.array(self.high))
        return np.asarray(np.linalg.norm(points - nearest, axis=1))

    def moved(self, motion: Motion) -> Block:
        ends = np.stack([motion(self.low), motion(self.high)])
        return replace(self, low=vec(ends.min(axis=0)), high=vec(ends.max(axis=0)))

    def toml(self) -> str:
        return f"box = [{text(self.low)}, {text(self.high)}]"


KeepOut = Ball | Rod | Block


# --- motions ------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Motion:
    """A rigid motion, mirrored or not: points p to turn @ p + shift."""

    turn: Floats = field(default_factory=lambda: np.eye(3))
    shift: Floats = field(default_factory=lambda: np.zeros(3))

    def __call__(self, points: Any) -> Floats:
        return np.asarray(np.asarray(points, dtype=float) @ self.turn.T + self.shift)

    def direction(self, along: Any) -> Floats:
        return np.asarray(np.asarray(along, dtype=float) @ self.turn.T)

    @property
    def squared(self) -> bool:
        """Axes stay axes."""
        return bool(np.isin(np.round(np.abs(self.turn), 12), (0.0, 1.0)).all())


# --- worlds -------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A hole in the dividing wall at (y, z); `cut` also in the mesh; `more` lines of the job."""

    y: float
    z: float
    diameter: float
    cut: bool = False
    more: str = ""


@dataclass(frozen=True, kw_only=True)
class End:
    at: Vec
    leaves: Vec | None = None


@dataclass(frozen=True, kw_only=True)
class World:
    """A room from the origin to `size`, divided at x = `wall` where that is given.

    `window` is an opening in the wall that nobody has declared: (low y, low z, high y, high z).
    `baffles` are upright plates across the first room at x: (x, low y, low z, high y, high z).
    `loose` is how much larger than the rooms the boxes of the spaces are. `cable_more` and `more` are
    further lines of the job, for the cable and for tables of their own.
    """

    size: Vec
    start: End
    end: End
    wall: float | None = None
    holes: tuple[Hole, ...] = ()
    window: tuple[float, float, float, float] | None = None
    baffles: tuple[tuple[float, float, float, float, float], ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    diameter: float = 0.006
    bend: float = 0.030
    stand_off: float = 0.012
    bridge: float = 0.450
    loose: float = 0.0
    cells: int = 1
    cable_more: str = ""
    more: str = ""
    motion: Motion = field(default_factory=Motion)

    def moved(self, motion: Motion) -> World:
        """The same world elsewhere; nothing of it is measured anew."""
        return replace(self, motion=motion)

    @property
    def rooms(self) -> tuple[tuple[str, Floats, Floats], ...]:
        """Name, low and high corner of each room."""
        low, high = np.zeros(3), np.array(self.size)
        if self.wall is None:
            return ((FRONT, low, high),)
        return (
            (FRONT, low, np.array([self.wall, high[1], high[2]])),
            (REAR, np.array([self.wall, 0.0, 0.0]), high),
        )

    def triangles(self) -> dict[str, Floats]:
        """Triangles of each part before the motion, (k, 3, 3)."""
        x, y, z = self.size
        grid = [np.linspace(0, s, self.cells + 1) for s in self.size]
        parts: dict[str, Floats] = {}
        for name, axis, level in (
            ("nose", 0, 0.0),
            ("tail", 0, x),
            ("left", 1, 0.0),
            ("right", 1, y),
            ("floor", 2, 0.0),
            ("roof", 2, z),
        ):
            u, v = (k for k in range(3) if k != axis)
            parts[name] = _plate(axis, level, grid[u], grid[v], ())
        if self.wall is not None:
            openings = [] if self.window is None else [self.window]
            for hole in self.holes:
                if hole.cut:
                    r = 0.35 * hole.diameter  # a square within the round hole
                    openings.append((hole.y - r, hole.z - r, hole.y + r, hole.z + r))
            lines = [np.unique([*grid[k], *(o[i] for o in openings for i in (k - 1, k + 1))]) for k in (1, 2)]
            parts["wall"] = _plate(0, self.wall, lines[0], lines[1], tuple(openings))
        for k, (level, y0, z0, y1, z1) in enumerate(self.baffles):
            across = np.linspace(y0, y1, self.cells + 1), np.linspace(z0, z1, self.cells + 1)
            parts[f"baffle{k}"] = _plate(0, level, across[0], across[1], ())
        return parts

    def write(self, folder: Path) -> None:
        """The world as a job folder: body.obj and job.toml."""
        lines: list[str] = []
        count = 0
        for name, triangles in self.triangles().items():
            lines.append(f"o {name}")
            corners = self.motion(triangles.reshape(-1, 3))
            lines += [f"v {a:.7f} {b:.7f} {c:.7f}" for a, b, c in corners.tolist()]
            lines += [f"f {k} {k + 1} {k + 2}" for k in range(count + 1, count + len(corners), 3)]
            count += len(corners)
        (folder / "body.obj").write_text("\n".join(lines) + "\n", encoding="utf-8")
        (folder / "job.toml").write_text(self.toml(), encoding="utf-8")

    def toml(self) -> str:
        move = self.motion
        out = [
            'length_unit = "m"',
            '[vehicle]\nmesh = "body.obj"\nmesh_unit = "m"\naxes = "+x rear, +y right, +z up"',
            f"[routing]\nstand_off = {self.stand_off}\nbridge = {self.bridge}",
            '[[surface]]\npart = "*"\nkind = "panel"',
        ]
        for name, low, high in self.rooms:
            corners = move(list(itertools.product(*zip(low, high, strict=True))))
            box = [corners.min(axis=0) - self.loose, corners.max(axis=0) + self.loose]
            seed = move((low + high) / 2)
            out.append(
                f'[[space]]\nname = "{name}"\nbox = [{text(box[0])}, {text(box[1])}]\nseed = {text(seed)}'
            )
        for k, keep_out in enumerate(self.keep_outs):
            out.append(
                f'[[keep_out]]\nname = "K{k}"\nclearance = {keep_out.clearance:.6f}\n{keep_out.moved(move).toml()}'
            )
        for k, hole in enumerate(self.holes):
            assert self.wall is not None
            at = move((self.wall, hole.y, hole.z))
            axis = move.direction((1, 0, 0))
            out.append(
                f'[[pass_through]]\nname = "H{k}"\nat = {text(at)}\naxis = {text(axis)}\n'
                f'diameter = {hole.diameter:.6f}\njoins = ["{FRONT}", "{REAR}"]\n{hole.more}'
            )
        for device, end, space in (("a", self.start, FRONT), ("b", self.end, self.rooms[-1][0])):
            leaves = "" if end.leaves is None else f"leaves = {text(move.direction(end.leaves))}\n"
            place = text(move(end.at))
            out.append(
                f'[[device]]\nname = "{device}"\nat = {place}\nspace = "{space}"\n'
                f'[[device.port]]\nname = "p"\nat = {place}\n{leaves}'
            )
        out.append(
            f'[[cable_type]]\nname = "t"\nclass = "control"\ndiameter = {self.diameter:.6f}\n'
            f"min_bend_radius = {self.bend:.6f}"
        )
        out.append('[[cable]]\nname = "C"\nfrom = "a.p"\nto = "b.p"\ntype = "t"\n' + self.cable_more)
        out.append(self.more)
        return "\n".join(out) + "\n"


def _plate(axis: int, level: float, u: Floats, v: Floats, openings: Any) -> Floats:
    """A plate square to an axis, in rectangles between the lines u and v, without the openings."""
    quads = []
    for (u0, u1), (v0, v1) in itertools.product(itertools.pairwise(u), itertools.pairwise(v)):
        um, vm = (u0 + u1) / 2, (v0 + v1) / 2
        if any(o[0] < um < o[2] and o[1] < vm < o[3] for o in openings):
            continue
        quads.append([(u0, v0), (u1, v0), (u1, v1), (u0, v1)])
    flat = np.array(quads, dtype=float)
    corners = np.insert(flat, axis, level, axis=2)
    return np.concatenate([corners[:, [0, 1, 2]], corners[:, [0, 2, 3]]])


# --- planning -----------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Laid:
    """What became of the cable of a world."""

    surveyed: Survey
    roadmap: Roadmap
    route: Route | None
    findings: tuple[Finding, ...]
    verified: Verification | None

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What the search itself says is wrong."""
        return tuple(f for f in self.findings if f.severity is Severity.ERROR)

    @property
    def length_m(self) -> float:
        assert self.route is not None
        return self.route.length_m

    @property
    def done(self) -> bool:
        """There is a route that nobody finds fault with."""
        return not self.errors and self.verified is not None and self.verified.ok


def surveyed(world: World) -> Survey:
    with tempfile.TemporaryDirectory() as folder:
        world.write(Path(folder))
        return survey_job(folder)


def lay(world: World) -> Laid:
    """The world through the real doors: survey, roadmap, routes, verifier."""
    seen = surveyed(world)
    roadmap = build_roadmap(seen.job, seen.body)
    found = route_all(roadmap)
    routes, findings = found.routes, found.findings
    cables = [(cable, routes[cable.name]) for cable in seen.job.cables if cable.name in routes]
    judged = verify_plan(job=seen.job, body=seen.body, routed=cables)
    return Laid(seen, roadmap, routes.get("C"), tuple(findings), judged.get("C"))
