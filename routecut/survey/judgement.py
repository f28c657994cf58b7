"""The judgement before work: what a plan would lack, and what of the job can't be true.

Stage      survey, after job and mesh are fitted together; only `routecut check` asks for it
Units      m
Safe side  warnings and notes only: what stops a plan for certain is said by the plan itself
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import Final

import networkx as nx
import numpy as np

from routecut.geometry.keep_out import KeepOutField, nearest_free_m
from routecut.geometry.sheets import Sheets as RoutingSheets
from routecut.geometry.triangles import plane_axes
from routecut.model.body import Body, Floats
from routecut.model.finding import Finding, Severity
from routecut.model.job import ANY, Box, Cable, Job, PassThrough, Port, Space, SurfaceKind
from routecut.survey.alike import check_alike
from routecut.survey.beyond import check_beyond
from routecut.survey.faults import Collector, listed
from routecut.survey.seat import SPACE_MARGIN_M
from routecut.survey.sheets import Sheets
from routecut.survey.unseen import check_seen, port_table
from routecut.units import DECIMALS, format_length, from_m

FAR_M: Final = 0.300
"""A port further than this from every surface is not where it is said to be: devices are fixed to something
(common practice, no source). [m]"""

GAP_M: Final = 0.200
"""A stretch of free air in a passage longer than this is worth a look (common practice, no source). [m]"""

FEWEST_LANDMARKS: Final = 3
_SPARE_M: Final = 0.001
"""More than rounding a place to what is typed can take away. [m]"""
_BOND: Final = "bond"
"""What the catalogue calls a port for a bonding strap."""
_MANY: Final = 300
_SECONDS_EACH: Final = 0.45
"""Of processor time to plan a cable in a job of hundreds: docs/reliability.md. [s]"""
_RING: Final = 16
_BEYOND_M: Final = 0.020
_SAMPLES: Final = 9
_ALL_OF_IT: Final = 0.98


def judge(job: Job, body: Body, *, sheets: RoutingSheets | None = None) -> tuple[Finding, ...]:
    """Everything there is to say of a job that has no errors, before it is planned.

    Parameters
    ----------
    job : Job
        As `resolve` returns it.
    body : Body
    sheets : Sheets, optional
        Of the body as it is routed on, where they are at hand.
    """
    collector = Collector()
    _check_complete(job, collector)
    check_alike(job, collector)
    _check_many(job, collector)
    _check_connected(job, collector)
    _check_spaces(job, collector)
    fields = [KeepOutField(keep_out, body) for keep_out in job.keep_outs]
    _check_kept_out(job, fields, collector)
    told = {finding.table for finding in collector.findings if finding.code == "port-kept-out"}
    every, held = Sheets(body, *SurfaceKind), Sheets(body)
    near = [port for device in job.devices for port in device.ports if _is_near(port, job, held)]
    for port in near:
        _check_near(port, job, every, collector)
    routed = sheets or RoutingSheets(body.routing_triangles_m)
    check_beyond(job, body, routed, collector)
    told |= {finding.table for finding in collector.findings if finding.code == "port-beyond"}
    unheard = [port for port in near if port_table(port) not in told]
    check_seen(job, body, fields, unheard, collector, sheets=routed)
    for hole in job.pass_throughs:
        _check_open(hole, job, every, collector)
    return tuple(collector.findings)


# --- what is missing -------------------------------------------------------------------


def _check_complete(job: Job, collector: Collector) -> None:
    def missing(what: str, fix: str, table: str, severity: Severity = Severity.WARNING) -> None:
        collector.add("job-incomplete", f"{what} Type: {fix}", severity=severity, table=table, allowed=fix)

    if not job.spaces:
        missing(
            "There are no spaces: nothing says where cables may be.",
            '[[space]] name = "cab" box = [[low x, y, z], [high x, y, z]]',
            "[[space]]",
        )
    if not job.devices:
        missing(
            "There are no devices: no cable has an end.",
            '[[device]] name = ".." at = [x, y, z] space = ".." and [[device.port]] name = ".."; or pick them: '
            "routecut survey",
            "[[device]]",
        )
    elif not job.cables:
        missing(
            "There are no cables to plan.",
            '[[cable]] name = "P1" from = "device.port" to = "device.port" class = "power"',
            "[[cable]]",
        )
    used = {end for cable in job.cables for end in (cable.from_port, cable.to_port)}
    for device in job.devices:
        table = f'[[device]] "{device.name}"'
        if not device.ports:
            missing(
                f"{device.name!r} has no port: no cable can end there.", '[[device.port]] name = ".."', table
            )
        idle = [port.name for port in device.ports if port.full_name not in used and port.name != _BOND]
        if idle and job.cables:
            missing(
                f"No cable ends at {listed(f'{device.name}.{name}' for name in idle)}.",
                f'[[cable]] .. to = "{device.name}.{idle[0]}"; nothing where nothing is plugged in there'
                + ("" if device.equipment else ", or leave the port out"),
                table,
                Severity.NOTE,
            )
    bare = [d.name for d in job.devices if f"{d.name}.{_BOND}" in {p.full_name for p in d.ports} - used]
    if bare and job.cables:
        missing(
            f"No strap bonds {listed(bare)} to the body, so none is cut or ordered.",
            '[[device]] name = "bond stud" equipment = "earth stud" at = .. on bare metal, 100 mm before it, '
            f'and [[cable]] name = "B1" class = "bond" from = "{bare[0]}.{_BOND}" to = "bond stud.lug"; nothing '
            "where its maker asks for no strap, or what it sits on is bare metal or no metal at all",
            "[[cable]]",
            Severity.NOTE,
        )
    if job.pass_throughs and len(job.landmarks) < FEWEST_LANDMARKS:
        missing(
            f"There are {len(job.landmarks)} landmarks; it takes {FEWEST_LANDMARKS} to find a hole with a tape.",
            '[[landmark]] name = ".." at = [x, y, z]; or pick them: routecut survey',
            "[[landmark]]",
        )
    if job.vehicle.scan_error > 0.0 and not job.vehicle.tape_checks:
        missing(
            "No tape distance says whether the mesh is of the right size.",
            '[[vehicle.tape_check]] from = ".." to = ".." distance = .., between two landmarks far apart',
            "[vehicle]",
        )
    if not job.keep_outs:
        missing(
            "Nothing is kept out of: no exhaust, fuel, airbag, moving part is known.",
            '[[keep_out]] name = ".." box = [[..], [..]] reason = "hot"; or pick them: routecut survey',
            "[[keep_out]]",
        )


def _check_many(job: Job, collector: Collector) -> None:
    """How long a plan of very many cables takes: nobody should take the wait for a fault."""
    if len(job.cables) < _MANY:
        return
    minutes = round(len(job.cables) * _SECONDS_EACH / 60.0)
    collector.add(
        "many-cables",
        f"{len(job.cables)} cables take about {minutes} minutes to plan. A job for each vehicle, or for each half "
        f"of the work, is quicker and makes a shorter job pack.",
        severity=Severity.NOTE,
        table="[[cable]]",
    )


def _check_connected(job: Job, collector: Collector) -> None:
    lost: dict[tuple[str, str], list[str]] = {}
    for cable in job.cables:
        first, last = (job.device_of(end).space for end in (cable.from_port, cable.to_port))
        if first != last and not nx.has_path(_ways(job, cable), first, last):
            lost.setdefault((first, last), []).append(cable.name)
    drilled = any(rule.drill for rule in job.surfaces)
    for (first, last), cables in lost.items():
        what = f"Nothing leads from {first!r} to {last!r} for {listed(cables)}"
        if drilled:
            what += "; a plan would have to drill where [[surface]] allows it"
        fix = f'[[pass_through]] .. joins = ["{first}", "{last}"], or open_to where no panel is between'
        collector.add(
            "space-cut-off",
            f"{what}. Type: {fix}",
            severity=Severity.NOTE if drilled else Severity.WARNING,
            table=f'[[space]] "{first}"',
            found=listed(cables),
            allowed=fix,
        )


def _ways(job: Job, cable: Cable) -> nx.Graph:
    graph = nx.Graph()
    graph.add_nodes_from(space.name for space in job.spaces)
    graph.add_nodes_from(device.space for device in job.devices)
    graph.add_edges_from((space.name, other) for space in job.spaces for other in space.open_to)
    graph.add_edges_from(
        hole.joins
        for hole in job.pass_throughs
        if (ANY in hole.classes or cable.cable_class in hole.classes) and hole.name not in cable.avoid
    )
    return graph


# --- what can't be true ----------------------------------------------------------------


def _check_spaces(job: Job, collector: Collector) -> None:
    for first, later in combinations(job.spaces, 2):
        if first.name in later.open_to or later.name in first.open_to:
            continue  # where no panel is between, it matters little which of them a point is in
        shared = [box for a in first.boxes for b in later.boxes if (box := _common(a, b)) is not None]
        if not shared:
            continue
        if _share(later, first) >= _ALL_OF_IT:
            what = f"{later.name!r} lies wholly in {first.name!r}, which is listed before it and takes all of it."
            fix = f'list "{later.name}" before "{first.name}"'
        elif _share(first, later) < _ALL_OF_IT:
            most = max(shared, key=lambda box: min(_size(box)))
            size = " x ".join(format_length(v, job.length_unit) for v in _size(most))
            what = f"{first.name!r} and {later.name!r} share {size}; what lies there is taken to be in {first.name!r}."
            fix = f'a box of "{later.name}" that ends where the panel is'
        else:
            continue  # a small space in a large one, listed before it: as it should be
        collector.add(
            "spaces-overlap",
            f"{what} Type: {fix}.",
            severity=Severity.WARNING,
            table=f'[[space]] "{later.name}"',
            key="box",
            found=first.name,
            allowed=fix,
        )


def _common(a: Box, b: Box) -> Box | None:
    """What two boxes share, where it is thicker than boxes are exact."""
    low, high = np.maximum(a.low_m, b.low_m), np.minimum(a.high_m, b.high_m)
    if (high - low).min() <= 2 * SPACE_MARGIN_M:
        return None
    (x, y, z), (u, v, w) = low.tolist(), high.tolist()
    return Box(low_m=(x, y, z), high_m=(u, v, w))


def _size(box: Box) -> list[float]:
    return [high - low for low, high in zip(box.low_m, box.high_m, strict=True)]


def _share(inner: Space, outer: Space) -> float:
    """How much of a space lies in another one, by points spread evenly over its boxes. [-]"""
    points = [point for box in inner.boxes for point in _spread(box)]
    held = [outer.holds(point) for point in points]
    return sum(held) / len(held)


def _spread(box: Box) -> Iterable[tuple[float, float, float]]:
    steps = [
        np.linspace(low, high, 2 * _SAMPLES + 1)[1::2].tolist()
        for low, high in zip(box.low_m, box.high_m, strict=True)
    ]
    return ((x, y, z) for x in steps[0] for y in steps[1] for z in steps[2])


def _check_kept_out(job: Job, fields: list[KeepOutField], collector: Collector) -> None:
    at = {port.full_name: port for device in job.devices for port in device.ports}
    classes: dict[str, set[str]] = {}
    for cable in job.cables:
        for end in (cable.from_port, cable.to_port):
            classes.setdefault(end, set()).add(cable.cable_class)
    unit = job.length_unit
    for field in fields:
        for name, of in sorted(classes.items()):
            if not any(field.applies_to(c) for c in of):
                continue
            port = at[name]
            off = float(field.distance_m(np.array([port.position.at_m]))[0])
            if off >= field.clearance_m:
                continue
            where = "in" if off <= 0.0 else f"{format_length(off, unit, 'down')} from"
            fix = _free_place(port, [f for f in fields if any(map(f.applies_to, of))], job)
            collector.add(
                "port-kept-out",
                f"{name!r} lies {where} the keep-out {field.name!r}, whose clearance is "
                f"{format_length(field.clearance_m, unit)}: no cable may reach it. Type: {fix}.",
                severity=Severity.WARNING,
                table=port_table(port),
                key="at" if port.offset_m is None else "offset",
                found=field.name,
                allowed=fix,
            )


def _free_place(port: Port, fields: list[KeepOutField], job: Job) -> str:
    """What to type for a port that is kept out: the nearest place that no keep-out takes, as its key has it."""
    ends, unit = "a keep-out that ends before it", job.length_unit
    free = nearest_free_m(fields, port.position.at_m, _SPARE_M)
    if free is None:
        return ends
    away = free - np.array(port.position.at_m)
    key = "at" if port.offset_m is None else "offset"
    typed_m = free / job.vehicle.mesh_scale if port.offset_m is None else np.array(port.offset_m) + away
    typed = ", ".join(f"{round(from_m(v, unit), DECIMALS[unit]) + 0.0:g}" for v in typed_m.tolist())
    far = format_length(float(np.linalg.norm(away)), unit, "up")
    return f"{key} = [{typed}] for the port, {far} from here, the nearest place no keep-out takes; or {ends}"


def _is_near(port: Port, job: Job, held: Sheets) -> bool:
    """Whether a port is as near to panel or trim as a bridge is long; where not, job and mesh did not fit."""
    clipped = held.nearest(port.position.at_m)
    reach = max(job.routing.bridge_m, job.routing.stand_off_m + 3 * job.vehicle.point_error_m)
    return clipped is None or clipped[1] <= reach


def _check_near(port: Port, job: Job, every: Sheets, collector: Collector) -> None:
    """A port in the middle of the air, though a bridge would reach it."""
    near = every.nearest(port.position.at_m)
    if near is None or near[1] <= FAR_M:
        return
    off = format_length(near[1], job.length_unit)
    collector.add(
        "point-off-surface",
        f"The port is {off} from the nearest surface of any kind: what is its device fixed to? Type: its place "
        "again, or snap = true; or pick it: routecut survey.",
        severity=Severity.WARNING,
        table=port_table(port),
        key="at" if port.offset_m is None else "offset",
        found=off,
        allowed=f"at most {format_length(FAR_M, job.length_unit)}",
    )


def _check_open(hole: PassThrough, job: Job, sheets: Sheets, collector: Collector) -> None:
    centre, axis = np.array(hole.position.at_m), np.array(hole.axis)
    reach = hole.depth_m / 2 + _BEYOND_M + 3 * job.vehicle.point_error_m
    rings = list(_met(sheets, centre, axis, max(0.75 * hole.diameter_m, hole.diameter_m / 2 + 0.010), reach))
    met = [ring for ring in rings if len(ring)]
    if not met:
        return  # no sheet at all: said when job and mesh are fitted
    table = f'[[pass_through]] "{hole.name}"'
    first, last = hole.joins
    if len(met) < _RING / 2:
        fix = f'at on a panel, or open_to = ["{last}"] in "{first}" and no pass-through'
        collector.add(
            "pass-through-open",
            f"Of {_RING} lines just beside {hole.name!r} only {len(met)} meet a sheet: the air is open from one mouth "
            f"to the other. Type: {fix}.",
            severity=Severity.WARNING,
            table=table,
            key="at",
            found=f"{len(met)} of {_RING}",
            allowed=fix,
        )
        return
    gap = float(np.median([np.diff(ring).max() if len(ring) > 1 else 0.0 for ring in met]))
    if gap > GAP_M:
        length = format_length(gap, job.length_unit)
        fix = "two pass-throughs with a [[space]] between, if the cable can be held there"
        collector.add(
            "pass-through-open",
            f"Between the sheets that {hole.name!r} passes lie {length} of open air, where nothing holds a cable. "
            f"Type: {fix}.",
            severity=Severity.WARNING,
            table=table,
            key="depth",
            found=length,
            allowed=fix,
        )


def _met(sheets: Sheets, centre: Floats, axis: Floats, radius_m: float, reach_m: float) -> Iterator[Floats]:
    """For each line along the axis, on a ring round it, where it meets sheets. [m]"""
    across, up = plane_axes(axis)
    turn = (np.arange(_RING) + 0.5) * 2 * np.pi / _RING
    places = centre + radius_m * (np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * up)
    hits = sheets.along(places, np.broadcast_to(axis, places.shape), reach_m)
    for number in range(_RING):
        yield np.sort(hits.along_m[hits.line == number])
