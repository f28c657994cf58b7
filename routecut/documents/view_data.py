"""What the 3D view of the job pack is told: shapes in metres, and every text ready to print.

Stage      documents; shapes from `routecut.scene`, lengths written by `figures`
Units      m, ISO 4130 axes; texts in the unit of the job
Safe side  a face that lies off the mesh says how far, so that a point picked on it can say so too
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from routecut.documents.built import as_fitted, deviation_text, fitted_order, moved_text
from routecut.documents.figures import Lengths, millimetres
from routecut.documents.pack_parts import anchor
from routecut.documents.pack_words import pack_words
from routecut.documents.part_words import spoken
from routecut.documents.picks import tagging_record
from routecut.documents.pull_words import clips_of
from routecut.documents.reading import hole_numbers, natural, state_text
from routecut.documents.run_words import free_spans
from routecut.model.body import Body, Floats
from routecut.model.drilled import was_drilled
from routecut.model.job import Device, Job, SurfaceKind, Vec3
from routecut.model.plan import Plan, PlannedCable, PlannedHole, Route
from routecut.plain import plain
from routecut.scene import keep_out_triangles, reduced, thinned
from routecut.scene.palette import CLASS_DASHES, REASON_MARK, REASON_TINT, cable_colour
from routecut.units import DECIMALS, METRES_PER_UNIT

_CURVE_OFF_M: Final = 0.0007
_LEVELS: Final = 65_535
_MOST_OFF_MM: Final = 255

KIND_WORDS: Final[dict[SurfaceKind, str]] = {
    SurfaceKind.PANEL: "panel",
    SurfaceKind.TRIM: "trim",
    SurfaceKind.OBSTACLE: "other part",
    SurfaceKind.IGNORE: "left out by the job",
}
"""Every kind of surface and what the page calls it, in the order of the layers."""

_DRAWN: Final = frozenset(["body", "run", "points", "faces", "tagging"])
"""Fields of the scene that hold no words to be read, or names that go back into the job as they are."""

Record = dict[str, Any]


def view_json(plan: Plan, body: Body) -> str:
    """The scene as JSON for a script element: no ``<``, ``>`` or ``&`` in it.

    Parameters
    ----------
    plan : Plan
    body : Body
        The body the plan was made on.
    """
    fitted = as_fitted(plan)
    scene = {
        **common_records(fitted.job, body),
        "cables": _cables(plan),
        "holes": [_hole(plan, hole) for hole in fitted.holes],
        "joints": list(_joints(plan)),
        "spans": list(_spans(plan)),
        "clips": list(_clips(fitted)),
        "bundles": list(_bundles(fitted)),
        "tapes": list(_tapes(plan)),
    }
    return page_json(_worded(scene, pack_words(plan)))


def page_json(scene: Record) -> str:
    """JSON that can stand in a script element: no ``<``, ``>`` or ``&`` in it."""
    written = json.dumps(scene, ensure_ascii=True, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return written.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _worded(value: Any, words: Callable[[str], str]) -> Any:
    """Every port within the texts of the scene in the words of the workshop; what is drawn stays as it is."""
    if isinstance(value, dict):
        return {key: one if key in _DRAWN else _worded(one, words) for key, one in value.items()}
    if isinstance(value, list):
        return [_worded(one, words) for one in value]
    return words(value) if isinstance(value, str) else value


def common_records(job: Job, body: Body) -> Record:
    """What is shown of a vehicle and its job, planned or not."""
    return {
        "unit": _unit(job),
        "title": plain(job.title),
        "tagging": tagging_record(job, body.digest),
        "body": _body(body),
        "devices": [_device(job, device) for device in job.devices],
        "landmarks": [
            point_record(m.name, m.position.at_m, facts(("is", "a landmark"))) for m in job.landmarks
        ],
        "keepOuts": list(_keep_outs(job, body)),
        "spaces": _spaces(job),
    }


def _unit(job: Job) -> Record:
    unit = job.length_unit
    return {"name": unit, "inM": float(METRES_PER_UNIT[unit]), "decimals": DECIMALS[unit]}


def _body(body: Body) -> Record:
    """Faces and edges, kind by kind; `faceEnds` and `edgeEnds` say where each kind ends."""
    few = reduced(body)
    kinds = list(KIND_WORDS)
    of_part = np.array([kinds.index(kind) for kind in few.kinds], dtype=np.int64)
    vertex_part = np.zeros(len(few.vertices_m), dtype=np.int64)
    vertex_part[few.faces.ravel()] = np.repeat(few.face_part, 3)
    face_kind, edge_kind = of_part[few.face_part], of_part[vertex_part[few.edges[:, 0]]]
    order, edge_order = np.argsort(face_kind, kind="stable"), np.argsort(edge_kind, kind="stable")
    low = few.vertices_m.min(axis=0) if len(few.vertices_m) else np.zeros(3)
    step = (float(np.ptp(few.vertices_m, axis=0).max()) if len(few.vertices_m) else 0.0) / _LEVELS or 1.0
    off_mm = np.minimum(np.ceil(few.off_m[order] * 1000.0), _MOST_OFF_MM)
    index = np.dtype("<u2" if len(few.vertices_m) <= _LEVELS else "<u4")
    removal = [rule.removal_minutes for rule in body.rules] + [0.0]
    return {
        "low": rounded(low, 6),
        "step": step,
        "wide": index.itemsize == 4,
        "points": _packed(np.round((few.vertices_m - low) / step), np.dtype("<u2")),
        "faces": _packed(few.faces[order], index),
        "facePart": _packed(few.face_part[order], np.dtype("<u2")),
        "off": _packed(off_mm, np.dtype("u1")),
        "edges": _packed(few.edges[edge_order], index),
        "faceEnds": np.searchsorted(face_kind[order], range(len(kinds)), side="right").tolist(),
        "edgeEnds": np.searchsorted(edge_kind[edge_order], range(len(kinds)), side="right").tolist(),
        "parts": [
            [plain(name) or "ignored part", _part_text(kind, minutes), plain(spoken(name)) or "ignored part"]
            for name, kind, minutes in zip(few.parts, few.kinds, removal, strict=True)
        ],
    }


def _part_text(kind: SurfaceKind, minutes: float) -> str:
    return f"{KIND_WORDS[kind]}, {minutes:g} min to take off" if minutes > 0.0 else KIND_WORDS[kind]


def _packed(values: npt.NDArray[Any], kind: np.dtype[Any]) -> str:
    return base64.b64encode(np.ascontiguousarray(values, dtype=kind).tobytes()).decode("ascii")


def rounded(values: Sequence[float] | Floats, digits: int = 4) -> list[float]:
    """Numbers for the page, short."""
    return [round(float(v), digits) + 0.0 for v in values]


def _run(points: Floats) -> list[float]:
    return [round(float(v), 4) + 0.0 for v in thinned(points, _CURVE_OFF_M).ravel()]


def _cables(plan: Plan) -> list[Record]:
    """In the order of pulling: the number of a cable here is that of its card less one."""
    holes = {hole.pass_through.name: number for number, hole in enumerate(plan.holes)}
    return [
        {
            "name": plain(c.cable.name),
            "of": str(c.cable.cable_class),
            "colour": cable_colour(c.cable.cable_class, c.cable.type),
            "dash": CLASS_DASHES[c.cable.cable_class],
            "facts": _cable_facts(plan, c),
            "holes": [holes[p.name] for p in c.route.passages if p.name in holes] if c.route else [],
            "run": _run(c.route.points_m) if c.route else [],
            "card": anchor("cable", number),
        }
        for number, c in enumerate(fitted_order(plan), start=1)
    ]


def _cable_facts(plan: Plan, planned: PlannedCable) -> list[list[str]]:
    cable, route = planned.cable, planned.route
    lengths = Lengths(plan.job.length_unit)
    through = " \N{RIGHTWARDS ARROW} ".join(p.name for p in route.passages) if route is not None else ""
    return facts(
        ("class", f"{cable.cable_class}, {cable.type.name}"),
        ("from", cable.from_port),
        ("to", cable.to_port),
        ("AS BUILT", deviation_text(plan, cable.name)),
        ("run", lengths.text(route.length_m) if route is not None else "NO SAFE ROUTE"),
        ("order" if cable.ready_made else "cut", _cut_text(lengths, planned)),
        ("through", through or ("no hole" if route is not None else "")),
    )


def _cut_text(lengths: Lengths, planned: PlannedCable) -> str:
    if planned.route is None or planned.cut is None:
        return ""
    if planned.cable.ready_made:
        lead = planned.lead.lengths_m if planned.lead is not None else ()
        text = " + ".join(lengths.up(m) for m in lead) or "NO LEAD REACHES"
    else:
        text = lengths.up(planned.cut.length_m)
    sure = planned.verified is not None and planned.verified.ok
    return text if sure else f"{text} - NOT VERIFIED"


def facts(*entries: tuple[str, str]) -> list[list[str]]:
    """What there is to tell, by terms; what is empty is left out."""
    return [[term, plain(text)] for term, text in entries if text]


def point_record(name: str, at_m: Vec3, told: list[list[str]], **more: Any) -> Record:
    """Something at a place: its name, where it is, what a tap on it tells."""
    return {"name": plain(name), "at": rounded(at_m), "facts": told, **more}


def _hole(plan: Plan, hole: PlannedHole) -> Record:
    through, number = hole.pass_through, hole_numbers(plan).get(hole.pass_through.name)
    told = facts(
        ("hole", f"{millimetres(through.diameter_m)}, {state_text(plan, hole)}"),
        ("between", " and ".join(through.joins)),
        ("cables", ", ".join(hole.cables) or "none"),
        ("refused", hole.refused or ""),
        ("AS BUILT", moved_text(plan, through.name, "pass-through")),
    )
    return point_record(
        through.name,
        hole.at_m,
        told,
        axis=rounded(hole.axis),
        radius=round(through.diameter_m / 2.0, 4),
        drill=hole.drill,
        label=plain(_to_do(plan, hole) + through.name),
        used=bool(hole.cables),
        card="" if number is None else anchor("hole", number),
    )


def _to_do(plan: Plan, hole: PlannedHole) -> str:
    if not hole.drill:
        return ""
    return "drilled: " if was_drilled(plan, hole) else "drill: "


def _device(job: Job, device: Device) -> Record:
    ports = {p.full_name for p in device.ports}
    here = [c.name for c in job.cables if c.from_port in ports or c.to_port in ports]
    told = facts(
        ("device", device.kind),
        ("in", device.space),
        ("cables", ", ".join(sorted(here, key=natural)) or "none"),
    )
    return point_record(device.name, device.position.at_m, told)


def _keep_outs(job: Job, body: Body) -> Iterator[Record]:
    lengths = Lengths(job.length_unit)
    for keep_out in job.keep_outs:
        triangles = keep_out_triangles(keep_out, body)
        if not len(triangles):
            continue
        corners, number = np.unique(triangles.reshape(-1, 3).round(4), axis=0, return_inverse=True)
        told = facts(
            ("keep out", str(keep_out.reason)),
            ("stay away", lengths.text(keep_out.clearance_m) if keep_out.clearance_m > 0.0 else ""),
            ("for", "" if "*" in keep_out.applies_to else ", ".join(keep_out.applies_to)),
        )
        middle = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
        yield {
            "name": plain(keep_out.name),
            "reason": str(keep_out.reason),
            "mark": REASON_MARK[keep_out.reason],
            "tint": REASON_TINT[keep_out.reason],
            "at": rounded(middle),
            "points": rounded(corners.ravel()),
            "faces": number.ravel().tolist(),
            "facts": told,
        }


def _spaces(job: Job) -> list[Record]:
    return [
        point_record(
            space.name,
            space.seed_m,
            facts(("space", space.name), ("access", str(space.access)), ("it is", ", ".join(space.exposure))),
            access=str(space.access),
            boxes=[[*rounded(box.low_m), *rounded(box.high_m)] for box in space.boxes],
        )
        for space in job.spaces
    ]


def _routed(plan: Plan) -> Iterator[tuple[int, PlannedCable, Route]]:
    """The cables that have a route, with their numbers in `_cables`."""
    for number, planned in enumerate(fitted_order(plan)):
        if planned.route is not None:
            yield number, planned, planned.route


def _joints(plan: Plan) -> Iterator[Record]:
    lengths = Lengths(plan.job.length_unit)
    for number, planned, route in _routed(plan):
        for joint in planned.lead.joints if planned.lead is not None else ():
            told = facts(
                ("joint of", planned.cable.name),
                ("at", f"{lengths.text(joint.at_route_m)} from {planned.cable.from_port}"),
                ("in", f"{joint.space} (access: {joint.access})"),
                ("behind", joint.behind),
            )
            x, y, z = _stretch(route.points_m, joint.at_route_m, joint.at_route_m)[0].tolist()
            yield point_record(f"joint in {planned.cable.name}", (x, y, z), told, cable=number)


def _spans(plan: Plan) -> Iterator[Record]:
    """The stretches with nothing to clip to."""
    lengths = Lengths(plan.job.length_unit)
    for number, _, route in _routed(plan):
        for start, end in free_spans(route):
            text = f"free span {lengths.text(end - start)}"
            yield {"cable": number, "run": _run(_stretch(route.points_m, start, end)), "text": text}


def _clips(plan: Plan) -> Iterator[Record]:
    """Every clip once, at the cable that runs furthest; what lies under it is told."""
    lengths = Lengths(plan.job.length_unit)
    routed = {planned.cable.name: (number, planned, route) for number, planned, route in _routed(plan)}
    for clip in clips_of(plan):
        first, at_m = clip.held[0]
        route = routed[first][2]
        x, y, z = _stretch(route.points_m, at_m, at_m)[0].tolist()
        under = sorted(clip.held, key=lambda one: natural(one[0]))
        told = facts(
            *((name, f"{lengths.text(at)} from {routed[name][1].cable.from_port}") for name, at in under)
        )
        names = ", ".join(name for name, _ in under)
        yield point_record(f"clip of {names}", (x, y, z), told, cables=[routed[name][0] for name, _ in under])


def _bundles(plan: Plan) -> Iterator[Record]:
    """Where cables are tied together, along the first of them."""
    lengths = Lengths(plan.job.length_unit)
    routed = {planned.cable.name: (number, route) for number, planned, route in _routed(plan)}
    for bundle in plan.bundles:
        if any(m.cable not in routed for m in bundle.members):
            continue
        lead = bundle.members[0]
        start, end = sorted((lead.from_m, lead.to_m))
        told = facts(
            ("cables", ", ".join(m.cable for m in bundle.members)),
            ("length", lengths.text(bundle.length_m)),
            ("diameter", millimetres(bundle.diameter_m)),
            ("bend", f"radius {lengths.up(bundle.bend_radius_m)} or more"),
        )
        yield {
            "name": plain(bundle.name),
            "cables": [routed[m.cable][0] for m in bundle.members],
            "run": _run(_stretch(routed[lead.cable][1].points_m, start, end)),
            "facts": told,
        }


def _tapes(plan: Plan) -> Iterator[Record]:
    """The tapes that find a hole to drill, from landmark to hole, and the one to check by."""
    lengths = Lengths(plan.job.length_unit)
    holes = {hole.pass_through.name: number for number, hole in enumerate(plan.holes)}
    marks = {mark.name: number for number, mark in enumerate(plan.job.landmarks)}
    for card in plan.drilling:
        if card.fix is None or card.name not in holes:
            continue
        check = [] if card.fix.check is None else [(card.fix.check, True)]
        for taped, checks in [*((t, False) for t in card.fix.tapes), *check]:
            if taped.landmark not in marks:
                continue
            start = plan.job.landmarks[marks[taped.landmark]].position.at_m
            told = lengths.both(taped.distance_m)
            yield {
                "name": f"check {told}" if checks else told,
                "hole": holes[card.name],
                "landmark": marks[taped.landmark],
                "check": checks,
                "run": [*rounded(start), *rounded(card.at_m)],
                "facts": facts(
                    ("check" if checks else "tape", told),
                    ("from", taped.landmark),
                    ("to", f"{card.name}, in {card.fix.from_space}"),
                ),
            }


def _stretch(points_m: Floats, start_m: float, end_m: float) -> Floats:
    """The curve between two running lengths."""
    running = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(points_m, axis=0), axis=1))]
    at = np.r_[start_m, running[(running > start_m) & (running < end_m)], end_m]
    found: Floats = np.stack([np.interp(at, running, points_m[:, k]) for k in range(3)], axis=1)
    return found
