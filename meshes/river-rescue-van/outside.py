"""Outside of the van: skin with its doors, glass, bonnet, fascia, rear doors and wheels. All mm."""

from __future__ import annotations

import itertools

import form
import numpy as np
import numpy.typing as npt

from routecut.patterns.form import both
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

DOOR = polygon((0, 2), [(1580, 400), (2560, 400), (2560, 2310), (2170, 2290), (1580, 1400)])
DOOR_GLASS = polygon((0, 2), [(1660, 1420), (2480, 1380), (2480, 2190), (2200, 2190)])
SLIDING_DOOR = rounded((0, 2), (2900, 420), (4150, 2310), 60)
SLIDING_GLASS = rounded((0, 2), (3050, 1450), (4000, 2100), 70)


def _stations() -> Floats:
    marks = [240, 262, 300, 450, 1180, 1330, 1365, 2010, 2170, 2480, 2560, 2800, 2900, 4150, 5850, 6180]
    runs = [spaced(a, b, 40 if 1330 <= a < 2480 else 74) for a, b in itertools.pairwise(marks)]
    return np.unique(np.concatenate(runs))


def skin() -> Parts:
    """The body side, roof and front as one form, split into its parts by clean edges."""
    spans = [np.linspace(0, 0.24, 13), np.linspace(0.24, 0.36, 8)[1:], np.linspace(0.36, 1, 31)[1:]]
    half = np.concatenate(spans)
    sheet = surface(
        _stations(), np.concatenate([-half[:0:-1], half]), lambda x, v: form.VAN.section(x, v, form.SKIRT)
    )
    names = np.full(len(sheet[1]), "side-skin", dtype="U32")
    locked = np.zeros(len(sheet[0]), dtype=bool)
    arches = [_wheel_opening(axle) for axle in (form.FRONT_AXLE, form.REAR_AXLE)]
    door_left, door_right = both(DOOR)
    glass_left, glass_right = both(DOOR_GLASS)
    slide, slide_glass = both(SLIDING_DOOR)[1], both(SLIDING_GLASS)[1]
    cuts: list[tuple[str, Field]] = [
        ("roof-skin", form.VAN.top_part(2010, 6181, 0.45)),
        ("roof-cap", form.VAN.top_part(2010, 2480, 0.45)),
        ("glass-windscreen", form.VAN.top_part(1365, 2010, 0.2)),
        ("scuttle-panel", form.VAN.top_part(1180, 1330, 0.3)),
        ("bonnet", form.VAN.top_part(300, 1180, 0.3)),
        ("door-front-left", door_left),
        ("door-front-right", door_right),
        ("door-slide-right", slide),
        ("glass-door-left", glass_left),
        ("glass-door-right", glass_right),
        ("glass-slide-right", slide_glass),
        ("", arches[0]),
        ("", arches[1]),
    ]
    for name, field in cuts:
        sheet = snap(sheet, field, locked)
        names[inside_faces(sheet, field)] = name
    middle = sheet[0][sheet[1]].mean(axis=1)
    plain = names == "side-skin"
    names[plain & (middle[:, 0] < 1330)] = "wing"
    names[plain & (middle[:, 0] >= 1330) & (middle[:, 0] < 2560)] = "a-post"
    hand = np.where(middle[:, 1] < 0, "-left", "-right")
    sided = np.isin(names, ["side-skin", "wing", "a-post"])
    names = np.where(sided, np.char.add(names, hand), names)
    return _split(sheet, names)


def _split(sheet: Sheet, names: npt.NDArray[np.str_]) -> Parts:
    return {str(n): tidy((sheet[0], sheet[1][names == n])) for n in sorted(set(names.tolist())) if n}


def _wheel_opening(axle: tuple[float, float]) -> Field:
    hole = round_hole((0, 2), axle, form.ARCH - 20)

    def field(points: Floats) -> Floats:
        return np.where(np.abs(points[:, 1]) > 600, hole(points), -500.0)

    return field


def fascia() -> Parts:
    """Front fascia with grille and head lamps, and both bumpers."""

    def place(y: Floats, z: Floats) -> list[Floats | float]:
        bulge = np.clip(1 - (y / 770) ** 4, 0, 1) * np.clip(1 - np.abs((z - 560) / 230) ** 4, 0, 1)
        return [form.NOSE - 65 * bulge, y, z]

    sheet = trim(surface(spaced(-790, 790, 45), spaced(330, 800, 40), place), form.within(-3, form.NOSE))
    locked = np.zeros(len(sheet[0]), dtype=bool)
    names = np.full(len(sheet[1]), "front-fascia", dtype="U32")
    lamp_left, lamp_right = both(rounded((1, 2), (-720, 620), (-470, 740), 40))
    lamp_right = both(rounded((1, 2), (470, 620), (720, 740), 40))[1]
    grille = rounded((1, 2), (-400, 560), (400, 740), 40)
    for name, field in (("glass-lamp-left", lamp_left), ("glass-lamp-right", lamp_right), ("grille", grille)):
        sheet = snap(sheet, field, locked)
        names[inside_faces(sheet, field)] = name
    parts = _split(sheet, names)

    def bar(y: Floats, v: Floats) -> list[Floats | float]:
        back, deep = 130 * (np.abs(y) / 900) ** 4, 75 * (1 - (np.abs(y) / 900) ** 6)
        x = 205 - deep * np.interp(v, [0, 1, 2, 3], [0, 1, 1, 0]) + back
        return [x, y, np.interp(v, [0, 1, 2, 3], [330, 350, 500, 520])]

    parts["bumper-front"] = surface(spaced(-900, 900, 60), np.array([0, 1, 1.5, 2, 3.0]), bar)

    def rear_bar(y: Floats, v: Floats) -> list[Floats | float]:
        x = np.interp(v, [0, 1, 2, 3], [6185, 6260, 6260, 6185])
        return [x, y, np.interp(v, [0, 1, 2, 3], [380, 390, 520, 540])]

    parts["bumper-rear"] = surface(spaced(-930, 930, 70), np.array([0, 1, 1.5, 2, 3.0]), rear_bar)
    return parts


def rear() -> Parts:
    """Rear doors, one part each, their glass, linings, the portal they close on, the valance."""

    def place(y: Floats, z: Floats) -> list[Floats | float]:
        return [form.TAIL + 10 * np.clip(1 - (y / 950) ** 2, 0, 1), y, z]

    ys = np.unique(np.concatenate([spaced(-990, 0, 60), spaced(0, 990, 60)]))
    zs = np.unique(np.concatenate([spaced(330, 560, 60), spaced(560, 2500, 60)]))
    sheet = trim(surface(ys, zs, place), form.within(-3, form.TAIL))
    middle = sheet[0][sheet[1]].mean(axis=1)
    doors = np.where(middle[:, 1] < 0, "rear-door-left", "rear-door-right")
    names = np.where(middle[:, 2] < 560, "rear-valance", doors).astype("U32")
    locked = np.zeros(len(sheet[0]), dtype=bool)
    for hand, low, high in (("left", -790, -110), ("right", 110, 790)):
        field = rounded((1, 2), (low, 1480), (high, 2130), 70)
        sheet = snap(sheet, field, locked)
        names[inside_faces(sheet, field)] = f"glass-rear-{hand}"
    parts = _split(sheet, names)
    for hand, low, high in (("left", -790, -90), ("right", 90, 790)):
        parts[f"rear-door-lining-{hand}"] = flat(0, 6130, (low, 800), (high, 1400))

    def ring(points: Floats) -> Floats:
        inset = form.within(0, 6080)(points)
        from_edge = np.minimum(inset, points[:, 2] - form.FLOOR_LOAD + 70)
        return np.asarray(np.minimum(inset + 3, 110 - from_edge), float)

    parts["rear-portal"] = trim(flat(0, 6080, (-990, form.FLOOR_LOAD - 2), (990, 2560), 40), ring)
    return parts


def wheels() -> Parts:
    """Four wheels, the axles between them, and two mirrors."""
    parts: Parts = {}
    for end, axle in (("front", form.FRONT_AXLE), ("rear", form.REAR_AXLE)):
        for hand, y in (("left", -965.0), ("right", 735.0)):
            tyre = drum(1, (axle[0], y, axle[1]), 230, form.TYRE, 115)
            hub = disc(1, (axle[0], -975.0 if hand == "left" else 975.0, axle[1]), 200, 1)
            parts[f"wheel-{end}-{hand}"] = join(tyre, hub)
    parts["axle-rear"] = tube([(form.REAR_AXLE[0], -735, 350), (form.REAR_AXLE[0], 735, 350)], 50)
    for hand, sign in (("left", -1), ("right", 1)):
        low, high = sorted((sign * 1010.0, sign * 1230.0))
        parts[f"mirror-{hand}"] = pillow((1640, low, 1420), (1720, high, 1720), 35)
    return parts


def everything() -> Parts:
    """All of the outside by name."""
    return {**skin(), **fascia(), **rear(), **wheels()}
