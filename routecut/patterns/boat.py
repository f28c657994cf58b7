"""The pattern "small boat": an open boat of fibreglass with a wheelhouse and an outboard engine. All mm.

X rearward from the stem, Y to starboard, Z up from the lowest point of the keel.
"""

from __future__ import annotations

from routecut.model.job import Access, SurfaceKind, SurfaceRule
from routecut.patterns.boat_body import LEAN, Hull, boat_parts
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
from routecut.patterns.measurements import Values


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
        datums="x from the stem, y from the middle, z from the lowest point of the keel",
        profile="small craft",
        parts=boat_parts(v, hull, battery),
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
                "battery locker",
                [((battery[0] - 380, -wall, 150), (battery[0] + 270, -0.25 * wall, cockpit))],
                (battery[0] - 250, battery[1] + 60, cockpit - 150),
                "wet",
                open_to=("bilge",),
                note="Under a hatch that a hand opens, the fuse beside the battery. "
                'No such hatch: access = "trim", and bring the fuse to a hand.',
            ),
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
                "helm wheel",
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
                "wheelhouse door",
                a_box(((x1 - 60, -0.15 * w, sole), (x1 + 60, 0.6 * w, roof - 200))),
                "moving",
                20,
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
            mark("transom corner left", (n, -v["transom_width"] / 2, deck), "port: left, looking forward"),
            mark("transom corner right", (n, v["transom_width"] / 2, deck), "starboard"),
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
                space="battery locker",
                facing="front",
                note="In a box, strapped, vented.",
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
            ("stem head", "transom corner left"),
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
