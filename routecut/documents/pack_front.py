"""The front of the job pack: what will be done, what to mind, and the pictures."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.cautions import Placed, at
from routecut.documents.figures import count, metres
from routecut.documents.markup import data_uri, el
from routecut.documents.pack_parts import caution_list, class_mark, pairs, table
from routecut.documents.reading import (
    SEVERITIES,
    all_findings,
    holes_to_drill,
    holes_used,
    length_by_class,
    natural,
    type_mark,
    verification_text,
)
from routecut.model.finding import Finding, Severity
from routecut.model.job import Device
from routecut.model.plan import Plan

_CAPTIONS: Final[dict[str, str]] = {
    "left-front.png": "From the left front, above",
    "right-rear.png": "From the right rear, above",
    "above.png": "From above; the front is on the left",
    "left.png": "From the left",
    "close-up.png": "Where most cables meet, closer",
}

_PICTURE_NOTE: Final = (
    "Simplified body, seen through. Every cable carries its name; colour and line pattern show its class. "
    "Rings are pass-throughs, a cross in the ring is a hole to drill. Tinted shapes are keep-outs, each with "
    "the letter of its reason. "
    "Not to scale: never drill from a picture."
)


_MOST_ERRORS: Final = 6


def header(plan: Plan) -> Element:
    """The title and how far the plan can be trusted."""
    errors = sum(f.severity is Severity.ERROR for f in all_findings(plan))
    told = [verification_text(plan)]
    if errors:
        told.append(f"{count(errors, 'ERROR', 'ERRORS')} TO BE SOLVED: see the overview.")
    return el(
        "header",
        el("p", "Job pack", class_="kicker"),
        el("h1", plan.job.title),
        el("p", " ".join(told), class_=f"state {'good' if plan.complete and not errors else 'bad'}"),
    )


def overview(plan: Plan) -> Element:
    """What will be done, in counts, and what stands in the way of it."""
    drill, used = holes_to_drill(plan), holes_used(plan)
    cut = math.fsum(c.cut.length_m for c in plan.cables if c.cut is not None)
    routed = sum(c.route is not None for c in plan.cables)
    findings = all_findings(plan)
    tiles = [
        (f"{routed} of {len(plan.cables)}", "cables routed"),
        (f"{math.ceil(10 * cut - 1e-6) / 10:.1f} m", "to cut or to order, in all"),
        (str(len(drill)), "holes to drill" if len(drill) != 1 else "hole to drill"),
        (str(len(used)), "holes used that are there" if len(used) != 1 else "hole used that is there"),
        *(
            (str(n), f"{severity}{'' if n == 1 else 's'}")
            for severity in SEVERITIES
            if (n := sum(f.severity is severity for f in findings)) or severity is Severity.ERROR
        ),
    ]
    errors = [f for f in findings if f.severity is Severity.ERROR]
    return el(
        "div",
        el("p", _what_is_done(plan)),
        el("ul", [el("li", el("b", n), el("span", what)) for n, what in tiles], class_="tiles"),
        _errors(errors) if errors else None,
        _types_to_choose(plan),
        el(
            "div",
            el(
                "div",
                el("h3", "Cable by class"),
                table(
                    ["class", "cables", "cut lengths together [m]"],
                    [[class_mark(str(c)), str(n), metres(m, "up")] for c, n, m in length_by_class(plan)],
                    kind="narrow",
                ),
            ),
            el("div", el("h3", "Kit, space by space"), _kit(plan)),
            class_="columns",
        ),
    )


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
    return pairs([*rows, ("mesh", plan.job.vehicle.mesh)])


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
    """The cautions of the whole job, in full."""
    return el("div", caution_list(at(placed, "job")))


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
    swipe = el("p", "Swipe a picture sideways to see the rest of it.", class_="swipe")
    return el("div", el("p", _PICTURE_NOTE), swipe, el("div", figures, class_="pictures"))
