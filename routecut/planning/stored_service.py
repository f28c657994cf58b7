"""The service study and the bundles, read back from `plan.json`.

Stage      planning; the counterpart of `documents.service_json` and `documents.company_json`
Units      m, minutes
"""

from __future__ import annotations

from typing import Any

from routecut.model.company import Bundle, Member
from routecut.model.one_more import HoleRoom
from routecut.model.service import PlaceKind, Plug, Removal, Room, Service, ServicePlace, Trim, Way


def service_from_json(found: dict[str, Any] | None) -> Service | None:
    """The study as it was written.

    Raises
    ------
    ValueError, KeyError, TypeError, AttributeError
        It is none of ours.
    """
    if found is None:
        return None
    return Service(
        trims=tuple(
            Trim(**(t | {"after": tuple(t["after"]), "near": tuple((k, d) for k, d in t["near"])}))
            for t in found["trims"]
        ),
        doors={space: tuple(trims) for space, trims in found["doors"].items()},
        places=tuple(_place(p) for p in found["places"]),
        plugs=tuple(
            Plug(**(p | {"joins": tuple(p["joins"]), "wet": tuple(p["wet"])})) for p in found["plugs"]
        ),
        every=_removal(found["every"]),
        strip=_removal(found["strip"]),
        stays=tuple(found["stays"]),
        rooms={cable: tuple(HoleRoom(**r) for r in rooms) for cable, rooms in found["rooms"].items()},
        unused=tuple(_place(p) for p in found.get("unused", ())),  # plans of before have none
    )


def _removal(found: dict[str, Any]) -> Removal:
    return Removal(trims=tuple(found["trims"]), minutes=found["minutes"], unknown=tuple(found["unknown"]))


def _place(found: dict[str, Any]) -> ServicePlace:
    removal = found["removal"]
    changed = {
        "kind": PlaceKind(found["kind"]),
        "at_m": tuple(found["at_m"]),
        "cables": tuple(found["cables"]),
        "ways": tuple(
            Way(space=w["space"], trims=tuple(w["trims"]), room=Room(w["room"])) for w in found["ways"]
        ),
        "removal": None if removal is None else _removal(removal),
    }
    return ServicePlace(**(found | changed))


def bundles_from_json(found: list[dict[str, Any]]) -> tuple[Bundle, ...]:
    """The bundles as they were written, with figures as the file rounds them."""
    return tuple(
        Bundle(
            name=b["name"],
            members=tuple(
                Member(
                    cable=m["cable"],
                    from_m=m["from_route_m"],
                    to_m=m["to_route_m"],
                    place_m=tuple(m["place_m"]),
                )
                for m in b["members"]
            ),
            length_m=b["length_m"],
            diameter_m=b["diameter_m"],
            bend_radius_m=b["bend_radius_m"],
            from_at_m=tuple(b["from_m"]),
            to_at_m=tuple(b["to_m"]),
        )
        for b in found
    )
