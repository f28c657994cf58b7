"""Lengths of a TOML text get the unit they are meant in, so that they can stand in a job of another unit.

Stage      survey; text in, text out
Safe side  no figure is converted or rounded: 0.28 becomes "0.28 in", which the job reads as it is
"""

from __future__ import annotations

import re
from typing import Any, Final

import tomlkit
from tomlkit.items import AoT, Array, Float, Integer

LENGTHS: Final = frozenset(
    [
        "at",
        "box",
        "boxes",
        "capsule",
        "clearance",
        "connector_diameter",
        "depth",
        "diameter",
        "distance",
        "in_use",
        "length",
        "length_used_by_termination",
        "lengths",
        "line",
        "max_length",
        "min_bend_radius",
        "offset",
        "pulls_out",
        "reel",
        "seed",
        "separation",
        "service_loop",
        "sphere",
        "sweep",
        "tape",
        "thickness",
        "travel",
    ]
)
"""Keys of what can be added to a job under which every number is a length."""

_PLAIN: Final = re.compile(r"[+-]?\d+(\.\d+)?")


def with_own_unit(text: str, unit: str) -> str:
    r"""A TOML text with every length that is a bare number as a text with its unit; all else stays.

    Parameters
    ----------
    text : str
        Valid TOML.
    unit : str
        What its numbers are in: one of `routecut.units.UNIT_NAMES`.

    Examples
    --------
    >>> with_own_unit('[[landmark]]\nname = "a" # mine\nat = [1.50, 2, 3]\n', "in")
    '[[landmark]]\nname = "a" # mine\nat = ["1.50 in", "2 in", "3 in"]\n'
    """
    document = tomlkit.parse(text)
    _walk(document, unit, is_length=False)
    return tomlkit.dumps(document)


def _walk(holder: Any, unit: str, *, is_length: bool) -> None:
    keys = range(len(holder)) if isinstance(holder, list) else list(holder)
    for key in keys:
        item = holder[key]
        length = is_length or key in LENGTHS
        if isinstance(item, dict | AoT | Array):
            _walk(item, unit, is_length=length)
        elif length and isinstance(item, Integer | Float):
            holder[key] = f"{_digits(item)} {unit}"


def _digits(item: Integer | Float) -> str:
    """As it was written, where that is read as a length."""
    written = item.as_string()
    return written if _PLAIN.fullmatch(written) else repr(item.unwrap())
