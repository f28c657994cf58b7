"""The parts of a mesh: what a job may call them by, and the rule that applies to each.

Stage      survey, with the mesh
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from routecut.model.body import means
from routecut.model.finding import Severity
from routecut.model.job import Job, PartShape, SurfaceKind, SurfaceRule
from routecut.plain import nearest_name, plain
from routecut.survey.faults import Collector
from routecut.survey.mesh_raw import RawPart
from routecut.survey.toml_table import LONGEST_NAME
from routecut.survey.trim_order import check_after

_LISTED: Final = 8


def tidied(part: RawPart) -> RawPart:
    """A part with names that a job can hold: printable, not too long, without blanks at the ends."""
    groups = (_tidy(group) for group in part.groups)
    return replace(part, name=_tidy(part.name) or "body", groups=tuple(group for group in groups if group))


def _tidy(name: str) -> str:
    return plain(name[:LONGEST_NAME]).strip()


def called_by(parts: list[RawPart], distinct: list[str]) -> tuple[tuple[str, ...], ...]:
    """For each part the names a job may call it by.

    Its own, the same with the number that tells it from its equals, that of every group it
    is in, and its path from any of them, ``front/seat``. A group that holds the whole mesh
    says nothing of any part and does not count: exporters make one up.
    """
    chains = [part.groups for part in parts]
    common = _common(chains)
    return tuple(
        tuple(
            dict.fromkeys(
                (
                    part.name,
                    name,
                    *reversed(chain[common:]),
                    *("/".join((*chain[k:], part.name)) for k in range(common, len(chain))),
                )
            )
        )
        for part, name, chain in zip(parts, distinct, chains, strict=True)
    )


def _common(chains: list[tuple[str, ...]]) -> int:
    """How many groups at the beginning all chains have in common."""
    first, last = min(chains), max(chains)
    return next(
        (k for k, (a, b) in enumerate(zip(first, last, strict=False)) if a != b), min(len(first), len(last))
    )


def distinct_names(names: list[str]) -> list[str]:
    """Equal names told apart: seat, seat.2, seat.3."""
    taken, found = set(names), []
    seen: dict[str, int] = {}
    for name in names:
        number = seen.get(name, 0) + 1
        new = name
        if number > 1:
            while f"{name}.{number}" in taken:
                number += 1
            new = f"{name}.{number}"
            taken.add(new)
        seen[name] = number
        found.append(new)
    return found


def rules_for(job: Job, called: tuple[tuple[str, ...], ...], collector: Collector) -> list[SurfaceRule]:
    """The first rule that means each part, by any of its names; panel where none does.

    An ignored part that a keep-out names counts as an obstacle.
    """
    rules: list[SurfaceRule] = []
    without: list[str] = []
    kept_out = [k.shape.part for k in job.keep_outs if isinstance(k.shape, PartShape)]
    for names in called:
        rule = next((rule for rule in job.surfaces if _any_means(rule.part, names)), None)
        if rule is None:
            without.append(names[0])
        rule = rule or SurfaceRule(part=names[0], kind=SurfaceKind.PANEL)
        if rule.kind is SurfaceKind.IGNORE and any(_any_means(glob, names) for glob in kept_out):
            # what is kept out of can't be left out of the body
            rule = replace(rule, kind=SurfaceKind.OBSTACLE)
        rules.append(rule)
    job_file = Collector()
    every = [name for names in called for name in names]
    own = [names[0] for names in called]
    for number, rule in enumerate(job.surfaces, start=1):
        if not _any_means(rule.part, every):
            _unmatched(
                job_file,
                f'[[surface]] "{rule.part}"',
                rule.part,
                own=own,
                every=every,
                so=f"Rule {number} does nothing.",
            )
    for keep_out in job.keep_outs:
        shape = keep_out.shape
        if isinstance(shape, PartShape) and not _any_means(shape.part, every):
            table = f'[[keep_out]] "{keep_out.name}"'
            _unmatched(job_file, table, shape.part, own=own, every=every, so="Nothing is kept out of.")
    check_after(job, called, rules, job_file)
    collector.findings += job_file.findings
    if without:
        collector.add(
            "mesh-part-unmatched",
            f"No [[surface]] names {_listed(without)}; taken as panel that must not be drilled.",
            severity=Severity.NOTE,
            found=_listed(without),
            allowed="a [[surface]] for every part",
        )
    return rules


def _any_means(glob: str, names: Iterable[str]) -> bool:
    return any(means(glob, name) for name in names)


def _unmatched(
    collector: Collector, table: str, glob: str, *, own: list[str], every: list[str], so: str
) -> None:
    collector.add(
        "mesh-part-unmatched",
        f"{glob!r} matches no part of the mesh; it has {_listed(own)}. {so}",
        severity=Severity.WARNING,
        table=table,
        key="part",
        found=glob,
        allowed=_listed(own),
        nearest=nearest_name(glob.strip("*?"), every),
    )


def _listed(names: Iterable[str]) -> str:
    ordered = sorted(set(names))
    shown = ", ".join(repr(name) for name in ordered[:_LISTED])
    return shown + (f" and {len(ordered) - _LISTED} more" if len(ordered) > _LISTED else "")
