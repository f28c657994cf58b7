"""The 3D view in the job pack: its controls and the list of cables; the script brings them to life.

Every name of the user's is text here already; the script writes what is left of them by
``textContent`` alone. Where there are no scripts or no WebGL 2 only a line of text is seen.
"""

from __future__ import annotations

from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import anchor, class_mark
from routecut.documents.pick_panel import pick_panel
from routecut.documents.reading import natural, pulling_order
from routecut.documents.view_data import KIND_WORDS
from routecut.model.body import Body
from routecut.model.job import CableClass, SurfaceKind
from routecut.model.plan import Plan, PlannedCable
from routecut.scene.palette import REASON_MARK

_EYES: Final = (
    ("left front", "-1 -1.15 0.75"),
    ("right front", "-1 1.15 0.75"),
    ("right rear", "1 1.15 0.75"),
    ("left rear", "1 -1.15 0.75"),
    ("left", "0 -1 0"),
    ("right", "0 1 0"),
    ("front", "-1 0 0"),
    ("above", "0 0 1"),
)
"""Views and where the eye is, seen from the middle; the script reads the figures."""

_LAYERS: Final = (
    ("names", "names", True),
    ("holes", "holes in use", True),
    ("unused", "holes not used", False),
    ("devices", "devices", True),
    ("joints", "joints of leads", True),
    ("bundles", "bundles", False),
    ("clips", "clips, one for all it holds", False),
    ("spans", "free spans, nothing to clip to", False),
    ("landmarks", "landmarks", False),
    ("tapes", "tapes to holes to drill", False),
    ("spaces", "spaces and their access", False),
)

_HELP: Final = (
    "Drag to turn it, with two fingers or the shift key to move it; pinch, or click it and use the wheel, to come "
    "closer. Up and down a finger moves the page; in the whole screen it turns the vehicle. Keys: arrows, shift and "
    "arrows, + and \N{MINUS SIGN}. Tap a cable, a hole or a device for what is known of it; a hole to drill shows its "
    "tapes and landmarks then. The line pattern shows the class of a cable, its colour that of its insulation where "
    "the type says it. Simplified and not to scale: never drill from it."
)


def view_section(plan: Plan, body: Body, *, stands_in: bool) -> Element:
    """The view with its controls; `view_data.view_json` is its other half.

    `stands_in`: there are no pictures, so the view is what is printed, turned as it is then.
    """
    kinds = {rule.kind for rule in body.rules} | ({SurfaceKind.IGNORE} if len(body.pictured) else set())
    reasons = [r for r in REASON_MARK if any(k.reason is r for k in plan.job.keep_outs)]
    layers: list[Child] = [view_box(words, on, data_layer=key) for key, words, on in _LAYERS]
    layers += [
        view_box(f"body: {words}", True, data_kind=str(number))
        for number, (kind, words) in enumerate(KIND_WORDS.items())
        if kind in kinds
    ]
    layers += [view_box(f"keep-outs: {str(r).replace('-', ' ')}", True, data_reason=str(r)) for r in reasons]
    return el(
        "div",
        el(
            "p",
            "The 3D view needs a browser with scripts and WebGL 2; everything it tells stands in the sections below.",
            class_="not-live",
        ),
        el(
            "div",
            view_stage(),
            el("div", id="view-told", role="status"),
            el("div", view_views(), view_sliders(), class_="turning"),
            _cables(plan),
            el("fieldset", el("legend", "Shown"), layers, class_="layers"),
            pick_panel(),
            el("p", _HELP, class_="help", id="view-help"),
            id="viewer",
            class_="viewer stands-in" if stands_in else "viewer",
        ),
    )


def view_stage() -> Element:
    """The picture: the drawing, the marks, the names."""
    return el(
        "div",
        el(
            "canvas",
            id="view-3d",
            tabindex="0",
            role="application",
            aria_label="The vehicle in 3D",
            aria_describedby="view-help",
        ),
        el("canvas", id="view-marks", aria_hidden="true"),
        el("div", id="view-labels", aria_hidden="true"),
        id="view-stage",
    )


def view_views() -> Element:
    """Buttons to look from all sides, and the whole screen."""
    buttons = [el("button", name, type="button", data_eye=eye) for name, eye in _EYES]
    buttons.append(el("button", "whole screen", id="view-whole", type="button"))
    return el("div", el("span", "From:"), buttons, class_="eyes", role="group", aria_label="Look from")


def view_sliders(*, cover: int = 24) -> Element:
    """How solid the body is, and what is cut away of it."""
    return el(
        "div",
        _slider("view-cover", "body: gone to solid", cover),
        _slider("view-front", "cut away from the front", 0),
        _slider("view-top", "cut away from the top", 0),
        class_="sliders",
    )


def _slider(key: str, words: str, value: int) -> Element:
    bar = el("input", type="range", id=key, min="0", max="100", value=str(value))
    return el("label", el("span", words), bar)


def view_box(words: str, on: bool, **data: str) -> Element:
    """A box to switch something on and off."""
    box = el("input", type="checkbox", **data)
    if on:
        box.set("checked", "checked")
    return el("label", box, " ", words)


def _cables(plan: Plan) -> Element:
    """The cables class by class, each to be shown, lit, or shown alone."""
    numbered = sorted(enumerate(pulling_order(plan)), key=lambda pair: natural(pair[1].cable.name))
    groups = []
    for cable_class in CableClass:
        of_class = [(n, c) for n, c in numbered if c.cable.cable_class is cable_class]
        if of_class:
            box = el("input", type="checkbox", checked="checked", data_class=str(cable_class))
            head = el("label", box, " ", class_mark(str(cable_class)), class_="of-class")
            groups.append(el("div", head, el("ul", [_cable(n, c) for n, c in of_class])))
    buttons = el(
        "p",
        el("button", "show all", type="button", id="view-all"),
        el("button", "show none", type="button", id="view-none"),
    )
    return el("div", buttons, groups, class_="wires", role="group", aria_label="Cables")


def _cable(number: int, planned: PlannedCable) -> Element:
    name = planned.cable.name
    if planned.route is None:
        return el("li", el("span", name), el("small", "no safe route"))
    box = el("input", type="checkbox", checked="checked", data_cable=str(number), aria_label=f"show {name}")
    lit = el("button", name, type="button", data_light=str(number), data_of=anchor("cable", number + 1))
    alone = el("button", "just this", type="button", data_alone=str(number), aria_label=f"just {name}")
    alone.set("aria-pressed", "false")
    return el("li", box, lit, alone)
