"""Two jobs side by side: what one has and the other has not, and what is another.

Stage      records; two plans in, rows out
Units      m
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TypeVar

from routecut.model.as_built import Difference
from routecut.model.job import Device, PassThrough
from routecut.model.plan import Plan, PlannedCable
from routecut.records.deviations import SAME_M

T = TypeVar("T")

THERE = "there"


def differences(first: Plan, second: Plan) -> tuple[Difference, ...]:
    """Rows for every device, hole and cable, those that are alike left out."""
    one, other = first.job, second.job
    return (
        *_each("device", {d.name: d for d in one.devices}, {d.name: d for d in other.devices}, _device),
        *_each(
            "pass-through",
            {h.name: h for h in one.pass_throughs},
            {h.name: h for h in other.pass_throughs},
            _hole,
        ),
        *_each(
            "cable", {c.cable.name: c for c in first.cables}, {c.cable.name: c for c in second.cables}, _cable
        ),
    )


def _each(
    kind: str,
    one: Mapping[str, T],
    other: Mapping[str, T],
    rows: Callable[[str, T, T], Iterator[Difference]],
) -> Iterator[Difference]:
    for name in dict.fromkeys((*one, *other)):
        about = f"{kind} {name}"
        if name in one and name in other:
            yield from rows(about, one[name], other[name])
        else:
            before, after = (THERE if name in names else None for names in (one, other))
            yield Difference(about=about, what=kind, before=before, after=after)


def _device(about: str, one: Device, other: Device) -> Iterator[Difference]:
    if math.dist(one.position.at_m, other.position.at_m) >= SAME_M:
        yield Difference(
            about=about, what="place", before=one.position.at_m, after=other.position.at_m, unit="m"
        )
    yield from _texts(about, [("space", one.space, other.space), ("kind", one.kind, other.kind)])


def _hole(about: str, one: PassThrough, other: PassThrough) -> Iterator[Difference]:
    if math.dist(one.position.at_m, other.position.at_m) >= SAME_M:
        yield Difference(
            about=about, what="place", before=one.position.at_m, after=other.position.at_m, unit="m"
        )
    if abs(one.diameter_m - other.diameter_m) >= SAME_M / 10:
        yield Difference(
            about=about, what="diameter", before=one.diameter_m, after=other.diameter_m, unit="m"
        )
    yield from _texts(about, [("state", str(one.state), str(other.state))])


def _cable(about: str, one: PlannedCable, other: PlannedCable) -> Iterator[Difference]:
    yield from _texts(
        about,
        [
            ("from", one.cable.from_port, other.cable.from_port),
            ("to", one.cable.to_port, other.cable.to_port),
            ("type", one.cable.type.name, other.cable.type.name),
            ("holes", _holes(one), _holes(other)),
        ],
    )
    routes = [None if p.route is None else p.route.length_m for p in (one, other)]
    cuts = [None if p.cut is None else p.cut.length_m for p in (one, other)]
    for what, (before, after) in (("route", routes), ("cut length", cuts)):
        if before != after and (before is None or after is None or abs(before - after) >= SAME_M):
            yield Difference(about=about, what=what, before=before, after=after, unit="m")


def _holes(planned: PlannedCable) -> str:
    if planned.route is None:
        return "no safe route"
    return " > ".join(p.name for p in planned.route.passages) or "none"


def _texts(about: str, pairs: Sequence[tuple[str, str, str]]) -> Iterator[Difference]:
    for what, before, after in pairs:
        if before != after:
            yield Difference(about=about, what=what, before=before, after=after)
