"""From a surveyed job to a plan: search, tighten, bend, verify, cut, size, order.

Stage      planning; holds the order of the stages and nothing of their methods
Units      m
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from routecut import __version__
from routecut.cutlist import cut_length, measure_first
from routecut.model.body import Body
from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.job import Cable, Job
from routecut.model.plan import Lead, Plan, PlannedCable, Route
from routecut.ordering import Cover, Fitted, choose_lead, order_list
from routecut.planning.chart_cache import ready_roadmap
from routecut.planning.holes import Opened, open_holes, planned_holes
from routecut.planning.open_sizes import as_laid, first_sizes, outgrown, without_stand_ins
from routecut.roadmap.build import Roadmap
from routecut.routes.bundles import find_bundles
from routecut.routes.route_all import Routed, route_all
from routecut.service import service_findings, service_study
from routecut.sizing import cut_step_m, size_job
from routecut.survey import Survey, first_bends
from routecut.units import format_length
from routecut.verify import Verdicts, untagged_gaps, verify_company, verify_plan


def plan_survey(
    surveyed: Survey,
    *,
    progress: Callable[[str], None] | None = None,
    roadmap: Roadmap | None = None,
    opened: Opened | None = None,
    verdicts: Verdicts | None = None,
) -> tuple[Plan, Body]:
    """Plan a job that has been surveyed, as it is to be built.

    Returns the plan, complete or not (see `Plan.complete`), and the body it was made on. The record
    of the job is left aside; see `routecut.planning.make_plan`.

    `roadmap`, `opened` and `verdicts` are what is known already: the roadmap of this body, the
    choice of holes, and what was judged of routes before.
    """
    say = progress or (lambda _stage: None)
    job, body = surveyed.job, surveyed.body
    roadmap = (roadmap and roadmap.for_job(job)) or ready_roadmap(job, body, say)
    sizes = first_sizes(job)
    if opened is None:
        opened = open_holes(replace(roadmap, job=as_laid(job, sizes)), say)
    while True:
        laid = opened.of(as_laid(job, sizes))
        found = route_all(replace(roadmap, job=laid), say)
        if opened.closed and _trouble(found, opened):
            # the choice rests on ways along the roadmap; where one can't be laid, every hole may help
            say("routing again with every hole that may be drilled")
            wider = opened.of(as_laid(job, sizes), every=True)
            again = route_all(replace(roadmap, job=wider), say)
            if _trouble(again, opened) < _trouble(found, opened):
                laid, found = wider, again
        routes = found.routes
        say("adding up the cut lengths")
        planned, more = _cables(laid, routes, Cover(laid, body))
        say("sizing wire, fuses and coax")
        sizing, picked, about_sizes = size_job(
            job=job, lengths_m=_real_lengths(planned), routes=routes, joints=_joints(planned)
        )
        grown = outgrown(picked, sizes)
        if not grown:
            break
        say(f"routing again with thicker wire: {', '.join(grown)}")
        sizes |= grown
    say("checking every route on the full mesh")
    routed = [(cable, routes[cable.name]) for cable in laid.cables if cable.name in routes]
    judged = verify_plan(job=laid, body=body, routed=routed, verdicts=verdicts)
    bundles = find_bundles(laid.cables, routes)
    beside, about_company = verify_company(job=laid, body=body, routed=routed, bundles=bundles)
    cables = tuple(
        replace(
            p,
            cable=replace(p.cable, type=picked.get(p.cable.name, p.cable.type)),
            verified=judged.get(p.cable.name),
        )
        for p in planned
    )
    holes, cards, about_holes = planned_holes(roadmap, as_laid(job, sizes), routes, opened)
    order, about_order = order_list(
        [Fitted(job=job, cables=cables, holes=holes, sizes={c.name: c.size for c in cards}, sizing=sizing)]
    )
    say("looking how everything is got at again")
    service = service_study(
        job, body, cables, sizing=sizing, holes=holes, sizes={c.name: c.size for c in cards}
    )
    cramped = first_bends(job, body, {c.cable.name: c.cable.type for c in cables}, sheets=roadmap.sheets)
    gaps = untagged_gaps(job=laid, body=body, routed=routed)
    violations = [f for name in sorted(judged) for f in judged[name].findings]
    return (
        Plan(
            version=__version__,
            job=job,
            cables=cables,
            holes=holes,
            drilling=cards,
            order=order,
            findings=(
                *without_stand_ins(surveyed.findings, sizes),
                *cramped,
                *found.findings,
                *violations,
                *gaps,
                *about_company,
                *about_holes,
                *more,
                *about_sizes,
                *about_order,
                *service_findings(job, body, cables, service),
            ),
            body_digest=body.digest,
            sizing=sizing,
            bundles=bundles,
            beside=beside,
            bought=found.bought,
            service=service,
            others=found.others,
        ),
        body,
    )


def _trouble(found: Routed, opened: Opened) -> int:
    """Cables that have a way and were not laid on it as they should."""
    bad = {f.key for f in found.findings if f.code in {"bend-not-kept", "span-not-kept"}}
    return len(opened.reached - set(found.routes)) + len(bad)


def _cables(job: Job, routes: dict[str, Route], cover: Cover) -> tuple[list[PlannedCable], list[Finding]]:
    planned: list[PlannedCable] = []
    findings: list[Finding] = []
    for cable in job.cables:
        route = routes.get(cable.name)
        if route is None:
            planned.append(PlannedCable(cable=cable))
            continue
        step_m, step_is = cut_step_m(cable) or (None, "")
        cut = cut_length(job=job, cable=cable, route=route, step_m=step_m, step_is=step_is)
        lead: Lead | None = None
        if cable.ready_made:
            lead, more = choose_lead(job=job, cable=cable, cut=cut, route=route, cover=cover)
            findings += more
        most = cable.type.max_length_m
        length = sum(lead.lengths_m) if lead is not None and lead.lengths_m else cut.length_m
        if most is not None and length > most + 1e-9:
            findings.append(_over_length(job, cable, length, most))
        planned.append(PlannedCable(cable=cable, route=route, cut=cut, lead=lead, covered=cover.along(route)))
    tip = measure_first(job, {p.cable.name: p.cut for p in planned if p.cut is not None})
    return planned, findings if tip is None else [*findings, tip]


def _real_lengths(planned: Iterable[PlannedCable]) -> dict[str, float]:
    """What current really runs through: the leads bought, or the length that is cut. [m]"""
    found = {}
    for p in planned:
        if p.lead is not None and p.lead.lengths_m:
            found[p.cable.name] = sum(p.lead.lengths_m)
        elif p.cut is not None:
            found[p.cable.name] = p.cut.length_m
    return found


def _joints(planned: Iterable[PlannedCable]) -> dict[str, int]:
    return {p.cable.name: len(p.lead.joints) for p in planned if p.lead is not None}


def _over_length(job: Job, cable: Cable, length_m: float, most_m: float) -> Finding:
    found, allowed = format_length(length_m, job.length_unit), format_length(most_m, job.length_unit)
    return cable_finding(
        "over-length",
        Severity.WARNING,
        cable.name,
        f"{found} of {cable.type.name}, which is allowed up to {allowed}; move a device nearer or "
        "choose another type.",
        found=found,
        allowed=allowed,
    )
