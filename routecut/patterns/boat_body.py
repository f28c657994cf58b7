"""The body of a small boat: its lines and its parts. All mm."""

from __future__ import annotations

import numpy as np

from routecut.patterns.form import smooth
from routecut.patterns.measurements import Values
from routecut.patterns.road import HANDS, Parts
from routecut.patterns.road_inside import seat
from routecut.patterns.sheets import (
    Floats,
    Sheet,
    box,
    flat,
    folded,
    join,
    pillow,
    polygon,
    rounded,
    spaced,
    surface,
    trim,
    tube,
    with_panes,
)

LEAN = 330.0
"""How far the front windows lean back."""


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


def boat_parts(v: Values, hull: Hull, battery: tuple[float, float, float]) -> Parts:
    """All sheets of the boat by part; the battery by the middle of its top."""
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
        top = roof - 230
        panes = {
            f"glass-side-front-{hand}": polygon(
                (0, 2), [(first, sill), (mid - 45, sill), (mid - 45, top), (first + 0.55 * LEAN, top)]
            ),
            f"glass-side-rear-{hand}": rounded((0, 2), (mid + 45, sill), (last, top), 50),
        }
        parts |= with_panes(side, panes, f"wheelhouse-side-{hand}")
    parts["cockpit-sole"] = flat(2, cockpit, (x1, -wall), (n, wall), 95)
    parts["cockpit-front"] = flat(0, x1, (-wall, min(sole, cockpit)), (wall, max(sole, cockpit) + 1), 95)
    parts["sole"] = flat(2, sole, (x0, -w), (x1, w), 85)
    parts["bulkhead-front"] = flat(0, x0, (-w, sole), (w, deck + 60), 80)

    def windows(y: Floats, z: Floats) -> list[Floats | float]:
        return [x0 + LEAN * np.clip((z - sill) / (roof - sill), 0, 1), y, z]

    front = surface(spaced(-w, w, 75), spaced(deck + 60, roof, 75), windows)
    parts |= with_panes(
        front,
        {
            "glass-front-left": rounded((1, 2), (-w + 110, sill + 20), (-50, roof - 170), 50),
            "glass-front-right": rounded((1, 2), (50, sill + 20), (w - 110, roof - 170), 50),
        },
        "wheelhouse-front",
    )
    rear = flat(0, x1, (-w, sole), (w, roof), 80)
    parts |= with_panes(
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
