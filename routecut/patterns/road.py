"""A road vehicle's stations and its outside: skin, doors, glass, bonnet, fascia, wheels. All mm.

Axes of ISO 4130: X rearward from the front of the bumper, Y to the right, Z up from the ground.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from routecut.patterns.form import ON_CORNER, ON_TOP, Form, both
from routecut.patterns.measurements import Values
from routecut.patterns.sheets import (
    Field,
    Floats,
    Sheet,
    disc,
    drum,
    flat,
    inside_faces,
    join,
    pillow,
    polygon,
    round_hole,
    rounded,
    snap,
    spaced,
    surface,
    tidy,
    trim,
    tube,
)

Parts = dict[str, Sheet]
HANDS = (("left", -1.0), ("right", 1.0))
SKIRT = 330.0
NOSE = 70.0
"""Where the skin begins behind the front of the bumper."""


@dataclass(frozen=True)
class Door:
    """A side door: its front and rear edge, and which sides have it."""

    name: str
    front: float
    rear: float
    sides: tuple[str, ...] = ("left", "right")
    glass: bool = True


@dataclass(frozen=True)
class Road:
    """Where things of a road vehicle are. [mm]

    Attributes
    ----------
    cowl_x, cowl_z : float
        Foot of the windscreen, where the bulkhead stands.
    header_x : float
        Top edge of the windscreen.
    post_x : float
        Rear edge of the front doors: the striker.
    cab_end : float
        Rear wall of the cab, or where the cabin ends.
    roof_end, tail, tail_z : float
        Where the roof begins to fall, the rear end, and how high the top is there.
    floor, load_floor : float
        Heights of cab floor and load floor.
    lean : float
        Share by which the sides lean in at 1500 mm above the belt.
    panes : tuple of (float, float, float)
        Fixed side windows: lower front, lower rear and upper rear station.
    """

    width: float
    height: float
    nose_z: float
    cowl_x: float
    cowl_z: float
    header_x: float
    post_x: float
    cab_end: float
    roof_end: float
    tail: float
    tail_z: float
    floor: float
    load_floor: float
    front_axle: float
    rear_axle: float
    tyre: float = 340.0
    lean: float = 0.07
    corner: float = 180.0
    doors: tuple[Door, ...] = field(default=())
    screen_bow: float = 0.0
    rear_glass: bool = False
    panes: tuple[tuple[float, float, float], ...] = ()

    @classmethod
    def of(cls, v: Values, *, roof_end: float, tail: float, tail_z: float, nose: float = 240.0) -> Road:
        """What all of them take straight from the measurements; `nose` lies so far below the bonnet's rear edge."""
        foot = v["windscreen_foot"]
        return cls(
            width=v["overall_width"],
            height=v["overall_height"],
            nose_z=v["bonnet_height"] - nose,
            cowl_x=foot,
            cowl_z=v["bonnet_height"],
            header_x=foot + v["windscreen_top"],
            post_x=foot + v["striker"],
            cab_end=foot + v["cab_length"],
            roof_end=roof_end,
            tail=tail,
            tail_z=tail_z,
            floor=v["cab_floor"],
            load_floor=v["load_floor"],
            front_axle=v["front_overhang"],
            rear_axle=v["front_overhang"] + v["wheelbase"],
        )

    @property
    def half(self) -> float:
        """Half the width."""
        return self.width / 2

    @property
    def arch_inner(self) -> float:
        """Half width between the wheel arches."""
        return self.half - 300.0

    @property
    def arch(self) -> float:
        """Radius of a wheel arch."""
        return self.tyre + 75.0

    @property
    def axle_front(self) -> tuple[float, float]:
        """Front axle, x and z."""
        return self.front_axle, self.tyre

    @property
    def axle_rear(self) -> tuple[float, float]:
        """Rear axle, x and z."""
        return self.rear_axle, self.tyre

    @property
    def form(self) -> Form:
        """The outer form from nose to tail."""
        rise = self.cowl_z - self.nose_z
        run = self.cowl_x - NOSE
        roof_z, screen = self.height, self.header_x - self.cowl_x
        top = [
            (NOSE, self.nose_z - 130),
            (NOSE + 25, self.nose_z - 70),
            (NOSE + 85, self.nose_z - 15),
            (NOSE + 0.2 * run, self.nose_z + 0.12 * rise),
            (NOSE + 0.5 * run, self.nose_z + 0.5 * rise),
            (NOSE + 0.85 * run, self.nose_z + 0.87 * rise),
            (self.cowl_x, self.cowl_z),
        ]
        for share in (0.08, 0.3, 0.6, 0.9):
            up = self.cowl_z + share * (roof_z - 55 - self.cowl_z)
            top.append((self.cowl_x + share * screen, up + self.screen_bow * share * (1 - share) * 4))
        top += [(self.header_x, roof_z - 50), (self.header_x + 0.2 * screen + 60, roof_z - 14)]
        flat_from = self.header_x + 0.5 * screen + 160
        if self.roof_end > flat_from + 50:
            top.append((flat_from, roof_z))
        top.append((self.roof_end, roof_z if self.roof_end > flat_from else roof_z - 4))
        if self.tail - self.roof_end > 350:  # a raked back
            mid = (self.roof_end + 90, roof_z - 22)
            top.append(mid)
            for share in (0.35, 0.75):
                top.append(
                    (mid[0] + share * (self.tail - mid[0]), mid[1] + share**1.25 * (self.tail_z - mid[1]))
                )
        top.append((self.tail, self.tail_z))
        w = self.half
        width = (
            (NOSE, 0.78 * w),
            (NOSE + 45, 0.85 * w),
            (NOSE + 130, 0.91 * w),
            (NOSE + 280, 0.955 * w),
            (NOSE + 500, 0.98 * w),
            (self.cowl_x + 250, w),
            (self.tail - 350, w),
            (self.tail - 80, 0.985 * w),
            (self.tail, 0.955 * w),
        )
        corner = (
            (NOSE, 80),
            (NOSE + 300, 100),
            (self.cowl_x, 110),
            (self.cowl_x + 0.5 * screen, self.corner - 30),
            (self.header_x, self.corner),
            (self.tail - 100, self.corner),
            (self.tail, self.corner - 25),
        )
        belt = self.cowl_z - 40
        return Form(tuple(top), width, corner, lean=self.lean, lean_from=belt, crown_at=0.75 * w)


def _stations(r: Road) -> Floats:
    marks = [NOSE, NOSE + 25, NOSE + 85, NOSE + 220, r.cowl_x - 130, r.cowl_x, r.cowl_x + 40, r.header_x]
    marks += [r.post_x, r.cab_end, r.roof_end, r.roof_end + 60, r.tail - 100, r.tail]
    for door in r.doors:
        marks += [door.front, door.rear]
    marks += [at for pane in r.panes for at in pane]
    marks = sorted({round(m, 1) for m in marks if NOSE <= m <= r.tail})
    kept = [marks[0]]
    for mark in marks[1:]:
        if mark - kept[-1] > 12:
            kept.append(mark)
    kept[-1] = r.tail
    runs = [spaced(a, b, 45 if r.cowl_x <= a < r.header_x else 85) for a, b in itertools.pairwise(kept)]
    return np.unique(np.concatenate(runs))


def pillar_x(r: Road, z: float) -> float:
    """Where the windscreen pillar is at a height. [mm]"""
    share = np.clip((z - r.cowl_z) / (r.height - 55 - r.cowl_z), 0, 1)
    return float(r.cowl_x + share * (r.header_x - r.cowl_x))


def door_fields(r: Road, door: Door) -> tuple[Field, Field]:
    """A door and its glass, seen from the side."""
    small = min(1.0, (r.height - r.cowl_z) / 1000)  # a low cabin has slim frames
    low, high, belt = r.floor - 110 * small, r.height - 125 * small, r.cowl_z + 60 * small
    front, rear = door.front, door.rear
    top_front = max(front, pillar_x(r, high) + 150 * small)
    lower = max(front, pillar_x(r, belt) + 120 * small) if top_front > front else front
    fall = 45.0 if r.rear_glass and rear > r.roof_end - 500 else 0.0  # the roof comes down a little
    outline = [(front, low), (rear, low), (rear, high - fall), (top_front, high), (front, belt)]
    if top_front == front:
        outline = [(front, low), (rear, low), (rear, high - fall), (front, high)]
    glass = [
        (lower + 60, belt + 25 * small), (rear - 65, belt + 25 * small), (rear - 75, high - fall - 80 * small),
        (top_front + 50 * small, high - 80 * small),
    ]  # fmt: skip
    return polygon((0, 2), outline), polygon((0, 2), glass)


def skin(r: Road, *, keep: Field | None = None) -> Parts:
    """The body side, roof and front as one form, split into its parts by clean edges."""
    form = r.form
    spans = [
        np.linspace(0, ON_TOP, 11),
        np.linspace(ON_TOP, ON_CORNER, 7)[1:],
        np.linspace(ON_CORNER, 1, 25)[1:],
    ]
    half = np.concatenate(spans)
    sheet = surface(
        _stations(r), np.concatenate([-half[:0:-1], half]), lambda x, v: form.section(x, v, SKIRT)
    )
    if keep is not None:
        sheet = trim(sheet, keep)
    names = np.full(len(sheet[1]), "side-skin", dtype="U32")
    locked = np.zeros(len(sheet[0]), dtype=bool)
    cuts: list[tuple[str, Field]] = [
        ("roof-skin", form.top_part(r.header_x, r.tail + 1, 0.45)),
        ("glass-windscreen", form.top_part(r.cowl_x + 40, r.header_x, 0.2)),
        ("scuttle-panel", form.top_part(r.cowl_x - 130, r.cowl_x + 40, 0.3)),
        ("bonnet", form.top_part(NOSE + 60, r.cowl_x - 130, 0.3)),
    ]
    if r.rear_glass:
        cuts.append(("glass-rear", form.top_part(r.roof_end + 60, r.tail - 90, 0.1)))
    for door in r.doors:
        outline, glass = (both(f) for f in door_fields(r, door))
        for index, (side, _) in enumerate(HANDS):
            if side in door.sides:
                cuts.append((f"door-{door.name}-{side}", outline[index]))
                if door.glass:
                    cuts.append((f"glass-door-{door.name}-{side}", glass[index]))
    small = min(1.0, (r.height - r.cowl_z) / 1000)
    for low_front, low_rear, high_rear in r.panes:
        z0, z1 = r.cowl_z + 85 * small, r.height - 205 * small - 45
        pane = both(polygon((0, 2), [(low_front, z0), (low_rear, z0), (high_rear, z1), (low_front, z1)]))
        cuts += [(f"glass-quarter-{hand}", pane[k]) for k, (hand, _) in enumerate(HANDS)]
    cuts += [("", _wheel_opening(r, axle)) for axle in (r.axle_front, r.axle_rear)]
    for called, cut in cuts:
        sheet = snap(sheet, cut, locked)
        names[inside_faces(sheet, cut)] = called
    middle = sheet[0][sheet[1]].mean(axis=1)
    plain = names == "side-skin"
    names[plain & (middle[:, 0] < r.cowl_x)] = "wing"
    names[plain & (middle[:, 0] >= r.cowl_x) & (middle[:, 0] < r.post_x)] = "a-post"
    hand = np.where(middle[:, 1] < 0, "-left", "-right")
    sided = np.isin(names, ["side-skin", "wing", "a-post"])
    return split(sheet, np.where(sided, np.char.add(names, hand), names))


def split(sheet: Sheet, names: npt.NDArray[np.str_]) -> Parts:
    """The parts of a sheet by the name of each face; faces without a name are left out."""
    return {str(n): tidy((sheet[0], sheet[1][names == n])) for n in sorted(set(names.tolist())) if n}


def _wheel_opening(r: Road, axle: tuple[float, float]) -> Field:
    hole = round_hole((0, 2), axle, r.arch - 20)

    def opening(points: Floats) -> Floats:
        return np.where(np.abs(points[:, 1]) > r.arch_inner - 80, hole(points), -500.0)

    return opening


def fascia(r: Road) -> Parts:
    """Front fascia with grille and head lamps, and the front bumper."""
    w = r.half
    span = r.nose_z - 130

    def place(y: Floats, z: Floats) -> list[Floats | float]:
        bulge = np.clip(1 - (y / (0.8 * w)) ** 4, 0, 1) * np.clip(
            1 - np.abs((z - 0.65 * span) / (0.5 * span)) ** 4, 0, 1
        )
        return [NOSE - 45 * bulge, y, z]

    sheet = trim(
        surface(spaced(-0.8 * w, 0.8 * w, 50), spaced(SKIRT, span + 10, 45), place), r.form.within(-3, NOSE)
    )
    locked = np.zeros(len(sheet[0]), dtype=bool)
    names = np.full(len(sheet[1]), "front-fascia", dtype="U32")
    low, high = span - 190, span - 25
    lamps = both(rounded((1, 2), (0.47 * w, low), (0.73 * w, high), 35))
    left = both(rounded((1, 2), (-0.73 * w, low), (-0.47 * w, high), 35))
    grille = rounded((1, 2), (-0.4 * w, low - 40), (0.4 * w, high), 35)
    for name, cut in (("glass-lamp-left", left[0]), ("glass-lamp-right", lamps[1]), ("grille", grille)):
        sheet = snap(sheet, cut, locked)
        names[inside_faces(sheet, cut)] = name
    parts = split(sheet, names)

    def bar(y: Floats, v: Floats) -> list[Floats | float]:
        back, deep = 130 * (np.abs(y) / (0.91 * w)) ** 4, 70 * (1 - (np.abs(y) / (0.91 * w)) ** 6)
        return [
            70 - deep * np.interp(v, [0, 1, 2, 3], [0, 1, 1, 0]) + back,
            y,
            np.interp(v, [0, 1, 2, 3], [310, 330, 500, 520]),
        ]

    parts["bumper-front"] = surface(spaced(-0.91 * w, 0.91 * w, 60), np.array([0, 1, 1.5, 2, 3.0]), bar)
    return parts


def rear_bumper(tail: float, half: float) -> Sheet:
    """A bar across the rear; its outermost point is 80 mm behind the tail."""

    def bar(y: Floats, v: Floats) -> list[Floats | float]:
        x = np.interp(v, [0, 1, 2, 3], [tail + 5, tail + 80, tail + 80, tail + 5])
        return [x, y, np.interp(v, [0, 1, 2, 3], [390, 400, 520, 540])]

    return surface(spaced(-0.94 * half, 0.94 * half, 70), np.array([0, 1, 1.5, 2, 3.0]), bar)


def back(r: Road, x: float, low: float, *, glass: tuple[float, float, float] | None, doors: bool) -> Parts:
    """A flat closing of the form at a station: a rear wall, or two rear doors; `glass` is half width, low, high."""
    sheet = trim(flat(0, x, (-r.half, low), (r.half, r.height + 10), 60), r.form.within(-3, min(x, r.tail)))
    middle = sheet[0][sheet[1]].mean(axis=1)
    if doors:
        names = np.where(middle[:, 1] < 0, "rear-door-left", "rear-door-right").astype("U32")
    else:
        names = np.full(len(sheet[1]), "back-panel", dtype="U32")
    locked = np.zeros(len(sheet[0]), dtype=bool)
    if glass is not None:
        wide, bottom, top = glass
        panes = [("glass-back", rounded((1, 2), (-wide, bottom), (wide, top), 60))]
        if doors:
            panes = [
                ("glass-rear-left", rounded((1, 2), (-wide, bottom), (-100, top), 50)),
                ("glass-rear-right", rounded((1, 2), (100, bottom), (wide, top), 50)),
            ]
        for name, pane in panes:
            sheet = snap(sheet, pane, locked)
            names[inside_faces(sheet, pane)] = name
    return split(sheet, names)


def wheels(r: Road, *, twin: bool = False) -> Parts:
    """Four wheels, the rear axle between them, and two mirrors."""
    parts: Parts = {}
    wide = 225.0
    for end, axle in (("front", r.axle_front), ("rear", r.axle_rear)):
        broad = wide * 1.9 if twin and end == "rear" else wide
        for hand, sign in HANDS:
            outer = sign * (r.half - 25)
            low = min(outer, outer - sign * broad)
            tyre = drum(1, (axle[0], low, axle[1]), broad, r.tyre, 115)
            hub = disc(1, (axle[0], outer + sign * 10, axle[1]), 0.55 * r.tyre, 1)
            parts[f"wheel-{end}-{hand}"] = join(tyre, hub)
    reach = r.half - 260
    parts["axle-rear"] = tube([(r.rear_axle, -reach, r.tyre), (r.rear_axle, reach, r.tyre)], 50)
    for hand, sign in HANDS:
        at = pillar_x(r, r.cowl_z + 120) + 130
        near = float(r.form.half_width(at, r.cowl_z + 120))
        low, high = sorted((sign * (near + 25), sign * (near + 215)))
        parts[f"mirror-{hand}"] = pillow((at, low, r.cowl_z + 40), (at + 80, high, r.cowl_z + 230), 35)
    return parts
