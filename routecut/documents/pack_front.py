"""The front of the job pack: what will be done, what to mind, and the pictures."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.cautions import Placed, at
from routecut.documents.figures import count, metres
from routecut.documents.look_first import mounting_text, unchecked_counts, unchecked_text
from routecut.documents.markup import data_uri, el
from routecut.documents.pack_as_built import built_text
from routecut.documents.pack_parts import caution_list, class_mark, pairs, table, ticks_told
from routecut.documents.pack_words import LEGEND
from routecut.documents.reading import (
    SEVERITIES,
    all_findings,
    bare_ends,
    holes_to_drill,
    holes_used,
    length_by_class,
    natural,
    revision_mark,
    type_mark,
    verification_text,
)
from routecut.model.drilled import to_drill
from routecut.model.finding import Finding, Severity
from routecut.model.job import Device
from routecut.model.plan import Plan, PlannedHole

_CAPTIONS: Final[dict[str, str]] = {
    "left-front.png": "From the left front, above",
    "right-rear.png": "From the right rear, above",
    "above.png": "From above; the front is on the left",
    "left.png": "From the left",
    "close-up.png": "Where most cables meet, closer",
}

_PICTURE_NOTE: Final = (
    "Simplified body, seen through. Every cable carries its name; the line pattern shows its class, the colour that of "
    "its insulation where the type says it. "
    "Rings are pass-throughs, a cross in the ring is a hole to drill. Tinted shapes are keep-outs, each with "
    "the word of its reason. Not to scale: never drill from a picture. On a phone, pinch to look closer."
)


_MOST_ERRORS: Final = 6


def header(plan: Plan) -> Element:
    """The title and how far the plan can be trusted."""
    errors = sum(f.severity is Severity.ERROR for f in all_findings(plan))
    told = [verification_text(plan)]
    told += _warned(plan)
    if errors:
        told.append(f"{count(errors, 'ERROR', 'ERRORS')} TO BE SOLVED: see the overview.")
    unchecked = unchecked_counts(plan.job)
    if unchecked:
        told.append(f"{unchecked}: see the overview.")
    good = plan.complete and not errors and not unchecked
    return el(
        "header",
        el("p", "Job pack", class_="kicker"),
        el("h1", plan.job.title),
        el("p", " ".join(told), class_=f"state {'good' if good else 'bad'}"),
        el("p", LEGEND, class_="legend"),
    )


def _warned(plan: Plan) -> list[str]:
    """That a plan which holds has warnings all the same, and how many are of cables too near to each other."""
    found = [f for f in all_findings(plan) if f.severity is Severity.WARNING]
    near = sum(f.code == "separation-not-kept" for f in found)
    if not found:
        return []
    pairs_told = f", {near} of them of cables nearer to each other than asked" if near else ""
    return [
        f"But there {'is' if len(found) == 1 else 'are'} {count(len(found), 'warning')}{pairs_told}: see Findings."
    ]


def _drilling(plan: Plan, drill: Sequence[PlannedHole]) -> tuple[str, str, str]:
    """The tile of the holes to drill, and of those that are drilled by now."""
    still = sum(to_drill(plan, h) for h in drill)
    done = len(drill) - still
    if done and not still:
        return str(done), f"new hole{'' if done == 1 else 's'}, drilled by the record", "holes"
    told = "hole to drill" if still == 1 else "holes to drill"
    return str(still), f"{told}, {done} drilled by the record" if done else told, "holes"


def overview(plan: Plan) -> Element:
    """What will be done, in counts, and what stands in the way of it."""
    drill, used = holes_to_drill(plan), holes_used(plan)
    routed = sum(c.route is not None for c in plan.cables)
    findings = all_findings(plan)
    tiles = [
        (f"{routed} of {len(plan.cables)}", "cables routed", "cables"),
        *_metres_wanted(plan),
        _drilling(plan, drill),
        (
            str(len(used)),
            "holes used that are there" if len(used) != 1 else "hole used that is there",
            "holes-there",
        ),
        *(
            (str(n), f"{severity}{'' if n == 1 else 's'}", f"found-{severity}" if n else "findings")
            for severity in SEVERITIES
            if (n := sum(f.severity is severity for f in findings)) or severity is Severity.ERROR
        ),
    ]
    errors = [f for f in findings if f.severity is Severity.ERROR]
    return el(
        "div",
        _unchecked(plan),
        el("p", el("b", built), " ", el("a", "As built", href="#as-built"))
        if (built := built_text(plan))
        else None,
        el("p", _what_is_done(plan)),
        el("p", mounting) if (mounting := mounting_text(plan.job)) else None,
        el(
            "ul",
            [el("li", el("a", el("b", n), el("span", what), href=f"#{to}")) for n, what, to in tiles],
            class_="tiles",
        ),
        ticks_told(revision_mark(plan)),
        _errors(errors) if errors else None,
        _types_to_choose(plan),
        _ends_to_settle(plan),
        el(
            "div",
            el(
                "div",
                el("h3", "Cable by class"),
                table(
                    ["class", "cables", "needed together [m]"],
                    [[class_mark(str(c)), str(n), metres(m, "up")] for c, n, m in length_by_class(plan)],
                    kind="narrow",
                ),
            ),
            el("div", el("h3", "Kit, space by space"), _kit(plan)),
            class_="columns",
        ),
    )


def _unchecked(plan: Plan) -> Element | None:
    """The entries nobody looked for on the vehicle: the plan holds on paper only."""
    told = unchecked_text(plan.job)
    if not told:
        return None
    which = el("a", "Which they are: Findings", href="#findings")
    return el("div", el("p", el("strong", told), " ", which, "."), class_="errors")


def _metres_wanted(plan: Plan) -> list[tuple[str, str, str]]:
    """What is cut off reels, and what comes as leads: a lead is longer than what is needed of it."""
    cut = [c.cut.length_m for c in plan.cables if c.cut is not None and not c.cable.ready_made]
    leads = [c for c in plan.cables if c.cut is not None and c.cable.ready_made]
    found = []
    if cut:
        found.append(
            (f"{_tenths_up(math.fsum(cut))} m", f"to cut, in {count(len(cut), 'piece')}", "cut-list")
        )
    if leads:
        needed = math.fsum(c.cut.length_m for c in leads if c.cut is not None)
        bought = [m for c in leads if c.lead is not None for m in c.lead.lengths_m]
        told = f"in {count(len(bought), 'ready-made lead')}, for {_tenths_up(needed)} m needed"
        found.append((f"{_tenths_up(math.fsum(bought))} m", told, "order"))
    return found


def _tenths_up(length_m: float) -> str:
    return f"{math.ceil(10 * length_m - 1e-6) / 10:.1f}"


def _ends_to_settle(plan: Plan) -> Element | None:
    """Ends for which the job names no plug or lug: nothing is ordered for them."""
    bare = bare_ends(plan)
    if not bare:
        return None
    named = ", ".join(f"{port} ({cable})" for cable, port in bare)
    said = (
        f"{named}. The job names no plug or lug there: none is on the order list, and the length kept for it is a "
        "usual one, not that of a certain plug. Settle what goes on before you cut."
    )
    return el("div", el("p", el("strong", f"{count(len(bare), 'bare end')}: "), said), class_="errors")


def _what_is_done(plan: Plan) -> str:
    drill, used = holes_to_drill(plan), holes_used(plan)
    return (
        f"{count(len(plan.cables), 'cable')} between {count(len(plan.job.devices), 'device')}, through "
        f"{count(len(used), 'hole')} that {'is' if len(used) == 1 else 'are'} there and "
        f"{count(len(drill), 'new hole')}"
        f"{': ' + ', '.join(h.pass_through.name for h in drill) if drill else ''}."
    )


def _errors(errors: Sequence[Finding]) -> Element:
    more = len(errors) - _MOST_ERRORS
    rest = el("p", el("a", f"{count(more, 'more error')} under Findings", href="#findings"), ".")
    return el(
        "div",
        el("p", el("strong", "This has to be solved first:")),
        el("ul", [el("li", f"{e.where}: {e.message}") for e in errors[:_MOST_ERRORS]]),
        rest if more > 0 else None,
        class_="errors",
    )


def _kit(plan: Plan) -> Element:
    """The devices, space by space: what to look for where."""
    kit = sorted(plan.job.devices, key=lambda d: natural(d.name))
    named = dict.fromkeys([*(s.name for s in plan.job.spaces), *(d.space for d in kit)])
    there = {space: [d for d in kit if d.space == space] for space in named}
    rows = [(space, ", ".join(map(_device, devices)) or "no device") for space, devices in there.items()]
    return pairs([*rows, ("3D model", plan.job.vehicle.mesh)])


def _device(device: Device) -> str:
    told = device.name.endswith(device.kind)  # "VHF antenna (antenna)" tells nothing
    return device.name if told else f"{device.name} ({device.kind})"


def _types_to_choose(plan: Plan) -> Element | None:
    """The cables whose type the job does not name: not ordered or cut before somebody has looked."""
    named: dict[tuple[str, str], list[str]] = {}
    for planned in plan.cables:
        mark = type_mark(plan, planned.cable)
        if mark is not None:
            named.setdefault(mark, []).append(f"{planned.cable.name} ({planned.cable.type.name})")
    told = [
        el("p", el("strong", f"{word}: "), f"{', '.join(n)}: {what}.") for (word, what), n in named.items()
    ]
    return el("div", told, class_="errors") if told else None


def before_work(placed: Sequence[Placed]) -> Element:
    """Every caution of the pack in full: those of the whole job, then what only a hole or a cable calls for."""
    whole = list(at(placed, "job"))
    there = {p.caution.topic for p in whole}
    others = {p.caution.topic: p.caution for p in placed if p.caution.topic not in there}
    whole += [Placed("job", "", caution, "") for caution in others.values()]
    return el("div", caution_list(whole, keyed=True))


def pictures_section(pictures: Mapping[str, bytes]) -> Element:
    """The stills, captioned; those of unknown name under their own name, last."""
    names = [n for n in _CAPTIONS if n in pictures] + sorted(n for n in pictures if n not in _CAPTIONS)
    figures = []
    for name in names:
        caption = _CAPTIONS.get(name, name)
        alt = f"The vehicle with its cables. {caption}."
        figures.append(
            el(
                "figure",
                el("div", el("img", src=data_uri(pictures[name]), alt=alt), class_="shot"),
                el("figcaption", caption),
            )
        )
    return el("div", el("p", _PICTURE_NOTE), el("div", figures, class_="pictures"))
