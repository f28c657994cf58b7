"""Clips by support rule and length, ties, sleeve by diameter, exposure and length, pull cords.

Stage      ordering
Units      m
Sources    support interval: `support_mm` of the rules; sizes of clips and sleeves, and two ties to a
           loop: common practice, no source; see `ordering.shared_clips`
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from routecut.geometry.packing import enclosing_m
from routecut.model.company import SLEEVE_OVER, group_of
from routecut.model.job import Access, Exposure
from routecut.model.plan import PlannedCable
from routecut.ordering.needs import A_TENTH_MORE, ONE_IN_TEN, Fitted, Need, size_above
from routecut.ordering.shared_clips import clips_of, ties_between
from routecut.routes.polyline import running_m
from routecut.tables import limits_in_force
from routecut.units import format_length, to_m

CLIP_SIZES_M: Final = (0.003, 0.005, 0.006, 0.008, 0.010, 0.013, 0.016, 0.019, 0.025, 0.032, 0.038, 0.050)
SLEEVE_SIZES_M: Final = (0.005, 0.007, 0.010, 0.013, 0.016, 0.019, 0.025, 0.032)
TIES_PER_LOOP: Final = 2
CORD_ENDS_M: Final = 0.5

_LOOPS: Final = ("service loop", "drip loop", "hinge loop", "travel")


def fixing_needs(fitted: Fitted) -> Iterator[Need]:
    """Clips, ties and sleeve of each cable; a pull cord for each space that is closed up for good."""
    job = fitted.job
    yield from _clips(fitted)
    sealed: dict[str, tuple[float, list[str]]] = {}
    for planned in fitted.planned:
        route, cut, cable = planned.route, planned.cut, planned.cable
        assert route is not None  # noqa: S101 - only such cables are asked for
        assert cut is not None  # noqa: S101
        name = fitted.named(cable.name)
        loops = sum(line.what.startswith(_LOOPS) for line in cut.lines)
        loops += 1 if planned.lead is not None and planned.lead.parked else 0
        if loops:
            yield Need(
                group="tie",
                what="cable tie",
                unit="piece",
                quantity=float(TIES_PER_LOOP * loops),
                cable=name,
                why="two to each loop and to each parked surplus (common practice, no source)",
                spare=ONE_IN_TEN,
            )
        yield from _sleeves(fitted, planned, name)
        for space, long in spans(planned):
            if space in {s.name for s in job.spaces if s.access is Access.SEALED}:
                before, users = sealed.get(space, (0.0, []))
                sealed[space] = (max(before, long), [*users, name])
    for space in sorted(sealed):
        long, users = sealed[space]
        for k, name in enumerate(dict.fromkeys(users)):
            yield Need(
                group="pull cord",
                what=f"pull cord left in {space}",
                unit="m",
                quantity=long + 2 * CORD_ENDS_M if k == 0 else 0.0,
                cable=name,
                why=f"{space} is closed up for good: a cord, or a spare cable, laid now saves opening it "
                "(common practice, no source)",
            )


def _clips(fitted: Fitted) -> Iterator[Need]:
    """Clips by the bundle they hold, and ties between those that hold more than one cable."""
    job = fitted.job
    support = limits_in_force(job.rules.profile, job.rules.limits)["support_mm"]
    every_m = to_m(support.value, "mm")
    routes = {p.cable.name: p.route for p in fitted.planned if p.route is not None}
    thick = {p.cable.name: p.cable.type.diameter_m for p in fitted.planned}
    kinds = {p.cable.name: group_of(p.cable.cable_class) for p in fitted.planned}
    clips, along = clips_of({name: route.points_m for name, route in routes.items()}, every_m, kinds)
    why = f"one at least every {format_length(every_m, job.length_unit)} of each cable ({support.source})"
    for clip in clips:
        size = size_above(enclosing_m([thick[name] for name in clip.cables]), CLIP_SIZES_M)
        several = len(clip.cables) > 1
        for k, name in enumerate(clip.cables):
            yield Need(
                group="clip",
                what=f"clip for {'a bundle' if several else 'a cable'} of up to {size * 1000:g} mm",
                unit="piece",
                quantity=1.0 if k == 0 else 0.0,
                cable=fitted.named(name),
                why=why
                + (
                    "; one for cables of a kind that run together (common practice, no source)"
                    if several
                    else ""
                ),
                spare=ONE_IN_TEN,
            )
    for tied in ties_between(along):
        for k, name in enumerate(tied):
            yield Need(
                group="tie",
                what="cable tie",
                unit="piece",
                quantity=1.0 if k == 0 else 0.0,
                cable=fitted.named(name),
                why="between clips of a bundle further apart than 12 in (FAA AC 43.13-1B par. 11-158b)",
                spare=ONE_IN_TEN,
            )


def spans(planned: PlannedCable) -> list[tuple[str, float]]:
    """The spaces a route runs through between its holes, with the length in each. [m]

    Borders without a panel are not told from the hole before them.
    """
    route = planned.route
    assert route is not None  # noqa: S101 - only such cables are asked for
    end = float(running_m(route.points_m)[-1])
    passages = sorted(route.passages, key=lambda p: p.at_route_m)
    if not passages:
        return [(route.spaces[0], end)] if route.spaces else []
    stops = [0.0, *(p.at_route_m for p in passages), end]
    names = [passages[0].from_space, *(p.to_space for p in passages)]
    return [(name, max(b - a, 0.0)) for name, (a, b) in zip(names, pairwise(stops), strict=True)]


def _sleeves(fitted: Fitted, planned: PlannedCable, name: str) -> Iterator[Need]:
    exposure = {s.name: s.exposure for s in fitted.job.spaces}
    size = size_above(SLEEVE_OVER * planned.cable.type.diameter_m, SLEEVE_SIZES_M)
    for space, long in spans(planned):
        harsh = exposure.get(space, ())
        if Exposure.HOT in harsh:
            what = f"heat-resistant sleeve, {size * 1000:g} mm"
        elif Exposure.STONES in harsh or Exposure.WET in harsh:
            what = f"split loom, {size * 1000:g} mm"
        else:
            continue
        if long <= 0.0:
            continue
        words = " and ".join(e for e in harsh if e is not Exposure.DRY)
        yield Need(
            group="sleeve",
            what=what,
            unit="m",
            quantity=long,
            cable=name,
            why=f"{space} is {words}" if "stones" not in words else f"{space}: {words}",
            spare=A_TENTH_MORE,
        )
