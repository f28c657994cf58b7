"""Structure of a road vehicle: bulkhead, floors, arches, posts, rails, roof bows, engine bay walls. All mm."""

from __future__ import annotations

import numpy as np

from routecut.patterns.form import Form, in_arch
from routecut.patterns.road import HANDS, NOSE, Parts, Road
from routecut.patterns.sheets import (
    Floats,
    Sheet,
    box,
    cut_out,
    drum,
    flat,
    join,
    round_hole,
    rounded,
    spaced,
    surface,
    trim,
)

FRAME = 85.0
"""Depth of the frame round the doors, from the skin inwards."""
DOUBLE = 35.0
"""Between the two sheets of a bulkhead or a partition."""


def along_side(
    form: Form,
    hand: float,
    x: tuple[float, float],
    z: tuple[float, float],
    *,
    inset: float,
    step: float = 75.0,
) -> Sheet:
    """A sheet that follows the side wall, `inset` mm inside it."""

    def place(u: Floats, v: Floats) -> list[Floats | float]:
        return [u, hand * (form.half_width(u, v) - inset), v]

    return surface(spaced(*x, step), spaced(*z, step), place)


def rib(
    form: Form,
    hand: float,
    x: tuple[float, float],
    z: tuple[float, float],
    *,
    depth: float,
    slope: tuple[float, float] = (1, 1),
    step: float = 75.0,
) -> Sheet:
    """An upright hat section on the side wall; `slope`: how far each flank's foot stands out, in depths."""
    parts = [along_side(form, hand, x, z, inset=depth, step=step)]
    for at, out in ((x[0], -slope[0] * depth), (x[1], slope[1] * depth)):

        def place(u: Floats, v: Floats, at: float = at, out: float = out) -> list[Floats | float]:
            foot = at + out * (1 - u)
            return [foot, hand * (form.half_width(foot, v) - u * depth), v]

        if out:
            parts.append(surface(spaced(0, 1, 0.7), spaced(*z, step), place))
    return join(*parts)


def under_roof(form: Form, x: tuple[float, float], y: float, drop: float, step: float = 80.0) -> Sheet:
    """A sheet that follows the roof, `drop` mm below it."""

    def place(u: Floats, v: Floats) -> list[Floats | float]:
        return [u, v, form.height(u, v) - drop]

    return surface(spaced(*x, step), spaced(-y, y, 75), place)


def bow(form: Form, x: float, y: float, depth: float = 22.0) -> Sheet:
    """A bow under the roof, across the vehicle."""

    def flank(at: float, out: float) -> Sheet:
        def place(u: Floats, v: Floats) -> list[Floats | float]:
            foot = at + out * (1 - u)
            return [foot, v, form.height(foot, v) - depth * u]

        return surface(np.array([0.0, 1.0]), spaced(-y, y, 70), place)

    return join(under_roof(form, (x - 30, x + 30), y, depth), flank(x - 30, -depth), flank(x + 30, depth))


def bulkhead(r: Road) -> Parts:
    """Two sheets between engine bay and cab."""
    parts: Parts = {}
    for name, x, low in (("front", r.cowl_x, 345.0), ("rear", r.cowl_x + DOUBLE, r.floor - 5)):
        sheet = trim(flat(0, x, (-r.half - 10, low), (r.half + 10, r.cowl_z + 90), 65), r.form.within(-3))
        parts[f"bulkhead-{name}-sheet"] = cut_out(sheet, in_arch(r.axle_front, r.arch, r.arch_inner))
    return parts


def cross_wall(r: Road, x: float, low: float, *, high: float = 1e4) -> Sheet:
    """A flat sheet across the vehicle from `low` up to the roof, or to a height."""
    top = min(high, float(r.form.top(x)) + 10)
    return trim(flat(0, x, (-r.half - 10, low), (r.half + 10, top), 75), r.form.within(-3))


def floor(r: Road, x: tuple[float, float], z: float) -> Sheet:
    """A floor from side to side, without the wheel arches."""
    sheet = trim(flat(2, z, (x[0], -r.half - 10), (x[1], r.half + 10), 80), r.form.within(-3))
    for axle in (r.axle_front, r.axle_rear):
        sheet = cut_out(sheet, in_arch(axle, r.arch, r.arch_inner))
    return sheet


def arches(r: Road, ends: tuple[str, ...] = ("front", "rear")) -> Parts:
    """Wheel arches; in the engine bay the arch's inner wall goes on as the inner wing."""
    parts: Parts = {}
    for end, axle in (("front", r.axle_front), ("rear", r.axle_rear)):
        for hand, sign in HANDS if end in ends else ():

            def place(
                u: Floats, v: Floats, axle: tuple[float, float] = axle, sign: float = sign
            ) -> list[Floats | float]:
                x, z = axle[0] - r.arch * np.cos(u), axle[1] + r.arch * np.sin(u)
                return [x, sign * (r.arch_inner + v * (r.form.half_width(x, z) - r.arch_inner)), z]

            roof = surface(np.linspace(0, np.pi, 23), np.linspace(0, 1, 5), place)
            low = (axle[0] - r.arch - 40, 345.0)
            wall = trim(
                flat(1, sign * r.arch_inner, low, (axle[0] + r.arch + 40, axle[1] + r.arch + 60), 60),
                round_hole((0, 2), axle, r.arch),
            )
            parts[f"wheel-arch-{end}-{hand}"] = join(roof, wall)
    return parts


def posts(r: Road, *, post_end: float, ribs: tuple[float, ...] = (), sill_end: float | None = None) -> Parts:
    """A-post feet, sills and B-posts share one inner face, so that a cable turns in its plane."""
    parts: Parts = {}
    form, first = r.form, r.cowl_x + 210
    roof = r.height - 205
    for hand, sign in HANDS:
        parts[f"a-post-foot-{hand}"] = rib(
            form, sign, (first - 80, first), (r.floor, r.cowl_z - 30), depth=FRAME, slope=(0.4, 0)
        )
        parts[f"b-post-{hand}"] = rib(
            form, sign, (r.post_x + 90, post_end), (r.floor, roof), depth=FRAME, slope=(0, 0)
        )
        outer, inner = (float(form.side(r.post_x, r.floor)) - d for d in (18, FRAME))
        low, high = sorted((sign * outer, sign * inner))
        parts[f"sill-{hand}"] = box(
            (first, low, r.floor), (sill_end or r.post_x + 90, high, r.floor + 90), 70, "-z -x +x"
        )
        if ribs:
            made = [rib(form, sign, (x - 30, x + 30), (r.load_floor + 5, roof), depth=20) for x in ribs]
            parts[f"ribs-{hand}"] = join(*made)
    return parts


def underbody(r: Road, floors: tuple[tuple[float, float, float], ...]) -> Parts:
    """Two rails from the bulkhead to the rear, front rails, cross members, the tray under the engine.

    `floors` says from where to where the rails hold which floor.
    """
    parts: Parts = {}
    reach = min(r.arch_inner - 110, 420.0)
    for hand, sign in HANDS:
        low, high = sorted((sign * (reach - 70), sign * reach))
        rails = [box((a, low, z - 130), (b, high, z), 85, "+z -x +x") for a, b, z in floors]
        parts[f"rail-{hand}"] = join(*rails)
        parts[f"front-rail-{hand}"] = box((NOSE + 90, low, 400), (r.cowl_x, high, 500), 85, "+x")
    for number, (a, b, z) in enumerate(floors, start=1):
        members = [
            box((x, -reach + 70, z - 70), (x + 70, reach - 70, z), 85, "+z -y +y")
            for x in spaced(a + 250, b - 250, 1100)[: 1 if b - a < 1600 else None]
        ]
        parts[f"cross-members-{number}"] = join(*members)
    tray = flat(2, 345, (NOSE, -r.arch_inner), (r.cowl_x, r.arch_inner))
    parts["undertray"] = trim(tray, r.form.within(-3))
    return parts


def engine_bay(r: Road, battery: tuple[float, float]) -> Parts:
    """Inner wings, radiator support, slam panel, the tray of the battery (x, y of its middle)."""
    parts: Parts = {}
    slam = r.nose_z - 45
    for hand, sign in HANDS:
        wing = flat(1, sign * r.arch_inner, (NOSE + 60, 345), (r.cowl_x, r.cowl_z + 40), 60)
        parts[f"inner-wing-{hand}"] = trim(wing, r.form.within(-2))
    x = NOSE + 190
    support = trim(flat(0, x, (-r.arch_inner, 345), (r.arch_inner, slam), 60), r.form.within(-2))
    window = rounded((1, 2), (-360, 410), (360, slam - 45), 30)
    parts["radiator-support"] = trim(support, lambda p: -window(p))
    parts["slam-panel"] = trim(
        flat(2, slam, (x - 90, -r.arch_inner + 60), (x, r.arch_inner - 60)), r.form.within(0)
    )
    bx, by = battery
    low, high = sorted((by - np.sign(by) * 110, np.sign(by) * r.arch_inner))
    parts["battery-tray"] = flat(2, battery_low(r) - 2, (bx - 170, low), (bx + 170, high))
    parts["brake-servo"] = drum(0, (r.cowl_x - 130, -0.42 * r.half, r.cowl_z - 230), 125, 100, 55)
    return parts


def battery_low(r: Road) -> float:
    """Height of the battery's bottom. [mm]"""
    return r.nose_z - 330
