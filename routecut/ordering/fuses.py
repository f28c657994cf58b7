"""Fuses, their holders and the distribution for the order list.

Stage      ordering, after sizing
Units      A
Sources    a spare of each rating: common practice, no source
"""

from __future__ import annotations

from collections.abc import Iterator

from routecut.ordering.needs import ONE_MORE, Fitted, Need
from routecut.sizing.names import is_battery, is_fuse_holder, is_fused


def fuse_needs(fitted: Fitted) -> Iterator[Need]:
    """Fuses by series and rating, a holder for every one outside a block, and the blocks themselves."""
    sizing = fitted.sizing
    for name in sorted(sizing.electrical) if sizing is not None else ():
        fuse = sizing.electrical[name].fuse if sizing is not None else None
        if fuse is None:
            continue
        cable = fitted.named(name)
        yield Need(
            group="fuse",
            what=f"fuse {fuse.rating_a:g} A, {fuse.series}",
            unit="piece",
            quantity=1.0,
            cable=cable,
            why="one each, and a spare that stays with the vehicle (common practice, no source)",
            spare=ONE_MORE,
        )
        if not fuse.in_block:
            yield Need(
                group="distribution",
                what=f"fuse holder, {fuse.series}",
                unit="piece",
                quantity=1.0,
                cable=cable,
                why="in the lead, sealed where it is wet",
            )
    yield from _blocks(fitted)


def _blocks(fitted: Fitted) -> Iterator[Need]:
    """A distribution block of the job, with the ways that are used."""
    for device in fitted.job.devices:
        if not is_fused(device) or is_fuse_holder(device) or is_battery(device):
            continue
        ports = {port.full_name for port in device.ports}
        users = [p.cable.name for p in fitted.planned if {p.cable.from_port, p.cable.to_port} & ports]
        for k, name in enumerate(users):
            yield Need(
                group="distribution",
                what=device.kind or device.name,
                unit="piece",
                quantity=1.0 if k == 0 else 0.0,
                cable=fitted.named(name),
                why=f"{fitted.named(device.name)}, {len(users)} connections in use",
            )
