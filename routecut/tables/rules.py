"""Rule profiles: named sets of limits, each with its source.

Stage      below the survey, which checks the names, and below sizing, which keeps them
Units      as in the table's `unit` column; lengths in mm
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from types import MappingProxyType

from routecut.errors import OutOfRangeError
from routecut.model.job import Rules
from routecut.model.sizing import Limit
from routecut.tables.loader import read_rows

BASE_PROFILE = "common practice"
"""The profile that has every limit; the others say only what they have of their own."""


@cache
def profiles() -> tuple[str, ...]:
    """Names of the rule profiles, the base first.

    Examples
    --------
    >>> profiles()[0]
    'common practice'
    """
    return tuple(dict.fromkeys(row["profile"] for row in read_rows("rule_limits")))


@cache
def profile_limits(profile: str) -> Mapping[str, Limit]:
    """The limits of a profile by name; what it does not say is common practice.

    Raises
    ------
    OutOfRangeError
        There is no such profile.

    Examples
    --------
    >>> profile_limits("both leads fused")["negative_fuse"].value
    1.0
    """
    if profile not in profiles():
        raise OutOfRangeError(f"there is no rule profile {profile!r}; one of {', '.join(profiles())}")
    found: dict[str, Limit] = {}
    for wanted in (BASE_PROFILE, profile):
        for row in read_rows("rule_limits"):
            if row["profile"] == wanted:
                found[row["limit"]] = Limit(
                    name=row["limit"],
                    value=float(row["value"]),
                    unit=row["unit"],
                    meaning=row["meaning"],
                    source=row["source"],
                    provenance=row["provenance"],
                    lowest=float(row["lowest"]),
                    highest=float(row["highest"]),
                )
    return MappingProxyType(found)


def limits_in_force(profile: str, own: Iterable[tuple[str, float]]) -> Mapping[str, Limit]:
    """The limits of a profile with those a job has set over it.

    Parameters
    ----------
    profile : str
        An unknown one falls back to common practice: the survey has reported it.
    own : pairs of name and value
        Names that are no limit of this table are left out here. The volts of the readings go with
        `system_volts` where they are not set themselves.
    """
    known = dict(profile_limits(profile if profile in profiles() else BASE_PROFILE))
    for name, value in own:
        if name in known:
            before = known[name]
            known[name] = replace(
                before,
                value=value,
                source=f"set by this job; the profile says {before.value:g} ({before.source})",
                provenance="the job",
                deviation=True,
            )
    volts, test = known["system_volts"], known["test_volts"]
    if volts.deviation and not test.deviation:
        share = volts.value / profile_limits(BASE_PROFILE)["system_volts"].value
        known["test_volts"] = replace(
            test, value=test.value * share, source=f"{test.source}; for {volts.value:g} V in proportion"
        )
    return MappingProxyType(known)


def separation_m(rules: Rules) -> float:
    """What supply, signal and antenna leads keep apart from each other, middle to middle. [m]"""
    return limits_in_force(rules.profile, rules.limits)["separation_mm"].value / 1000.0
