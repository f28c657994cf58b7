"""The job pack: one page for phone, desk and paper, offline; its one script keeps the ticks and draws the 3D view."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.built import as_fitted
from routecut.documents.cautions import placed_cautions
from routecut.documents.markup import asset, document, el
from routecut.documents.pack_as_built import as_built_section, recorded
from routecut.documents.pack_back import assumptions, findings, order_list, revision
from routecut.documents.pack_bundles import bundles
from routecut.documents.pack_cables import cable_cards, cut_list
from routecut.documents.pack_find import find_panel
from routecut.documents.pack_front import before_work, header, overview, pictures_section
from routecut.documents.pack_harness import harness_section
from routecut.documents.pack_holes import holes
from routecut.documents.pack_power import power_and_coax
from routecut.documents.pack_service import service
from routecut.documents.pack_sums import sums
from routecut.documents.pack_view import view_section
from routecut.documents.pack_words import LEGEND, pack_words
from routecut.documents.port_words import reword
from routecut.documents.reading import revision_mark
from routecut.documents.view_data import view_json
from routecut.model.body import Body
from routecut.model.later import NOTHING_LATER, Later
from routecut.model.plan import Plan
from routecut.plain import plain

PAGE_SCRIPT: Final = "page.js"

SCRIPTS: Final = (
    "view_space.js",
    "view_draw.js",
    "view_marks.js",
    "view_hands.js",
    "view_picks.js",
    "view.js",
)


def pack_html(
    plan: Plan, *, pictures: Mapping[str, bytes], body: Body | None = None, later: Later = NOTHING_LATER
) -> str:
    """The job pack as one HTML file.

    Parameters
    ----------
    plan : Plan
    pictures : mapping of str to bytes
        PNG pictures by the name of their view (`routecut.preview.stills`); may be empty.
    body : Body or None
        The body the plan was made on; without it there is no 3D view.
    later : Later
        What was worked out for years later: where to test, room in the holes.

    Returns
    -------
    str
        A whole page that asks nothing of a network: same plan and pictures, same text.

    Notes
    -----
    The content-security-policy lets in the one style sheet and the one script by their
    hashes and pictures as data; every name of the user's enters as text.
    """
    fitted, built = as_fitted(plan), recorded(plan)
    placed = placed_cautions(fitted)
    sections: list[tuple[str, str, Element]] = [
        ("overview", "Overview", overview(plan)),
        *(
            [("view", "3D view", view_section(plan, body, stands_in=not pictures))]
            if body is not None
            else []
        ),
        ("before", "Before work", before_work(placed)),
        ("cut-list", "Cut list", cut_list(plan)),
        ("holes", "Holes", holes(plan, placed)),
        ("pictures", "Pictures", pictures_section(pictures)),
        ("cables", "Cable by cable", cable_cards(plan, placed)),
        ("harness", "Harness", harness_section(plan)),
        ("bundles", "Together and apart", bundles(fitted)),
        ("power", "Power and coax", power_and_coax(plan)),
        *([] if built is None else [("as-built", "As built", as_built_section(plan, built))]),
        ("order", "Order list", order_list(plan)),
        ("service", "Service sheet", service(fitted, later)),
        ("sums", "Lengths and checks", sums(plan)),
        ("figures", "Figures used", assumptions(plan)),
        ("findings", "Findings", findings(plan)),
        ("revision", "Revision", revision(plan)),
    ]
    if not pictures:
        sections = [s for s in sections if s[0] != "pictures"]
    menu = el("nav", [el("a", title, href=f"#{key}") for key, title, _ in sections], aria_label="Sections")
    main = el("main", [_section(key, title, content) for key, title, content in sections])
    words = pack_words(plan)
    reword(main, words)
    return document(
        title=f"{plan.job.title} - job pack",
        style=asset("pack.css")
        + asset("print.css")
        + running_heads(plan)
        + (asset("view.css") if body is not None else ""),
        body=[header(plan), el("div", menu, reword(find_panel(plan, later), words), class_="bar"), main],
        script="".join(map(asset, (PAGE_SCRIPT, *(SCRIPTS if body is not None else ())))),
        data={} if body is None else {"view-data": view_json(plan, body)},
    )


def running_heads(plan: Plan) -> str:
    """The head of every sheet: the job and its revision.

    A browser without margin boxes prints no heads. The title goes in as numbers of its characters,
    so that none of them can mean anything to the style sheet.
    """
    title = "".join(f"\\{ord(letter):06x}" for letter in plain(plan.job.title))
    box = "font: 8pt sans-serif; color: #000; vertical-align: bottom; padding-bottom: 3mm;"
    return (
        f'@page {{ @top-left {{ content: "{title}"; {box} }} '
        f'@top-right {{ content: "job pack, revision {revision_mark(plan)}"; {box} }} '
        f'@bottom-left {{ content: "{LEGEND}"; font: 8pt sans-serif; color: #000; }} }}\n'
    )


def _section(key: str, title: str, content: Element) -> Element:
    return el("section", el("h2", title), content, id=key)
