"""measure.html: a drawing for every measurement, to take along to the vehicle with a tape and a pen.

Stage      patterns
Units      mm of the vehicle as units of the drawing
Leaves     no script and nothing from elsewhere: one file, offline, on paper as well
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from typing import Final

import numpy as np

from routecut.patterns.known import Pattern, said
from routecut.patterns.made import Made
from routecut.patterns.measurements import Measurement, Point, Taken
from routecut.patterns.sheets import Floats, Sheet

GENERATOR: Final = "routecut new --pattern"
"""Stands in what a pattern makes, so that it is known again."""

_VIEWS: Final[dict[str, tuple[int, float, str]]] = {
    "side": (0, 1.0, "from the left"),
    "front": (1, 1.0, "from the front"),
    "rear": (1, -1.0, "from the rear"),
}
"""Which axis runs to the right in a drawing, which way, and what it is called; height is always up."""
_WALL: Final = 100.0
"""Parts at the far end that are no longer than this are hidden behind the vehicle. [mm]"""
_SEAM: Final = 40.0
"""So near the middle the two wings meet; a seam is no edge to be drawn. [mm]"""
_SHARP: Final = 0.82
"""Cosine of the angle between two faces above which the edge between them is not drawn."""

_STYLE: Final = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { font: 16px/1.45 system-ui, sans-serif; margin: 0 auto; max-width: 1180px; padding: 16px; }
body { color: #111; background: #fff; }
h1 { font-size: 1.5rem; margin: 0 0 .3rem; }
ol { list-style: none; margin: 0; padding: 0; display: grid; gap: 14px; }
ol { grid-template-columns: repeat(auto-fill, minmax(min(100%, 340px), 1fr)); }
li { border: 1.5px solid #444; border-radius: 4px; padding: 10px; break-inside: avoid; }
h2 { font-size: 1.05rem; margin: 0; }
code { font: .95em ui-monospace, monospace; background: #eee; padding: 0 .25em; }
p { margin: .35rem 0; }
svg { display: block; width: 100%; height: auto; max-height: 200px; }
.body { fill: none; stroke: #555; stroke-width: 1; vector-effect: non-scaling-stroke; }
.tape { stroke: #000; stroke-width: 3.5; vector-effect: non-scaling-stroke; fill: none; }
.lead { stroke: #06c; stroke-width: 1.2; stroke-dasharray: 5 4; vector-effect: non-scaling-stroke; }
.write { display: flex; gap: .5rem; align-items: end; margin-top: .5rem; }
.write span { flex: 1; border-bottom: 2px solid #111; height: 2.1rem; }
@media print { body { padding: 0; max-width: none; font-size: 12px; } ol { grid-template-columns: 1fr 1fr; } }
"""


def measure_page(pattern: Pattern, made: Made, taken: Mapping[str, Taken], *, unit: str) -> str:
    """The page, as HTML."""
    views = {view: _outline(made.parts, view) for view in sorted({m.view for m in pattern.measurements})}
    values = {key: one.value for key, one in taken.items()}
    symbols = "".join(
        f'<symbol id="view-{view}" overflow="visible"><path class="body" d="{path}"/></symbol>'
        for view, (path, _) in views.items()
    )
    items = "".join(
        _item(one, taken[one.key], one.line(values), views[one.view][1], unit) for one in pattern.measurements
    )
    name = escape(pattern.name)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f'<meta name="generator" content="{GENERATOR}">'
        f"<title>What to measure: {name}</title><style>{_STYLE}</style></head><body>"
        f"<h1>What to measure: {name}</h1>"
        f"<p>{escape(pattern.stand)}, tape level or plumb, to the nearest 5 mm. Write what you read in {unit}. "
        "What you can't reach, leave out: it is scaled with the rest, and the cuts get longer for it.</p>"
        f"<p><strong>Caution:</strong> {escape(pattern.caution)}</p>"
        "<p>The thick line is the tape; the thin dashed lines show what its ends are level or plumb with.</p>"
        f'<svg width="0" height="0" style="position:absolute" aria-hidden="true">{symbols}</svg>'
        f"<ol>{items}</ol></body></html>\n"
    )


def _item(one: Measurement, taken: Taken, line: tuple[Point, Point], frame: Floats, unit: str) -> str:
    across, sign, words = _VIEWS[one.view]
    (x0, y0), (x1, y1) = ((sign * p[across], -p[2]) for p in line)
    low = np.minimum(frame[0], [min(x0, x1), min(y0, y1)]) - 160
    high = np.maximum(frame[1], [max(x0, x1), max(y0, y1)]) + 160
    box = f"{low[0]:.0f} {low[1]:.0f} {high[0] - low[0]:.0f} {high[1] - low[1]:.0f}"
    flat = abs(y1 - y0) < abs(x1 - x0)
    tick = 75
    ends = "".join(
        f"M{x:.0f} {y - tick:.0f}V{y + tick:.0f}" if flat else f"M{x - tick:.0f} {y:.0f}H{x + tick:.0f}"
        for x, y in ((x0, y0), (x1, y1))
    )
    (left, top), (right, bottom) = frame
    leads = "".join(
        f"M{x:.0f} {min(y, top):.0f}V{max(y, bottom):.0f}"
        if flat
        else f"M{min(x, left):.0f} {y:.0f}H{max(x, right):.0f}"
        for x, y in ((x0, y0), (x1, y1))
    )
    where = escape(f"{one.words}, seen {words}")
    known = "measured" if taken.measured else "not measured yet; now taken as"
    return (
        f"<li><h2>{escape(one.words)} <code>{escape(one.key)}</code></h2>"
        f'<svg viewBox="{box}" role="img" aria-label="{where}"><use href="#view-{one.view}"/>'
        f'<path class="lead" d="{leads}"/>'
        f'<path class="tape" d="M{x0:.0f} {y0:.0f}L{x1:.0f} {y1:.0f}{ends}"/></svg>'
        f"<p>{escape(one.how[:1].upper() + one.how[1:])}.</p>"
        f"<p>Changes {escape(one.changes)}. Plausible: {said(one.low, unit)} to {said(one.high, unit)}; {known} "
        f"{said(taken.value, unit)}.</p>"
        f'<div class="write"><code>--set {escape(one.key)}=</code><span></span>{unit}</div></li>'
    )


def _outline(parts: Mapping[str, Sheet], view: str) -> tuple[str, Floats]:
    """Edges of the outside as one path, y down, and the corners of what it fills."""
    across, sign, _ = _VIEWS[view]
    length = max(float(vertices[:, 0].max()) for vertices, _ in parts.values())
    found = []
    for name in sorted(parts):
        if not _is_outside(name) or _is_behind(name, parts[name], view, length / 2):
            continue
        along = view != "side" and name.startswith("wheel-")
        edges = _ends_of_wheel(parts[name]) if along else _edges(parts[name])
        if view != "side" and name.startswith("wing-"):
            edges = edges[np.abs(edges[:, :, 1]).max(axis=1) > _SEAM]
        found.append(edges[:, :, [across, 2]])
    lines = np.concatenate(found) * [sign, -1.0]
    lines = np.unique(np.round(lines), axis=0)
    lines = lines[np.abs(lines[:, 0] - lines[:, 1]).max(axis=1) > 3]
    corners = np.array([lines.min(axis=(0, 1)), lines.max(axis=(0, 1))])
    return _path(lines), corners


def _is_behind(name: str, sheet: Sheet, view: str, middle: float) -> bool:
    """Whether a part of the outside is hidden by the vehicle itself."""
    low, high = float(sheet[0][:, 0].min()), float(sheet[0][:, 0].max())
    if view == "front":
        return low > middle and high - low < _WALL
    if view == "rear":
        return high < middle
    return name.endswith("-right")


def _ends_of_wheel(sheet: Sheet) -> Floats:
    """The outline of a wheel along its axle, whose tread has no edges: (4, 2, 3)."""
    low, high = sheet[0].min(axis=0), sheet[0].max(axis=0)
    corners = np.array(
        [[low[0], y, z] for y, z in ((low[1], low[2]), (high[1], low[2]), high[1:], (low[1], high[2]))]
    )
    return np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)


def _is_outside(name: str) -> bool:
    inside = (
        "seat", "trim", "lining", "dash", "rail", "cross", "arch", "bulkhead", "partition", "shelf", "heater",
        "pedal", "engine", "battery", "radiator", "inner", "fuel", "exhaust", "silencer", "axle", "sill", "post-",
        "ribs", "bow", "slam", "servo", "undertray", "floor", "steering", "support", "bench", "tank", "frame-",
        "stringer", "console", "pack", "locker", "cabinet", "stretcher", "headlining", "sole", "helm",
    )  # fmt: skip
    return not any(word in name for word in inside) or name.startswith("a-post")


def _edges(sheet: Sheet) -> Floats:
    """Open and sharp edges, (n, 2, 3)."""
    vertices, faces = sheet
    corners = vertices[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-9)
    _, same = np.unique(np.round(vertices, 1), axis=0, return_inverse=True)
    welded = same.reshape(-1)[faces]
    pairs = np.sort(np.concatenate([welded[:, [0, 1]], welded[:, [1, 2]], welded[:, [2, 0]]]), axis=1)
    owner = np.tile(np.arange(len(faces)), 3)
    place = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    order = np.lexsort((pairs[:, 1], pairs[:, 0]))
    pairs, owner, place = pairs[order], owner[order], place[order]
    first = np.r_[True, (pairs[1:] != pairs[:-1]).any(axis=1)]
    start = np.flatnonzero(first)
    count = np.diff(np.r_[start, len(pairs)])
    keep = count == 1
    two = count == 2
    turn = np.abs((normals[owner[start[two]]] * normals[owner[start[two] + 1]]).sum(axis=1))
    keep[np.flatnonzero(two)[turn < _SHARP]] = True
    return np.asarray(vertices[place[start[keep]]])


def _path(lines: Floats) -> str:
    """SVG path of single lines, joined where one ends where the next begins."""
    out: list[str] = []
    at: tuple[float, float] | None = None
    for (x0, y0), (x1, y1) in _chained(lines.tolist()):
        if at != (x0, y0):
            out.append(f"M{x0:.0f} {y0:.0f}")
        out.append(f"L{x1:.0f} {y1:.0f}")
        at = (x1, y1)
    return "".join(out)


def _chained(lines: list[list[list[float]]]) -> Iterable[tuple[tuple[float, float], tuple[float, float]]]:
    """The lines in an order in which many begin where the one before ended."""
    ends: dict[tuple[float, float], list[int]] = {}
    points = [((a[0], a[1]), (b[0], b[1])) for a, b in lines]
    for number, (a, b) in enumerate(points):
        ends.setdefault(a, []).append(number)
        ends.setdefault(b, []).append(number)
    used = [False] * len(points)
    for number in range(len(points)):
        at: tuple[float, float] | None = None
        following: int | None = number
        while following is not None and not used[following]:
            used[following] = True
            a, b = points[following]
            a, b = (b, a) if at == b else (a, b)
            yield a, b
            at = b
            following = next((k for k in ends[b] if not used[k]), None)
