"""What the program is made of: every library that an installation brings along, its licence, and who asks for it.

    python -m tests.hostile.supply

reads what is installed beside the program, as pip wrote it down; no network is asked. Exit code 1 where something
that is needed is missing or of a version that is not allowed, comes from elsewhere than a registry, or is under
no licence of `LICENCES`. Whether a version has known faults or was withdrawn is on record only at a registry: pip
tells of the latter as it installs (`lowest`), the former is for ``pip-audit``, where there is a network.
"""

from __future__ import annotations

import importlib.metadata
import re
import sys
import tomllib
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP: Final = Path(__file__).parents[2]
PROJECT: Final = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]

LICENCES: Final = (
    *("MIT", "BSD", "Apache", "ISC", "Python Software Foundation", "PSF-2.0", "0BSD", "Zlib", "CC0-1.0"),
    "Mozilla Public License 2.0",
    "MPL-2.0",
)
"""Beginnings of the names of those that let anybody use, change and pass on; of MPL a file stays under it."""

SAID_ELSEWHERE: Final[Mapping[str, str]] = {"embreex": "BSD-2-Clause"}
"""Where the metadata hold the text of a licence or a holder's name alone; read in the file that comes along."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """A library that an installation brings along.

    Attributes
    ----------
    licence : str
        As it names it itself; empty where it does not.
    wanted_by : tuple of str
        Who asks for it: `routecut`, or another library.
    faults : tuple of str
        What is wrong, in words.
    """

    name: str
    version: str
    licence: str
    wanted_by: tuple[str, ...]
    faults: tuple[str, ...]


def libraries(needed: tuple[str, ...] = tuple(PROJECT["dependencies"])) -> tuple[Library, ...]:
    """Every library that what is `needed` brings along on this machine, by name."""
    todo = deque((Requirement(line), "routecut", "") for line in needed)
    wanted: dict[str, set[str]] = {}
    faults: dict[str, list[str]] = {}
    seen: set[tuple[str, str]] = set()
    while todo:
        asked, by, extra = todo.popleft()
        if asked.marker is not None and not asked.marker.evaluate({"extra": extra}):
            continue
        name = canonicalize_name(asked.name)
        wanted.setdefault(name, set()).add(by)
        told = faults.setdefault(name, [])
        try:
            found = importlib.metadata.distribution(name)
        except importlib.metadata.PackageNotFoundError:
            told.append(f"{by} needs it, and it is not installed")
            continue
        if not asked.specifier.contains(found.version, prereleases=True):
            told.append(f"{by} needs {asked.specifier}")
        for one in ("", *sorted(asked.extras)):
            if (name, one) not in seen:
                seen.add((name, one))
                todo.extend((Requirement(line), name, one) for line in found.requires or ())
    return tuple(_library(name, wanted[name], faults[name]) for name in sorted(wanted))


def _library(name: str, wanted_by: set[str], faults: list[str]) -> Library:
    try:
        found = importlib.metadata.distribution(name)
    except importlib.metadata.PackageNotFoundError:
        return Library(
            name=name, version="", licence="", wanted_by=tuple(sorted(wanted_by)), faults=tuple(faults)
        )
    licence = licence_of(found)
    if found.read_text("direct_url.json") is not None:
        faults.append("it was installed from an address, not from a registry")
    faults += [f"{part!r} is no licence of those allowed" for part in not_allowed(licence)]
    return Library(
        name=name,
        version=found.version,
        licence=licence,
        wanted_by=tuple(sorted(wanted_by)),
        faults=tuple(dict.fromkeys(faults)),
    )


def licence_of(found: importlib.metadata.Distribution) -> str:
    """What a library says of its licence: the expression, else the classifiers, else the first line of the text."""
    about = found.metadata
    if "License-Expression" in about:
        return str(about["License-Expression"])
    classed = [
        line.split("::")[-1].strip()
        for line in about.get_all("Classifier") or ()
        if line.startswith("License")
    ]
    if named := [line for line in classed if line != "OSI Approved"]:
        return " AND ".join(named)
    said = SAID_ELSEWHERE.get(
        canonicalize_name(str(about["Name"])), "\n".join(about.get_all("License") or ())
    )
    return said.strip().splitlines()[0].removeprefix("The ") if said.strip() else ""


def not_allowed(licence: str) -> list[str]:
    """What of a licence expression is none of `LICENCES`; of a choice (OR) one that is allowed is enough."""
    found = []
    for part in re.split(r"\s+AND\s+", licence):
        choice = [word.strip("() ") for word in re.split(r"\s+OR\s+", part)]
        if not any(word.startswith(LICENCES) for word in choice):
            found.append(part)
    return found


def main() -> int:
    """Print the table; 1 when something is wrong with one of them."""
    found = libraries()
    for library in found:
        sys.stdout.write(
            f"{library.name} {library.version}: {library.licence}; for {', '.join(library.wanted_by)}\n"
        )
    wrong = [f"{library.name}: {fault}" for library in found for fault in library.faults]
    sys.stdout.write("".join(f"WRONG  {line}\n" for line in wrong))
    sys.stdout.write(f"{len(found)} libraries, {len(wrong)} faults\n")
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
