"""The outer form of a vehicle as functions: how wide and how high it is at every station.

A section square to the vehicle's length is a side that leans in a little towards the top, a
rounded corner, and a top with a slight crown. The top line runs over bonnet, scuttle,
windscreen and roof, so one family of sections carries the whole outside. All mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routecut.patterns.sheets import Field, Floats

Table = Sequence[tuple[float, float]]
"""Stations and values, stations rising. [mm]"""


def smooth(table: Table, x: Floats | float) -> Floats:
    """Cubic through the points of a table without overshoot (harmonic-mean slopes)."""
    points = np.array(table, float)
    xs, ys = points[:, 0], points[:, 1]
    width, slope = np.diff(xs), np.diff(ys) / np.diff(xs)
    same = slope[:-1] * slope[1:] > 0
    weight_a, weight_b = 2 * width[1:] + width[:-1], width[1:] + 2 * width[:-1]
    safe_a, safe_b = np.where(same, slope[:-1], 1.0), np.where(same, slope[1:], 1.0)
    inner = np.where(same, (weight_a + weight_b) / (weight_a / safe_a + weight_b / safe_b), 0.0)
    tangent = np.concatenate([[slope[0]], inner, [slope[-1]]])
    x = np.clip(np.asarray(x, float), xs[0], xs[-1])
    k = np.clip(np.searchsorted(xs, x, side="right") - 1, 0, len(width) - 1)
    t = (x - xs[k]) / width[k]
    a, b = (1 + 2 * t) * (1 - t) ** 2, t * t * (3 - 2 * t)
    c, d = t * (1 - t) ** 2, t * t * (t - 1)
    return np.asarray(a * ys[k] + b * ys[k + 1] + width[k] * (c * tangent[k] + d * tangent[k + 1]), float)


@dataclass(frozen=True)
class Form:
    """The outside of one vehicle.

    Attributes
    ----------
    top_line, width_line, corner_line : Table
        Height on the centre line, half width of the side wall, radius of the corner. [mm]
    crown_mm, crown_at : float
        How much lower the top is at a place beside the centre line. [mm]
    lean, lean_from, lean_over : float
        The side leans in by this share at `lean_over` mm above `lean_from`.
    tuck, tuck_below, tuck_over : float
        And by this share at `tuck_over` mm below `tuck_below`.
    """

    top_line: Table
    width_line: Table
    corner_line: Table
    crown_mm: float = 20.0
    crown_at: float = 750.0
    lean: float = 0.07
    lean_from: float = 1000.0
    lean_over: float = 1500.0
    tuck: float = 0.03
    tuck_below: float = 650.0
    tuck_over: float = 320.0

    def top(self, x: Floats | float) -> Floats:
        """Height of the outside on the centre line. [mm]"""
        return smooth(self.top_line, x)

    def crown(self, y: Floats | float) -> Floats:
        """How much lower the top is beside the centre line. [mm]"""
        return np.asarray(self.crown_mm * (np.asarray(y, float) / self.crown_at) ** 2, float)

    def side(self, x: Floats | float, z: Floats | float) -> Floats:
        """Half width of the side wall at a height, corner not counted. [mm]"""
        up = np.asarray(z, float)
        lean = self.lean * (np.maximum(up - self.lean_from, 0) / self.lean_over) ** 2
        tuck = self.tuck * (np.maximum(self.tuck_below - up, 0) / self.tuck_over) ** 2
        return np.asarray(smooth(self.width_line, x) * (1 - lean - tuck), float)

    def corner(self, x: Floats | float) -> tuple[Floats, Floats, Floats, Floats]:
        """The rounded corner of the section: middle (y, z) and its half axes in y and z. [mm]"""
        radius = smooth(self.corner_line, x)
        z_mid = self.top(x) - radius - 10.0
        width = self.side(x, z_mid)
        y_mid = width - radius
        return y_mid, z_mid, width - y_mid, self.top(x) - self.crown(y_mid) - z_mid

    def half_width(self, x: Floats | float, z: Floats | float) -> Floats:
        """Half width of the outside at a height, 0 above the top. [mm]"""
        y_mid, z_mid, a, b = self.corner(x)
        height = np.asarray(z, float)
        up = np.clip((height - z_mid) / b, 0, 1)
        round_part = y_mid + a * np.sqrt(1 - up**2)
        flat_part = self.crown_at * np.sqrt(np.maximum(self.top(x) - height, 0) / self.crown_mm)
        upper = np.where(height > z_mid + b, flat_part, round_part)
        return np.asarray(np.where(height <= z_mid, self.side(x, height), upper), float)

    def height(self, x: Floats | float, y: Floats | float) -> Floats:
        """Height of the outside at a place, the corner's foot outside the side wall. [mm]"""
        y_mid, z_mid, a, b = self.corner(x)
        across = np.abs(np.asarray(y, float))
        round_part = z_mid + b * np.sqrt(np.maximum(1 - ((across - y_mid) / a) ** 2, 0))
        return np.asarray(np.where(across <= y_mid, self.top(x) - self.crown(across), round_part), float)

    def within(self, inset: float = 0.0, at_x: float | None = None) -> Field:
        """A field that is positive inside the outer form, `inset` mm further in."""

        def field(points: Floats) -> Floats:
            x = points[:, 0] if at_x is None else np.full(len(points), at_x)
            across, up = np.abs(points[:, 1]), points[:, 2]
            y_mid, z_mid, a, b = self.corner(x)
            beside = self.side(x, up) - across
            below = self.top(x) - self.crown(across) - up
            out_y, out_z = (across - y_mid) / a, (up - z_mid) / b
            at_corner = (1 - np.hypot(np.maximum(out_y, 0), np.maximum(out_z, 0))) * np.minimum(a, b)
            outside_y, outside_z = out_y > 0, out_z > 0
            value = np.where(outside_y & outside_z, at_corner, np.minimum(beside, below))
            return np.asarray(value - inset, float)

        return field

    def section(self, x: Floats, v: Floats, foot: float) -> list[Floats | float]:
        """Point of the section at `v` from -1 (left foot) over 0 (top middle) to 1 (right foot). [mm]"""
        y_mid, z_mid, a, b = self.corner(x)
        s = np.abs(v)
        on_top, on_corner = s < ON_TOP, (s >= ON_TOP) & (s < ON_CORNER)
        y_top = y_mid * s / ON_TOP
        turn = np.clip((s - ON_TOP) / (ON_CORNER - ON_TOP), 0, 1) * np.pi / 2
        z_side = z_mid + (foot - z_mid) * np.clip((s - ON_CORNER) / (1 - ON_CORNER), 0, 1)
        y = np.where(on_top, y_top, np.where(on_corner, y_mid + a * np.sin(turn), self.side(x, z_side)))
        z_top = self.top(x) - self.crown(y_top)
        z = np.where(on_top, z_top, np.where(on_corner, z_mid + b * np.cos(turn), z_side))
        return [x, np.sign(v) * y, z]

    def top_part(self, x_low: float, x_high: float, share: float) -> Field:
        """A field for the top of the sections between two stations; `share` of the corner belongs to it."""

        def field(points: Floats) -> Floats:
            x = points[:, 0]
            y_mid, z_mid, a, _ = self.corner(x)
            limit = y_mid + share * a
            inside = np.minimum(np.minimum(x - x_low, x_high - x), limit - np.abs(points[:, 1]))
            return np.asarray(np.minimum(inside, points[:, 2] - z_mid), float)

        return field


ON_TOP, ON_CORNER = 0.24, 0.36
"""Shares of the parameter of a section that its top takes, and its top and corner."""


def in_arch(axle: tuple[float, float], radius: float, inner: float) -> Field:
    """A field that is positive inside the wheel arches of an axle, outside `inner` on either side."""

    def field(points: Floats) -> Floats:
        out = np.hypot(points[:, 0] - axle[0], points[:, 2] - axle[1])
        return np.asarray(np.minimum(radius - out, np.abs(points[:, 1]) - inner), float)

    return field


def both(field: Field) -> tuple[Field, Field]:
    """The field on the left half and on the right half of the vehicle."""

    def left(points: Floats) -> Floats:
        return np.where(points[:, 1] < 0, field(points), -500.0)

    def right(points: Floats) -> Floats:
        return np.where(points[:, 1] > 0, field(points), -500.0)

    return left, right
