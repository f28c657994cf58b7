"""Keep-outs on the service sheet: what of this job lies near the vehicle's own parts, when those are worked on."""

from __future__ import annotations

from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.keep_out_words import kind_text, near_lines, trims_near
from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import anchor, fold, table
from routecut.documents.reading import natural
from routecut.model.plan import Plan

_WHAT_FOR: Final = (
    "When something of the vehicle itself is worked on or changed, these cables of this job are near it: find them, "
    "hold them aside, keep heat, tools and fluids off them, and see that they lie as before. Distances are of the run "
    "as it is laid, to the shape the job gives."
)


def keep_out_anchors(plan: Plan) -> dict[str, str]:
    """The id of the row of each keep-out."""
    names = sorted((k.name for k in plan.job.keep_outs), key=natural)
    return {name: anchor("keep-out", n) for n, name in enumerate(names, start=1)}


def keep_outs_sheet(plan: Plan) -> Element | None:
    """A row for each keep-out; None where the job has none."""
    keys, by_name = keep_out_anchors(plan), {k.name: k for k in plan.job.keep_outs}
    if not keys:
        return None
    rows: list[list[Child]] = [
        [
            el("b", name, id=key),
            kind_text(by_name[name]),
            el("div", [el("div", line) for line in near_lines(plan, name)]),
            ", ".join(trims_near(plan, name)) or "none known",
        ]
        for name, key in keys.items()
    ]
    shown = table(["keep-out", "kind", "cables near it", "trim near it"], rows, kind="service")
    return fold(
        el("h3", "Keep-outs: what lies near them"), el("p", _WHAT_FOR), shown, key="service-keep-outs"
    )
