"""Changes of the lines of a file, chosen by chance or by the bytes that a fuzzer makes up."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from typing import Final

from tests.survey.conftest import FULL_JOB

NUMBERS: Final = (
    *(
        b"0",
        b"1",
        b"-1",
        b"0.5",
        b"1e-9",
        b"1e9",
        b"1e308",
        b"-1e308",
        b"nan",
        b"inf",
        b"99999999999999999999",
    ),
    *(b"100", b"1000", b"4294967295", b"2147483648", b"65536", b"-7", b"0.001", b"2500", b"30"),
)
VALUES: Final = (
    *NUMBERS,
    *(b'""', b'"x"', b"true", b"[]", b"{}", b"[1, 2]", b"[1, 2, 3]", b"[[0, 0, 0], [1, 1, 1]]"),
    *(b'"*"', b'"cab"', b'["cab", "outside"]', b'"battery.positive"', b'"1 yd"', b'"3 m"', b"1979-05-27"),
    *(b"{ at = [1, 2, 3], radius = 40 }", b'{ tape = { "left striker" = 700, "dash corner" = 700 } }'),
    b'{ tape = { "left striker" = 700, "dash corner" = 700, "seat bolt" = 900 }, side = "up", snap = true }',
    *(
        b"[0, 0, 0]",
        b'"../../x"',
        b'"=cmd()"',
        b'"</script>"',
        b'"\\u202e"',
        b'["*"]',
        b'"panel"',
        b'"ignore"',
    ),
    *(b'"trim"', b'"obstacle"', b'"candidate"', b'"hot"', b'"coax"', b'"power"', b'"data"', b'"control-8"'),
    *(b'["bulkhead grommet left"]', b'"left striker"', b'"voice radio.aerial"', b'"engine bay"', b'"up"'),
)
"""What is put in the place of a figure, or of a whole value."""

_STEP: Final = 4
Choose = Callable[[int], int]


def edited(raw: bytes) -> bytes:
    """The full job of the survey's tests, changed: four bytes say what, where, and by what."""
    lines = FULL_JOB.encode().split(b"\n")
    for start in range(0, len(raw) - _STEP + 1, _STEP):
        step = raw[start : start + _STEP]
        edit(lines, step[0], _choosing(step[1:]), lines)
    return b"\n".join(lines)


def _choosing(raw: bytes) -> Choose:
    left = iter(raw)
    return lambda below: next(left, 0) % below


def lines_changed(chance: random.Random, raw: bytes, other: bytes) -> bytes:
    """Some lines gone, twice, elsewhere, from another file, or with another value: the rest stays readable."""
    lines, more = raw.split(b"\n"), other.split(b"\n")
    for _ in range(chance.choice((1, 1, 2, 3, 8))):
        edit(lines, chance.randrange(256), chance.randrange, more)
    return b"\n".join(lines)


def edit(lines: list[bytes], what: int, choose: Choose, more: list[bytes]) -> None:
    """One change, in place."""
    place, elsewhere = choose(len(lines)), choose(len(lines))
    match what % 8:
        case 0 if len(lines) > 1:
            del lines[place]
        case 1:
            lines.insert(place, lines[elsewhere])
        case 2:
            lines[place], lines[elsewhere] = lines[elsewhere], lines[place]
        case 3:
            lines.insert(place, more[elsewhere % len(more)])
        case 4 | 5:
            lines[place] = _other_value(lines[place], VALUES[choose(len(VALUES))])
        case 6:
            _, _, value = lines[elsewhere].partition(b"=")
            lines[place] = _other_value(lines[place], value.strip() or b"0")
        case _:
            lines[place] = _other_number(choose, lines[place])


def _other_value(line: bytes, value: bytes) -> bytes:
    key, is_one, _ = line.partition(b"=")
    return key + b"= " + value if is_one else line


def _other_number(choose: Choose, line: bytes) -> bytes:
    found = list(re.finditer(rb"-?\d+(?:\.\d+)?", line))
    if not found:
        return line
    number = choose(len(found) * len(NUMBERS))
    one = found[number % len(found)]
    return line[: one.start()] + NUMBERS[number // len(found)] + line[one.end() :]
