"""Draws docs/images/axes.svg: where the three figures of a place are counted from.

The van is the pattern as it is with nothing measured, to scale; the radio is where docs/places.md tapes it. Written and
checked with the pages: ``python -m tests.docs.pages``.
"""

from typing import Final

from routecut.patterns.known import pattern_named

SCALE: Final = 0.13
"""Pixels to a millimetre, along all three axes."""

FRONT, GROUND, MIDDLE = 90.0, 380.0, 575.0
"""Where x, z and y are 0, in pixels: the bumper; the ground, seen from the left; the middle, from above."""

RADIO: Final = (3250, -608, 961)
ABOUT: Final = (
    "Axes of a vehicle and the place of a radio: x from the front bumper to the rear, y from the middle to the right, "
    "z from the ground up"
)
INK, LINE, MARK = "#1f4e79", "#555555", "#c0392b"
WHEEL_MM: Final = 340.0
SILL_MM: Final = 300.0


def _at(x: float, z: float) -> tuple[float, float]:
    return FRONT + SCALE * x, GROUND - SCALE * z


def _text(x: float, y: float, said: str, *, anchor: str = "start", fill: str = INK) -> str:
    return f'<text x="{x:.0f}" y="{y:.0f}" text-anchor="{anchor}" fill="{fill}">{said}</text>'


def _line(x1: float, y1: float, x2: float, y2: float, style: str) -> str:
    return f'<line x1="{x1:.0f}" y1="{y1:.0f}" x2="{x2:.0f}" y2="{y2:.0f}" {style}/>'


def _arrow(x1: float, y1: float, x2: float, y2: float) -> str:
    return _line(x1, y1, x2, y2, f'stroke="{INK}" stroke-width="2" marker-end="url(#a)"')


def axes_svg(note: str) -> str:
    """docs/images/axes.svg; `note` is the comment of all made files."""
    v = {m.key: m.default for m in pattern_named("panel van").measurements}
    x, y, z = RADIO
    foot, length, height = v["windscreen_foot"], v["overall_length"], v["overall_height"]
    top, wall, half = foot + v["windscreen_top"], foot + v["cab_length"], SCALE * v["overall_width"] / 2
    outline = [
        *((0, SILL_MM), (0, 0.75 * v["bonnet_height"]), (0.07 * foot, 0.83 * v["bonnet_height"])),
        *((foot, v["bonnet_height"]), (top, height - 60), (top + 420, height)),
        *((length - 80, height), (length, 0.25 * height), (length, SILL_MM)),
    ]
    radio_x, radio_z = _at(x, z)
    radio_y = (
        MIDDLE + SCALE * -y
    )  # y grows to the right of the vehicle: upwards on the paper, its front to the left
    box = 'width="26" height="12" fill="' + MARK + '"'
    dashed = 'stroke="#999999" stroke-dasharray="5 4"'
    left, right = _at(0, 0)[0], _at(length, 0)[0]
    low, high = MIDDLE + half, MIDDLE - half
    size = f"{length * SCALE:.0f}", f"{2 * half:.0f}"
    lines = [
        (
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 900 720" font-family="sans-serif" font-size="15" '
            f'role="img" aria-label="{ABOUT}">'
        ),
        note.strip(),
        (
            '<defs><marker id="a" viewBox="0 0 10 10" refX="9" refY="5" markerWidth="8" markerHeight="8" '
            f'orient="auto-start-reverse"><path d="M0 0 10 5 0 10z" fill="{INK}"/></marker></defs>'
        ),
        '<rect width="900" height="720" fill="#ffffff"/>',
        '<text x="20" y="28" font-weight="bold">Seen from the left</text>',
        f'<polygon fill="#eef2f5" stroke="{LINE}" stroke-width="2" points="'
        + " ".join("{:.0f},{:.0f}".format(*_at(*p)) for p in outline)
        + '"/>',
        *(
            f'<circle cx="{_at(at, 0)[0]:.0f}" cy="{_at(0, WHEEL_MM)[1]:.0f}" r="{SCALE * WHEEL_MM:.0f}" '
            f'fill="#cccccc" stroke="{LINE}" stroke-width="2"/>'
            for at in (v["front_overhang"], v["front_overhang"] + v["wheelbase"])
        ),
        _line(60, GROUND, 870, GROUND, 'stroke="#888888" stroke-width="2"'),
        _line(*_at(wall, v["load_floor"]), *_at(wall, height), dashed),
        _text(_at(wall, 0)[0] + 6, 90, "partition", fill="#666666"),
        f'<rect x="{radio_x - 13:.0f}" y="{radio_z - 6:.0f}" {box}/>',
        _text(radio_x + 20, radio_z - 8, "voice radio", fill=MARK),
        _arrow(left, radio_z, radio_x - 15, radio_z),
        _text((left + radio_x) / 2, radio_z - 8, f"x = {x}", anchor="middle"),
        _arrow(radio_x, GROUND, radio_x, radio_z + 8),
        _text(radio_x + 8, (GROUND + radio_z) / 2, f"z = {z}"),
        *(
            _line(left, a, left, b, f'stroke="{INK}" stroke-dasharray="2 4"')
            for a, b in ((185, 408), (436, 700))  # not through the heading between
        ),
        _text(20, 177, "x = 0: front of the bumper"),
        _text(872, GROUND + 20, "z = 0: the ground", anchor="end"),
        '<text x="20" y="428" font-weight="bold">Seen from above</text>',
        (
            f'<rect x="{left:.0f}" y="{high:.0f}" width="{size[0]}" height="{size[1]}" rx="14" fill="#eef2f5" '
            f'stroke="{LINE}" stroke-width="2"/>'
        ),
        _line(40, MIDDLE, 870, MIDDLE, 'stroke="#888888" stroke-dasharray="10 4 2 4" stroke-width="2"'),
        _text(right - 8, MIDDLE - 6, "y = 0: the middle", anchor="end"),
        _text(right - 90, high + 20, "right: y more than 0", anchor="middle", fill="#666666"),
        _text(right - 90, low - 10, "left: y less than 0", anchor="middle", fill="#666666"),
        f'<rect x="{radio_x - 13:.0f}" y="{radio_y - 6:.0f}" {box}/>',
        _arrow(radio_x, MIDDLE, radio_x, radio_y - 8),
        _text(radio_x + 8, (MIDDLE + radio_y) / 2, f"y = {y}"),
        _line(_at(wall, 0)[0], high + 2, _at(wall, 0)[0], low - 2, dashed),
        _text(_at(600, 0)[0], MIDDLE - 8, "front", anchor="middle", fill="#666666"),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"
