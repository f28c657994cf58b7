"""What was sized, read back from `plan.json`.

Stage      planning; the counterpart of `documents.sizing_json`
Units      as in the file: A, V, mm2, milliohm, MHz, dB, per cent, degrees C; lengths m
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from routecut.model.fitout import Polarity
from routecut.model.sizing import (
    Ampacity,
    Bond,
    CoaxLoss,
    Conductor,
    Electrical,
    Fuse,
    Limit,
    Sizing,
    Supply,
)


def sizing_from_json(document: dict[str, Any]) -> Sizing | None:
    """The sizing of a plan, with figures as the file rounds them.

    Parameters
    ----------
    document : dict
        The whole `plan.json`.

    Returns
    -------
    Sizing or None
        None when nothing was sized.

    Raises
    ------
    ValueError, KeyError, TypeError, AttributeError
        It is none of ours.
    """
    rules = document["rules"]
    if rules is None:
        return None
    sized = {c["name"]: (c["type"], c["electrical"]) for c in document["cables"] if "electrical" in c}
    return _sizing(rules, sized, document["supplies"])


def built_sizing_from_json(document: dict[str, Any], types: Mapping[str, str]) -> Sizing | None:
    """The sizing of what was built, from the same document; `types` by cable, as they were fitted."""
    if document["rules"] is None:
        return None
    fitted = document["as_built"]["fitted"]
    sized = {name: (types[name], found) for name, found in fitted["sized"].items()}
    return _sizing(document["rules"], sized, fitted["supplies"])


def _sizing(
    rules: dict[str, Any], sized: Mapping[str, tuple[str, dict[str, Any]]], supplies: list[dict[str, Any]]
) -> Sizing:
    return Sizing(
        profile=rules["profile"],
        limits=tuple(Limit(**found) for found in rules["limits"]),
        electrical={name: _power(kind, e) for name, (kind, e) in sized.items() if "conductor" in e},
        coax={name: _coax(e) for name, (_, e) in sized.items() if "mhz" in e},
        bonds={name: _bond(e) for name, (_, e) in sized.items() if "max_resistance_mohm" in e},
        supplies=tuple(Supply(**found) for found in supplies),
    )


def _power(type_name: str, e: dict[str, Any]) -> Electrical:
    copper, fuse, warm = e["copper"], e["fuse"], e["ampacity"]
    return Electrical(
        conductor=Conductor(
            name=e["conductor"],
            area_mm2=e["area_mm2"],
            r20_ohm_per_m=copper["r20_mohm_per_m"] / 1000.0,
            insulation_c=copper["insulation_c"],
            rated_a=copper["rated_a"],
            source=copper["source"],
        ),
        type_name=type_name,
        picked=e["picked"],
        polarity=Polarity(e["polarity"]),
        length_m=e["length_m"],
        return_length_m=e["return_length_m"],
        amps=e["amps"],
        peak_amps=e["peak_amps"],
        drop_v=e["drop_v"],
        peak_drop_v=e["peak_drop_v"],
        drop_percent=e["drop_percent"],
        peak_drop_percent=e["peak_drop_percent"],
        max_drop_percent=e["max_drop_percent"],
        resistance_ohm=e["resistance_mohm"] / 1000.0,
        conductor_c=e["conductor_c"],
        ampacity=Ampacity(**warm),
        fuse=None
        if fuse is None
        else Fuse(
            rating_a=e["fuse_a"],
            series=fuse["series"],
            distance_m=e["fuse_distance_m"],
            at=fuse["at"],
            space=fuse["space"],
            access=fuse["access"] or "",
            in_block=fuse["in_block"],
            why=fuse["why"],
        ),
        least_fuse_a=e["least_fuse_a"],
        ok=e["ok"],
        why=tuple(e["why"]),
    )


def _coax(e: dict[str, Any]) -> CoaxLoss:
    renamed = {"inside_tables": "inside"}
    given = {renamed.get(key, key): value for key, value in e.items()}
    return CoaxLoss(**(given | {"why": tuple(e["why"])}))


def _bond(e: dict[str, Any]) -> Bond:
    return Bond(
        length_m=e["length_m"],
        width_m=e["width_m"],
        area_mm2=e["area_mm2"],
        resistance_ohm=e["resistance_mohm"] / 1000.0,
        limit_ohm=e["max_resistance_mohm"] / 1000.0,
        longest_m=e["max_length_m"],
        ok=e["ok"],
        why=tuple(e["why"]),
    )
