"""What a meter should read at cables and devices and what it read when it was built, one line each.

Units      as printed: V, milliohm, dB, per cent
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from routecut.documents.planned_built import both_text, planned_sizing
from routecut.documents.reading import natural
from routecut.documents.reading_marks import reading_marks
from routecut.documents.record_text import ohm_text, power_text, volts_text
from routecut.model.plan import Plan
from routecut.model.record import Kind, Record, What

_OHM: Final = "m\N{GREEK CAPITAL LETTER OMEGA}"


def reading_lines(plan: Plan, cables: Iterable[str], devices: Iterable[str], record: Record) -> Iterator[str]:
    """Readings of some devices and cables: planned as far as they were sized, measured as far as recorded."""
    cables, devices = sorted(set(cables), key=natural), tuple(devices)
    planned = {(kind, name): text for kind, name, text in _planned(plan, cables, devices)}
    for kind, names in ((Kind.DEVICE, devices), (Kind.CABLE, cables)):
        for name in names:
            told = [planned[kind, name]] if (kind, name) in planned else []
            told += [f"MEASURED {text}" for text in _measured(plan, record, kind, name)]
            if told:
                yield f"{name}: {'; '.join(told)}"


def _measured(plan: Plan, record: Record, kind: Kind, name: str) -> Iterator[str]:
    rows = () if plan.as_built is None else plan.as_built.rows
    for what, text in ((What.VOLTS, volts_text), (What.RESISTANCE, ohm_text), (What.POWER, power_text)):
        fact = record.told(what, name)
        if fact is not None and fact.kind is kind:
            yield "; ".join([text(fact), *reading_marks(rows, what, kind, name)])


def _planned(plan: Plan, cables: Iterable[str], devices: Iterable[str]) -> Iterator[tuple[Kind, str, str]]:
    sizing = plan.sizing
    if sizing is None:
        return
    own = planned_sizing(plan) or sizing
    was = {s.device: s for s in own.supplies}
    asked = set(devices)
    for supply in (s for s in sizing.supplies if s.device in asked):
        volts, before = sizing.limit("test_volts").value, was.get(supply.device, supply)
        yield (
            Kind.DEVICE,
            supply.device,
            (
                f"{both_text(before.volts, supply.volts, 1, 'V')} at duty ({supply.amps:g} A), "
                f"{both_text(before.peak_volts, supply.peak_volts, 1, 'V')} at peak "
                f"({supply.peak_amps:g} A), with {volts:g} V at the battery"
            ),
        )
    for name in cables:
        if name in sizing.electrical:
            e = sizing.electrical[name]
            p = own.electrical.get(name, e)
            yield (
                Kind.CABLE,
                name,
                (
                    f"{both_text(p.resistance_ohm * 1000, e.resistance_ohm * 1000, 1, _OHM)} end to end, cold and "
                    f"unplugged; loses {both_text(p.drop_v, e.drop_v, 2, 'V')} at duty, "
                    f"{both_text(p.peak_drop_v, e.peak_drop_v, 2, 'V')} at peak"
                ),
            )
        elif name in sizing.coax:
            c = sizing.coax[name]
            yield (
                Kind.CABLE,
                name,
                (
                    f"{c.loss_db:.2f} dB at {c.mhz:g} MHz ({c.low_db:.2f} to {c.high_db:.2f}); reflected at the "
                    f"radio at most {c.reflected_percent:.1f} % of forward, {c.open_percent:.0f} % with no antenna"
                ),
            )
        elif name in sizing.bonds:
            b = sizing.bonds[name]
            yield (
                Kind.CABLE,
                name,
                (
                    f"{b.resistance_ohm * 1000:.2f} {_OHM} with both ends, less than {b.limit_ohm * 1000:g} wanted"
                ),
            )
