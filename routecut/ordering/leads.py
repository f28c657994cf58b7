"""Ready-made leads: the shortest stock length that reaches, or leads joined where a joint can be reached.

Stage      ordering, after the cut lengths
Units      m
Safe side  a lead is long enough or it is not chosen; a supply lead is never joined
"""

from __future__ import annotations

import math
from typing import Final

from routecut.cutlist.spent import Spent
from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.job import Cable, CableClass, Job, Surplus
from routecut.model.plan import CutLength, Lead, LeadJoint, LeadOption, Route
from routecut.ordering.joining import NEVER_JOINED, Made, best_laid, sets_of_leads
from routecut.ordering.parking import SUPPLY, parked_text, parking_end
from routecut.ordering.reach import Cover
from routecut.ordering.shelf import no_lead, stock_lengths
from routecut.units import format_length

MUCH_OVER_M: Final = 1.0
MUCH_OVER_SHARE: Final = 0.25
"""Surplus above both is reported (common practice, no source). [m], of the length needed"""

_OTHERS: Final = 4


def needed_length_m(cut: CutLength) -> float:
    """The length a lead must have: the cut length without its rounding up. [m]

    The last line of a cut length is the rounding, which suits a reel, not a lead.
    """
    return cut.needed_m


def choose_lead(
    *, job: Job, cable: Cable, cut: CutLength, route: Route | None = None, cover: Cover | None = None
) -> tuple[Lead, tuple[Finding, ...]]:
    """The ready-made lead for a cable.

    Parameters
    ----------
    job : Job
        Its `stock` says which lengths there are of the cable's type.
    cable : Cable
        One that is `ready_made`.
    cut : CutLength
    route : Route, optional
        Without it, and a `cover`, leads are not joined: nobody knows where the joint would lie.
    cover : Cover, optional

    Returns
    -------
    lead : Lead
        In this order: a joint that can be reached, few joints, little trim to take off, the
        price, the length. No lengths and no surplus when nothing reaches.
    findings : tuple of Finding
        ``no-stock-lead`` when nothing reaches; ``joint-sealed`` when no other joint is to be
        had; ``joint-place`` when a cheaper lead was passed over for its joint; ``lead-surplus``.
    """
    needed = needed_length_m(cut)
    lengths = stock_lengths(job, cable)
    most = math.inf if cable.type.max_length_m is None else cable.type.max_length_m
    sets = sets_of_leads(lengths, needed, most) or sets_of_leads(lengths, needed, math.inf)
    made: list[Made] = []
    if route is not None and cover is not None and cable.cable_class not in NEVER_JOINED:
        spent = Spent(route, cut)
        made = [best_laid(m, route, spent, cover) for m in sets]
    else:
        made = [m for m in sets if len(m.lengths_m) == 1]
    if not made:
        return Lead(lengths_m=(), surplus_m=0.0), (no_lead(job, cable, needed, sorted(lengths)),)
    ranked = sorted(made, key=_badness)
    best = ranked[0]
    cheapest = min(made, key=lambda m: (*m.cost, m.lengths_m))
    lead = Lead(
        lengths_m=best.lengths_m,
        surplus_m=best.surplus_m,
        joints=best.joints,
        price=best.price,
        why=_why(job, best),
        parked=_parked(job, cable, best),
        others=tuple(_option(job, best, m) for m in ranked[1 : _OTHERS + 1]),
    )
    return lead, tuple(_findings(job, cable, needed, best, cheapest))


def _badness(made: Made) -> tuple[float | tuple[float, ...], ...]:
    hopeless = max(made.worst - 1, 0)  # a hole or a sealed place
    # in one piece the shortest is wanted, joined the cheapest
    by = made.cost if made.joints else (sum(made.lengths_m), 0.0, 0.0)
    return (hopeless, len(made.joints), made.minutes, *by, made.lengths_m)


def lengths_text(job: Job, lengths_m: tuple[float, ...]) -> str:
    """Leads as they are joined, from the `from` end."""
    return " + ".join(format_length(m, job.length_unit) for m in lengths_m)


def joint_text(job: Job, joint: LeadJoint) -> str:
    """Where a joint lies and what it takes to reach it."""
    at = f"joint at {format_length(joint.at_route_m, job.length_unit)} of the run, in {joint.space}"
    if joint.access == "sealed":
        return f"{at}, which is sealed: out of reach"
    if joint.minutes is None:
        return f"{at}, access: {joint.access}, nobody said how long it takes"
    if joint.access == "trim" or joint.behind:
        return f"{at}, behind {joint.behind or 'trim'}: {joint.minutes:g} min to reach"
    return f"{at}, open"


def _why(job: Job, made: Made) -> str:
    over = format_length(made.surplus_m, job.length_unit, "down")
    if not made.joints:
        return f"the shortest in stock that reaches, {over} to spare"
    return f"no better single lead; {'; '.join(joint_text(job, j) for j in made.joints)}; {over} to spare"


def _parked(job: Job, cable: Cable, made: Made) -> str:
    if not made.joints:
        return parked_text(job, cable, made.surplus_m)
    places = [
        f"at {cable.from_port}",
        *("between the joints" for _ in made.joints[1:]),
        f"at {cable.to_port}",
    ]
    over = made.surplus_m
    texts = []
    for much, place in zip(made.parked_m, places, strict=True):
        # what is kept back for uncertainty lies with the rest and may be used up
        texts.append(parked_text(job, cable, min(much, over), place))
        over = max(over - much, 0.0)
    return "; ".join(t for t in texts if t)


def _option(job: Job, best: Made, made: Made) -> LeadOption:
    if made.worst > max(best.worst, 1):
        why = "; ".join(joint_text(job, j) for j in made.joints)
    elif len(made.joints) > len(best.joints):
        why = "one joint more" if len(made.joints) - len(best.joints) == 1 else "more joints"
    elif made.minutes > best.minutes:
        why = f"{made.minutes - best.minutes:g} min more to its joint"
    elif made.price is not None and best.price is not None and made.price > best.price:
        why = f"{made.price - best.price:.2f} dearer"
    else:
        why = f"{format_length(sum(made.lengths_m) - sum(best.lengths_m), job.length_unit)} longer"
    return LeadOption(
        lengths_m=made.lengths_m,
        surplus_m=made.surplus_m,
        joints=made.joints,
        price=made.price,
        why_not=why,
    )


def _findings(job: Job, cable: Cable, needed_m: float, best: Made, cheapest: Made) -> list[Finding]:
    found: list[Finding] = []
    unit = job.length_unit
    if best.worst > 1:
        found.append(
            cable_finding(
                "joint-sealed",
                Severity.WARNING,
                cable.name,
                f"of what is in stock nothing puts the joint within reach: "
                f"{'; '.join(joint_text(job, j) for j in best.joints)}. Add a length to [[stock]] that reaches in "
                "one piece.",
            )
        )
    if cheapest.joints and set(cheapest.lengths_m) != set(best.lengths_m) and _better_place(best, cheapest):
        found.append(
            cable_finding(
                "joint-place",
                Severity.NOTE,
                cable.name,
                f"the cheapest, {lengths_text(job, cheapest.lengths_m)}, was not taken: its "
                f"{'; '.join(joint_text(job, j) for j in cheapest.joints)}. Taken: "
                f"{lengths_text(job, best.lengths_m)}"
                + (
                    f", {'; '.join(joint_text(job, j) for j in best.joints)}."
                    if best.joints
                    else ", no joint."
                ),
                found=lengths_text(job, cheapest.lengths_m),
                allowed=lengths_text(job, best.lengths_m),
            )
        )
    if best.surplus_m > max(MUCH_OVER_M, MUCH_OVER_SHARE * needed_m):
        found.append(
            cable_finding(
                "lead-surplus",
                Severity.NOTE,
                cable.name,
                f"{lengths_text(job, best.lengths_m)} is {format_length(best.surplus_m, unit)} longer than "
                f"the {format_length(needed_m, unit, 'up')} needed. {_parked(job, cable, best)}.",
                found=format_length(best.surplus_m, unit),
            )
        )
    if cable.surplus in {Surplus.COIL, Surplus.FOLD} and cable.cable_class is CableClass.POWER:
        found.append(
            Finding(
                code="surplus-coiled",
                severity=Severity.WARNING,
                where=f"cable {cable.name}",
                message=f"surplus = {str(cable.surplus)!r} is not kept: {SUPPLY}; shorten it at "
                f"{parking_end(job, cable)}.",
                table="cable",
                key="surplus",
                found=str(cable.surplus),
                allowed=str(Surplus.TRIM),
            )
        )
    return found


def _better_place(best: Made, cheapest: Made) -> bool:
    return best.worst < cheapest.worst or best.minutes < cheapest.minutes
