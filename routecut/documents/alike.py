"""Findings that say the same of several things are told once, with the names of all of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import takewhile
from typing import Final

from routecut.documents.figures import count
from routecut.model.finding import Finding

_OF_SEVERAL: Final = {
    "keep-out-unconfirmed": "Check these on the vehicle: is each where the job says, and are there others? Mend "
    "the shape, then take out confirmed = false.",
    "pass-through-unconfirmed": "Check these on the vehicle: is there such a hole, and where it says to drill, can "
    "it be drilled? Mend place and size, then take out confirmed = false.",
}
"""What is asked of several things at once, by code; what differs between them (`about`) stands with their names."""


def together(findings: Iterable[Finding]) -> list[Finding]:
    """Findings of one code and one sentence as one, each where its first stands, `where` naming all.

    What is asked of many things, only worded for each (`about`), is asked once as well.

    Parameters
    ----------
    findings : iterable of Finding

    Returns
    -------
    list of Finding
        For reading only: programs take the findings one by one.
    """
    groups: dict[tuple[str, str, str], list[Finding]] = {}
    for finding in findings:
        asked = "" if finding.about and finding.code in _OF_SEVERAL else finding.message
        groups.setdefault((finding.severity, finding.code, asked), []).append(finding)
    return [_one(group) for group in groups.values()]


def counted(findings: Sequence[Finding], noun: str) -> str:
    """How many things there are to read, and of how many places where some are told together.

    Examples
    --------
    >>> counted([], "warning")
    '0 warnings'
    """
    told = len(together(findings))
    places = f" ({len(findings)} places)" if told != len(findings) else ""
    return f"{count(told, noun)}{places}"


def _one(group: Sequence[Finding]) -> Finding:
    """Some findings that say the same as one."""
    first = group[0]
    if len({f.message for f in group}) == 1:
        return replace(first, where=joined([f.where for f in group]))
    names: dict[str, list[str]] = {}
    for finding in group:
        name = finding.where.removeprefix(f"{first.file}, {_kind(first)} ").removesuffix(f", {finding.key}")
        names.setdefault(finding.about, []).append(name)
    told = "; ".join(f"{', '.join(dict.fromkeys(those))} ({about})" for about, those in names.items())
    return replace(first, where=f"{first.file}, {_kind(first)} {told}", message=_OF_SEVERAL[first.code])


def _kind(finding: Finding) -> str:
    """The table of a finding without the name of its entry: ``[[keep_out]]``."""
    return finding.table.partition(" ")[0]


def joined(places: Sequence[str]) -> str:
    """Names of several places, what they have in common said once.

    Examples
    --------
    >>> joined(["cable P1", "cable P2"])
    'cable P1, P2'
    >>> joined(['job.toml, [[keep_out]] "hose 1", confirmed', 'job.toml, [[keep_out]] "hose 2", confirmed'])
    'job.toml, [[keep_out]] "hose 1", "hose 2", confirmed'
    """
    different = list(dict.fromkeys(places))
    if len(different) == 1:
        return different[0]
    before = _shared(different)
    quoted = before.count('"') % 2 == 1
    before = before[: before.rfind('"' if quoted else " ") + 1]
    rest = [place[len(before) :] for place in different]
    after = _shared([place[::-1] for place in rest])[::-1]
    found = after.rfind('"') if quoted else -1  # the last one: names may have marks of inches in them
    after = after[found:] if found >= 0 else ""
    names = [place[: len(place) - len(after)] for place in rest]
    if quoted != bool(after):
        return "; ".join(different)
    between = '", "' if quoted else ", "
    return f"{before}{between.join(names)}{after}"


def _shared(texts: Sequence[str]) -> str:
    """What all texts begin with."""
    alike = takewhile(lambda letters: len(set(letters)) == 1, zip(*texts, strict=False))
    return "".join(letters[0] for letters in alike)
