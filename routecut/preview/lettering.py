"""Names, leader lines and the legend, drawn over a picture."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final

from PIL import Image, ImageDraw, ImageFont

from routecut.model.job import CableClass
from routecut.model.plan import Plan
from routecut.plain import plain
from routecut.preview.labels import Point, Spot, Wish, place
from routecut.preview.palette import (
    CLASS_COLOUR,
    CLASS_DASHES,
    DEVICE,
    DRILL,
    HOLE,
    INK,
    PAPER,
    REASON_TINT,
    Colour,
    ink_on,
)

LEGEND_WIDTH: Final = 330
_LONGEST: Final = 26
_NAME_PX: Final = 17
_SMALL_PX: Final = 15
_ALONG: Final = (0.5, 0.4, 0.6, 0.3, 0.7, 0.45, 0.55, 0.22, 0.78, 0.35, 0.65, 0.14, 0.86)

Project = Callable[[Sequence[float]], Point]


def letter(picture: Image.Image, plan: Plan, project: Project, title: str) -> Image.Image:
    """The picture with its labels, and a legend to its right.

    Parameters
    ----------
    picture : Image
        RGB, as drawn.
    plan : Plan
    project : callable
        From a position [m] to pixels of the picture.
    title : str
        Of the view.
    """
    width, height = picture.size
    sheet = Image.new("RGB", (width + LEGEND_WIDTH, height), PAPER)
    sheet.paste(picture, (0, 0))
    draw = ImageDraw.Draw(sheet)
    wishes, points = _wishes(plan, project)
    spots = place(wishes, (width, height), points)
    for spot in spots:  # every leader before any label: none is struck through
        _draw_leader(draw, spot)
    for spot in spots:
        _draw_label(draw, spot)
    _legend(draw, plan, width, height, title)
    return sheet


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
        colour = CLASS_COLOUR[planned.cable.cable_class]
        text = _short(planned.cable.name)
        wishes.append(Wish(text, _size(text, _NAME_PX), anchors, colour, filled=True, on_top=True))
    for hole in plan.holes:
        if hole.cables or hole.drill:
            at = project(hole.at_m)
            points.append(at)
            text = ("DRILL " if hole.drill else "") + _short(hole.pass_through.name)
            colour = DRILL if hole.drill else HOLE
            wishes.append(Wish(text, _size(text, _SMALL_PX), (at,), colour, filled=False, on_top=False))
    for device in plan.job.devices:
        at = project(device.position.at_m)
        points.append(at)
        text = _short(device.name)
        wishes.append(Wish(text, _size(text, _SMALL_PX), (at,), DEVICE, filled=False, on_top=False))
    return wishes, points


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


def _legend(draw: ImageDraw.ImageDraw, plan: Plan, left: int, height: int, title: str) -> None:
    draw.line([(left, 0), (left, height)], fill=(185, 193, 198), width=1)
    pen = _Pen(draw, left + 18, left + LEGEND_WIDTH - 14, height)
    pen.heading(title)
    for cable_class in CableClass:
        names = [_short(c.cable.name) for c in plan.cables if c.cable.cable_class is cable_class and c.route]
        if names:
            pen.dashes(CLASS_COLOUR[cable_class], CLASS_DASHES[cable_class])
            pen.words(f"{cable_class}: {', '.join(names)}", indent=62)
    without = [_short(c.cable.name) for c in plan.cables if c.route is None]
    if without:
        pen.words(f"Without a route: {', '.join(without)}")
    pen.space()
    pen.ring(HOLE)
    pen.words("hole that is there", indent=62)
    if any(h.drill for h in plan.holes):
        pen.ring(DRILL)
        pen.words("hole to drill", indent=62)
    pen.space()
    if plan.job.keep_outs:
        pen.words("Tinted shapes: keep-outs")
    for reason, tint in REASON_TINT.items():
        names = [_short(k.name) for k in plan.job.keep_outs if k.reason is reason]
        if names:
            pen.patch(tint)
            pen.words(f"{reason}: {', '.join(names)}", indent=62)


class _Pen:
    """Writes the legend from top to bottom; what has no room is told so."""

    def __init__(self, draw: ImageDraw.ImageDraw, left: int, right: int, height: int) -> None:
        self.draw, self.left, self.right, self.height = draw, left, right, height
        self.y = 18.0

    def heading(self, text: str) -> None:
        self.draw.text((self.left, self.y), text, fill=INK, font=font(20))
        self.y += 40

    def space(self) -> None:
        self.y += 12

    def dashes(self, colour: Colour, pattern: tuple[float, float]) -> None:
        x, middle = float(self.left), self.y + 10
        drawn, left_out = pattern[0] * 16, pattern[1] * 16
        end = self.left + 50
        while x < end:
            self.draw.line([(x, middle), (min(x + drawn, end), middle)], fill=colour, width=6)
            x += drawn + left_out

    def ring(self, colour: Colour) -> None:
        box = (self.left + 15, self.y, self.left + 35, self.y + 20)
        self.draw.ellipse(box, outline=colour, width=4)

    def patch(self, colour: Colour) -> None:
        self.draw.rectangle((self.left, self.y + 2, self.left + 50, self.y + 18), fill=colour)

    def words(self, text: str, indent: int = 0) -> None:
        room = self.right - self.left - indent
        for line in _wrapped(text, room):
            if self.y > self.height - 24:
                return
            self.draw.text((self.left + indent, self.y), line, fill=INK, font=font(_SMALL_PX))
            self.y += 20
        self.y += 6


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
