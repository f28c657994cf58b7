"""What the chosen sizes come to: drops, fuses in their places, and what is wrong with them.

Stage      sizing
Units      A, V, ohm, mm2, degrees C, m
"""

from __future__ import annotations

from dataclasses import dataclass, field

from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.job import CableType, Polarity
from routecut.model.sizing import Conductor, Electrical, Fuse, Supply
from routecut.sizing.ampacity import copper_c
from routecut.sizing.choose import (
    ENDS,
    Choice,
    Network,
    State,
    body_v,
    consumers,
    over_total,
    solve,
    total_v,
    way,
)
from routecut.sizing.circuit import SOURCE, Leg
from routecut.sizing.conductors import resistance_ohm
from routecut.sizing.offers import offered_sizes
from routecut.sizing.places import is_hidden, place_fuse
from routecut.sizing.protection import least_rating_a
from routecut.units import format_length


@dataclass(slots=True, kw_only=True)
class PowerSizing:
    """What came out for the power cables."""

    electrical: dict[str, Electrical] = field(default_factory=dict)
    supplies: tuple[Supply, ...] = ()
    picked: dict[str, CableType] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)


def least_fuse_a(network: Network, leg: Leg) -> float:
    """What the load of a leg asks its fuse to be rated at least. [A]"""
    return least_rating_a(
        network.duty.current_a[leg.name],
        network.peak.current_a[leg.name],
        network.value("fuse_load_percent"),
        network.value("fuse_peak_percent"),
    )


def _fuse_asked(network: Network, leg: Leg) -> str:
    """Which of the two shares decides what a fuse is rated at least."""
    amps, peak_amps = network.duty.current_a[leg.name], network.peak.current_a[leg.name]
    duty, peak = network.value("fuse_load_percent"), network.value("fuse_peak_percent")
    if peak_amps * peak >= amps * duty:
        return f"{peak:g} % of the {peak_amps:g} A at peak"
    return f"{duty:g} % of the {amps:g} A at duty"


def judge(network: Network, chosen: Choice, idle: set[str], found: PowerSizing) -> None:
    """Work out every cable with its size, and say what is wrong with it.

    Parameters
    ----------
    network
    chosen : Choice
    idle : set of str
        Legs that carry nothing: they are not judged.
    found : PowerSizing
        Filled.
    """
    conductors = {name: conductor for name, (_, conductor) in chosen.sizes.items()}
    duty = solve(network, conductors, peak=False)
    peak = solve(network, conductors, peak=True)
    for leg in network.circuit.legs.values():
        if leg.beside or leg.name in idle:
            continue
        cable_type, _ = chosen.sizes[leg.name]
        if leg.name in chosen.steps:
            found.picked[leg.name] = cable_type
        found.electrical[leg.name] = _electrical(network, chosen, leg, (duty, peak), found)
    found.supplies = _supplies(network, duty, peak)
    _judge_ways(network, peak, chosen, found)


def _electrical(
    network: Network, chosen: Choice, leg: Leg, states: tuple[State, State], found: PowerSizing
) -> Electrical:
    circuit, volts = network.circuit, network.value("system_volts")
    cable_type, conductor = chosen.sizes[leg.name]
    amps, peak_amps = network.duty.current_a[leg.name], network.peak.current_a[leg.name]
    allowed = network.allowed(leg, conductor)
    drop, peak_drop = (state.over(circuit, leg.name) for state in states)
    beside = circuit.beside(leg.name)
    least = least_fuse_a(network, leg)
    fuse = _fuse(network, leg, cable_type, found)
    limit_v = network.max_drop_v(leg)
    thin = allowed.allowed_a < network.needed_a[leg.name] * (1 - 1e-9)
    lossy = peak_drop > limit_v * (1 + 1e-9)
    picked = leg.name in chosen.steps
    severity = Severity.ERROR
    if thin:
        found.findings.append(
            cable_finding(
                "no-size" if picked else "wire-thin", severity, leg.name,
                f"{conductor.name} may carry {allowed.allowed_a:.3g} A here "
                f"({_factors(network, leg, allowed.table_a)}), "
                f"but its load asks for a fuse of {network.needed_a[leg.name]:g} A. {_next_size(network, leg)}",
                found=f"{allowed.allowed_a:.3g} A", allowed=f"{network.needed_a[leg.name]:g} A or more",
            )
        )  # fmt: skip
    if lossy:
        both = (
            f" both ways over {format_length(leg.length_m, network.job.length_unit)} each"
            if beside is not None
            else ""
        )
        found.findings.append(
            cable_finding(
                "drop-over", severity, leg.name,
                f"{conductor.name} loses {peak_drop:.2f} V at the peak of {peak_amps:g} A{both}, "
                f"{peak_drop / volts * 100:.1f} % of {volts:g} V; {limit_v / volts * 100:g} % is allowed. "
                f"{_next_size(network, leg)}",
                found=f"{peak_drop / volts * 100:.1f} %", allowed=f"{limit_v / volts * 100:g} %",
            )
        )  # fmt: skip
    if picked:
        found.findings.append(
            cable_finding(
                "size-picked", Severity.NOTE, leg.name,
                f"{cable_type.name} was picked: {'; '.join(chosen.steps[leg.name])}.", found=cable_type.name,
            )
        )  # fmt: skip
    return Electrical(
        conductor=conductor,
        type_name=cable_type.name,
        picked=picked,
        polarity=leg.polarity,
        length_m=leg.length_m,
        return_length_m=0.0 if beside is None else beside.length_m,
        amps=amps,
        peak_amps=peak_amps,
        drop_v=drop,
        peak_drop_v=peak_drop,
        drop_percent=drop / volts * 100.0,
        peak_drop_percent=peak_drop / volts * 100.0,
        max_drop_percent=limit_v / volts * 100.0,
        resistance_ohm=resistance_ohm(conductor.r20_ohm_per_m, leg.length_m, 20.0),
        conductor_c=copper_c(conductor, allowed, peak_amps),
        ampacity=allowed,
        fuse=fuse,
        least_fuse_a=least,
        ok=not (thin or lossy),
        why=(
            *chosen.steps.get(leg.name, ()),
            _lost_text(network, leg, conductor, peak_drop),
            conductor.source,
            _factors(network, leg, allowed.table_a),
        ),
    )


def _lost_text(network: Network, leg: Leg, conductor: Conductor, peak_drop: float) -> str:
    """The drop at peak, piece by piece: copper as warm as it gets, the ends, the fuse, the return beside it."""
    amps = network.peak.current_a[leg.name]
    warm = copper_c(conductor, network.allowed(leg, conductor), amps)
    copper = amps * resistance_ohm(conductor.r20_ohm_per_m, leg.length_m, warm)
    ends = amps * ENDS * network.value("joint_mohm") / 1000.0
    fuse = amps * network.resistance(leg, conductor, amps) - copper - ends
    pieces = [f"copper of {warm:.0f} \N{DEGREE SIGN}C {copper:.3f} V", f"two ends {ends:.3f} V"]
    if fuse > 1e-9:
        pieces.append(f"fuse {fuse:.3f} V")
    if network.circuit.beside(leg.name) is not None:
        back = peak_drop - copper - ends - fuse
        pieces.append(f"return of the same size beside it, which the job does not have, {back:.3f} V")
    return f"{peak_drop:.3f} V lost at {amps:g} A: {', '.join(pieces)}"


def _factors(network: Network, leg: Leg, table_a: float) -> str:
    around = network.around[leg.cable.name]
    text = f"{table_a:.3g} A by table"
    if around.air_c > network.value("ambient_c"):
        text += f", air of {around.air_c:g} degrees C"
    if around.conductors > 1:
        text += f", {around.conductors} conductors side by side"
    return text


def _next_size(network: Network, leg: Leg) -> str:
    """Which size would hold, all others left as they are; for the message only."""
    beside = network.circuit.beside(leg.name)
    amps = network.peak.current_a[leg.name]
    for cable_type, conductor in offered_sizes(
        network.job,
        leg.polarity,
        within=None,
        insulation_c=network.value("insulation_c"),
        least_mm2=network.value("min_wire_mm2"),
    ):
        if network.allowed(leg, conductor).allowed_a < network.needed_a[leg.name] * (1 - 1e-9):
            continue
        drop = amps * network.resistance(leg, conductor, amps)
        if beside is not None:
            drop += amps * network.resistance(beside, conductor, amps)
        if drop <= network.max_drop_v(leg) * (1 + 1e-9):
            return f"What holds: {cable_type.name}."
    return "Nothing in the catalogue holds: shorten the way, or divide the load."


def _fuse(network: Network, leg: Leg, cable_type: CableType, found: PowerSizing) -> Fuse | None:
    rating = network.fuses.get(leg.name)
    if rating is None:
        return None
    limit = "fuse_distance_sheathed_mm" if leg.cable.sheathed else "fuse_distance_mm"
    limit_m = network.value(limit) / 1000.0
    fuse = place_fuse(
        job=network.job,
        circuit=network.circuit,
        leg=leg,
        cable_type=cable_type,
        rating=rating,
        limit_m=limit_m,
    )
    at_source = leg.near == SOURCE or leg.polarity is Polarity.NEGATIVE
    if at_source and fuse.distance_m > limit_m * (1 + 1e-9):
        unit = network.job.length_unit
        longer = format_length(network.value("fuse_distance_sheathed_mm") / 1000.0, unit, "down")
        sheath = (
            ""
            if leg.cable.sheathed
            else f", or {longer} in a sheath over that whole length (sheathed = true)"
        )
        found.findings.append(
            cable_finding(
                "fuse-distance", Severity.ERROR, leg.name,
                f"The fuse sits {format_length(fuse.distance_m, unit, 'up')} along the conductor from {leg.near_port}; "
                f"{format_length(limit_m, unit, 'down')} is allowed{sheath} "
                f"({network.limits[limit].source}). Use a holder on the terminal itself.",
                found=format_length(fuse.distance_m, unit, "up"), allowed=format_length(limit_m, unit, "down"),
            )
        )  # fmt: skip
    if fuse.rating_a < network.peak.current_a[leg.name] * (1 - 1e-9):
        found.findings.append(
            cable_finding(
                "fuse-small", Severity.WARNING, leg.name,
                f"The job asks for a fuse of {fuse.rating_a:g} A, and {network.peak.current_a[leg.name]:g} A flow at "
                "peak: it may open while the load works.",
                found=f"{fuse.rating_a:g} A", allowed=f"{network.peak.current_a[leg.name]:g} A or more",
            )
        )  # fmt: skip
    elif fuse.rating_a < (least := least_fuse_a(network, leg)) * (1 - 1e-9):
        found.findings.append(
            cable_finding(
                "fuse-small", Severity.WARNING, leg.name,
                f"The job asks for a fuse of {fuse.rating_a:g} A; the rules ask for {least:.3g} A or more "
                f"({_fuse_asked(network, leg)}). The {fuse.rating_a:g} A stay, as the maker of the load knows it best: "
                "keep the fuse and its holder cool, and look here first if it opens.",
                found=f"{fuse.rating_a:g} A", allowed=f"{least:.3g} A or more",
            )
        )  # fmt: skip
    if is_hidden(fuse):
        found.findings.append(
            cable_finding(
                "fuse-access", Severity.WARNING, leg.name,
                f"The {fuse.rating_a:g} A fuse sits in {fuse.space} (access: {fuse.access}); a fuse has to be "
                "reached without taking the vehicle apart.",
            )
        )  # fmt: skip
    return fuse


def _supplies(network: Network, duty: State, peak: State) -> tuple[Supply, ...]:
    volts, test = network.value("system_volts"), network.value("test_volts")
    over = set(over_total(network, peak))
    found = []
    for node in consumers(network):
        amps = network.peak.drawn_a[node]
        now, most = (total_v(network.circuit, state, node) for state in (duty, peak))
        body_now, body_most = (body_v(network.circuit, state, node) for state in (duty, peak))
        found.append(
            Supply(
                device=node[0], amps=network.duty.drawn_a.get(node, 0.0), peak_amps=amps, drop_v=now,
                peak_drop_v=most, drop_percent=now / volts * 100.0, peak_drop_percent=most / volts * 100.0,
                volts=test - now, peak_volts=test - most, ok=node not in over,
                body_v=body_now, peak_body_v=body_most,
            )
        )  # fmt: skip
    return tuple(found)


def _judge_ways(network: Network, peak: State, chosen: Choice, found: PowerSizing) -> None:
    volts, limit = network.value("system_volts"), network.limits["max_total_drop_percent"]
    for node in over_total(network, peak):
        lost = total_v(network.circuit, peak, node)
        legs = list(dict.fromkeys(leg.cable.name for leg in way(network.circuit, node)))
        worst = max(legs, key=lambda n: peak.over(network.circuit, n))
        found.findings.append(
            Finding(
                code="drop-over",
                severity=Severity.ERROR,
                where=f"device {node[0]}",
                message=(
                    f"{lost:.2f} V are lost between the battery and {node[0]} and back at peak, "
                    f"{lost / volts * 100:.1f} % of {volts:g} V; {limit.value:g} % is allowed ({limit.source}). "
                    f"Most is lost in {worst}, {chosen.sizes[worst][1].name}."
                ),
                found=f"{lost / volts * 100:.1f} %",
                allowed=f"{limit.value:g} %",
            )
        )
