"""Findings that say the same of several things are told once, with the names of all of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import takewhile

from routecut.model.finding import Finding


def together(findings: Iterable[Finding]) -> list[Finding]:
    """Findings of one code and one sentence as one, each where its first stands, `where` naming all.

    Parameters
    ----------
    findings : iterable of Finding

    Returns
    -------
    list of Finding
        For reading only: counts and programs take the findings one by one.
    """
    groups: dict[tuple[str, str, str], list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.severity, finding.code, finding.message), []).append(finding)
    return [replace(group[0], where=joined([f.where for f in group])) for group in groups.values()]


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
