"""What a meter should read at cables and devices, one line each.

Units      as printed: V, milliohm, dB, per cent
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from routecut.documents.reading import natural
from routecut.model.plan import Plan

_OHM: Final = "m\N{GREEK CAPITAL LETTER OMEGA}"


def reading_lines(plan: Plan, cables: Iterable[str], devices: Iterable[str]) -> Iterator[str]:
    """Predicted readings of some devices and cables, as far as they were sized."""
    sizing = plan.sizing
    if sizing is None:
        return
    asked = set(devices)
    volts = sizing.limit("test_volts").value
    for supply in (s for s in sizing.supplies if s.device in asked):
        yield (
            f"{supply.device}: {supply.volts:.1f} V at duty ({supply.amps:g} A), {supply.peak_volts:.1f} V at peak "
            f"({supply.peak_amps:g} A), with {volts:g} V at the battery"
        )
    for name in sorted(set(cables), key=natural):
        if name in sizing.electrical:
            e = sizing.electrical[name]
            yield (
                f"{name}: {e.resistance_ohm * 1000:.1f} {_OHM} end to end, cold and unplugged; loses "
                f"{e.drop_v:.2f} V at duty, {e.peak_drop_v:.2f} V at peak"
            )
        elif name in sizing.coax:
            c = sizing.coax[name]
            yield (
                f"{name}: {c.loss_db:.2f} dB at {c.mhz:g} MHz ({c.low_db:.2f} to {c.high_db:.2f}); reflected at the "
                f"radio at most {c.reflected_percent:.1f} % of forward, {c.open_percent:.0f} % with no antenna"
            )
        elif name in sizing.bonds:
            b = sizing.bonds[name]
            yield (
                f"{name}: {b.resistance_ohm * 1000:.2f} {_OHM} with both ends, less than {b.limit_ohm * 1000:g} wanted"
            )
