"""The access graph of a fit-out: from the open air over spaces to places, with the trim in the way.

Stage      service
Units      minutes
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from routecut.model.plan import PlannedCable
from routecut.model.service import Removal, Service, ServicePlace
from routecut.service.least import OPEN_AIR, Arc, in_order, least_removal, reached


def arcs_of(service: Service, places: Iterable[ServicePlace]) -> list[Arc]:
    """Every way in: through the doors of the spaces, then to the places in them."""
    listed = list(places)
    spaces = dict.fromkeys(way.space for place in listed for way in place.ways)
    arcs = []
    for space in spaces:
        doors = service.doors.get(space)
        if doors is None:
            arcs.append(Arc(OPEN_AIR, _room(space)))
        else:
            arcs += [Arc(OPEN_AIR, _room(space), frozenset([door])) for door in doors]
    for place in listed:
        arcs += [Arc(_room(way.space), place.key, frozenset(way.trims)) for way in place.ways]
    return arcs


def removal_of(service: Service, places: Sequence[ServicePlace], trims: Iterable[str] = ()) -> Removal | None:
    """The least that has to come off to get at all of some places, and at some trim's back.

    Parameters
    ----------
    service : Service
    places : sequence of ServicePlace
    trims : iterable of str
        Have to be off in any case.

    Returns
    -------
    Removal or None
        None when nobody gets at one of the places.
    """
    wanted = list(dict.fromkeys(trims))
    arcs = arcs_of(service, places)
    arcs += [Arc(OPEN_AIR, f"behind {name}", frozenset([name])) for name in wanted]
    minutes, after = _weights(service), _after(service)
    targets = [*(place.key for place in places), *(f"behind {name}" for name in wanted)]
    order = least_removal(arcs, targets, minutes=minutes, after=after)
    return None if order is None else _told(service, order)


def with_places(service: Service, places: Sequence[ServicePlace], cables: Iterable[PlannedCable]) -> Service:
    """A study with these places, and what has to come off for all of them, and for all that cables run behind."""
    within = [p for p in places if p.removal is not None]
    covered = dict.fromkeys(cover.trim for c in cables for cover in c.covered)
    return replace(
        service,
        places=tuple(places),
        every=removal_of(service, within) or Removal(),
        strip=removal_of(service, within, covered) or Removal(),
    )


def taken_off(service: Service, trims: Iterable[str]) -> Removal:
    """Some trim as it comes off, with what has to be off before it."""
    found = removal_of(service, [], trims)
    assert found is not None  # noqa: S101 - trim can always be taken off: there are no rings
    return found


def opened_by(service: Service, trims: Iterable[str]) -> tuple[ServicePlace, ...]:
    """The places one gets at with some trim off and not without."""
    arcs = arcs_of(service, service.places)
    before, now = reached(arcs, ()), reached(arcs, trims)
    return tuple(p for p in service.places if p.key in now and p.key not in before)


def ordered(service: Service, trims: Iterable[str]) -> tuple[str, ...]:
    """Trim in the order in which it comes off."""
    return in_order(trims, minutes=_weights(service), after=_after(service))


def _room(space: str) -> str:
    return f"space {space}"


def _weights(service: Service) -> dict[str, float]:
    return {trim.name: trim.counts_as for trim in service.trims}


def _after(service: Service) -> dict[str, tuple[str, ...]]:
    return {trim.name: trim.after for trim in service.trims}


def _told(service: Service, order: tuple[str, ...]) -> Removal:
    known = {trim.name: trim for trim in service.trims}
    return Removal(
        trims=order,
        minutes=math.fsum(known[t].minutes for t in order),
        unknown=tuple(t for t in order if known[t].minutes <= 0.0),
    )
