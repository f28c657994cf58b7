"""Planned beside as built, row by row.

Stage      records; a plan and what follows from its record in, rows out
Units      m, V, ohm, per cent
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from routecut.model.as_built import FORWARD, REFLECTED, RESISTANCE, VOLTS, AsBuilt, Difference, Relaid
from routecut.model.plan import Plan, PlannedCable
from routecut.model.record import Fact, Kind, What
from routecut.model.sizing import Electrical, Supply
from routecut.records import readings
from routecut.records.fitted_types import type_rows

SAME_M: Final = 0.001
"""Lengths nearer than a tape is read are the same. [m]"""


_SAME: Final = 1e-3
"""Figures that differ by no more than this share are told as one."""


def rows(plan: Plan, built: AsBuilt) -> tuple[Difference, ...]:
    """Everything that was recorded beside what was planned for it."""
    found: list[Difference] = []
    for planned in plan.cables:
        found += _cable(plan, built, planned)
    for device in plan.job.devices:
        found += _place(plan, built, f"device {device.name}", device.name, Kind.DEVICE)
        found += _device(plan, built, device.name)
    for hole in plan.job.pass_throughs:
        found += _place(plan, built, f"pass-through {hole.name}", hole.name, Kind.HOLE)
    return tuple(found)


def _cable(plan: Plan, built: AsBuilt, planned: PlannedCable) -> Iterator[Difference]:
    name, record = planned.cable.name, built.record
    about, relaid = f"cable {name}", built.relaid.get(planned.cable.name)
    cut, over = record.told(What.CUT, name), record.told(What.LEFT_OVER, name)
    planned_m = None if planned.cut is None else planned.cut.length_m
    if cut is not None:
        yield _lengths(about, "cut length", planned_m, cut.length_m)
    if over is not None and over.length_m is not None:
        short = over.length_m < 0
        yield Difference(
            about=about, what="left over", before=None, after=over.length_m, unit="m", marked=short,
            why="too short" if short else "",
        )  # fmt: skip
    if relaid is not None:
        yield from _relaid(about, planned, relaid)
    swapped = record.told(What.SWAPPED, name)
    if swapped is not None and swapped.kind is Kind.CABLE:
        yield _texts(about, "type", planned.cable.type.name, swapped.fitted)
        yield from type_rows(plan, built, planned)
    joints = record.all_told(What.JOINT, name)
    there = () if planned.lead is None else planned.lead.joints
    for number, joint in enumerate(joints):
        before = there[number].at_route_m if number < len(there) else None
        yield _lengths(about, f"joint {number + 1}, along the run", before, joint.length_m)
    yield from _readings(plan, built, name, about)


def _relaid(about: str, planned: PlannedCable, relaid: Relaid) -> Iterator[Difference]:
    was, now = planned.route, relaid.route
    if now is None:
        yield Difference(
            about=about, what="route", before=None if was is None else was.length_m, after=None, unit="m",
            why=f"NO SAFE WAY: {relaid.why}",
        )  # fmt: skip
        return
    yield _lengths(about, "route", None if was is None else was.length_m, now.length_m, why=relaid.why)
    if relaid.cut is not None:
        before = None if planned.cut is None else planned.cut.length_m
        yield replace(_lengths(about, "length to cut for it", before, relaid.cut.length_m), up=True)
    for stretch in now.measured:
        yield _lengths(
            about,
            f"{stretch.from_name} to {stretch.to_name}, with a string",
            stretch.computed_m,
            stretch.measured_m,
            why="the string counts; planned is what was computed between its ends as they are now",
        )
    if relaid.verified is not None and not relaid.verified.ok:
        yield _texts(about, "checked on the full mesh", "holds", "DOES NOT HOLD: see the findings")


def _readings(plan: Plan, built: AsBuilt, name: str, about: str) -> Iterator[Difference]:
    record, sizing = built.record, built.sizing or plan.sizing
    planned = None if plan.sizing is None else plan.sizing.electrical.get(name)
    wire = None if sizing is None else sizing.electrical.get(name)
    coax = None if sizing is None else sizing.coax.get(name)
    bond = None if sizing is None else sizing.bonds.get(name)
    volts = record.told(What.VOLTS, name)
    if volts is not None and volts.kind is Kind.CABLE:
        yield from _lost(about, volts, wire, planned)
    ohm = record.told(What.RESISTANCE, name)
    if ohm is not None and ohm.ohm is not None:
        before, judged = None, readings.AS_EXPECTED
        if bond is not None:
            before, judged = bond.resistance_ohm, readings.bond(ohm.ohm, bond.limit_ohm)
        elif wire is not None:
            before = wire.resistance_ohm
            lies_m = record.lies_m(name)
            if (
                lies_m is not None and wire.length_m > 0.0
            ):  # of the wire that lies there, not of what was planned
                before *= lies_m / wire.length_m
            judged = readings.resistance(ohm.ohm, before)
        was = None if planned is None or bond is not None else planned.resistance_ohm
        yield _reading(about, RESISTANCE, (before, ohm.ohm), "ohm", judged, planned=was)
    power = record.told(What.POWER, name)
    if power is not None and power.forward and power.reflected is not None:
        watts = None if coax is None else coax.watts
        if watts is not None:
            yield _reading(
                about, FORWARD, (watts, power.forward), "W", readings.forward(power.forward, watts)
            )
        share = 100.0 * power.reflected / power.forward
        most = None if coax is None else coax.reflected_percent
        yield _reading(about, REFLECTED, (most, share), "%", readings.reflected(share, most))


def _reading(
    about: str,
    what: str,
    figures: tuple[float | None, float],
    unit: str,
    judged: readings.Judged,
    *,
    planned: float | None = None,
) -> Difference:
    """A row of a reading; `figures` are what was expected of what lies there and what was read."""
    before, after = figures
    other = planned is not None and before is not None and not math.isclose(planned, before, rel_tol=_SAME)
    return Difference(
        about=about,
        what=what,
        before=before,
        after=after,
        unit=unit,
        marked=judged.marked,
        why=judged.why,
        planned=planned if other else None,
    )


def _lost(
    about: str, fact: Fact, wire: Electrical | None, planned: Electrical | None
) -> Iterator[Difference]:
    """Volts lost over a lead."""
    most = None
    if wire is not None and wire.peak_drop_percent > 0.0:
        most = wire.max_drop_percent * wire.peak_drop_v / wire.peak_drop_percent
    expected = (None, None) if wire is None else (wire.drop_v, wire.peak_drop_v)
    was = (None, None) if planned is None else (planned.drop_v, planned.peak_drop_v)
    for when, before, after, own in zip(("duty", "peak"), expected, (fact.duty, fact.peak), was, strict=True):
        if after is not None:
            judged = readings.volts_lost(after, before, most)
            yield _reading(about, f"{VOLTS} lost at {when}", (before, after), "V", judged, planned=own)


def _there(
    about: str, fact: Fact, supply: Supply | None, battery_v: float | None, planned: Supply | None
) -> Iterator[Difference]:
    """Volts at a device."""
    expected = (None, None) if supply is None else (supply.volts, supply.peak_volts)
    was = (None, None) if planned is None else (planned.volts, planned.peak_volts)
    for when, before, after, own in zip(("duty", "peak"), expected, (fact.duty, fact.peak), was, strict=True):
        if after is not None:
            judged = readings.volts_there(after, before, None if supply is None else battery_v)
            yield _reading(about, f"{VOLTS} there at {when}", (before, after), "V", judged, planned=own)


def _device(plan: Plan, built: AsBuilt, name: str) -> Iterator[Difference]:
    about, record = f"device {name}", built.record
    kind = next(d.kind for d in plan.job.devices if d.name == name)
    swapped = record.told(What.SWAPPED, name)
    if swapped is not None and swapped.kind is Kind.DEVICE:
        yield _texts(about, "fitted", kind or name, swapped.fitted)
    volts = record.told(What.VOLTS, name)
    if volts is not None and volts.kind is Kind.DEVICE:
        sizing = built.sizing or plan.sizing
        supplies = () if sizing is None else sizing.supplies
        supply = next((s for s in supplies if s.device == name), None)
        limits = () if sizing is None else sizing.limits
        battery_v = next((x.value for x in limits if x.name == "test_volts"), None)
        own = () if plan.sizing is None else plan.sizing.supplies
        planned = next((s for s in own if s.device == name), None)
        yield from _there(about, volts, supply, battery_v, planned)
    serial = record.told(What.SERIAL, name)
    if serial is not None:
        yield Difference(about=about, what="serial number", before=None, after=serial.text, marked=False)


def _place(plan: Plan, built: AsBuilt, about: str, name: str, kind: Kind) -> Iterator[Difference]:
    """Where it is now; also where what was recorded could not be laid and nothing was put there."""
    moved = next((m for m in built.moved if (m.name, m.kind) == (name, kind)), None)
    fact = built.record.told(What.MOVED, name)
    if moved is not None:
        before, after = moved.from_m, moved.to_m
    elif fact is not None and fact.kind is kind and fact.position is not None:
        things = plan.job.devices if kind is Kind.DEVICE else plan.job.pass_throughs
        before = next(thing.position.at_m for thing in things if thing.name == name)
        after = fact.position.at_m
    else:
        return
    far = math.dist(before, after)
    yield Difference(about=about, what="place", before=before, after=after, unit="m", marked=far >= SAME_M)


def _lengths(
    about: str, what: str, before: float | None, after: float | None, *, why: str = ""
) -> Difference:
    same = before is not None and after is not None and abs(before - after) < SAME_M
    return Difference(
        about=about, what=what, before=before, after=after, unit="m", marked=not same and before is not None,
        why=why,
    )  # fmt: skip


def _texts(about: str, what: str, before: str, after: str) -> Difference:
    return Difference(about=about, what=what, before=before, after=after, marked=before != after)
