"""Coax cables and bonding straps of a job, and what is to be said about them.

Stage      sizing
Units      m, MHz, dB, W, ohm
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.job import Cable, CableClass, CableType, Job, Signal
from routecut.model.plan import Route
from routecut.model.sizing import Bond, CoaxLoss, Limit
from routecut.sizing.air import air_round_c
from routecut.sizing.bonds import bond_resistance_ohm, braid_area_mm2
from routecut.sizing.coax import (
    attenuation_of,
    half_wave_m,
    rating_watts,
    reflected_at_radio,
    share_left,
    velocity_factor,
)
from routecut.sizing.coax_types import PLUGS, cut_step_m, heat_watts, max_loss_db, pick_type, why_no_step
from routecut.units import format_length


def size_coax(
    *,
    job: Job,
    lengths_m: Mapping[str, float],
    routes: Mapping[str, Route],
    joints: Mapping[str, int],
    limits: Mapping[str, Limit],
) -> tuple[dict[str, CoaxLoss], dict[str, CableType], list[Finding]]:
    """The loss of every coax cable that says its frequency and has a length; its type where that is open.

    Parameters
    ----------
    job : Job
    lengths_m : mapping of str to float
        As cut; of a ready-made lead as bought, extensions included. [m]
    routes : mapping of str to Route
        They say which cables pass hot spaces.
    joints : mapping of str to int
        Joints between a lead and its extension; none where a cable is not named.
    limits : mapping of str to Limit
    """
    found: dict[str, CoaxLoss] = {}
    types: dict[str, CableType] = {}
    findings: list[Finding] = []
    for cable in job.cables:
        if cable.cable_class is not CableClass.COAX or cable.signal is None or cable.name not in lengths_m:
            continue
        length, signal = lengths_m[cable.name], cable.signal
        air_c = air_round_c(job, routes.get(cable.name), limits)
        picked = None
        if cable.type_assumed and not cable.ready_made:
            picked = pick_type(job, cable, signal, length_m=length, air_c=air_c, limits=limits)
        if picked is not None:
            types[cable.name], why = picked
            cable = replace(cable, type=picked[0])  # noqa: PLW2901
            findings.append(
                cable_finding(
                    "size-picked", Severity.NOTE, cable.name, f"{cable.type.name} was picked: {why}.",
                    found=cable.type.name,
                )
            )  # fmt: skip
        loss = coax_loss(
            cable, signal,
            length_m=length, joints=joints.get(cable.name, 0), air_c=air_c, limits=limits,
        )  # fmt: skip
        if loss is None:
            findings.append(
                cable_finding(
                    "coax-unknown", Severity.WARNING, cable.name,
                    f"The attenuation of {cable.type.name} is not known; give its [[cable_type]] "
                    "attenuation = [[MHz, dB per 100 m], ..] from its data sheet.",
                )
            )  # fmt: skip
            continue
        if picked is not None:
            loss = replace(loss, picked=True, why=(picked[1], *loss.why))
        found[cable.name] = loss
        findings += _judge_coax(cable, loss, limits["reflected_percent"].value)
    return found, types, findings


def coax_loss(
    cable: Cable, signal: Signal, *, length_m: float, joints: int, air_c: float, limits: Mapping[str, Limit]
) -> CoaxLoss | None:
    """The loss of one coax cable, or None when nothing is known of its type."""
    known = attenuation_of(cable.type)
    if known is None:
        return None
    plugs = PLUGS * (1 + joints)
    in_plugs = plugs * limits["connector_loss_db"].value
    cable_db = known.law.db_per_100_m(signal.mhz) * length_m / 100.0
    low, high = (db * length_m / 100.0 + in_plugs for db in known.band(signal.mhz))
    loss = cable_db + in_plugs
    most = max_loss_db(signal, limits)
    factor = velocity_factor(cable.type)
    step = cut_step_m(cable)
    return CoaxLoss(
        mhz=signal.mhz,
        length_m=length_m,
        connectors=plugs,
        cable_db=cable_db,
        loss_db=loss,
        low_db=low,
        high_db=high,
        max_loss_db=most,
        share_percent=share_left(loss) * 100.0,
        # What the antenna may throw back is read at the radio after the cable took its loss twice;
        # with the least loss of the tables, so that a good antenna is not turned away.
        reflected_percent=reflected_at_radio(limits["reflected_percent"].value, low),
        open_percent=reflected_at_radio(100.0, loss),
        half_wave_m=None if factor is None else half_wave_m(signal.mhz, factor),
        half_waves=None if step is None else round(length_m / step[0]),
        rating_watts=rating_watts(cable.type, signal.mhz),
        bears_watts=heat_watts(cable.type, known, signal, air_c=air_c, limits=limits),
        air_c=air_c,
        watts=signal.watts,
        watts_left=None if signal.watts is None else signal.watts * share_left(loss),
        inside=known.inside(signal.mhz),
        ok=high <= most * (1.0 + 1e-9),
        why=(
            (
                f"{known.law.k1:.4g} x sqrt(f) + {known.law.k2:.4g} x f, dB/100 m, f in MHz; fitted from "
                f"{known.law.low_mhz:g} to {known.law.high_mhz:g} MHz, points up to "
                f"{known.law.residual * 100:.0f} % off"
            ),
            (
                f"{plugs} connectors of {limits['connector_loss_db'].value:g} dB "
                f"({limits['connector_loss_db'].source})"
            ),
        ),
    )


def _judge_coax(cable: Cable, loss: CoaxLoss, most_reflected_percent: float) -> list[Finding]:
    findings = []
    name = cable.type.name
    at = f"at {loss.mhz:g} MHz"
    if not loss.ok:
        sure = loss.loss_db > loss.max_loss_db
        verb = "loses" if sure else "may lose"
        findings.append(
            cable_finding(
                "coax-loss", Severity.ERROR if sure else Severity.WARNING, cable.name,
                f"{name} {verb} {loss.loss_db if sure else loss.high_db:.2f} dB {at} with {loss.connectors} "
                f"connectors, by the tables {loss.low_db:.2f} to {loss.high_db:.2f} dB; {loss.max_loss_db:g} dB is "
                "allowed. Take a type with less loss, or shorten the way.",
                found=f"{loss.loss_db:.2f} dB", allowed=f"{loss.max_loss_db:g} dB",
            )
        )  # fmt: skip
    if loss.watts is not None and loss.rating_watts is not None and loss.watts > loss.rating_watts:
        findings.append(
            cable_finding(
                "coax-power", Severity.ERROR, cable.name,
                f"The transmitter gives {loss.watts:g} W; {name} is rated for {loss.rating_watts:g} W {at} by its "
                "power_rating. Take a thicker type.",
                found=f"{loss.watts:g} W", allowed=f"{loss.rating_watts:g} W",
            )
        )  # fmt: skip
    if loss.watts is not None and loss.bears_watts is not None and loss.watts > loss.bears_watts:
        findings.append(
            cable_finding(
                "coax-heat", Severity.WARNING, cable.name,
                f"The transmitter gives {loss.watts:g} W; by its heat {name} bears about {loss.bears_watts:.0f} W "
                f"{at}, sent on and on in air of {loss.air_c:g} degrees C. That is worked out, not read: give "
                "its [[cable_type]] power_rating from the data sheet, or take a thicker type.",
                found=f"{loss.watts:g} W", allowed=f"about {loss.bears_watts:.0f} W",
            )
        )  # fmt: skip
    no_step = why_no_step(cable)
    if no_step is not None:
        findings.append(
            cable_finding(
                "half-wave", Severity.WARNING, cable.name,
                f"{cable.name} is not cut to half waves, as asked: {no_step}.",
            )
        )  # fmt: skip
    if not loss.inside:
        findings.append(
            cable_finding(
                "coax-range", Severity.WARNING, cable.name,
                f"No table of {name} was read {at}; its loss of {loss.loss_db:.2f} dB is drawn out from there.",
            )
        )  # fmt: skip
    if loss.open_percent <= most_reflected_percent:  # what a reading is compared with by habit
        findings.append(
            cable_finding(
                "coax-blind", Severity.WARNING, cable.name,
                f"With {loss.loss_db:.1f} dB {at} even a missing antenna reads only {loss.open_percent:.1f} % "
                "reflected at the radio: measure at the antenna.",
            )
        )  # fmt: skip
    return findings


def size_bonds(
    *, job: Job, lengths_m: Mapping[str, float], limits: Mapping[str, Limit]
) -> tuple[dict[str, Bond], list[Finding]]:
    """Every bonding strap that has a length; the width of a braid stands in for its diameter."""
    found: dict[str, Bond] = {}
    findings: list[Finding] = []
    longest = limits["bond_length_mm"].value / 1000.0
    most = limits["bond_mohm"].value / 1000.0
    unit = job.length_unit
    for cable in job.cables:
        if cable.cable_class is not CableClass.BOND or cable.name not in lengths_m:
            continue
        length = lengths_m[cable.name]
        width = cable.type.diameter_m
        area = cable.type.conductor_mm2 or braid_area_mm2(width)
        ohm = bond_resistance_ohm(length, area, limits["joint_mohm"].value / 1000.0)
        too_long = length > longest * (1 + 1e-9)
        too_much = ohm > most * (1 + 1e-9)
        found[cable.name] = Bond(
            length_m=length, width_m=width, area_mm2=area, resistance_ohm=ohm, limit_ohm=most,
            longest_m=longest, ok=not (too_long or too_much),
            why=(
                f"flat braid of {width * 1000:g} mm: {area:.1f} mm\N{SUPERSCRIPT TWO} of copper",
                limits["bond_mohm"].source,
            ),
        )  # fmt: skip
        if too_long:
            findings.append(
                cable_finding(
                    "bond-long", Severity.WARNING, cable.name,
                    f"A strap of {format_length(length, unit, 'up')}; a bond is at most "
                    f"{format_length(longest, unit, 'down')} long ({limits['bond_length_mm'].source}). Put the stud "
                    "nearer, on bare metal.",
                    found=format_length(length, unit, "up"), allowed=format_length(longest, unit, "down"),
                )
            )  # fmt: skip
        if too_much:
            findings.append(
                cable_finding(
                    "bond-resistance", Severity.WARNING, cable.name,
                    f"{ohm * 1000:.1f} mohm with both ends; less than {most * 1000:g} mohm is wanted "
                    f"({limits['bond_mohm'].source}). Take a wider braid or a shorter one.",
                    found=f"{ohm * 1000:.1f} mohm", allowed=f"{most * 1000:g} mohm",
                )
            )  # fmt: skip
    return found, findings
