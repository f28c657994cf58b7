"""Further worlds whose shortest route is known exactly, each built by a function with its derivation.

    python -m tests.worlds.further FOLDER

writes them as job folders. They are built anew for every test: a few lines say more than a mesh.
The cable follows the panels at the stand-off s; each turn by an angle t that its bend
radius R rounds is shorter than its corner by 2 R tan(t/2) - R t.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt
import trimesh

from tests.worlds.shapes import Floats, around, box, extruded, merged, plate, surface

Vec = tuple[float, float, float]

S: Final = 0.006
"""Stand-off, unless a world has its own. [m]"""

R: Final = 0.001
"""Bend radius, and radius of the cable. [m]"""


@dataclass(frozen=True, kw_only=True)
class Known:
    """A world and the exact length of its route; the cable may be bent to its own radius. [m]

    `seed` is in the free air of its one space.
    """

    name: str
    triangles: Floats
    start: Vec
    end: Vec
    exact_m: float
    why: str
    spaces: tuple[tuple[str, Vec, Vec], ...] = (("all", (-9, -9, -9), (9, 9, 9)),)
    pass_throughs: tuple[str, ...] = ()
    stand_off: float = S
    radius: float = R
    bridge: float = 0.0
    seed: Vec | None = None
    more: str = ""

    def write(self, folder: Path) -> None:
        """The world as a job folder, in metres."""
        mesh = trimesh.Trimesh(**merged(self.triangles), process=False)
        (folder / "body.ply").write_bytes(mesh.export(file_type="ply"))
        spaces = "".join(
            f'[[space]]\nname = "{name}"\nbox = [{_vec(low)}, {_vec(high)}]\n'
            for name, low, high in self.spaces
        )
        if self.seed is not None:
            spaces += f"seed = {_vec(self.seed)}\n"
        devices = "".join(
            f'[[device]]\nname = "{name}"\nat = {_vec(at)}\nspace = "{space}"\n'
            f'[[device.port]]\nname = "p"\nat = {_vec(at)}\n'
            for name, at, space in (
                ("a", self.start, self.spaces[0][0]),
                ("b", self.end, self.spaces[-1][0]),
            )
        )
        thread = f"diameter = {2 * self.radius}\nmin_bend_radius = {self.radius}\n"
        (folder / "job.toml").write_text(
            f'title = "{self.name}"\nlength_unit = "m"\n'
            '[vehicle]\nmesh = "body.ply"\nmesh_unit = "m"\naxes = "+x rear, +y right, +z up"\n'
            f"[routing]\nstand_off = {self.stand_off}\nbridge = {self.bridge}\n"
            '[[surface]]\npart = "*"\nkind = "panel"\n'
            f'{spaces}{self.more}{devices}[[cable_type]]\nname = "thread"\nclass = "control"\n{thread}'
            '[[cable]]\nname = "C1"\nfrom = "a.p"\nto = "b.p"\ntype = "thread"\n',
            encoding="utf-8",
        )


def _vec(values: Sequence[float]) -> str:
    return "[" + ", ".join(f"{v:.6f}" for v in values) + "]"


def _saved(turn: float) -> float:
    """What a bend of R saves at a corner of that angle. [m]"""
    return R * (2 * math.tan(turn / 2) - turn)


def _over_edges(along: float, across: float, folds: Sequence[float]) -> float:
    """A straight line over an unfolded chain of concave edges, each rounded with R. [m]

    `along` is square to the edges, `across` along them; `folds` are the angles the edges turn the
    surface by. With p the slope of the line to the square, a fold f turns the cable by
    acos(sin(p)^2 + cos(p)^2 cos(f)).
    """
    length = math.hypot(along, across)
    sine, cosine = across / length, along / length
    return length - sum(_saved(math.acos(sine**2 + cosine**2 * math.cos(fold))) for fold in folds)


def _round(
    start: Sequence[float], end: Sequence[float], centre: Sequence[float], radius: float, way: int
) -> float:
    """Tangent, arc, tangent round a circle, to the left (+1) or to the right (-1) of it in the plane. [m]"""
    a, b = (np.subtract(p, centre) for p in (start, end))
    sweep = way * (math.atan2(a[1], a[0]) - math.atan2(b[1], b[0])) % (2 * math.pi)
    one, other = math.hypot(*a), math.hypot(*b)
    arc = sweep - math.acos(radius / one) - math.acos(radius / other)
    return math.sqrt(one**2 - radius**2) + math.sqrt(other**2 - radius**2) + radius * arc


def room_ends_at_other_heights() -> Known:
    """From the front wall over the floor up the rear wall: unfolded, a straight line over two folds of 90 degrees.

    Both edges are parallel, so the line meets them at one angle.
    """
    x, y, z = 1.5, 0.9, 0.7
    start, end = (S, 0.30, 0.12), (x - S, 0.55, 0.25)
    along = (start[2] - S) + (x - 2 * S) + (end[2] - S)
    return Known(
        name="room-ends-at-other-heights",
        triangles=box((0, 0, 0), (x, y, z)),
        start=start,
        end=end,
        exact_m=_over_edges(along, end[1] - start[1], [math.pi / 2] * 2),
        why="unfolding of a box: front wall, floor, rear wall",
        seed=(x / 2, y / 2, z / 2),
    )


def two_rooms_in_a_row() -> Known:
    """Over the floor, up the wall to a hole, and down again on its other side.

    Each leg is a straight line over floor and wall unfolded, with one fold; between the mouths, at
    the stand-off on either side, the cable goes straight, with a corner of 90 degrees at each.
    """
    y, z = 0.8, 0.6
    start, hole, end = (0.25, 0.25, S), (1.0, 0.45, 0.15), (1.9, 0.35, S)
    legs = [
        _over_edges(abs(hole[0] - p[0]) - S + hole[2] - S, abs(hole[1] - p[1]), [math.pi / 2])
        for p in (start, end)
    ]
    return Known(
        name="two-rooms-in-a-row",
        triangles=np.concatenate([box((0, 0, 0), (2.2, y, z)), plate(0, 1.0, (0, y), (0, z))]),
        start=start,
        end=end,
        exact_m=sum(legs) + 2 * S - 2 * _saved(math.pi / 2),
        why="unfolding of floor and wall on either side of the hole",
        spaces=(("front", (0, 0, 0), (1.0, y, z)), ("rear", (1.0, 0, 0), (2.2, y, z))),
        pass_throughs=("H",),
        more=_hole(hole),
    )


def _hole(at: Vec, depth: float = 0.0) -> str:
    return (
        f'[[pass_through]]\nname = "H"\nat = {_vec(at)}\naxis = [1, 0, 0]\ndiameter = 0.03\ndepth = {depth}\n'
        'joins = ["front", "rear"]\n'
    )


def keep_out_forces_the_other_side() -> Known:
    """A post stands a little to one side of the straight line; the short way past it is barred by a block.

    Tangent, arc, tangent on the far side of the post; the radius is post, clearance and cable.
    """
    start, end, centre, radius, clearance = (0.5, 0.8), (2.5, 0.8), (1.5, 0.9), 0.15, 0.05
    return Known(
        name="keep-out-forces-the-other-side",
        triangles=plate(2, 0.0, (0, 3), (0, 2), cell=0.1),
        start=(*start, S),
        end=(*end, S),
        exact_m=_round(start, end, centre, radius + clearance + R, +1),
        why="tangent, arc, tangent on the far side of a post",
        more=(
            f'[[keep_out]]\nname = "post"\ncapsule = {{ from = [{centre[0]}, {centre[1]}, -1], to = '
            f"[{centre[0]}, {centre[1]}, 1], radius = {radius} }}\nclearance = {clearance}\n"
            '[[keep_out]]\nname = "block"\nbox = [[1.45, -1, -1], [1.55, 0.85, 1]]\n'
        ),
    )


def ball_on_a_plate() -> Known:
    """A ball lies on the straight line: at the height of the cable what it bars is a circle.

    Its radius is the leg of a right triangle: square root of (ball + clearance + cable)^2 - height^2.
    """
    start, end, centre, radius, clearance = (0.4, 0.7), (1.9, 0.75), (1.2, 0.75), 0.12, 0.03
    reach = radius + clearance + R
    return Known(
        name="ball-on-a-plate",
        triangles=plate(2, 0.0, (0, 2.4), (0, 1.4), cell=0.1),
        start=(*start, S),
        end=(*end, S),
        exact_m=min(
            _round(start, end, centre, math.sqrt(reach**2 - (radius - S) ** 2), way) for way in (-1, 1)
        ),
        why="tangent, arc, tangent round the circle that a ball bars at the height of the cable",
        more=(
            f'[[keep_out]]\nname = "ball"\nsphere = {{ at = [{centre[0]}, {centre[1]}, {radius}], radius = {radius} }}'
            f"\nclearance = {clearance}\n"
        ),
    )


def pipe_inside_a_box() -> Known:
    """A pipe stands in a room from floor to roof on the straight line: tangent, arc at the stand-off, tangent."""
    start, end, centre, radius = (0.3, 0.6), (1.8, 0.62), (1.0, 0.6), 0.08
    ring = around(radius, 120) + np.array(centre)
    return Known(
        name="pipe-inside-a-box",
        triangles=np.concatenate([box((0, 0, 0), (2, 1.2, 0.6)), extruded(ring, 2, (0.0, 0.6), 6)]),
        start=(*start, S),
        end=(*end, S),
        exact_m=min(_round(start, end, centre, radius + S, way) for way in (-1, 1)),
        why="tangent, arc, tangent round a pipe in a room",
        seed=(0.5, 0.6, 0.3),
    )


_FOLD: Final = math.pi / 4
_WIDTH: Final = 0.25


def _chain() -> tuple[Floats, Floats]:
    """Corners of a chain of four plates, 45 degrees between neighbours, (5, 2), and their directions, (4, 2)."""
    heading = np.arange(4) * _FOLD
    steps = np.column_stack([np.cos(heading), np.sin(heading)])
    return np.concatenate([np.zeros((1, 2)), np.cumsum(_WIDTH * steps, axis=0)]), steps


def _chain_world(side: int) -> tuple[Floats, Vec, Vec, float]:
    """Triangles, both ends and the way along x, on the inner side of the chain (+1) or the outer one (-1)."""
    corners, steps = _chain()
    left = np.column_stack([-steps[:, 1], steps[:, 0]])
    a = corners[1] - 0.15 * steps[0] + side * S * left[0]
    b = corners[3] + 0.15 * steps[3] + side * S * left[3]
    return extruded(corners, 0, (0.0, 1.6), 16), (0.4, *a), (1.2, *b), 0.8


def convex_chain() -> Known:
    """Over three convex edges: plates and the arcs of the stand-off round the edges unrolled, a straight line."""
    triangles, start, end, across = _chain_world(-1)
    return Known(
        name="convex-chain",
        triangles=triangles,
        start=start,
        end=end,
        exact_m=math.hypot(0.15 + 2 * _WIDTH + 0.15 + 3 * S * _FOLD, across),
        why="unrolling of plates and edge arcs",
    )


def concave_chain() -> Known:
    """Over three concave edges: at the stand-off each plate ends s tan(f/2) before its edge; straight unfolded."""
    triangles, start, end, across = _chain_world(+1)
    along = 0.15 + 2 * _WIDTH + 0.15 - 6 * S * math.tan(_FOLD / 2)
    return Known(
        name="concave-chain",
        triangles=triangles,
        start=start,
        end=end,
        exact_m=_over_edges(along, across, [_FOLD] * 3),
        why="unfolding of plates, tangent arcs of the bend radius",
    )


def rim_of_a_fin() -> Known:
    """Over the free edge of a sheet to its other side: half a turn of the stand-off, unrolled."""
    one, other, across = 0.30, 0.22, 0.5
    return Known(
        name="rim-of-a-fin",
        triangles=plate(1, 0.0, (0, 3.0), (0, 1.2), cell=0.1),
        start=(1.0, -S, 1.2 - one),
        end=(1.0 + across, S, 1.2 - other),
        exact_m=math.hypot(one + other + math.pi * S, across),
        why="unrolling of both sides and the half turn round the rim",
    )


def double_sheet_wall() -> Known:
    """Through two sheets 40 mm apart by one passage: legs on the outer faces, straight between the mouths."""
    deep, start, end = 0.04, (0.3, 0.4), (-0.5, -0.6)
    return Known(
        name="double-sheet-wall",
        triangles=np.concatenate(
            [plate(0, x, (-1.2, 1.2), (-1.2, 1.2), cell=0.1) for x in (-deep / 2, deep / 2)]
        ),
        start=(-deep / 2 - S, *start),
        end=(deep / 2 + S, *end),
        exact_m=math.hypot(*start) + math.hypot(*end) + deep + 2 * S - 2 * _saved(math.pi / 2),
        why="Pythagoras on both faces, the passage between",
        spaces=(("front", (-1, -2, -2), (-deep / 2, 2, 2)), ("rear", (deep / 2, -2, -2), (1, 2, 2))),
        pass_throughs=("H",),
        bridge=0.06,
        more=_hole((0, 0, 0), deep),
    )


_THICK: Final = 0.012
"""Radius of a thick cable, which is its stand-off as well: two of it are 24 mm. [m]"""


def gap_of_30_mm() -> Known:
    """Straight over a floor under a wall that ends 30 mm above it: wider than a cable of 24 mm."""
    start, end = (0.5, 0.4, _THICK), (1.5, 0.5, _THICK)
    return Known(
        name="gap-of-30-mm",
        triangles=np.concatenate(
            [plate(2, 0.0, (0, 2), (-1, 1.4), cell=0.1), plate(0, 1.0, (-1, 0.8), (0.030, 0.6), cell=0.1)]
        ),
        start=start,
        end=end,
        exact_m=math.dist(start, end),
        why="a straight line: the gap is wide enough",
        stand_off=_THICK,
        radius=_THICK,
    )


def gap_of_20_mm() -> Known:
    """The wall stands on the floor, with a slot 20 mm high in the straight line: too low for the cable.

    Round the upright end of the wall instead: tangent, arc of the stand-off, tangent.
    """
    start, end = (0.5, 0.4), (1.5, 0.5)
    return Known(
        name="gap-of-20-mm",
        triangles=np.concatenate(
            [
                plate(2, 0.0, (0, 2), (-1, 1.4), cell=0.1),
                plate(0, 1.0, (-1, 0.2), (0, 0.6), cell=0.1),
                plate(0, 1.0, (0.2, 0.6), (0.020, 0.6), cell=0.1),
                plate(0, 1.0, (0.6, 0.8), (0, 0.6), cell=0.1),
            ]
        ),
        start=(*start, _THICK),
        end=(*end, _THICK),
        exact_m=_round(start, end, (1.0, 0.8), _THICK, +1),
        why="tangent, arc, tangent round the end of a wall: the gap is too low",
        stand_off=_THICK,
        radius=_THICK,
    )


def inside_a_tube() -> Known:
    """Along the inside of a round tube: unrolled at the radius less the stand-off, a straight line."""
    radius, turn, along = 0.3, 2.4, 0.9
    at = radius - S
    return Known(
        name="inside-a-tube",
        triangles=extruded(around(radius, 240), 0, (0.0, 1.5), 6),
        start=(0.3, at, 0.0),
        end=(0.3 + along, at * math.cos(turn), at * math.sin(turn)),
        exact_m=math.hypot(at * turn, along),
        why="unrolled tube",
    )


def l_shaped_room() -> Known:
    """Over the floor of a room with two arms: round its inner corner at the stand-off."""
    plan = np.array([(0, 0), (2, 0), (2, 0.8), (0.8, 0.8), (0.8, 2), (0, 2), (0, 0)], dtype=float)
    start, end = (0.4, 1.8), (1.8, 0.5)
    floors = [
        plate(2, z, x, y, cell=0.1) for z in (0.0, 0.5) for x, y in (((0, 2), (0, 0.8)), ((0, 0.8), (0.8, 2)))
    ]
    return Known(
        name="l-shaped-room",
        triangles=np.concatenate([*floors, extruded(plan, 2, (0.0, 0.5), 5)]),
        start=(*start, S),
        end=(*end, S),
        exact_m=_round(start, end, (0.8, 0.8), S, -1),
        why="tangent, arc, tangent round the inner corner",
        seed=(0.4, 0.4, 0.25),
    )


def cone() -> Known:
    """Round a cone: unrolled it is a sector, in which two slant lengths and the angle between make a triangle.

    With half angle h the surface at the stand-off is the same cone with its apex s / sin(h) higher;
    a turn t round the axis is t sin(h) in the sector.
    """
    half, low, high, turn = math.atan(0.5), 0.25, 1.1, 2.6
    n = 240
    unit = around(1.0, n)

    def at(slant: float, angle: float) -> Vec:
        """A point of the offset cone, apex up."""
        out = slant * math.sin(half)
        return (out * math.cos(angle), out * math.sin(angle), S / math.sin(half) - slant * math.cos(half))

    rings = [
        np.column_stack([slant * math.sin(half) * unit, np.full(n + 1, -slant * math.cos(half))])
        for slant in np.linspace(low, high, 8)
    ]
    one, other = 0.8, 0.9
    return Known(
        name="cone",
        triangles=surface(np.array(rings)),
        start=at(one, 0.0),
        end=at(other, turn),
        exact_m=math.sqrt(one**2 + other**2 - 2 * one * other * math.cos(turn * math.sin(half))),
        why="law of cosines in the unrolled cone",
    )


def ball() -> Known:
    """Round a ball: the great circle at the stand-off."""
    radius, angle = 0.4, 2.0
    at = radius + S
    return Known(
        name="ball",
        triangles=np.asarray(trimesh.creation.icosphere(subdivisions=5, radius=radius).triangles),
        start=(0.0, at * math.sin(angle), at * math.cos(angle)),
        end=(0.0, 0.0, at),
        exact_m=at * angle,
        why="great circle",
        seed=(1.0, 0.0, 0.0),
    )


BUMPS: Final = (0.04, 0.6, 0.5)
"""Height, and wavelength along x and y, of the bumpy sheet. [m]"""

BUMPY_ENDS: Final = ((0.13, 0.22), (1.03, 0.71))
BUMPY_EXACT_M: Final = 1.04586
"""Exact geodesics by pygeodesic 0.1.11 on grids of 10 mm and 5 mm: 1.045769 m and 1.045836 m; their error falls with
the square of the step, so that the surface itself has 1.045858 m. `tests/validation/test_worlds.py` does it again
where the package is there. [m]"""


def bumpy(x: npt.ArrayLike, y: npt.ArrayLike, off: float = 0.0) -> Floats:
    """The bumpy sheet, or what lies `off` above it along its normals, (..., 3). [m]"""
    x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
    height, one, other = BUMPS
    k, q = 2 * math.pi / one, 2 * math.pi / other
    z = height * np.sin(k * x) * np.sin(q * y)
    slope_x = height * k * np.cos(k * x) * np.sin(q * y)
    slope_y = height * q * np.sin(k * x) * np.cos(q * y)
    normal = np.stack([-slope_x, -slope_y, np.ones_like(z)], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    return np.asarray(np.stack([x, y, z], axis=-1) + off * normal)


def bumpy_grid(step: float, off: float = 0.0) -> Floats:
    """The sheet as a grid of points, (n, m, 3). [m]"""
    x, y = np.arange(0, 1.2 + step / 2, step), np.arange(0, 0.9 + step / 2, step)
    return bumpy(x[:, None], y[None, :], off)


def bumpy_sheet() -> Known:
    """A sheet of bumps: the exact geodesic on the surface at the stand-off (`BUMPY_EXACT_M`)."""
    start, end = (bumpy(*p, S) for p in BUMPY_ENDS)
    return Known(
        name="bumpy-sheet",
        triangles=surface(bumpy_grid(0.015)),
        start=(float(start[0]), float(start[1]), float(start[2])),
        end=(float(end[0]), float(end[1]), float(end[2])),
        exact_m=BUMPY_EXACT_M,
        why="exact geodesic (window propagation) on finer and finer meshes of the surface at the stand-off",
    )


WORLDS: Final[tuple[Callable[[], Known], ...]] = (
    room_ends_at_other_heights,
    two_rooms_in_a_row,
    keep_out_forces_the_other_side,
    ball_on_a_plate,
    pipe_inside_a_box,
    convex_chain,
    concave_chain,
    rim_of_a_fin,
    double_sheet_wall,
    gap_of_30_mm,
    gap_of_20_mm,
    inside_a_tube,
    l_shaped_room,
    cone,
    ball,
    bumpy_sheet,
)


def main() -> None:
    """Write every world as a job folder."""
    for build in WORLDS:
        known = build()
        folder = Path(sys.argv[1]) / known.name
        folder.mkdir(parents=True, exist_ok=True)
        known.write(folder)
        sys.stdout.write(f"{known.name}: {known.exact_m:.6f} m, {known.why}\n")


if __name__ == "__main__":
    main()
