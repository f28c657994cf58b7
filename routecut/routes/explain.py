"""Why a cable has no route, or one that can't be laid, in the installer's words, and what would help.

Units      m
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import networkx as nx

from routecut.geometry.clip_reach import Outlook
from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.job import Cable
from routecut.roadmap.build import Roadmap
from routecut.routes.bends import TightBend
from routecut.routes.chains import HOLE, chain
from routecut.routes.clips import Span, longest_span_m
from routecut.routes.harness import Harness
from routecut.routes.search import Found
from routecut.units import format_length


def _spaces_from(harness: Harness, graph: nx.Graph, port: str) -> list[str]:
    """Names of the spaces a cable can reach from a port, in the order of the job."""
    reached = {harness.label_of_port(port)}
    for name in nx.node_connected_component(graph, port):
        if name.endswith((" (-1)", " (+1)")):
            pair = harness.sides[name.rsplit(" (", 1)[0]]
            if pair is not None:
                reached.add(pair[0 if name.endswith("(-1)") else 1])
    return [s.name for i, s in enumerate(harness.job.spaces) if i in reached]


def _quoted(names: list[str]) -> str:
    return " or ".join(f'"{n}"' for n in names)


def _keep_outs_in_the_way(harness: Harness, cable: Cable) -> list[str]:
    """Keep-outs without any one of which the cable would have a route; all together if no single one does."""
    applying = harness.roadmap.keep_outs_for(cable.cable_class.value)
    if not applying:
        return []

    def opens(kept: tuple[object, ...]) -> bool:
        roadmap = replace(harness.roadmap, keep_outs=tuple(k for k in applying if k in kept))
        trial = Harness.of(roadmap)
        trial.load = harness.load
        return chain(cable, trial.graph(cable)) is not None

    if not opens(()):
        return []
    single = [k.name for k in applying if opens(tuple(other for other in applying if other is not k))]
    return single or [k.name for k in applying]


def _outlook(harness: Harness, cable: Cable, full_name: str) -> Outlook:
    """What the cable sees of the panels from one of its ports."""
    return harness.attacher.outlook(
        harness.job.port(full_name),
        harness.kind_of(cable),
        cable.type.diameter_m / 2,
        cable.type.min_bend_radius_m,
    )


def why_no_route(harness: Harness, cable: Cable) -> Finding:
    """The finding for a cable without a route: which space can't be left, why, and what would open it."""
    where = f"cable {cable.name}"
    for port in (cable.from_port, cable.to_port):
        if not len(harness.port_terminal(cable, port).nodes):
            space = harness.job.device_of(port).space
            return Finding(
                code="no-route",
                severity=Severity.ERROR,
                where=f"{where} at {port}",
                message=(
                    f'nothing a cable can be clipped to is seen from this port within reach in the space "{space}". '
                    f"{_outlook(harness, cable, port).nearest(harness.job.length_unit)} "
                    "Check the port's position, the way the cable leaves, and the keep-outs round it."
                ),
            )
    graph = harness.graph(cable)
    here = _spaces_from(harness, graph, cable.from_port)
    there = _spaces_from(harness, graph, cable.to_port)
    sentences = [f"no way from {cable.from_port} to {cable.to_port}: the cable can't leave {_quoted(here)}"]
    blocked = [
        f"{hole.name} ({reason})"
        for hole in harness.job.pass_throughs
        if (set(hole.joins) & set(here)) and (reason := harness.why_not(cable, hole)) is not None
    ]
    if blocked:
        sentences.append("pass-throughs it may not use: " + "; ".join(blocked))
    if missing := [h for h in cable.through if h not in {d[HOLE] for _, _, d in graph.edges(data=True)}]:
        sentences.append(f"it must go through {_quoted(missing)}, which it can't reach or use")
    wide = harness.graph(cable, allowed=lambda _hole: True)
    found = chain(replace(cable, through=()), wide)
    if found is not None:
        used = [hole for pair in pairwise(found) if (hole := wide.edges[pair][HOLE])]
        holes = {h.name: h for h in harness.job.pass_throughs}
        barred = [name for name in used if harness.why_not(cable, holes[name]) is not None]
        what = _quoted(barred) if barred else "another order of its pass-throughs"
        sentences.append(f"cheapest way to open it: let it use {what}")
    elif keep_outs := _keep_outs_in_the_way(harness, cable):
        sentences.append(f"it would have a route without the keep-out {_quoted(keep_outs)}")
    else:
        sentences.append(f"what would open it: a pass-through from {_quoted(here)} to {_quoted(there)}")
    return Finding(code="no-route", severity=Severity.ERROR, where=where, message=". ".join(sentences) + ".")


def bend_finding(found: Found, tight: TightBend) -> Finding:
    """The error for a bend that could not be kept."""
    x, y, z = (f"{1000 * v:.0f}" for v in tight.at_m)
    wanted = found.cable.type.min_bend_radius_m
    return cable_finding(
        "bend-not-kept",
        Severity.ERROR,
        found.cable.name,
        (
            f"at X {x}, Y {y}, Z {z} mm the way leaves room for a bend of {1000 * tight.radius_m:.0f} mm only; "
            f"{found.cable.type.name} needs {1000 * wanted:.0f} mm. More room before the port or hole there, "
            "another pass-through (`through`, `avoid`), or a more flexible type would cure it."
        ),
        found=f"{1000 * tight.radius_m:.0f} mm",
        allowed=f"at least {1000 * wanted:.0f} mm",
    )


def span_finding(roadmap: Roadmap, found: Found, span: Span) -> Finding:
    """The error for a stretch that hangs free for too long."""
    x, y, z = (f"{1000 * v:.0f}" for v in span.middle_m)
    unit = roadmap.job.length_unit
    longest = longest_span_m(found.strand, roadmap.job.routing.bridge_m)
    hangs, allowed = format_length(span.to_m - span.from_m, unit), format_length(longest, unit)
    return cable_finding(
        "span-not-kept",
        Severity.ERROR,
        found.cable.name,
        (
            f"about X {x}, Y {y}, Z {z} mm it hangs free for {hangs}; {allowed} is allowed. A bracket or panel to "
            "clip to there (in the mesh), another pass-through (`through`, `avoid`), a port nearer to a panel, or a "
            "longer `bridge` in [routing], if the cable is held some other way, would cure it."
        ),
        found=hangs,
        allowed=f"at most {allowed}",
    )
