"""The survey page: the vehicle in 3D, to be pointed at; one file, offline, for phone and desk."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element

from routecut.documents.markup import Child, asset, document, el
from routecut.documents.pack import SCRIPTS
from routecut.documents.pack_view import view_box, view_sliders, view_stage, view_views
from routecut.documents.pick_panel import pick_panel
from routecut.documents.view_data import KIND_WORDS, common_records, facts, page_json, point_record, rounded
from routecut.model.body import Body
from routecut.model.job import Job, PassThrough, SurfaceKind
from routecut.model.rim import Rim
from routecut.plain import plain
from routecut.scene.palette import REASON_MARK

_HELP = (
    "Drag to turn, two fingers or the shift key to move, pinch or the wheel (after a click) to come closer. Cut "
    "away the roof or the front to reach what lies inside. A hole is placed by its rim: the taps say which rim is "
    "meant, the figures come from all its points and the sheet round it. Nothing is sent anywhere, and nothing is "
    "kept once the page is closed: save before."
)

_VIEWER = "viewer survey"
_LAYERS = (
    ("names", "names", True),
    ("rims", "round rims found in the mesh", True),
    ("landmarks", "▽ landmarks", True),
    ("holes", "○ pass-throughs", True),
    ("devices", "■ devices", True),
    ("spaces", "spaces", False),
)


def survey_html(job: Job, body: Body, rims: Sequence[Rim]) -> str:
    """The page as one HTML file that asks nothing of a network; same job and mesh, same text.

    Parameters
    ----------
    job : Job
    body : Body
    rims : sequence of Rim
        Round holes of the mesh (`routecut.survey.find_rims`).
    """
    scene = common_records(job, body) | {
        "cables": [],
        "holes": [_hole(hole) for hole in job.pass_throughs],
        "joints": [],
        "spans": [],
        "bundles": [],
        "tapes": [],
        "clips": [],
        "rims": [
            {
                "at": rounded(rim.at_m, 6),
                "axis": rounded(rim.axis, 6),
                "diameter": round(rim.diameter_m, 6),
                "edges": rim.edges,
                "part": plain(rim.part),
                "within": round(max(2 * rim.sigma_m, 0.0005), 6),
            }
            for rim in rims
        ],
    }
    kinds = {rule.kind for rule in body.rules} | ({SurfaceKind.IGNORE} if len(body.pictured) else set())
    layers: list[Child] = [view_box(words, on, data_layer=key) for key, words, on in _LAYERS]
    layers += [
        view_box(f"body: {words}", True, data_kind=str(number))
        for number, (kind, words) in enumerate(KIND_WORDS.items())
        if kind in kinds
    ]
    reasons = [r for r in REASON_MARK if any(k.reason is r for k in job.keep_outs)]
    layers += [view_box(f"keep-outs: {str(r).replace('-', ' ')}", False, data_reason=str(r)) for r in reasons]
    page: list[Element] = [
        el(
            "header",
            el("h1", job.title),
            el(
                "p",
                "Survey: point at what you know of this vehicle, name it, save it, add it to the job.",
                class_="sub",
            ),
        ),
        el(
            "main",
            el(
                "p",
                "This page needs a browser with scripts and WebGL 2. Without one, write job.toml by hand.",
                class_="not-live",
            ),
            el(
                "div",
                view_stage(),
                pick_panel(on=True),
                el("div", id="view-told", role="status"),
                el("div", view_views(), view_sliders(cover=100), class_="turning"),
                el("fieldset", el("legend", "Shown"), layers, class_="layers"),
                el("p", _HELP, class_="help", id="view-help"),
                id="viewer",
                class_=_VIEWER,
            ),
        ),
    ]
    return document(
        title=f"{job.title} - survey",
        style=asset("pack.css") + asset("view.css"),
        body=page,
        script="".join(map(asset, SCRIPTS)),
        data={"view-data": page_json(scene)},
    )


def is_survey_page(raw: bytes) -> bool:
    """Whether a file is a page that `survey_html` made, of this job or another: it may be replaced."""
    return raw.startswith(b"<!doctype html>") and f'class="{_VIEWER}"'.encode() in raw


def _hole(hole: PassThrough) -> dict[str, object]:
    told = facts(("pass-through", str(hole.state)), ("joins", " and ".join(hole.joins)))
    return point_record(
        hole.name,
        hole.position.at_m,
        told,
        axis=rounded(hole.axis),
        radius=round(hole.diameter_m / 2.0, 4),
        drill=False,
        used=True,
        card="",
    )
