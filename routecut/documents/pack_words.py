"""The words of the job pack: what the whole page says in the same way, wherever its pieces come from.

Stage      documents; the last thing that is done to the texts of a page
Safe side  only names the plan has are rewritten, and no name that stands for something else as well
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Final

from routecut.documents.part_words import spoken
from routecut.documents.port_words import worded
from routecut.model.plan import Plan

NO_SOURCE: Final = "common practice, no source"
MARK: Final = "*"
LEGEND: Final = f"{MARK} common practice of the trade, no written source"
"""Said once on a screen, and at the foot of every sheet: `MARK` stands wherever it holds."""


def pack_words(plan: Plan) -> Callable[[str], str]:
    """What rewrites a text of the pack: ports and parts as one says them, a mark for what has no source.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    callable
        From text to text.
    """
    ports, parts = worded(plan.job), _parts(plan)
    named = re.compile(
        rf"(?<![\w.-])(?:{'|'.join(map(re.escape, sorted(parts, key=lambda n: (-len(n), n))))})(?![\w-]|\.\w)"
    )

    def said(text: str) -> str:
        text = text.replace(f" ({NO_SOURCE})", MARK).replace(NO_SOURCE, f"common practice{MARK}")
        return ports(named.sub(lambda found: parts[found[0]], text) if parts else text)

    return said


def _parts(plan: Plan) -> dict[str, str]:
    """Parts named by a machine, and how they are called."""
    job = plan.job
    others = {
        thing.name
        for things in (job.devices, job.cables, job.pass_throughs, job.keep_outs, job.spaces, job.landmarks)
        for thing in things
    } | {c.cable.type.name for c in plan.cables}
    spaces = [space.name for space in job.spaces]
    return {
        name: words
        for name in dict.fromkeys(_named(plan))
        if name not in others and (words := spoken(name, spaces=spaces)) != name
    }


def _named(plan: Plan) -> Iterator[str]:
    """Every part the plan names."""
    for planned in plan.cables:
        if planned.route is not None:
            yield from (part for part, _, _ in planned.route.parts)
        yield from (cover.trim for cover in planned.covered)
    for card in plan.drilling:
        yield from card.parts
        for side in (card.near, card.far):
            yield from (met.what for met in (side.met, side.around) if met is not None and met.reason is None)
            yield from (trim for trim, _ in side.trim)
    if plan.service is not None:
        yield from (trim.name for trim in plan.service.trims)
