"""Power cables of a job: network, fuses, sizes, and what is to be said about them.

Stage      sizing
Units      A, V, ohm, mm2, degrees C, m
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import networkx as nx

from routecut.errors import OutOfRangeError
from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.job import CableClass, Job, Polarity
from routecut.model.plan import Route
from routecut.model.sizing import Limit
from routecut.plain import enumerated
from routecut.sizing.air import air_round_c
from routecut.sizing.ampacity import heat_factor
from routecut.sizing.bundles import side_by_side
from routecut.sizing.choose import Network, Size, Surroundings, choose, is_fused_leg
from routecut.sizing.circuit import COMMON, LEG, SOURCE, Circuit, Leg, Node, build_circuit
from routecut.sizing.conductors import conductor_of, true_area_of_outside_mm
from routecut.sizing.judge import PowerSizing, judge, least_fuse_a
from routecut.sizing.loads import carried
from routecut.sizing.names import is_battery, is_common
from routecut.sizing.offers import offered_sizes
from routecut.sizing.protection import next_rating, rating_asked_for, ratings


def size_power(
    *, job: Job, lengths_m: Mapping[str, float], routes: Mapping[str, Route], limits: Mapping[str, Limit]
) -> PowerSizing:
    """Size every power cable that has a length.

    Parameters
    ----------
    job : Job
    lengths_m : mapping of str to float
        As cut. [m]
    routes : mapping of str to Route
    limits : mapping of str to Limit
        In force.
    """
    found = PowerSizing()
    usable = _with_conductor(job, lengths_m, limits, found)
    circuit = build_circuit(job, usable)
    duty, peak = carried(circuit, peak=False), carried(circuit, peak=True)
    _say_what_was_assumed(job, lengths_m, usable, circuit, found)
    _say_what_is_fed_twice(job, circuit, found)
    _say_short_sums(circuit, {**peak.short, **duty.short}, duty.current_a, found)
    idle = {name for name, amps in peak.current_a.items() if amps <= 0.0}
    for leg in circuit.legs.values():
        if leg.name in idle and not leg.beside and leg.name not in circuit.again:
            found.findings.append(
                cable_finding(
                    "load-missing", Severity.WARNING, leg.name,
                    f"{_why_idle(leg)}; give it load = {{ amps = .., peak_amps = .. }}. Its wire and fuse are not "
                    "judged.",
                )
            )  # fmt: skip
    network = Network(
        job=job,
        circuit=circuit, duty=duty, peak=peak, limits=limits,
        around=_surroundings(job, circuit, routes, idle, limits), fuses={}, needed_a={},
    )  # fmt: skip
    _rate_fuses(network, idle, found)
    given, offered = _sizes(job, network, idle)
    chosen = choose(network, given, offered)
    judge(network, chosen, idle, found)
    return found


def _why_idle(leg: Leg) -> str:
    if leg.polarity is Polarity.NEGATIVE:
        return f"Nothing that states a load returns through {leg.name} alone"
    return f"Nothing says what {leg.name} carries"


def _with_conductor(
    job: Job, lengths_m: Mapping[str, float], limits: Mapping[str, Limit], found: PowerSizing
) -> dict[str, float]:
    usable = dict(lengths_m)
    for cable in job.cables:
        if cable.name not in usable or cable.cable_class is not CableClass.POWER or cable.type_assumed:
            continue
        if conductor_of(cable.type, insulation_c=limits["insulation_c"].value) is None:
            del usable[cable.name]
            sold = true_area_of_outside_mm(6)
            found.findings.append(
                cable_finding(
                    "conductor-unknown", Severity.WARNING, cable.name,
                    f"The copper of {cable.type.name} is not known, so neither drop nor fuse is judged: give "
                    "its [[cable_type]] conductor_mm2, counted from the strands. Cable sold by its outside "
                    f'size has less than it sounds: "6 mm" is {sold:g} mm\N{SUPERSCRIPT TWO}.',
                )
            )  # fmt: skip
    return usable


def _say_what_was_assumed(
    job: Job,
    lengths_m: Mapping[str, float],
    usable: Mapping[str, float],
    circuit: Circuit,
    found: PowerSizing,
) -> None:
    whole = build_circuit(job, {c.name: lengths_m.get(c.name, 0.0) for c in job.cables})
    for device, cable in circuit.supply_assumed:
        if missing := _missing_on(whole.out, SOURCE, whole.legs[cable].near, usable):
            found.findings.append(
                cable_finding(
                    "supply-unlaid", Severity.WARNING, cable,
                    f"{_why_missing(missing, lengths_m)}, so nothing feeds {cable} in this plan: {device} is taken as "
                    "its source, and the drops, sizes and fuses behind it count from there only. Don't buy by them: "
                    f"they change once {enumerated(missing)} can be sized.",
                )
            )  # fmt: skip
            continue
        found.findings.append(
            cable_finding(
                "supply-assumed", Severity.NOTE, cable,
                f"No battery feeds {cable}; {device} is taken as its source, and drops are counted from there.",
            )
        )  # fmt: skip
    beside: dict[tuple[str, ...], list[str]] = {}
    for name in (leg.cable.name for leg in circuit.legs.values() if leg.beside):
        back = whole.return_of[whole.legs[name].far]
        beside.setdefault(_missing_on(whole.back, COMMON, back, usable), []).append(name)
    for missing, names in beside.items():
        plural = len(names) > 1
        supply = f"{enumerated(names)} {'supply' if plural else 'supplies'}"
        said = (
            f"a wire of the same size and length beside it is counted in {'their' if plural else 'its'} drop"
        )
        if missing:
            code, severity = "supply-unlaid", Severity.WARNING
            text = (
                f"{_why_missing(missing, lengths_m)}, so no return leads back from what {supply}: {said} in its place. "
                f"Don't buy by these sizes: they change once {enumerated(missing)} can be sized."
            )
        else:
            code, severity = "return-assumed", Severity.NOTE
            text = (
                f"No return is in the job for what {supply}: {said}. Put the return into the job as a cable of its "
                "own to have it cut and ordered."
            )
        where = f"cable{'s' if plural else ''} {', '.join(names)}"
        found.findings.append(Finding(code=code, severity=severity, where=where, message=text, table="cable"))


def _missing_on(tree: nx.DiGraph, source: Node, node: Node, usable: Mapping[str, float]) -> tuple[str, ...]:
    """Cables that can't be sized on the way to a node, in a tree of all of the job; none that is only assumed."""
    legs = (tree.edges[edge].get(LEG) for edge in pairwise(nx.shortest_path(tree, source, node)))
    return tuple(leg.name for leg in legs if leg is not None and not leg.beside and leg.name not in usable)


def _why_missing(names: Sequence[str], lengths_m: Mapping[str, float]) -> str:
    """Why cables can't be sized, as the beginning of a sentence."""
    unlaid = [name for name in names if name not in lengths_m]
    unknown = [name for name in names if name in lengths_m]
    said = [f"{enumerated(unlaid)} {'have' if len(unlaid) > 1 else 'has'} no route"] if unlaid else []
    return " and ".join([*said, *([f"the copper of {enumerated(unknown)} is not known"] if unknown else [])])


def _say_what_is_fed_twice(job: Job, circuit: Circuit, found: PowerSizing) -> None:
    """Rings, batteries in parallel, second feeds and second returns: the trees have each once."""
    for name, (device, first) in circuit.again.items():
        leg = circuit.legs[name]
        own = "carries what its load says" if leg.cable.load is not None else "is not sized: give it a load"
        severity = Severity.WARNING
        if leg.polarity is Polarity.NEGATIVE:
            code, severity = "second-feed", Severity.NOTE
            text = (
                f"{device} has a return already ({first or 'to the source'}), which is sized for the whole current. "
                f"How much of it {name} takes is not worked out, and {name} is not judged: make it as thick."
            )
        elif is_battery(job.device_of(leg.far_port)):
            code = "supply-ring"
            text = (
                f"{name} joins two sources and is fed from both ends: it needs a fuse at each of them. Only the one at "
                f"{leg.near_port} is worked out here; charging currents are not."
            )
        elif is_common(job.device_of(leg.far_port)) or _same_port(circuit, leg, first):
            code = "supply-ring"
            text = (
                f"{device} is fed already ({first or 'a source'}); with {name} the supply is a ring, and what is fed "
                f"from both ends needs a fuse at each. How the current divides is not worked out: "
                f"{first or 'the other way'} is sized for what lies behind it, and {name} {own}."
            )
        else:
            code, severity = "second-feed", Severity.NOTE
            text = (
                f"{name} is a second feed of {device} beside {first or 'the source'}; it is taken as a branch of its "
                f"own that {own}."
            )
        found.findings.append(cable_finding(code, severity, name, text))


def _same_port(circuit: Circuit, leg: Leg, first: str) -> bool:
    other = circuit.legs.get(first)
    return other is not None and leg.far_port in {other.near_port, other.far_port}


def _say_short_sums(
    circuit: Circuit, short: Mapping[str, float], current: Mapping[str, float], found: PowerSizing
) -> None:
    for name, stated in short.items():
        if not circuit.legs[name].beside:
            found.findings.append(
                cable_finding(
                    "load-sum", Severity.WARNING, name,
                    f"{name} is said to carry {stated:g} A, but what lies behind it adds up to more "
                    f"({current[name]:g} A at duty); the sum is used.",
                    found=f"{stated:g} A",
                )
            )  # fmt: skip


def _surroundings(
    job: Job, circuit: Circuit, routes: Mapping[str, Route], idle: set[str], limits: Mapping[str, Limit]
) -> dict[str, Surroundings]:
    names = {leg.cable.name for leg in circuit.legs.values()}
    live = {n for n in names if n in routes and n not in idle}
    conductors = {n: 1 if circuit.beside(n) is None else 2 for n in names}
    together = side_by_side({n: routes[n].points_m for n in sorted(live)}, conductors)
    around = {}
    for name in names:
        around[name] = Surroundings(
            air_c=air_round_c(job, routes.get(name), limits),
            conductors=together.get(name, conductors[name]),
        )
    return around


def _rate_fuses(network: Network, idle: set[str], found: PowerSizing) -> None:
    fuses: dict[str, tuple[float, str, str]] = {}
    needed: dict[str, float] = {}
    for name, leg in network.circuit.legs.items():
        least = least_fuse_a(network, leg)
        asked = None if leg.cable.load is None else leg.cable.load.fuse_amps
        rating = next_rating(least) if asked is None else rating_asked_for(asked)
        needed[name] = least if rating is None else rating[0]
        if name in idle:
            continue
        if rating is None and not leg.beside:
            found.findings.append(
                cable_finding(
                    "no-size", Severity.ERROR, name,
                    f"{name} needs a fuse of {least:g} A or more; the largest known has {ratings()[-1][0]:g} A. "
                    "Divide the load over several leads.",
                )
            )  # fmt: skip
        if rating is not None and is_fused_leg(leg, negative_fuse=network.value("negative_fuse") >= 1):
            fuses[name] = rating
    _returns_carry_the_fuse(network.circuit, fuses, needed)
    network.fuses, network.needed_a = fuses, needed


def _returns_carry_the_fuse(
    circuit: Circuit, fuses: Mapping[str, tuple[float, str, str]], needed: dict[str, float]
) -> None:
    """What the fuse of a device lets through, its return must carry: a fault in it sends that back."""
    for node, back in circuit.return_of.items():
        fed = [leg.name for _, _, leg in circuit.out.in_edges(node, data=LEG)]
        for _, _, leg in circuit.back.in_edges(back, data=LEG):
            if leg is not None:
                needed[leg.name] = max(needed[leg.name], *(fuses[n][0] for n in fed if n in fuses), 0.0)


def _sizes(job: Job, network: Network, idle: set[str]) -> tuple[dict[str, Size], dict[str, list[Size]]]:
    insulation = network.value("insulation_c")
    given: dict[str, Size] = {}
    offered: dict[str, list[Size]] = {}
    for leg in network.circuit.legs.values():
        cable = leg.cable
        if leg.beside:
            continue
        _check_air(network, leg, insulation)
        conductor = conductor_of(cable.type, insulation_c=insulation)
        if conductor is not None and (not cable.type_assumed or leg.name in idle):
            given[cable.name] = cable.type, conductor
            continue
        ladder = offered_sizes(
            job,
            leg.polarity,
            within=cable.type,
            insulation_c=insulation,
            least_mm2=network.value("min_wire_mm2"),
        )
        if ladder:
            offered[cable.name] = ladder
        elif conductor is not None:
            given[cable.name] = cable.type, conductor
    return given, offered


def _check_air(network: Network, leg: Leg, insulation_c: float) -> None:
    air = network.around[leg.cable.name].air_c
    try:
        heat_factor(insulation_c, air)
    except OutOfRangeError as error:
        raise OutOfRangeError(
            f"cable {leg.cable.name}: {error}; see ambient_c, hot_space_c in [rules]"
        ) from None
