"""Names, leader lines and the legend, drawn over a picture."""

from __future__ import annotations

import functools
import importlib.util
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from PIL import Image, ImageDraw, ImageFont

from routecut.model.drilled import to_drill
from routecut.model.job import Cable, CableClass, Reason
from routecut.model.plan import Plan
from routecut.plain import plain
from routecut.preview.labels import Point, Spot, Wish, place
from routecut.scene.palette import (
    CLASS_DASHES,
    DEVICE,
    DRILL,
    HOLE,
    INK,
    PAPER,
    REASON_MARK,
    REASON_TINT,
    Colour,
    cable_colour,
    ink_on,
    insulation,
)

LEGEND_WIDTH: Final = 350
LEGEND_HEIGHT: Final = 300
_COLUMNS: Final = 4  # of a legend below the picture
_LONGEST: Final = 26
# across a sheet of A4 (273 mm for 1600 px) these are 9 and 10 pt; 13 to 15 px on a phone
_NAME_PX: Final = 21
_SMALL_PX: Final = 19
_LINE_PX: Final = 24
_LOOK_PX: Final = 50.0
_MARK_REACH: Final = 26.0
_MARK_APART: Final = 70.0
_RULE: Final[Colour] = (185, 193, 198)
_ALONG: Final = (0.5, 0.4, 0.6, 0.3, 0.7, 0.45, 0.55, 0.22, 0.78, 0.35, 0.65, 0.14, 0.86)

Project = Callable[[Sequence[float]], Point]


def letter(
    picture: Image.Image,
    plan: Plan,
    project: Project,
    *,
    keep_outs: Sequence[tuple[Reason, Sequence[float]]],
    title: str,
    size: tuple[int, int],
) -> Image.Image:
    """The picture with its labels, and a legend to its right or below it, where there is room.

    Parameters
    ----------
    picture : Image
        RGB, as drawn.
    plan : Plan
    project : callable
        From a position [m] to pixels of the picture.
    keep_outs : sequence of (Reason, position)
        What is marked with the word of its reason, and where [m].
    title : str
        Of the view.
    size : (int, int)
        Of the sheet; what the picture leaves of it is the legend's. [px]
    """
    width, height = picture.size
    sheet = Image.new("RGB", size, PAPER)
    sheet.paste(picture, (0, 0))
    draw = ImageDraw.Draw(sheet)
    wishes, points = _wishes(plan, project)
    wishes += _marks([(reason, project(at_m)) for reason, at_m in keep_outs])
    spots = place(_inside(wishes, width, height), (width, height), points)
    for spot in spots:  # every leader before any label: none is struck through
        _draw_leader(draw, spot)
    for spot in spots:
        _draw_label(draw, spot)
    beside = width < size[0]
    draw.line([(width, 0), (width, height)] if beside else [(0, height), (width, height)], fill=_RULE)
    _legend(_Pen(draw, _columns(width, height, size)), plan, title)
    return sheet


def _inside(wishes: Sequence[Wish], width: int, height: int) -> list[Wish]:
    """What is in the picture, pointed at where it is in it."""
    found = []
    for wish in wishes:
        anchors = tuple((x, y) for x, y in wish.anchors if 0.0 < x < width and 0.0 < y < height)
        if anchors:
            found.append(replace(wish, anchors=anchors))
    return found


def _columns(width: int, height: int, size: tuple[int, int]) -> list[tuple[float, float, float, float]]:
    """Where the legend is written: left, top, right, bottom of each column."""
    if width < size[0]:
        return [(width + 16.0, 18.0, size[0] - 12.0, size[1] - 12.0)]
    wide = size[0] / _COLUMNS
    return [(k * wide + 16.0, height + 14.0, (k + 1) * wide - 12.0, size[1] - 10.0) for k in range(_COLUMNS)]


@functools.cache
def font(px: int) -> Any:
    """A typeface with many scripts where there is one, else the built-in one."""
    found = importlib.util.find_spec("matplotlib")
    for folder in (found.submodule_search_locations or []) if found is not None else []:
        file = Path(folder) / "mpl-data" / "fonts" / "ttf" / "DejaVuSans.ttf"
        if file.exists():
            return ImageFont.truetype(str(file), px)
    return ImageFont.load_default(px)


def _short(name: str) -> str:
    shown = plain(name)
    return shown if len(shown) <= _LONGEST else shown[: _LONGEST - 1] + "\N{HORIZONTAL ELLIPSIS}"


def _size(text: str, px: int) -> tuple[float, float]:
    return (font(px).getlength(text) + 10.0, px + 8.0)


def _wishes(plan: Plan, project: Project) -> tuple[list[Wish], list[Point]]:
    """The labels wanted, and the points that must stay free of them."""
    wishes, points = [], []
    for planned in plan.cables:
        if planned.route is None:
            continue
        curve = planned.route.points_m
        anchors = tuple(project(curve[round(share * (len(curve) - 1))].tolist()) for share in _ALONG)
        colour = cable_colour(planned.cable.cable_class, planned.cable.type)
        text = _short(planned.cable.name)
        wishes.append(Wish(text, _size(text, _NAME_PX), anchors, colour, filled=True, on_top=True))
    for hole in plan.holes:
        if hole.cables or hole.drill:
            at = project(hole.at_m)
            points.append(at)
            open_ = to_drill(plan, hole)
            text = ("DRILL " if open_ else "") + _short(hole.pass_through.name)
            colour = DRILL if open_ else HOLE
            wishes.append(Wish(text, _size(text, _SMALL_PX), (at,), colour, filled=False, on_top=False))
    ends = {plan.job.device_of(p).name for c in plan.cables for p in (c.cable.from_port, c.cable.to_port)}
    for device in sorted(
        plan.job.devices, key=lambda d: d.name not in ends
    ):  # the connected ones choose first
        at = project(device.position.at_m)
        points.append(at)
        text = _short(device.name)
        wishes.append(Wish(text, _size(text, _SMALL_PX), (at,), DEVICE, filled=False, on_top=False))
    return wishes, points


def _marks(keep_outs: Sequence[tuple[Reason, Point]]) -> list[Wish]:
    """A word on each keep-out; one is enough for several of a reason side by side."""
    wishes: list[Wish] = []
    for reason, at in keep_outs:
        text = REASON_MARK[reason]
        if any(w.text == text and math.dist(w.anchors[0], at) < _MARK_APART for w in wishes):
            continue
        size = (_size(text, _SMALL_PX)[0], _SMALL_PX + 6.0)
        wishes.append(
            Wish(text, size, (at,), REASON_TINT[reason], filled=True, on_top=True, reach=_MARK_REACH)
        )
    return wishes


def _draw_leader(draw: ImageDraw.ImageDraw, spot: Spot) -> None:
    box = spot.box
    x, y = spot.anchor
    if not (box[0] <= x <= box[2] and box[1] <= y <= box[3]):
        edge = (min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3]))
        draw.line([(x, y), edge], fill=spot.wish.colour, width=2)


def _draw_label(draw: ImageDraw.ImageDraw, spot: Spot) -> None:
    wish, box = spot.wish, spot.box
    px = _NAME_PX if wish.filled else _SMALL_PX
    ground, ink = (wish.colour, ink_on(wish.colour)) if wish.filled else (PAPER, INK)
    draw.rounded_rectangle(box, radius=4, fill=ground, outline=PAPER if wish.filled else wish.colour, width=1)
    draw.text((box[0] + 5, (box[1] + box[3]) / 2), wish.text, fill=ink, font=font(px), anchor="lm")


def _legend(pen: _Pen, plan: Plan, title: str) -> None:
    pen.heading(title)
    for cable_class in CableClass:
        drawn: dict[str, list[Cable]] = {}
        for c in plan.cables:
            if c.cable.cable_class is cable_class and c.route:
                drawn.setdefault(insulation(c.cable.type), []).append(c.cable)
        for colour, cables in drawn.items():
            look = functools.partial(
                _dashes,
                colour=cable_colour(cable_class, cables[0].type),
                pattern=CLASS_DASHES[cable_class],
            )
            head = f"{cable_class}, {colour}" if colour else str(cable_class)
            pen.entry(f"{head}: {', '.join(_short(c.name) for c in cables)}", look)
    without = [_short(c.cable.name) for c in plan.cables if c.route is None]
    if without:
        pen.entry(f"Without a route: {', '.join(without)}")
    pen.entry("hole that is there", functools.partial(_ring, colour=HOLE))
    if any(to_drill(plan, h) for h in plan.holes):
        pen.entry("hole to drill", functools.partial(_ring, colour=DRILL, crossed=True))
    if plan.job.keep_outs:
        pen.entry("Keep-outs:")
    for reason, tint in REASON_TINT.items():
        names = [_short(k.name) for k in plan.job.keep_outs if k.reason is reason]
        if names:
            look = functools.partial(_patch, colour=tint)
            pen.entry(f"{REASON_MARK[reason]}: {', '.join(names)}", look)
    pen.end()


Look = Callable[[ImageDraw.ImageDraw, float, float], None]


def _dashes(draw: ImageDraw.ImageDraw, left: float, top: float, *, colour: Colour, pattern: Point) -> None:
    x, middle, end = left, top + 12, left + _LOOK_PX
    drawn, left_out = pattern[0] * 16, pattern[1] * 16
    while x < end:
        draw.line([(x, middle), (min(x + drawn, end), middle)], fill=colour, width=6)
        x += drawn + left_out


def _ring(
    draw: ImageDraw.ImageDraw, left: float, top: float, *, colour: Colour, crossed: bool = False
) -> None:
    draw.ellipse((left + 15, top + 2, left + 35, top + 22), outline=colour, width=4)
    if crossed:
        draw.line([(left + 11, top + 12), (left + 39, top + 12)], fill=colour, width=3)
        draw.line([(left + 25, top - 2), (left + 25, top + 26)], fill=colour, width=3)


def _patch(draw: ImageDraw.ImageDraw, left: float, top: float, *, colour: Colour) -> None:
    draw.rectangle((left, top + 1, left + _LOOK_PX, top + 22), fill=colour)


class _Pen:
    """Writes the legend down its columns; what has no room is counted and told."""

    def __init__(
        self, draw: ImageDraw.ImageDraw, columns: Sequence[tuple[float, float, float, float]]
    ) -> None:
        self.draw, self.columns = draw, list(columns)
        self.left, self.y, self.right, self.bottom = self.columns.pop(0)
        self.left_out = 0

    def heading(self, text: str) -> None:
        self.draw.text((self.left, self.y), text, fill=INK, font=font(22))
        self.y += 38

    def entry(self, text: str, look: Look | None = None) -> None:
        """A line pattern, ring or patch with the words that explain it."""
        indent = 0.0 if look is None else _LOOK_PX + 12.0
        lines = _wrapped(text, self.right - self.left - indent)
        while not self._fits(len(lines)) and self.columns:
            self.left, self.y, self.right, self.bottom = self.columns.pop(0)
        if self.left_out or not self._fits(len(lines)):
            self.left_out += 1
            return
        if look is not None:
            look(self.draw, self.left, self.y)
        for line in lines:
            self.draw.text((self.left + indent, self.y), line, fill=INK, font=font(_SMALL_PX))
            self.y += _LINE_PX
        self.y += 6

    def _fits(self, lines: int) -> bool:
        kept = 0 if self.columns else 1  # the last line is for what is left out
        return self.y + (lines + kept) * _LINE_PX <= self.bottom

    def end(self) -> None:
        """Say how much had no room."""
        if self.left_out:
            told = f"and {self.left_out} more: see the job"
            self.draw.text((self.left, self.y), told, fill=INK, font=font(_SMALL_PX))


def _wrapped(text: str, room: float) -> list[str]:
    face = font(_SMALL_PX)
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and face.getlength(longer) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines
