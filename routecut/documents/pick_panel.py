"""The controls for picking points on the body, in the job pack and on the survey page."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from routecut.documents.markup import el
from routecut.scene.tagging import TAG_KINDS


def pick_panel(*, on: bool = False) -> Element:
    """What is picked, the list of picks, and their TOML; brought to life by ``view_picks.js``.

    `on`: picking is what the page is for.
    """
    words = "pick points on the body" if not on else "picking; press to look only"
    return el(
        "div",
        el("button", words, type="button", id="view-pick", aria_pressed="false"),
        el(
            "fieldset",
            el("legend", "What is it?"),
            [_kind(kind.key, kind.words, number == 0) for number, kind in enumerate(TAG_KINDS)],
            class_="kinds",
        ),
        el(
            "p",
            el("span", id="view-pick-told", role="status"),
            el("button", "begin again", type="button", id="view-again", hidden="hidden"),
            class_="pick-status",
        ),
        el(
            "div",
            el(
                "p",
                el("button", "save as picks.toml", type="button", id="view-save"),
                el("button", "copy as text", type="button", id="view-copy"),
            ),
            el("p", "Then put them into the job: routecut add JOB picks.toml", class_="pick-next"),
            el("ol", id="view-picks"),
            el("datalist", id="view-devices"),
            el(
                "textarea",
                id="view-picked",
                readonly="readonly",
                rows="7",
                aria_label="Picks as TOML",
            ),
            id="view-collected",
            hidden="hidden",
        ),
        class_="picking-tools",
    )


def _kind(key: str, words: str, first: bool) -> Element:
    radio = el("input", type="radio", name="view-kind", value=key)
    if first:
        radio.set("checked", "checked")
    return el("label", radio, " ", words)
