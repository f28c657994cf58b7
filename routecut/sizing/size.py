"""Everything that is sized in one job."""

from __future__ import annotations

from collections.abc import Mapping

from routecut.model.finding import Finding, Severity
from routecut.model.job import CableType, Job
from routecut.model.plan import Route
from routecut.model.sizing import Sizing
from routecut.sizing.power import size_power
from routecut.sizing.radio import size_bonds, size_coax
from routecut.sizing.separation import fuel_findings
from routecut.tables import limits_in_force


def size_job(
    *,
    job: Job,
    lengths_m: Mapping[str, float],
    routes: Mapping[str, Route],
    joints: Mapping[str, int] | None = None,
) -> tuple[Sizing, dict[str, CableType], list[Finding]]:
    """Size the power cables, work out the coax and the bonds.

    Parameters
    ----------
    job : Job
    lengths_m : mapping of str to float
        The length of each cable as it will be cut or bought; a cable that has none is left out. [m]
    routes : mapping of str to Route
        Finished; they say which cables run together and which pass hot spaces.
    joints : mapping of str to int, optional
        Joints of ready-made leads with their extensions, by cable.

    Returns
    -------
    Sizing
    dict of str to CableType
        The type picked for each power and coax cable whose type the job leaves open.
    list of Finding

    Raises
    ------
    OutOfRangeError
        A limit set by the job makes no sense, such as air hotter than the insulation stands.
    """
    limits = limits_in_force(job.rules.profile, job.rules.limits)
    findings = [
        Finding(
            code="rule-deviation",
            severity=Severity.NOTE,
            where=f"job.toml, [rules], {limit.name}",
            message=f"{limit.name} is {limit.value:g} {limit.unit}".rstrip() + f", {limit.source}.",
            table="rules",
            key=limit.name,
        )
        for limit in limits.values()
        if limit.deviation
    ]
    power = size_power(job=job, lengths_m=lengths_m, routes=routes, limits=limits)
    coax, coax_types, about_coax = size_coax(
        job=job, lengths_m=lengths_m, routes=routes, joints=joints or {}, limits=limits
    )
    bonds, about_bonds = size_bonds(job=job, lengths_m=lengths_m, limits=limits)
    findings += fuel_findings(job, limits)
    sizing = Sizing(
        profile=job.rules.profile,
        limits=tuple(limits.values()),
        electrical=power.electrical,
        coax=coax,
        bonds=bonds,
        supplies=power.supplies,
    )
    return sizing, power.picked | coax_types, [*findings, *power.findings, *about_coax, *about_bonds]
