"""The limits of the rules in words, for the pack: what they are called, and their values with units."""

from __future__ import annotations

from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.figures import Lengths
from routecut.documents.markup import Child, el
from routecut.documents.pack_parts import table
from routecut.model.sizing import Limit, Sizing
from routecut.tables import how_known

NAMES: Final = {
    "system_volts": "system voltage",
    "test_volts": "test voltage",
    "max_drop_percent": "drop of one cable",
    "max_total_drop_percent": "drop in all",
    "fuse_load_percent": "fuse over the load",
    "fuse_peak_percent": "fuse over the peak",
    "fuse_distance_mm": "fuse to battery",
    "fuse_distance_sheathed_mm": "fuse to battery, in a sheath",
    "negative_fuse": "returns fused",
    "min_wire_mm2": "thinnest wire",
    "ambient_c": "air",
    "hot_space_c": "air where it is hot",
    "insulation_c": "insulation",
    "bundle_rule": "wires in a bundle",
    "joint_mohm": "joint",
    "fuse_drop_mv": "drop of a fuse",
    "body_return_mohm": "return through the body",
    "bond_mohm": "resistance of a bond",
    "bond_length_mm": "length of a bond",
    "support_mm": "clip to clip",
    "sag_mm": "sag between clips",
    "fuel_mm": "distance to fuel",
    "fuel_least_mm": "distance to fuel, at the very least",
    "separation_mm": "kinds of cable apart",
    "connector_loss_db": "loss of a connector",
    "max_loss_db": "loss of a coax",
    "reflected_percent": "reflected power",
}
"""What each limit is called in the pack; its key in the job stands small at the end."""

_LEAST: Final = frozenset(["fuel_mm", "fuel_least_mm", "separation_mm"])
"""Distances to be kept at least: printed rounded up."""

CHOICES: Final = {
    "negative_fuse": {0.0: "no", 1.0: "yes"},
    "bundle_rule": {1.0: "as in a raceway", 2.0: "the sharper ones"},
}
"""Limits that are choices: their values in words."""

_UNITS: Final = {
    "degrees C": "\N{DEGREE SIGN}C",
    "mohm": "m\N{GREEK CAPITAL LETTER OMEGA}",
}


def limit_value(limit: Limit, lengths: Lengths) -> str:
    """The value of a limit as it is printed: lengths in the unit of the job, rounded to the safe side."""
    chosen = CHOICES.get(limit.name, {}).get(limit.value)
    if chosen is not None:
        return chosen
    if limit.unit == "mm":
        return lengths.text(limit.value / 1000.0, "up" if limit.name in _LEAST else "down")
    return f"{limit.value:g} {_UNITS.get(limit.unit, limit.unit)}".rstrip()


def limits_table(sizing: Sizing, lengths: Lengths) -> Element:
    """Every limit in force, in words, with its source; a deviation says so."""
    rows: list[list[Child]] = [
        [
            NAMES.get(limit.name, limit.name),
            el("b", limit_value(limit, lengths)),
            limit.meaning,
            el(
                "div",
                "DEVIATION: " if limit.deviation else "",
                f"{limit.source} ({how_known(limit.provenance)}) ",
                el("small", el("code", limit.name)),
            ),
        ]
        for limit in sizing.limits
    ]
    return el(
        "div",
        el("p", f"Rule profile: {sizing.profile}. A limit set by the job is marked as a deviation."),
        table(["limit", "value", "of what", "source"], rows, kind="limits"),
    )
