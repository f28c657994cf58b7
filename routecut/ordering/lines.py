"""The order list of one job or of many: what, how much, for which cables, and why."""

from __future__ import annotations

from collections.abc import Sequence

from routecut.model.finding import Finding
from routecut.model.job import Job
from routecut.model.plan import OrderLine, PlannedCable
from routecut.ordering.cables import lead_lines, reel_lines
from routecut.ordering.ends import end_needs
from routecut.ordering.fixings import fixing_needs
from routecut.ordering.fuses import fuse_needs
from routecut.ordering.holes import hole_needs
from routecut.ordering.needs import Fitted, lines_of


def order_list(fits: Sequence[Fitted]) -> tuple[tuple[OrderLine, ...], tuple[Finding, ...]]:
    """Everything to order for planned jobs, added up over all of them.

    Parameters
    ----------
    fits : sequence of Fitted
        One or more; cables without a route or a cut length order nothing. Lengths are printed
        in the unit of the first, and its shop practice counts.

    Returns
    -------
    lines : tuple of OrderLine
        By group in the order of `needs.GROUPS`, each by name.
    findings : tuple of Finding
        ``no-reel`` and ``lead-shelf``.
    """
    if not fits:
        return (), ()
    reels, about_reels = reel_lines(fits)
    leads, about_leads = lead_lines(fits)
    needs = [
        need
        for fitted in fits
        for source in (end_needs, fuse_needs, hole_needs, fixing_needs)
        for need in source(fitted)
    ]
    return (*reels, *leads, *lines_of(needs)), (*about_reels, *about_leads)


def order_lines(*, job: Job, cables: Sequence[PlannedCable]) -> tuple[OrderLine, ...]:
    """The lines for one job of which nothing but its cables is known."""
    return order_list([Fitted(job=job, cables=tuple(cables))])[0]
