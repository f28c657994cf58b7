"""The back of the job pack: what to order, the figures used, the findings, the revision."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from routecut.documents.alike import counted, together
from routecut.documents.cautions import DRILLED_NEAR_M, NEAR_M, NEAR_TIMES
from routecut.documents.figures import BAND_SOURCE, Lengths, share
from routecut.documents.markup import Child, el
from routecut.documents.order_list import NOTHING, amount_text, to_buy_text, total_text
from routecut.documents.pack_parts import fold, pairs, table, tick
from routecut.documents.reading import SEVERITIES, all_findings, job_digest, revision_mark, type_mark
from routecut.model.finding import Severity
from routecut.model.plan import OrderLine, Plan
from routecut.model.service import UNKNOWN_MINUTES


def order_list(plan: Plan) -> Element:
    """Everything to buy, for which cables and why."""
    if not plan.order:
        return el("p", "Nothing to order.")
    unit = plan.job.length_unit
    rows: list[list[Child]] = [
        [
            _what(plan, line),
            _quantity(line, unit),
            _for(plan, line),
            _why(plan, line),
            tick("here", f"order-{number}"),
        ]
        for number, line in enumerate(plan.order, start=1)
    ]
    total = total_text(plan.order)
    return el(
        "div",
        el("input", type="checkbox", id="order-why", class_="more"),
        el("label", "show why, spares and how reels are cut", for_="order-why", class_="more"),
        table(["what", "quantity", "for", "why", "done"], rows, kind="order"),
        el("p", f"Total: {total}. Every price is in the currency in which the job gives it; it names none.")
        if total
        else None,
    )


def _for(plan: Plan, line: OrderLine) -> str:
    """The cables a line is for; all of them in one word."""
    every = len(plan.cables) > 1 and {c.cable.name for c in plan.cables} <= set(line.for_cables)
    return f"all {len(plan.cables)} cables" if every else ", ".join(line.for_cables)


def _what(plan: Plan, line: OrderLine) -> Element:
    doubt = [el("b", word, class_="none") for word, _ in dict.fromkeys(m for _, m in _marks(plan, line))]
    return el("div", el("b", line.what), doubt)


def _why(plan: Plan, line: OrderLine) -> str:
    marks = (f"{name}: {what}" for name, (_, what) in _marks(plan, line))
    spare = [f"spare: {line.spare}"] if line.spare else []
    return "; ".join([*marks, line.why, *spare, *line.cutting])


def _marks(plan: Plan, line: OrderLine) -> list[tuple[str, tuple[str, str]]]:
    """The cables this line buys whose type the job does not name: reel or ready-made lead alike."""
    return [
        (c.cable.name, mark)
        for c in plan.cables
        if (mark := type_mark(plan, c.cable)) is not None
        and c.cable.name in line.for_cables
        and (line.what == c.cable.type.name or line.what.startswith(f"{c.cable.type.name},"))
    ]


def _quantity(line: OrderLine, length_unit: str) -> Child:
    needed, bought = amount_text(line.quantity, line.unit, length_unit), to_buy_text(line, length_unit)
    facts = [] if bought == needed else [f"buy {bought}"]
    if bought == NOTHING:
        facts = ["enough on the shelf: buy nothing"]
    if line.price is not None and line.price > 0.0:
        facts.append(f"price {line.price:.2f}")
    return el("div", needed, el("br"), el("small", ", ".join(facts))) if facts else needed


def assumptions(plan: Plan) -> Element:
    """The shop practice and the errors assumed: every figure a length rests on."""
    job, lengths = plan.job, Lengths(plan.job.length_unit)
    practice, vehicle, routing = job.lengths, job.vehicle, job.routing
    entries: list[tuple[str, Child]] = [
        *(
            [("shop's own file", f"{practice.defaults}: what the job does not say itself")]
            if practice.defaults
            else []
        ),
        ("lay", f"{share(practice.lay)} of the route: cables are not laid as straight as a line"),
        ("confidence", f"{share(practice.confidence)}: how sure a cut length is to be long enough"),
        ("rounding", f"up to the next {lengths.text(practice.round_up_to_m)}"),
        ("band", BAND_SOURCE),
        ("drip loop", f"{lengths.text(practice.drip_loop_m)} where a cable comes in from a wet space"),
        ("hinge loop", f"{lengths.text(practice.hinge_loop_m)} where a route crosses a hinge"),
        ("stand-off", f"{lengths.text(routing.stand_off_m)} from the sheet to the middle of a cable"),
        ("bridge", f"{lengths.text(routing.bridge_m)} at most in free air"),
        ("scale of the 3D model", f"within {share(vehicle.scan_error)}, two lengths in three"),
        *(
            (
                section.name,
                (
                    f"within {lengths.text(section.error_m)} over {lengths.text(section.size_m)} along "
                    f"{'xyz'[section.axis]}, two times in three; {'measured' if section.measured else 'not measured'}"
                ),
            )
            for section in vehicle.sections
        ),
        ("points given", f"within {lengths.text(vehicle.point_error_m)}, two points in three"),
        ("one hole", f"is worth {lengths.text(job.drilling.hole_cost_m)} of cable"),
        ("edge distance", f"{job.drilling.edge_distance_diameters:g} hole diameters"),
        ("free behind a hole", f"{lengths.text(job.drilling.behind_m)} wanted"),
        (
            "near",
            (
                f"a keep-out is named beside a cable, or a hole that is there, within {lengths.text(NEAR_M)} or "
                f"within {NEAR_TIMES:g} times its clearance; beside a hole to drill within "
                f"{lengths.text(DRILLED_NEAR_M)}"
            ),
        ),
        (
            "service",
            (
                f"{job.service.minutes:g} min of trim to a connector or a joint that is to be got at; a loop of "
                f"{lengths.text(job.service.loop_m)} where it is not known how far a device comes out; trim of unknown "
                f"time counts as {UNKNOWN_MINUTES:g} min"
            ),
        ),
        ("rules", job.rules.profile),
        *((f"deviation: {name}", f"{value:g}, set by this job") for name, value in job.rules.limits),
    ]
    return el("div", el("p", "Shop practice and assumptions behind this pack."), pairs(entries))


def findings(plan: Plan) -> Element:
    """Everything noticed, the severe first."""
    found = all_findings(plan)
    if not found:
        return el("p", "Nothing was noticed.")
    parts: list[Child] = []
    for severity in SEVERITIES:
        those = [f for f in found if f.severity is severity]
        rows = [[f.where, f.message, f.code] for f in together(those)]
        if rows:
            head, key = el("h3", counted(those, str(severity))), f"found-{severity}"
            shown = table(["where", "what", "code"], rows, kind="found")
            parts.append(
                el("div", head, shown, id=key) if severity is Severity.ERROR else fold(head, shown, key=key)
            )
    return el("div", parts)


def revision(plan: Plan) -> Element:
    """What this pack was made from; a changed input gives other digests."""
    return pairs(
        [
            ("revision", el("b", revision_mark(plan))),
            ("routecut", plan.version),
            ("job (SHA-256)", el("code", job_digest(plan.job))),
            ("3D model (SHA-256)", el("code", plan.body_digest or "not known")),
            ("compare", "Two packs of the same revision say the same: it stands for the three lines above."),
        ]
    )
