"""Names that read alike on a label: the next person takes one for the other.

Stage      survey, with the judgement before work; names only
Source     the idea of a skeleton: Unicode Technical Standard 39, Unicode Security Mechanisms, section 4; which letters
           and digits are taken for each other: our own short list (common practice, no source)
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import Final

from routecut.model.finding import Severity
from routecut.model.job import Job
from routecut.plain import enumerated, shown
from routecut.survey.faults import Collector

_DRAWN_ALIKE: Final = str.maketrans(
    # Cyrillic and Greek letters that are drawn as Latin ones, capitals first
    "\u0410\u0412\u0415\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0423\u0425\u0406\u0408\u0405"
    "\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0456\u0458\u0455"
    "\u0391\u0392\u0395\u0396\u0397\u0399\u039a\u039c\u039d\u039f\u03a1\u03a4\u03a5\u03a7\u03bf",
    "ABEKMHOPCTYXIJSaeopcyxijsABEZHIKMNOPTYXo",
)
_READ_ALIKE: Final = str.maketrans("oil", "011")
"""Letters that are read as digits once capitals are small."""


def check_alike(job: Job, collector: Collector) -> None:
    """One warning for each group of names of one kind that read alike.

    Parameters
    ----------
    job : Job
    collector : Collector
    """
    for table, names in _kinds(job):
        groups: dict[str, list[str]] = {}
        for name in names:
            groups.setdefault(skeleton(name), []).append(name)
        for group in groups.values():
            if len(group) > 1:
                _tell(table, group, collector)


def skeleton(name: str) -> str:
    """What is left of a name where letters that are taken for each other are one; alike names have the same.

    Examples
    --------
    >>> skeleton("P1O") == skeleton("p10"), skeleton("left-sill") == skeleton("left  sill")
    (True, True)
    >>> skeleton("C1") == skeleton("\u04211"), skeleton("C1") == skeleton("C2")
    (True, False)
    """
    drawn = unicodedata.normalize("NFKC", name).translate(_DRAWN_ALIKE).casefold()
    return re.sub(r"[\s_-]+", " ", drawn).translate(_READ_ALIKE)


def _kinds(job: Job) -> Iterator[tuple[str, Iterable[str]]]:
    yield "[[space]]", [space.name for space in job.spaces]
    yield "[[landmark]]", [landmark.name for landmark in job.landmarks]
    yield "[[pass_through]]", [hole.name for hole in job.pass_throughs]
    yield "[[keep_out]]", [keep_out.name for keep_out in job.keep_outs]
    yield "[[device]]", [device.name for device in job.devices]
    yield "[[cable]]", [cable.name for cable in job.cables]
    for device in job.devices:
        yield f'[[device]] "{device.name}" [[device.port]]', [port.name for port in device.ports]


def _tell(table: str, names: list[str], collector: Collector) -> None:
    foreign = [name for name in names if not name.isascii()]
    why = f"; written in letters of more than one script: {_spelt(foreign)}" if foreign else ""
    collector.add(
        "names-alike",
        f"{enumerated([shown(name) for name in names])} read alike on a label, one is taken for the other{why}. "
        f'Type: another name for one of them, such as "{_other(names)}"',
        severity=Severity.WARNING,
        table=table,
        key="name",
        found=names[-1],
    )


def _spelt(names: Iterable[str]) -> str:
    """What of some names is no plain letter, each by what the character is called: there is no seeing it."""
    odd = dict.fromkeys(c for name in names for c in name if not c.isascii())
    return ", ".join(unicodedata.name(c, f"U+{ord(c):04X}").lower() for c in odd)


def _other(names: list[str]) -> str:
    taken, number = {skeleton(name) for name in names}, 2
    while skeleton(f"{names[0]} {number}") in taken:
        number += 1
    return f"{names[0]} {number}"
