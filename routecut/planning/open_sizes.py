"""Power and coax cables whose type is open: what they are routed as, before anybody knows their length.

Stage      planning, below `stages`; route, diameter, length, drop and size hang together
Units      m
Safe side  the length is guessed long, so that the size guessed is rarely too thin; where it is,
           the cable is routed again as the size it needs. Sizes only grow, so this ends. A route
           found for a thicker wire holds for a thinner one
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from routecut.model.finding import Finding
from routecut.model.job import CableClass, CableType, Job
from routecut.sizing import size_job

WAY_ROUND: Final = 1.5
"""A way along panels over the three distances between its ends along the axes; a guess."""

SPARE_M: Final = 0.5
"""Of ends and loops on top; a guess. [m]"""


def first_sizes(job: Job) -> dict[str, CableType]:
    """What each open power cable with a load, and open coax with a frequency, is routed as at first.

    Parameters
    ----------
    job : Job

    Returns
    -------
    dict of str to CableType
        A cable that can't be sized is left out: it stays the thickest of its class.
    """
    lengths = {}
    for cable in job.cables:
        if cable.cable_class in {CableClass.POWER, CableClass.COAX}:
            ends = (job.port(cable.from_port), job.port(cable.to_port))
            apart = zip(ends[0].position.at_m, ends[1].position.at_m, strict=True)
            loops = sum(end.service_loop_m for end in ends)
            lengths[cable.name] = WAY_ROUND * sum(abs(a - b) for a, b in apart) + loops + SPARE_M
    _, picked, _ = size_job(job=job, lengths_m=lengths, routes={})
    return picked


def as_laid(job: Job, sizes: Mapping[str, CableType]) -> Job:
    """The job with open cables as what they are routed as."""
    return replace(job, cables=tuple(replace(c, type=sizes.get(c.name, c.type)) for c in job.cables))


def outgrown(picked: Mapping[str, CableType], laid: Mapping[str, CableType]) -> dict[str, CableType]:
    """The cables that turned out thicker or stiffer than what they were routed as."""
    return {
        name: cable_type
        for name, cable_type in picked.items()
        if name in laid
        and (
            cable_type.diameter_m > laid[name].diameter_m
            or cable_type.min_bend_radius_m > laid[name].min_bend_radius_m
        )
    }


def without_stand_ins(findings: tuple[Finding, ...], sized: Mapping[str, CableType]) -> tuple[Finding, ...]:
    """Findings of the survey less those that say a stand-in is used where it no longer is."""
    tables = {f'[[cable]] "{name}"' for name in sized}
    return tuple(f for f in findings if not (f.code == "type-assumed" and f.table in tables))
