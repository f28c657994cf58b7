"""The order in which trim comes off, as the job says it: names that mean nothing, rings.

Stage      survey, with the mesh
"""

from __future__ import annotations

from collections.abc import Sequence

import networkx as nx

from routecut.model.body import means, off_first
from routecut.model.finding import Severity
from routecut.model.job import Job, SurfaceKind, SurfaceRule
from routecut.plain import nearest_name
from routecut.survey.faults import Collector, listed


def check_after(
    job: Job, called: Sequence[tuple[str, ...]], rules: Sequence[SurfaceRule], collector: Collector
) -> None:
    """Report every `after` that means no trim, and every ring of trim that waits for each other.

    Parameters
    ----------
    called : sequence of tuple of str
        What each part of the mesh may be called by; its own name first.
    rules : sequence of SurfaceRule
        The rule of each part.
    """
    trims = [k for k, rule in enumerate(rules) if rule.kind is SurfaceKind.TRIM]
    own = sorted({called[k][0] for k in trims})
    every = [name for k in trims for name in called[k]]
    for rule, glob in ((r, after) for r in job.surfaces for after in r.after):
        if not any(means(glob, name) for name in every):
            collector.add(
                "mesh-part-unmatched",
                f"{glob!r} matches no trim of the mesh; it has {listed(own) or 'none'}.",
                severity=Severity.WARNING,
                table=f'[[surface]] "{rule.part}"',
                key="after",
                found=glob,
                allowed=listed(own),
                nearest=nearest_name(glob.strip("*?"), every),
            )
    waits = nx.DiGraph((k, other) for k in trims for other in off_first(k, rules, called))
    rings = [group for group in nx.strongly_connected_components(waits) if len(group) > 1]
    for ring in sorted(sorted(called[k][0] for k in group) for group in rings):
        collector.add(
            "trim-ring",
            f"{listed(ring)} wait for each other: none of them could come off first.",
            table="[[surface]]",
            key="after",
            found=listed(ring),
            allowed="an order in which the trim comes off",
        )
