"""The judge: every rule applied to one finished curve on the full mesh."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from routecut.model.body import Body, Floats
from routecut.model.finding import Finding, Severity
from routecut.model.job import ANY, Cable, Job, KeepOut, SurfaceKind
from routecut.model.plan import Route, Verification
from routecut.verify.bends import bend_radii_m
from routecut.verify.curve import Curve, make_curve, stretches, usable
from routecut.verify.faces import FaceIndex, Near
from routecut.verify.limits import (
    BEND_PART,
    CLEARANCE_SLACK_M,
    END_CLEAR_M,
    END_M,
    LENGTH_M,
    SPACE_SLACK_M,
    mm,
)
from routecut.verify.passages import Tube, fill_faults, order_faults, passage_faults, tubes_of
from routecut.verify.report import Report
from routecut.verify.shapes import ConvexShape, PartsShape, make_shape
from routecut.verify.sheets import contacts, crossings
from routecut.verify.sight import Sight, explain
from routecut.verify.spaces import strayed, walk
from routecut.verify.spans import exact_ends, free_stretches, lift_m, span_limit_m, support_reach_m
from routecut.verify.verdicts import Verdicts


class Scene:
    """The full mesh and the keep-outs of a job, made ready once for all its routes."""

    def __init__(self, job: Job, body: Body) -> None:
        self.job, self.body = job, body
        self.faces = FaceIndex(body.triangles_m, body.faces_of_kind(SurfaceKind.PANEL))
        self.sight = Sight(job.spaces, self.faces)
        self.keep_outs: list[tuple[KeepOut, ConvexShape | PartsShape]] = [
            (keep_out, make_shape(keep_out, body)) for keep_out in job.keep_outs
        ]


def verify_route(*, job: Job, body: Body, cable: Cable, route: Route) -> Verification:
    """Judge one finished route on the full mesh.

    Parameters
    ----------
    job : Job
        Pass-throughs seated, positions snapped: as the routes were made for.
    body : Body
    cable : Cable
    route : Route

    Returns
    -------
    Verification
        With one finding of severity error for each violation.
    """
    verified = _judge(Scene(job, body), cable, route)
    return _with_fill(verified, job, [(cable, route)], cable)


def verify_plan(
    *, job: Job, body: Body, routed: Sequence[tuple[Cable, Route]], verdicts: Verdicts | None = None
) -> dict[str, Verification]:
    """Judge all routes of a plan, and what they fill the pass-throughs with together.

    Parameters
    ----------
    job : Job
    body : Body
    routed : sequence of (Cable, Route)
    verdicts : Verdicts, optional
        Of plans before.

    Returns
    -------
    dict of str to Verification
        By cable name, in the order of the names.
    """
    in_order = sorted(routed, key=lambda pair: pair[0].name)
    known = verdicts or Verdicts()
    scene: Scene | None = None
    judged = {}
    for cable, route in in_order:
        verified = known.on(job, body, cable, route)
        if verified is None:
            scene = scene or Scene(job, body)
            verified = _judge(scene, cable, route)
            known.keep(job, body, cable, route, verified)
        judged[cable.name] = _with_fill(verified, job, routed, cable)
    return judged


def _with_fill(
    verified: Verification, job: Job, routed: Sequence[tuple[Cable, Route]], cable: Cable
) -> Verification:
    extra = tuple(
        Finding(
            code="verify-fill",
            severity=Severity.ERROR,
            where=f"cable {cable.name} at {hole}",
            message=message,
            table="cable",
            key=cable.name,
        )
        for hole, cables, message in fill_faults(job.pass_throughs, routed)
        if cable.name in cables
    )
    findings = verified.findings + extra
    return replace(verified, ok=not findings, findings=findings)


def _judge(scene: Scene, cable: Cable, route: Route) -> Verification:
    if not usable(route.points_m):
        finding = Finding(
            code="verify-ends",
            severity=Severity.ERROR,
            where=f"cable {cable.name}",
            message="the curve can't be judged: too few different points, or one that is not finite",
        )
        return Verification(
            ok=False,
            crossings=0,
            least_clearance_m={},
            least_sheet_m=0.0,
            longest_span_m=0.0,
            least_bend_radius_m=0.0,
            length_m=0.0,
            findings=(finding,),
        )
    curve = make_curve(route.points_m)
    report = Report(cable=cable, body=scene.body, faces=scene.faces, curve=curve)
    each_tube, tubes = tubes_of(scene.job.pass_throughs, cable, route)
    near = scene.faces.within(curve.points_m, support_reach_m(scene.job.routing, cable))

    _judge_ends(scene.job, report, curve)
    crossed, least_sheet = _judge_sheets(scene, report, curve, tubes, near)
    clearances = _judge_keep_outs(scene, report, curve)
    free = _judge_spans(scene, report, curve, tubes, near)
    radius = _judge_bends(report, curve)
    runs = _judge_passages(report, curve, route, each_tube)
    _judge_spaces(scene, report, route, tubes, runs)
    _judge_length(report, curve, route)
    return Verification(
        ok=not report.findings,
        crossings=crossed,
        least_clearance_m={name: far for name, (far, _) in clearances.items()},
        least_clearance_at_m={name: at for name, (_, at) in clearances.items()},
        least_sheet_m=least_sheet,
        longest_span_m=max((b - a for a, b in free), default=0.0),
        free_spans_m=tuple(free),
        least_bend_radius_m=radius,
        length_m=curve.length_m,
        findings=tuple(report.findings),
    )


def _judge_ends(job: Job, report: Report, curve: Curve) -> None:
    cable = report.cable
    for name, point, run, verb in (
        (cable.from_port, curve.vertices_m[0], 0.0, "begins"),
        (cable.to_port, curve.vertices_m[-1], curve.length_m, "ends"),
    ):
        gap = math.dist(point, job.port(name).position.at_m)
        if gap > END_M:
            report.add(
                "verify-ends",
                run,
                f"the route {verb} {mm(gap, 'up')} from {name}",
                found=mm(gap, "up"),
                allowed=mm(END_M),
            )


def _judge_sheets(
    scene: Scene, report: Report, curve: Curve, tubes: Sequence[Tube], near: Near
) -> tuple[int, float]:
    """Crossings, and the least distance of the middle to a sheet, passages and ends aside."""
    cable, routing = report.cable, scene.job.routing
    allowed = 0.5 * cable.type.diameter_m - CLEARANCE_SLACK_M
    crossing, close = contacts(curve, scene.faces, max(allowed, 0.0))
    met = crossings(curve, scene.faces, crossing, tubes)

    def say_crossing(k: int) -> None:
        faces = met[k].face
        names = sorted({scene.body.parts[p] for p in scene.body.face_part[faces]})
        report.add(
            "verify-crossing",
            float(met[k].run_m[0]),
            f"meets {', '.join(names)} where no passage is declared",
        )

    report.add_some("verify-crossing", range(len(met)), say_crossing)

    ends = max(2.0 * routing.stand_off_m, END_CLEAR_M)
    lift = lift_m(routing, cable)

    def asked(run: Floats) -> np.ndarray:
        """Where clearance to sheets is asked for."""
        points = curve.at(run)
        result = (run > ends) & (run < curve.length_m - ends)
        for tube in tubes:
            result &= ~tube.mouth(points, lift)
        return np.asarray(result)

    run = np.concatenate([curve.run_m, close.run_m, crossing.run_m])
    distance = np.concatenate([near.any_m, close.distance_m, crossing.distance_m])
    wanted = asked(run)
    run, distance = run[wanted], distance[wanted]
    order = np.argsort(run, kind="stable")
    run, distance = run[order], distance[order]
    _say_close(
        report,
        run,
        distance,
        allowed,
        "the middle of the cable is {found} from a sheet; {allowed} is its radius",
    )
    least = float(distance.min()) if len(distance) else math.inf
    if not math.isfinite(least):
        far = curve.points_m[asked(curve.run_m)]
        least = float(scene.faces.nearest(far).any_m.min()) if len(far) else math.inf
    return len(met), least


def _say_close(report: Report, run: Floats, distance: Floats, allowed: float, text: str) -> None:
    """One finding for each stretch where `distance` is below `allowed`."""

    def say(stretch: tuple[int, int]) -> None:
        first, last = stretch
        worst = first + int(np.argmin(distance[first : last + 1]))
        gap = float(distance[worst])
        found = mm(gap, "down") if gap >= 0.0 else f"an overlap of {mm(-gap, 'up')}"
        message = text.format(found=found, allowed=mm(allowed, "up"))
        if run[last] > run[first]:
            message += f" (too near from {run[first]:.2f} m to {run[last]:.2f} m)"
        report.add("verify-clearance", float(run[worst]), message, found=found, allowed=mm(allowed, "up"))

    report.add_some("verify-clearance", stretches(distance < allowed), say)


def _judge_keep_outs(scene: Scene, report: Report, curve: Curve) -> dict[str, tuple[float, float]]:
    cable = report.cable
    least: dict[str, tuple[float, float]] = {}
    for keep_out, shape in scene.keep_outs:
        if ANY not in keep_out.applies_to and cable.cable_class.value not in keep_out.applies_to:
            continue
        distance, run = shape.along(curve, keep_out.clearance_m + 0.5 * cable.type.diameter_m)
        surface = distance - 0.5 * cable.type.diameter_m
        least[keep_out.name] = min(zip(surface.tolist(), run.tolist(), strict=True))
        name = f"keep-out {keep_out.name} ({keep_out.reason})"
        asked = mm(keep_out.clearance_m)
        inside = np.flatnonzero(distance <= 0.0)
        if len(inside):
            first, last = float(run[inside[0]]), float(run[inside[-1]])
            message = f"enters {name} between {first:.2f} m and {last:.2f} m"
            report.add("verify-clearance", first, message, found="inside", allowed=asked)
            continue
        text = f"{{found}} between the cable and {name}; {asked} is asked for"
        _say_close(report, run, surface, keep_out.clearance_m - CLEARANCE_SLACK_M, text)
    return least


def _judge_spans(
    scene: Scene, report: Report, curve: Curve, tubes: Sequence[Tube], near: Near
) -> list[tuple[float, float]]:
    limit = span_limit_m(scene.job.routing, report.cable)
    reach = support_reach_m(scene.job.routing, report.cable)

    def held(points_m: Floats, near: Near) -> npt.NDArray[np.bool_]:
        found = np.isfinite(near.chosen_m)
        for tube in tubes:
            found |= tube.inside(points_m)
        return found

    def held_at(run_m: Floats) -> npt.NDArray[np.bool_]:
        points_m = curve.at(run_m)
        return held(points_m, scene.faces.within(points_m, reach))

    free = free_stretches(curve.run_m, held(curve.points_m, near))
    free = [exact_ends(f, held_at) if f[1] - f[0] > limit else f for f in free]
    long = [(a, b) for a, b in free if b - a > limit + 1e-9]

    def say_long(stretch: tuple[float, float]) -> None:
        a, b = stretch
        report.add(
            "verify-span",
            a,
            f"hangs free for {mm(b - a, 'up')}, from {a:.2f} m to {b:.2f} m; {mm(limit)} is allowed",
            found=mm(b - a, "up"),
            allowed=mm(limit),
        )

    report.add_some("verify-span", long, say_long)
    lost = np.flatnonzero(~np.isfinite(near.any_m))
    if len(lost):
        distance = scene.faces.nearest(curve.points_m[lost]).any_m
        worst = int(np.argmax(distance))
        if distance[worst] > limit:
            found = mm(float(distance[worst]), "up") if math.isfinite(distance[worst]) else "no mesh at all"
            report.add(
                "verify-span",
                float(curve.run_m[lost[worst]]),
                f"the nearest surface is {found} away; nothing within {mm(limit)} to clip to",
                found=found,
                allowed=mm(limit),
            )
    return free


def _judge_bends(report: Report, curve: Curve) -> float:
    asked = report.cable.type.min_bend_radius_m
    radius, run = bend_radii_m(curve, asked)

    def say(stretch: tuple[int, int]) -> None:
        worst = stretch[0] + int(np.argmin(radius[stretch[0] : stretch[1] + 1]))
        found = mm(float(radius[worst]), "down")
        report.add(
            "verify-bend",
            float(run[worst]),
            f"bent to a radius of {found}; {report.cable.type.name} allows {mm(asked)}",
            found=found,
            allowed=mm(asked),
        )

    report.add_some("verify-bend", stretches(radius < BEND_PART * asked), say)
    return float(radius.min()) if len(radius) else math.inf


def _judge_passages(report: Report, curve: Curve, route: Route, tubes: Sequence[Tube | None]) -> list[float]:
    runs, faults = passage_faults(tubes, report.cable, route, curve)
    report.add_some("verify-space", faults, lambda fault: report.add("verify-space", fault[0], fault[1]))
    for message in order_faults(report.cable, route):
        report.add("verify-space", None, message)
    return runs


def _judge_spaces(
    scene: Scene, report: Report, route: Route, tubes: Sequence[Tube], passage_runs: list[float]
) -> None:
    job = scene.job
    if not job.spaces:
        return
    curve = report.curve
    allowed, faults = walk(job, report.cable, route)
    for message in faults:
        report.add("verify-space", None, message)
    in_passage = np.zeros(len(curve.run_m), dtype=bool)
    for tube in tubes:
        in_passage |= tube.inside(curve.points_m)
    of_run = np.searchsorted(np.sort(np.asarray(passage_runs, dtype=np.float64)), curve.run_m, side="right")
    out = np.zeros(len(curve.run_m), dtype=bool)
    for number, names in enumerate(allowed):
        here = of_run == number
        out[here] = strayed(curve.points_m[here], job.spaces, names)

    def say(stretch: tuple[int, int]) -> None:
        first, last = (float(curve.run_m[k]) for k in stretch)
        names = ", ".join(sorted(allowed[int(of_run[stretch[0]])]))
        report.add(
            "verify-space",
            first,
            f"leaves {names} by more than {mm(SPACE_SLACK_M)}{_stretch(first, last)}; if it lies right there, the box "
            "of that [[space]] stops short of the panel it is on: move that side",
        )

    report.add_some("verify-space", stretches(out & ~in_passage), say)
    for number, names in enumerate(allowed):
        here = np.flatnonzero((of_run == number) & ~out & ~in_passage)
        for first, last, seen in scene.sight.strayed(curve, here, names):
            report.add("verify-space", first, explain(names, seen, first, last))


def _stretch(first_m: float, last_m: float) -> str:
    """From where to where, where that is a stretch: the place alone stands before the message."""
    return f" from {first_m:.2f} m to {last_m:.2f} m" if f"{first_m:.2f}" != f"{last_m:.2f}" else " there"


def _judge_length(report: Report, curve: Curve, route: Route) -> None:
    expected = curve.length_m + sum(s.measured_m - s.computed_m for s in route.measured)
    gap = route.length_m - expected
    if abs(gap) <= LENGTH_M:
        return
    if math.isfinite(gap):
        way = "longer" if gap > 0 else "shorter"
        message = f"the length stated is {mm(abs(gap), 'up')} {way} than its curve and measured stretches"
    else:
        message = f"the length stated, {route.length_m}, is no length"
    report.add("verify-length", None, message, found=f"{route.length_m:.3f} m", allowed=f"{expected:.3f} m")
