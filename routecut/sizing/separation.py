"""The clearances a job states for the fuel system against what the rules ask for.

Stage      sizing; the routes keep what the job states, and the verifier judges them by it
Units      m
"""

from __future__ import annotations

from collections.abc import Mapping

from routecut.model.finding import Finding, Severity
from routecut.model.job import Job, Reason
from routecut.model.sizing import Limit
from routecut.units import format_length


def fuel_findings(job: Job, limits: Mapping[str, Limit]) -> list[Finding]:
    """Keep-outs of fuel with less clearance than the rules ask for; below the least it is an error."""
    wanted, least = limits["fuel_mm"], limits["fuel_least_mm"]
    found = []
    for keep_out in job.keep_outs:
        short = keep_out.clearance_m * 1000.0 < wanted.value * (1.0 - 1e-9)
        if keep_out.reason is not Reason.FUEL or not short:
            continue
        far = keep_out.clearance_m * 1000.0 >= least.value * (1.0 - 1e-9)
        stated, allowed = (
            format_length(keep_out.clearance_m, job.length_unit),
            format_length(wanted.value / 1000.0, job.length_unit),
        )
        found.append(
            Finding(
                code="fuel-near",
                severity=Severity.WARNING if far else Severity.ERROR,
                where=f"keep-out {keep_out.name}",
                message=f"Its clearance is {stated}; {allowed} to fuel is asked for ({wanted.source}), and never less "
                f"than {format_length(least.value / 1000.0, job.length_unit)} ({least.source}).",
                table="keep_out",
                key=keep_out.name,
                found=stated,
                allowed=allowed,
            )
        )
    return found
