"""Structure: bulkhead, floors, arches, partition, roof, posts, rails and the engine bay's walls. All mm."""

from __future__ import annotations

import form
import numpy as np
from outside import Parts

from routecut.patterns import road_frame
from routecut.patterns.sheets import (
    Floats,
    Sheet,
    box,
    cut_out,
    disc,
    drum,
    flat,
    join,
    round_hole,
    rounded,
    spaced,
    surface,
    tidy,
    trim,
    tube,
)

HANDS = (("left", -1.0), ("right", 1.0))
FRAME = 85.0  # depth of the frame round the cab doors, from the skin inwards


def along_side(
    hand: float, x: tuple[float, float], z: tuple[float, float], inset: float, step: float = 70.0
) -> Sheet:
    """A sheet that follows the side wall of this van, `inset` mm inside it."""
    return road_frame.along_side(form.VAN, hand, x, z, inset=inset, step=step)


def rib(
    hand: float,
    x: tuple[float, float],
    z: tuple[float, float],
    depth: float,
    slope: tuple[float, float] = (1, 1),
) -> Sheet:
    """An upright hat section on the side wall of this van; see `road_frame.rib`."""
    return road_frame.rib(form.VAN, hand, x, z, depth=depth, slope=slope, step=70.0)


def bulkhead() -> Parts:
    """Two sheets 35 mm apart between engine bay and cab."""
    front, rear = form.BULKHEAD
    parts: Parts = {}
    for name, x, low in (("front", front, 345.0), ("rear", rear, form.FLOOR_CAB - 5)):
        sheet = trim(flat(0, x, (-1000, low), (1000, 1300), 62), form.within(-3))
        parts[f"bulkhead-{name}-sheet"] = cut_out(sheet, form.in_arch(form.FRONT_AXLE))
    return parts


def floors() -> Parts:
    """Cab floor, load floor and the four wheel arches."""
    parts: Parts = {}
    ahead, behind = form.BULKHEAD[0], form.PARTITION[0]
    cab = trim(flat(2, form.FLOOR_CAB, (ahead, -1000), (behind, 1000), 74), form.within(-3))
    load = trim(flat(2, form.FLOOR_LOAD, (form.PARTITION[0], -1000), (form.TAIL, 1000), 80), form.within(-3))
    parts["floor-cab"] = cut_out(cab, form.in_arch(form.FRONT_AXLE))
    parts["floor-load"] = cut_out(load, form.in_arch(form.REAR_AXLE))
    for end, axle in (("front", form.FRONT_AXLE), ("rear", form.REAR_AXLE)):
        # ahead of the bulkhead the inner wing is the arch's inner wall
        first = form.BULKHEAD[0] if end == "front" else axle[0] - 470
        for hand, sign in HANDS:

            def place(
                u: Floats, v: Floats, axle: tuple[float, float] = axle, sign: float = sign
            ) -> list[Floats | float]:
                x, z = axle[0] - form.ARCH * np.cos(u), axle[1] + form.ARCH * np.sin(u)
                return [x, sign * (form.ARCH_INNER + v * (form.half_width(x, z) - form.ARCH_INNER)), z]

            roof = surface(np.linspace(0, np.pi, 27), np.linspace(0, 1, 6), place)
            wall = trim(
                flat(1, sign * form.ARCH_INNER, (first, 345), (axle[0] + 470, 850), 55),
                round_hole((0, 2), axle, form.ARCH),
            )
            parts[f"wheel-arch-{end}-{hand}"] = join(roof, wall)
    return parts


def partition() -> Parts:
    """Two sheets 35 mm apart between cab and load area, from the cab floor to the inner roof."""

    def below_roof(points: Floats) -> Floats:
        return np.minimum(form.within(-3)(points), form.roof_inner(points[:, 1]) + 2 - points[:, 2])

    return {
        f"partition-{name}-sheet": trim(flat(0, x, (-1000, low), (1000, 2530), 76), below_roof)
        for name, x, low in (
            ("front", form.PARTITION[0], 558.0),
            ("rear", form.PARTITION[1], form.FLOOR_LOAD - 2),
        )
    }


def roof() -> Parts:
    """Inner roof sheet over cab and front of the load area, its closing frames, bows, linings."""
    first, last = form.CAVITY

    def inner(u: Floats, v: Floats) -> list[Floats | float]:
        return [u, v, form.roof_inner(v)]

    def above(points: Floats) -> Floats:
        return np.minimum(form.within(-2)(points), points[:, 2] - form.roof_inner(points[:, 1]) + 2)

    parts: Parts = {
        "roof-inner": trim(surface(spaced(first, last, 60), spaced(-960, 960, 55), inner), form.within(-3))
    }
    parts["roof-frame-front"] = trim(flat(0, first, (-960, 2460), (960, 2580), 22), above)
    parts["roof-frame-rear"] = trim(flat(0, last, (-960, 2460), (960, 2580), 22), above)
    for number, x in enumerate((3860.0, 4560.0, 4960.0, 5660.0), start=1):
        parts[f"roof-bow-{number}"] = join(
            under_roof((x - 30, x + 30), (-760, 760), 20), _bow_flank(x - 30, -20), _bow_flank(x + 30, 20)
        )
    parts["headlining"] = under_roof((2060, 2400), (-700, 700), 58)
    parts["load-roof-lining"] = under_roof((3780, 6000), (-720, 720), 66)
    return parts


def under_roof(x: tuple[float, float], y: tuple[float, float], drop: float) -> Sheet:
    """A sheet that follows the roof, `drop` mm below it."""

    def place(u: Floats, v: Floats) -> list[Floats | float]:
        return [u, v, form.height(u, v) - drop]

    return surface(spaced(*x, 80), spaced(*y, 75), place)


def _bow_flank(at: float, out: float) -> Sheet:
    def place(u: Floats, v: Floats) -> list[Floats | float]:
        foot = at + out * (1 - u)
        return [foot, v, form.height(foot, v) - 20 * u]

    return surface(np.array([0.0, 1.0]), spaced(-760, 760, 65), place)


def posts() -> Parts:
    """Sills, B-posts, ribs of the load area."""
    parts: Parts = {}
    for hand, sign in HANDS:
        # A-post foot, sill and B-post share one inner face: a cable turns in its plane
        frame = ((1540, 1620), (form.FLOOR_CAB, 1180)), ((2650, form.PARTITION[0]), (form.FLOOR_CAB, 2360))
        parts[f"a-post-foot-{hand}"] = rib(sign, *frame[0], FRAME, (0.4, 0))
        parts[f"b-post-{hand}"] = rib(sign, *frame[1], FRAME, (0, 0))
        low, high = sorted((sign * 968.0, sign * (990.0 - FRAME)))
        parts[f"sill-{hand}"] = box((1620, low, form.FLOOR_CAB), (2650, high, 650), 65, "-z -x +x")
        spots = [3900, 4400, 5150, 5750] if sign < 0 else [4400, 5150, 5750]
        ribs = [rib(sign, (x - 30, x + 30), (780 if 4300 < x < 5200 else 645, 2330), 20) for x in spots]
        parts[f"ribs-{hand}"] = join(*ribs)
    return parts


def underbody() -> Parts:
    """Two rails, cross members, front rails and the tray under the engine."""
    parts: Parts = {}
    for hand, sign in HANDS:
        low, high = sorted((sign * 380.0, sign * 450.0))
        rear_half = box((form.PARTITION[0], low, 430), (6060, high, form.FLOOR_LOAD), 80, "+z -x")
        front_half = box((1340, low, 430), (form.PARTITION[0], high, form.FLOOR_CAB), 80, "+z +x -x")
        parts[f"rail-{hand}"] = join(front_half, rear_half)
        parts[f"front-rail-{hand}"] = box((340, low, 400), (form.BULKHEAD[0], high, 500), 80, "+x")
        for number, x in enumerate((1700.0, 2350.0), start=1):
            inner, outer = sorted((sign * 450.0, sign * 940.0))
            parts[f"outrigger-{number}-{hand}"] = box(
                (x, inner, 480), (x + 80, outer, form.FLOOR_CAB), 80, "+z"
            )
    for number, (x, floor) in enumerate(
        ((2200.0, 560.0), (2860.0, 640.0), (4380.0, 640.0), (5300.0, 640.0), (5900.0, 640.0)), start=1
    ):
        parts[f"cross-member-{number}"] = box((x, -380, 500), (x + 80, 380, floor), 80, "+z -y +y")
    parts["undertray"] = trim(flat(2, 345, (form.NOSE, -700), (form.BULKHEAD[0], 700)), form.within(-3))
    return parts


def engine_bay() -> Parts:
    """Inner wings, strut towers, radiator support and slam panel."""
    parts: Parts = {}
    for hand, sign in HANDS:
        wing = flat(1, sign * form.ARCH_INNER, (300, 345), (form.BULKHEAD[0], 1250), 55)
        parts[f"inner-wing-{hand}"] = trim(wing, form.within(-2))
        tower = join(
            tube([(1090, sign * 640, 500), (1090, sign * 640, 900)], 80, 20, 60),
            disc(2, (1090, sign * 640, 900), 80),
        )

        def inboard(points: Floats, sign: float = sign) -> Floats:
            return np.asarray(form.ARCH_INNER - sign * points[:, 1], float)

        parts[f"strut-tower-{hand}"] = trim(tower, inboard)
    support = trim(flat(0, 430, (-form.ARCH_INNER, 345), (form.ARCH_INNER, 905), 55), form.within(-2))
    window = rounded((1, 2), (-340, 420), (340, 860), 30)
    support = trim(support, lambda p: -window(p))
    for sign in (-1, 1):
        low, high = sorted((sign * 560.0, sign * 750.0))
        slot = rounded((1, 2), (low, 560), (high, 760), 30)  # a notch, open to the inner wing
        support = trim(support, lambda p, slot=slot: -slot(p))  # type: ignore[misc]
    parts["radiator-support"] = support
    parts["slam-panel"] = trim(flat(2, 905, (330, -600), (430, 600)), form.within(0))
    parts["battery-tray"] = flat(2, 618, (540, 380), (860, form.ARCH_INNER))
    return parts


def shelf() -> Parts:
    """Equipment bench in the load area: a metal top on two ends, open towards the side wall."""
    ends = [flat(0, x, (-915, form.FLOOR_LOAD), (-420, 1000)) for x in (3250.0, 3900.0)]
    return {"radio-shelf": flat(2, 1000, (2845, -915), (4050, -420)), "radio-shelf-ends": tidy(join(*ends))}


def everything() -> Parts:
    """All structure by name."""
    parts: Parts = {}
    for make in (bulkhead, floors, partition, roof, posts, underbody, engine_bay, shelf):
        parts.update(make())
    parts["brake-servo"] = drum(0, (1200, -400, 950), 125, 105, 50)
    return parts
