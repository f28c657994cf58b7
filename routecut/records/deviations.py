"""Planned beside as built, row by row.

Stage      records; a plan and what follows from its record in, rows out
Units      m, V, ohm, per cent
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from routecut.model.as_built import AsBuilt, Difference, Relaid
from routecut.model.plan import Plan, PlannedCable
from routecut.model.record import Fact, Kind, What

SAME_M: Final = 0.001
"""Lengths nearer than a tape is read are the same. [m]"""

_MORE_OHM: Final = 1.25
"""A lead that reads so much more than predicted is worth a look (common practice, no source)."""


def rows(plan: Plan, built: AsBuilt) -> tuple[Difference, ...]:
    """Everything that was recorded beside what was planned for it."""
    found: list[Difference] = []
    for planned in plan.cables:
        found += _cable(plan, built, planned)
    for device in plan.job.devices:
        found += _place(built, f"device {device.name}", device.name, "device")
        found += _device(plan, built, device.name)
    for hole in plan.job.pass_throughs:
        found += _place(built, f"pass-through {hole.name}", hole.name, "pass-through")
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
        yield _lengths(about, "length to cut for it", before, relaid.cut.length_m)
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
    record, sizing = built.record, plan.sizing
    wire = None if sizing is None else sizing.electrical.get(name)
    coax = None if sizing is None else sizing.coax.get(name)
    bond = None if sizing is None else sizing.bonds.get(name)
    volts = record.told(What.VOLTS, name)
    if volts is not None and volts.kind is Kind.CABLE:
        most = None
        if wire is not None and wire.peak_drop_percent > 0.0:
            most = wire.max_drop_percent * wire.peak_drop_v / wire.peak_drop_percent
        yield from _volts(
            about,
            volts,
            "lost",
            None if wire is None else wire.drop_v,
            None if wire is None else wire.peak_drop_v,
            most=most,
        )
    ohm = record.told(What.RESISTANCE, name)
    if ohm is not None and ohm.ohm is not None:
        before, most, why = None, None, ""
        if bond is not None:
            before, most = bond.resistance_ohm, bond.limit_ohm
            why = "less than the limit is wanted"
        elif wire is not None:
            before, most = wire.resistance_ohm, _MORE_OHM * wire.resistance_ohm
            why = "more than a quarter above what is predicted: look at the ends"
        bad = most is not None and ohm.ohm >= most
        yield Difference(
            about=about, what="resistance, end to end", before=before, after=ohm.ohm, unit="ohm", marked=bad,
            why=why if bad else "",
        )  # fmt: skip
    power = record.told(What.POWER, name)
    if power is not None and power.forward and power.reflected is not None:
        share = 100.0 * power.reflected / power.forward
        most = None if coax is None else coax.reflected_percent
        bad = most is not None and share > most
        yield Difference(
            about=about, what="reflected, at the radio", before=most, after=share, unit="%", marked=bad,
            why="more than may be read: look at the antenna, its ground and the plugs" if bad else "",
        )  # fmt: skip


def _volts(
    about: str,
    fact: Fact,
    what: str,
    duty: float | None,
    peak: float | None,
    *,
    most: float | None = None,
    least: float | None = None,
) -> Iterator[Difference]:
    for when, before, after in (("duty", duty, fact.duty), ("peak", peak, fact.peak)):
        if after is None:
            continue
        high = most is not None and after > most
        low = least is not None and when == "peak" and after < least
        why = (
            "more than is allowed"
            if high
            else "lower than predicted: measure at the battery too"
            if low
            else ""
        )
        yield Difference(
            about=about, what=f"volts {what} at {when}", before=before, after=after, unit="V",
            marked=high or low, why=why,
        )  # fmt: skip


def _device(plan: Plan, built: AsBuilt, name: str) -> Iterator[Difference]:
    about, record = f"device {name}", built.record
    kind = next(d.kind for d in plan.job.devices if d.name == name)
    swapped = record.told(What.SWAPPED, name)
    if swapped is not None and swapped.kind is Kind.DEVICE:
        yield _texts(about, "fitted", kind or name, swapped.fitted)
    volts = record.told(What.VOLTS, name)
    if volts is not None and volts.kind is Kind.DEVICE:
        supplies = () if plan.sizing is None else plan.sizing.supplies
        supply = next((s for s in supplies if s.device == name), None)
        yield from _volts(
            about,
            volts,
            "there",
            None if supply is None else supply.volts,
            None if supply is None else supply.peak_volts,
            least=None if supply is None else supply.peak_volts,
        )
    serial = record.told(What.SERIAL, name)
    if serial is not None:
        yield Difference(about=about, what="serial number", before=None, after=serial.text, marked=False)


def _place(built: AsBuilt, about: str, name: str, kind: str) -> Iterator[Difference]:
    for one in built.moved:
        if one.name == name and one.kind == kind:
            far = math.dist(one.from_m, one.to_m)
            yield Difference(
                about=about, what="place", before=one.from_m, after=one.to_m, unit="m", marked=far >= SAME_M
            )


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
