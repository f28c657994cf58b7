"""Ready-made leads: the shortest stock length that reaches."""

from __future__ import annotations

from routecut.model.finding import Finding, Severity
from routecut.model.job import Cable, Job
from routecut.model.plan import CutLength, Lead
from routecut.units import format_length

_NOISE_M = 1e-9  # what adding the lines up may add to a whole figure


def needed_length_m(cut: CutLength) -> float:
    """The length a lead must have: the cut length without its rounding up. [m]

    The last line of a cut length is the rounding, which suits a reel, not a lead.
    """
    return cut.length_m - cut.lines[-1].length_m if cut.lines else cut.length_m


def choose_lead(*, job: Job, cable: Cable, cut: CutLength) -> tuple[Lead, tuple[Finding, ...]]:
    """The ready-made lead for a cable.

    Parameters
    ----------
    job : Job
        Its `stock` says which lengths there are of the cable's type.
    cable : Cable
        One that is `ready_made`.
    cut : CutLength

    Returns
    -------
    lead : Lead
        The shortest that reaches, and how much longer it is than needed; no lengths and
        no surplus when nothing reaches.
    findings : tuple of Finding
        ``no-stock-lead`` when nothing reaches.
    """
    needed = needed_length_m(cut)
    lengths = sorted({length for s in job.stock if s.type == cable.type.name for length in s.lengths_m})
    for length in lengths:
        if length >= needed - _NOISE_M:
            return Lead(lengths_m=(length,), surplus_m=max(length - needed, 0.0)), ()
    unit = job.length_unit
    wanted = format_length(needed, unit, "up")
    if lengths:
        longest = format_length(lengths[-1], unit, "down")
        missing = format_length(needed - lengths[-1], unit, "up")
        problem = f"the longest in stock is {longest}, {missing} short of the {wanted} needed"
    else:
        problem = f"no ready-made length of {cable.type.name} is in stock; {wanted} is needed"
    finding = Finding(
        code="no-stock-lead",
        severity=Severity.ERROR,
        where=f"cable {cable.name}",
        message=f"{problem}; add a longer length to [[stock]], or move an end nearer",
        table="cable",
        key=cable.name,
        found=wanted,
        allowed=", ".join(format_length(length, unit) for length in lengths),
    )
    return Lead(lengths_m=(), surplus_m=0.0), (finding,)
