"""The pattern "small boat": an open boat of fibreglass with a wheelhouse and an outboard engine. All mm.

X rearward from the stem, Y to starboard, Z up from the lowest point of the keel.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from routecut.model.job import Access, SurfaceKind, SurfaceRule
from routecut.patterns.form import smooth
from routecut.patterns.made import (
    Corners,
    Fitted,
    Made,
    Noted,
    SectionBox,
    a_box,
    a_space,
    a_trim,
    capsule,
    hole,
    keep_out,
    mark,
    obstacle,
    panel,
)
from routecut.patterns.measurements import Measurement, Point, Values
from routecut.patterns.road import HANDS, Parts
from routecut.patterns.road_asked import Clash
from routecut.patterns.road_inside import seat
from routecut.patterns.sheets import (
    Floats,
    Sheet,
    box,
    flat,
    folded,
    inside_faces,
    join,
    pillow,
    polygon,
    rounded,
    snap,
    spaced,
    surface,
    tidy,
    trim,
    tube,
)


def _one(  # noqa: PLR0917 - they read best in a row
    key: str,
    words: str,
    how: str,
    along: str,
    span: tuple[float, float, float],
    changes: str,
    line: Callable[[Values], tuple[Point, Point]],
    view: str = "side",
) -> Measurement:
    default, low, high = span
    return Measurement(
        key=key,
        words=words,
        how=how,
        default=default,
        low=low,
        high=high,
        along=along,
        changes=changes,
        line=line,
        view=view,
    )


def _mid(v: Values) -> float:
    return v["wheelhouse_front"] + 0.6 * v["wheelhouse_length"]


MEASUREMENTS = (
    _one(
        "hull_length",
        "Hull length",
        "from the stem to the transom, tape level, a plumb line at either end",
        "x",
        (7000, 5200, 9500),
        "how far the cockpit reaches aft",
        lambda v: ((0, 0, -150), (v["hull_length"], 0, -150)),
    ),
    _one(
        "beam",
        "Beam",
        "across the hull at its widest, outside of the fender to outside of the fender",
        "y",
        (2500, 2000, 3200),
        "all distances across the hull",
        lambda v: ((0, -v["beam"] / 2, -150), (0, v["beam"] / 2, -150)),
        "front",
    ),
    _one(
        "transom_width",
        "Transom width",
        "across the top of the transom",
        "y",
        (2200, 1600, 3000),
        "how the hull narrows aft",
        lambda v: ((0, -v["transom_width"] / 2, -330), (0, v["transom_width"] / 2, -330)),
        "front",
    ),
    _one(
        "gunwale_height",
        "Gunwale height",
        "from the lowest point of the keel plumb up to the gunwale amidships",
        "z",
        (1250, 900, 1700),
        "how high the side decks are",
        lambda v: ((_mid(v), 0, 0), (_mid(v), 0, v["gunwale_height"])),
    ),
    _one(
        "bow_height",
        "Bow height",
        "from the level of the keel plumb up to the top of the stem",
        "z",
        (1600, 1150, 2200),
        "the sheer of the foredeck",
        lambda v: ((-120, 0, 0), (-120, 0, v["bow_height"])),
    ),
    _one(
        "wheelhouse_front",
        "Wheelhouse front",
        "from the stem to the foot of the front windows, tape level",
        "x",
        (2300, 1500, 3400),
        "where the wheelhouse stands; the foredeck",
        lambda v: ((0, 0, v["bow_height"] + 200), (v["wheelhouse_front"], 0, v["bow_height"] + 200)),
    ),
    _one(
        "wheelhouse_length",
        "Wheelhouse length",
        "from the foot of the front windows to the rear bulkhead, tape level",
        "x",
        (2000, 1400, 2900),
        "how long the wheelhouse is",
        lambda v: (
            (v["wheelhouse_front"], 0, v["bow_height"] + 330),
            (v["wheelhouse_front"] + v["wheelhouse_length"], 0, v["bow_height"] + 330),
        ),
    ),
    _one(
        "wheelhouse_width",
        "Wheelhouse width",
        "across the wheelhouse outside, at the windows",
        "y",
        (1850, 1300, 2500),
        "how wide the wheelhouse is",
        lambda v: (
            (0, -v["wheelhouse_width"] / 2, v["sole_height"] + v["headroom"] + 200),
            (0, v["wheelhouse_width"] / 2, v["sole_height"] + v["headroom"] + 200),
        ),
        "front",
    ),
    _one(
        "sole_height",
        "Wheelhouse sole",
        "from the level of the keel up to the sole of the wheelhouse",
        "z",
        (560, 380, 800),
        "how high the sole is and how deep the bilge",
        lambda v: ((_mid(v) - 350, 0, 0), (_mid(v) - 350, 0, v["sole_height"])),
    ),
    _one(
        "headroom",
        "Headroom",
        "from the sole up to the outside of the roof, in the middle of the wheelhouse",
        "z",
        (2050, 1750, 2300),
        "how high the roof is",
        lambda v: (
            (_mid(v) + 350, 0, v["sole_height"]),
            (_mid(v) + 350, 0, v["sole_height"] + v["headroom"]),
        ),
    ),
    _one(
        "window_sill",
        "Window sill",
        "from the sole of the wheelhouse up to the lower edge of the side windows",
        "z",
        (1050, 800, 1300),
        "where the windows begin; the top of the console",
        lambda v: ((_mid(v), 0, v["sole_height"]), (_mid(v), 0, v["sole_height"] + v["window_sill"])),
    ),
    _one(
        "cockpit_sole",
        "Cockpit sole",
        "from the level of the keel up to the sole of the cockpit",
        "z",
        (620, 400, 850),
        "how high the cockpit sole is",
        lambda v: ((v["hull_length"] - 500, 0, 0), (v["hull_length"] - 500, 0, v["cockpit_sole"])),
    ),
)


def clashes(v: Values) -> list[Clash]:
    """What can't be true of a small boat with a wheelhouse."""
    found: list[Clash] = []

    def least(keys: tuple[str, ...], have: float, wanted: float, what: str) -> None:
        if have < wanted:
            found.append((keys, f"{what}: {have:.0f} mm is left, at least {wanted:.0f} mm is wanted"))

    aft = v["hull_length"] - v["wheelhouse_front"] - v["wheelhouse_length"]
    least(("hull_length", "wheelhouse_front", "wheelhouse_length"), aft, 1200, "aft of the wheelhouse")
    least(("beam", "wheelhouse_width"), v["beam"] - v["wheelhouse_width"], 250, "for both side decks")
    least(("beam", "transom_width"), v["beam"] - v["transom_width"], 0, "from transom width to beam")
    least(
        ("gunwale_height", "cockpit_sole"),
        v["gunwale_height"] - v["cockpit_sole"],
        300,
        "from cockpit sole to gunwale",
    )
    least(
        ("gunwale_height", "sole_height"), v["gunwale_height"] - v["sole_height"], 300, "from sole to gunwale"
    )
    least(("headroom", "window_sill"), v["headroom"] - v["window_sill"], 550, "from window sill to roof")
    least(("bow_height", "gunwale_height"), v["bow_height"] - v["gunwale_height"], 0, "from gunwale to bow")
    return found


class Hull:
    """The lines of the hull."""

    def __init__(self, v: Values) -> None:
        self.length, beam = v["hull_length"], v["beam"] / 2
        n, aft = self.length, v["transom_width"] / 2
        self._half = (
            (0, 45),
            (0.06 * n, 0.34 * beam),
            (0.18 * n, 0.7 * beam),
            (0.35 * n, 0.95 * beam),
            (0.5 * n, beam),
            (n, aft),
        )
        deck, bow = v["gunwale_height"], v["bow_height"]
        self._sheer = ((0, bow), (0.25 * n, deck + 0.45 * (bow - deck)), (0.55 * n, deck), (n, deck))
        self._keel = ((0, 0.72 * bow), (0.05 * n, 0.34 * bow), (0.13 * n, 0.12 * bow), (0.28 * n, 15), (n, 0))
        self._chine = ((0, 0.8 * bow), (0.1 * n, 0.5 * bow), (0.3 * n, 430), (0.6 * n, 340), (n, 320))

    def half(self, x: Floats | float) -> Floats:
        """Half breadth at the gunwale."""
        return smooth(self._half, x)

    def sheer(self, x: Floats | float) -> Floats:
        """Height of the gunwale."""
        return smooth(self._sheer, x)

    def place(self, x: Floats, v: Floats) -> list[Floats | float]:
        """Point of a section: `v` from -1 (port gunwale) over 0 (keel) to 1 (starboard gunwale)."""
        s = np.abs(v)
        keel, chine, sheer, half = smooth(self._keel, x), smooth(self._chine, x), self.sheer(x), self.half(x)
        low = np.clip(s / 0.45, 0, 1)
        up = np.clip((s - 0.45) / 0.55, 0, 1)
        chine_half = 0.84 * half
        y = np.where(s < 0.45, chine_half * low, chine_half + (half - chine_half) * up**1.4)
        z = np.where(s < 0.45, keel + (chine - keel) * low**1.1, chine + (sheer - chine) * up)
        return [x, np.sign(v) * y, z]


def make(v: Values) -> Made:
    """The boat."""
    hull = Hull(v)
    n, x0 = v["hull_length"], v["wheelhouse_front"]
    x1, w = x0 + v["wheelhouse_length"], v["wheelhouse_width"] / 2
    sole, cockpit = v["sole_height"], v["cockpit_sole"]
    roof, sill = sole + v["headroom"], sole + v["window_sill"]
    deck, beam = v["gunwale_height"], v["beam"] / 2
    wall = 0.86 * v["transom_width"] / 2
    tank = ((x1 + 250, -330.0, 190.0), (x1 + 850, 330.0, cockpit - 60))
    battery = (n - 620, -0.55 * v["transom_width"] / 2, cockpit - 90)
    engine = (n + 40, n + 560)
    gland = (x0 + 0.42 * v["wheelhouse_length"], -w + 140, roof)
    antenna = (x0 + 0.7 * v["wheelhouse_length"], -w + 260, roof)
    return Made(
        profile="small craft",
        parts=_parts(v, hull, battery),
        surfaces=(
            *obstacle(
                "glass-*",
                "door-*",
                "engine-*",
                "helm-*",
                "seat-*",
                "battery",
                "fuel-tank",
                "fender-*",
                note="Glass, doors, machinery, and what nothing is fixed to.",
            ),
            a_trim("headlining", 20, "Linings: cables run behind them."),
            a_trim("console-shell", 30),
            Noted(
                SurfaceRule(
                    part="hull",
                    kind=SurfaceKind.PANEL,
                    material="fibreglass laminate, not metal",
                    thickness_m=0.008,
                ),
                "The hull is not metal: no ground plane, no return through the body. Never drilled.",
            ),
            panel(
                "wheelhouse-roof",
                12,
                material="fibreglass sandwich",
                drill=True,
                note="Holes in sandwich: take the core out round the hole and fill it, or water gets in.",
            ),
            panel("wheelhouse-*", 10, material="fibreglass laminate"),
            panel("bulkhead-*", 12, material="plywood, glassed"),
            panel("*", 8, material="fibreglass laminate"),
        ),
        spaces=(
            a_space("wheelhouse", _wheelhouse_boxes(v), (x0 + 0.6 * v["wheelhouse_length"], 0.3 * w, sill)),
            a_space(
                "bilge",
                _bilge_boxes(v, hull),
                (x1 + 120, 0.35 * beam, min(sole, cockpit) - 110),
                "wet",
                access=Access.TRIM,
                note="Under the soles and the side decks. Everything here gets wet: drip loops, sealed ends.",
            ),
            a_space(
                "forepeak",
                [((0.1 * n, -0.75 * w, 0.4 * deck), (x0 - 30, 0.75 * w, deck + 40))],
                (x0 - 350, 0, 0.75 * deck),
                "wet",
                access=Access.TRIM,
            ),
            a_space(
                "cockpit",
                [((x1, -wall, cockpit), (n, wall, deck)), ((x1, -beam, deck), (n, beam, roof + 300))],
                (x1 + 700, 0, cockpit + 900),
                "wet",
                open_to=("outside",),
            ),
            a_space(
                "outside",
                [((-600, -beam - 600, -300), (n + 900, beam + 600, roof + 1500))],
                (0.5 * n, 0, roof + 700),
                "wet",
                note="Listed last: what no other space holds.",
            ),
        ),
        keep_outs=(
            keep_out(
                "engine",
                a_box(((engine[0], -330, 250), (engine[1], 330, deck + 520))),
                "moving",
                100,
                sweep=(0, 0, 250),
                note="It turns and tilts: leave its whole travel free.",
            ),
            keep_out(
                "engine cowl",
                a_box(((engine[0], -240, deck + 100), (engine[1], 240, deck + 500))),
                "hot",
                100,
            ),
            keep_out(
                "fuel tank",
                a_box(tank),
                "fuel",
                150,
                note="Petrol vapour gathers low: no unsealed connection near it.",
            ),
            keep_out(
                "fuel line", capsule((x1 + 800, 250, 300), (n - 60, 250, cockpit - 120), 15), "fuel", 150
            ),
            keep_out(
                "steering line",
                capsule((x0 + 480, 0.42 * w, sill - 260), (x0 + 480, w - 70, sole + 120), 25),
                "moving",
                40,
            ),
            keep_out(
                "wheel",
                capsule((x0 + 560, 0.42 * w, sill - 130), (x0 + 600, 0.42 * w, sill - 110), 200),
                "moving",
                30,
            ),
            keep_out(
                "compass",
                a_box(((x0 + 250, 0.42 * w - 120, sill), (x0 + 480, 0.42 * w + 120, sill + 160))),
                "other",
                300,
                note="Direct current nearby turns a compass: keep the distance its maker gives, swing it afterwards.",
            ),
            keep_out(
                "door", a_box(((x1 - 60, -0.15 * w, sole), (x1 + 60, 0.6 * w, roof - 200))), "moving", 20
            ),
        ),
        pass_throughs=(
            hole(
                "console grommet",
                (x0 + 300, -w + 150, sole),
                (0, 0, 1),
                40,
                ("wheelhouse", "bilge"),
                in_use=20,
                note="Where engine and steering cables leave the console downwards.",
            ),
            hole(
                "wheelhouse rear gland",
                (x1, -w + 200, sole + 350),
                (1, 0, 0),
                30,
                ("wheelhouse", "cockpit"),
                note="A watertight gland, or none: then it is a candidate.",
            ),
            hole(
                "roof gland",
                gland,
                (0, 0, 1),
                25,
                ("outside", "wheelhouse"),
                classes=("coax", "data"),
                note="A deck gland takes the plug only if it is as wide: see connector_diameter of the antenna's port.",
            ),
            hole("forepeak gland", (x0, -0.4 * w, sole + 300), (1, 0, 0), 25, ("forepeak", "wheelhouse")),
        ),
        landmarks=(
            mark("stem head", (0, 0, float(hull.sheer(0.0)))),
            mark("transom corner port left", (n, -v["transom_width"] / 2, deck)),
            mark("transom corner starboard right", (n, v["transom_width"] / 2, deck)),
            mark("wheelhouse roof corner front left", (x0 + 250, -w - 60, roof)),
            mark("wheelhouse roof corner front right", (x0 + 250, w + 60, roof)),
            mark("wheelhouse roof corner rear left", (x1 + 120, -w - 60, roof)),
            mark("console corner left", (x0 + 520, -w + 40, sill - 20)),
            mark("console corner right", (x0 + 520, w - 40, sill - 20)),
        ),
        sections=_sections(v),
        devices=(
            Fitted(
                name="battery",
                equipment="battery",
                at=battery,
                space="bilge",
                facing="front",
                note="Often in a locker aft: in a box, strapped, vented.",
            ),
            Fitted(
                name="marine radio",
                equipment="marine radio, dash mount",
                at=(x0 + 330, -0.3 * w, sill + 5),
                space="wheelhouse",
                facing="front",
                note="on the console",
            ),
            Fitted(
                name="VHF antenna",
                equipment="antenna base, bracket",
                at=antenna,
                space="outside",
                note="on the roof, clear of people's heads",
            ),
        ),
        cables=("power", "return", "coax"),
        tape_checks=(
            ("wheelhouse roof corner front left", "wheelhouse roof corner front right"),
            ("wheelhouse roof corner front left", "wheelhouse roof corner rear left"),
            ("stem head", "transom corner port left"),
        ),
    )


def _sections(v: Values) -> tuple[SectionBox, ...]:
    n, beam, x0 = v["hull_length"], v["beam"] / 2 + 50, v["wheelhouse_front"]
    x1, roof = x0 + v["wheelhouse_length"], v["sole_height"] + v["headroom"]
    low, high = min(v["sole_height"], v["cockpit_sole"]), v["sole_height"]
    house = ((x0 - 50, -beam, high), (x1 + 150, beam, roof + 150))
    aft = ((x1, -beam, 0), (n, beam, v["gunwale_height"]))
    return (
        SectionBox(
            name="wheelhouse, length",
            along="x",
            box=((x0 - 50, -beam, 0), (x1, beam, roof + 150)),
            keys=("wheelhouse_length",),
        ),
        SectionBox(
            name="cockpit, length",
            along="x",
            box=aft,
            keys=("hull_length", "wheelhouse_front", "wheelhouse_length"),
        ),
        SectionBox(name="wheelhouse, height", along="z", box=house, keys=("headroom",)),
        SectionBox(
            name="bilge, height",
            along="z",
            box=((0, -beam, 0), (n, beam, low)),
            keys=("sole_height", "cockpit_sole"),
        ),
        SectionBox(name="wheelhouse, width", along="y", box=house, keys=("wheelhouse_width",)),
        SectionBox(
            name="hull, width", along="y", box=((0, -beam, 0), (n, beam, low)), keys=("beam", "transom_width")
        ),
    )


def _wheelhouse_boxes(v: Values) -> list[Corners]:
    x0, w = v["wheelhouse_front"], v["wheelhouse_width"] / 2
    x1, sole = x0 + v["wheelhouse_length"], v["sole_height"]
    roof, sill = sole + v["headroom"], sole + v["window_sill"]
    steps = 4
    found: list[Corners] = [((x0, -w, sole), (x1, w, sill))]
    for k in range(1, steps + 1):  # stepped with the leaning front windows
        share = k / steps
        found.append(((x0 + LEAN * (k - 1) / steps, -w, sole), (x1, w, sill + share * (roof - sill))))
    return found


def _bilge_boxes(v: Values, hull: Hull) -> list[Corners]:
    x0, w, n = v["wheelhouse_front"], v["wheelhouse_width"] / 2, v["hull_length"]
    x1, sole, cockpit = x0 + v["wheelhouse_length"], v["sole_height"], v["cockpit_sole"]
    aft, deck = v["transom_width"] / 2, v["gunwale_height"]
    low = min(float(hull.half(x0)), v["beam"] / 2)
    wall = 0.86 * aft
    found: list[Corners] = [
        ((x0, -low, 20), (x1, low, sole)),
        ((x1, -aft, 20), (n, aft, cockpit)),
        ((x1 - 60, -aft, 20), (x1 + 60, aft, min(sole, cockpit))),
    ]
    for sign in (-1, 1):
        for a, b, inner, outer in ((x0, x1, w, v["beam"] / 2), (x1, n, wall, v["beam"] / 2)):
            y0, y1 = sorted((sign * inner, sign * outer))
            found.append(((a, y0, 250), (b, y1, deck)))
    return found


LEAN = 330.0
"""How far the front windows lean back."""


def _pane(sheet: Sheet, fields: dict[str, object], rest: str) -> Parts:
    parts: Parts = {}
    for name, field in fields.items():
        sheet = snap(sheet, field)  # type: ignore[arg-type]
        chosen = inside_faces(sheet, field)  # type: ignore[arg-type]
        parts[name] = tidy((sheet[0], sheet[1][chosen]))
        sheet = tidy((sheet[0], sheet[1][~chosen]))
    return {**parts, rest: sheet}


def _parts(v: Values, hull: Hull, battery: tuple[float, float, float]) -> Parts:
    n, x0 = v["hull_length"], v["wheelhouse_front"]
    x1, w = x0 + v["wheelhouse_length"], v["wheelhouse_width"] / 2
    sole, cockpit, deck = v["sole_height"], v["cockpit_sole"], v["gunwale_height"]
    roof, sill = sole + v["headroom"], sole + v["window_sill"]
    aft = v["transom_width"] / 2
    girth = np.concatenate([np.linspace(0, 0.45, 9), np.linspace(0.45, 1, 11)[1:]])
    parts: Parts = {"hull": surface(spaced(0, n, 110), np.concatenate([-girth[:0:-1], girth]), hull.place)}
    outline = [(0, 5), (0.84 * aft, 320), (aft, deck), (-aft, deck), (-0.84 * aft, 320)]
    parts["transom"] = trim(flat(0, n, (-aft, 0), (aft, deck), 80), polygon((1, 2), outline))

    def decked(first: float, last: float, inner: float, hand: float | None) -> Sheet:
        def place(x: Floats, s: Floats) -> list[Floats | float]:
            edge = hull.half(x)
            if hand is None:
                y = s * edge
                return [x, y, hull.sheer(x) + 45 * (1 - (y / np.maximum(edge, 1)) ** 2)]
            return [x, hand * (inner + s * np.maximum(edge - inner, 5)), hull.sheer(x)]

        across = spaced(-1, 1, 0.12) if hand is None else spaced(0, 1, 0.34)
        return surface(spaced(first, last, 95), across, place)

    parts["deck-fore"] = decked(0, x0, 0, None)
    wall = 0.86 * aft
    for hand, sign in HANDS:
        parts[f"deck-side-{hand}"] = decked(x0, x1, w, sign)
        parts[f"deck-aft-{hand}"] = decked(x1, n, wall, sign)
        parts[f"cockpit-wall-{hand}"] = flat(1, sign * wall, (x1, cockpit), (n, deck), 95)
        parts[f"fender-{hand}"] = tube(
            [
                (float(x), sign * float(hull.half(x)) + sign * 12, float(hull.sheer(x)) - 60)
                for x in spaced(200, n, 450)
            ],
            38,
            8,
            240,
        )
        side = flat(1, sign * w, (x0, sole), (x1, roof), 85)
        front_edge = polygon(
            (0, 2),
            [(x0 - 5, sole - 5), (x1 + 5, sole - 5), (x1 + 5, roof + 5), (x0 + LEAN, roof + 5), (x0, sill)],
        )
        side = trim(side, front_edge)
        first, mid, last = x0 + 0.3 * LEAN + 190, 0.5 * (x0 + x1) + 130, x1 - 130
        top = roof - 190
        panes: dict[str, object] = {
            f"glass-side-front-{hand}": polygon(
                (0, 2), [(first, sill), (mid - 45, sill), (mid - 45, top), (first + 0.55 * LEAN, top)]
            ),
            f"glass-side-rear-{hand}": rounded((0, 2), (mid + 45, sill), (last, top), 50),
        }
        parts |= _pane(side, panes, f"wheelhouse-side-{hand}")
    parts["cockpit-sole"] = flat(2, cockpit, (x1, -wall), (n, wall), 95)
    parts["cockpit-front"] = flat(0, x1, (-wall, min(sole, cockpit)), (wall, max(sole, cockpit) + 1), 95)
    parts["sole"] = flat(2, sole, (x0, -w), (x1, w), 85)
    parts["bulkhead-front"] = flat(0, x0, (-w, sole), (w, deck + 60), 80)

    def windows(y: Floats, z: Floats) -> list[Floats | float]:
        return [x0 + LEAN * np.clip((z - sill) / (roof - sill), 0, 1), y, z]

    front = surface(spaced(-w, w, 75), spaced(deck + 60, roof, 75), windows)
    parts |= _pane(
        front,
        {
            "glass-front-left": rounded((1, 2), (-w + 110, sill + 20), (-50, roof - 170), 50),
            "glass-front-right": rounded((1, 2), (50, sill + 20), (w - 110, roof - 170), 50),
        },
        "wheelhouse-front",
    )
    rear = flat(0, x1, (-w, sole), (w, roof), 80)
    parts |= _pane(
        rear,
        {
            "door-rear": rounded((1, 2), (-0.1 * w, sole + 60), (0.55 * w, roof - 230), 60),
            "glass-rear-left": rounded((1, 2), (-w + 130, sill), (-0.25 * w, roof - 230), 50),
        },
        "wheelhouse-rear",
    )
    parts["wheelhouse-roof"] = flat(2, roof, (x0 + 190, -w - 70), (x1 + 130, w + 70), 85)
    parts["headlining"] = flat(2, roof - 50, (x0 + LEAN + 130, -w + 170), (x1 - 150, w - 170), 90)
    shell = [(x0 + 60, sill), (x0 + 440, sill), (x0 + 520, sill - 60), (x0 + 480, sill - 420)]
    parts["console-shell"] = folded(shell, -w + 40, w - 40, 85)
    helm = 0.42 * w
    parts["helm-column"] = tube([(x0 + 300, helm, sill - 200), (x0 + 585, helm, sill - 120)], 25, 8)
    ring = [
        (x0 + 590 + 55 * np.sin(a), helm + 190 * np.cos(a), sill - 120 + 180 * np.sin(a))
        for a in np.linspace(0, 2 * np.pi, 25)
    ]
    parts["helm-wheel"] = tube(ring, 14, 6, 90)
    parts["seat-helm"] = seat(helm - 240, helm + 240, x0 + 900, sole, back=520)
    if v["wheelhouse_length"] > 1700:
        parts["seat-crew"] = seat(-helm - 240, -helm + 240, x0 + 900, sole, back=520)
    parts["fuel-tank"] = box((x1 + 250, -330, 190), (x1 + 850, 330, cockpit - 60), 95)
    x, y, z = battery
    parts["battery"] = box((x - 140, y - 90, z - 190), (x + 140, y + 90, z), 75)
    parts["engine-cowl"] = pillow((n + 60, -230, deck + 80), (n + 540, 230, deck + 500), 90, 80)
    parts["engine-leg"] = box((n + 170, -70, -260), (n + 390, 70, deck + 90), 100)
    parts["engine-bracket"] = box((n + 5, -170, deck - 330), (n + 170, 170, deck + 60), 90)
    parts["engine-prop"] = tube([(n + 330, 0, -180), (n + 470, 0, -180)], 150, 12, 90)
    posts = [
        tube([(x0 + 500, s * (w - 60), roof), (x0 + 560, s * (w - 200), roof + 380)], 20, 8) for s in (-1, 1)
    ]
    bar = tube([(x0 + 560, -w + 200, roof + 380), (x0 + 560, w - 200, roof + 380)], 20, 8)
    parts["mast-frame"] = join(*posts, bar)
    return parts
