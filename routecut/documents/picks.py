"""Picked entries as TOML for `routecut add`: the templates, and how each kind of value is written.

The templates are the one place that says what an entry looks like. The page is given them and fills them
by itself (`assets/view_picks.js`); a test holds its text against the one made here.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Final

from routecut.model.job import Job, Reason
from routecut.plain import plain
from routecut.scene.tagging import (
    FLAT_M,
    HOLE_STATES,
    MOUTH_M,
    NAME_WORDS,
    PLAIN_DIAMETER_M,
    POINTED_M,
    RIM_BEFORE_M,
    RIM_NEAR,
    RIM_NEAR_M,
    RIM_SLANT,
    TAG_KINDS,
    Tag,
    taken_names,
)
from routecut.units import DECIMALS, METRES_PER_UNIT

WAY_DECIMALS: Final = 4
DIGEST_LETTERS: Final = 16

_HOLE: Final = (
    "[[pass_through]]\nname = {name:text}\nat = {at:fine}\naxis = {axis:way}\ndiameter = {diameter:size}\n"
    "state = {state:text}\njoins = [{first:text}, {second:text}]\n"
)
TEMPLATES: Final = {
    "head": "# Picked on the body of {title:text}, for routecut add.\n"
    "# Axes of ISO 4130 (x rear, y right, z up), lengths in {unit:word}.\nlength_unit = {unit:text}\n\n"
    "[picked_on]\nmesh_sha256 = {digest:text}\n",
    "landmark": "[[landmark]]\nname = {name:text}\nat = {at:point}\n# on {part:text}, within {off:size} of the mesh\n",
    "rim": _HOLE + "# by its rim on {part:text}: {edges:count} edges, its middle within {within:size}\n",
    "taps": _HOLE + "# by three taps on {part:text}, where the mesh has no round rim: measure it\n",
    "hole": _HOLE + "# pointed at on {part:text}: measure its diameter\n",
    "keep_out": "[[keep_out]]\nname = {name:text}\nbox = [{low:point}, {high:point}]\nreason = {reason:text}\n",
    "hinge": "[[hinge]]\nname = {name:text}\nline = [{first:point}, {second:point}]\n",
    "device": "[[device]]\nname = {device:text}\nat = {at:point}\nspace = {space:text}\n",
    "known device": "[[device]]\nname = {device:text}\n",
    "port": "[[device.port]]\nname = {name:text}\nat = {at:point}\nleaves = {normal:way}\n"
    "# on {part:text}, within {off:size} of the mesh\n",
}
"""How each entry is written. A value is filled in by its kind: text, word, point, fine, way, size, count."""

_PLACE: Final = re.compile(r"\{(\w+):(\w+)\}")


def picks_toml(job: Job, digest: str, tags: Sequence[Tag]) -> str:
    """Picked entries as a TOML text, in the unit of the job; empty when there are none.

    Parameters
    ----------
    job : Job
    digest : str
        Of the mesh they were picked on.
    tags : sequence of Tag
    """
    if not tags:
        return ""
    head = {"title": job.title, "unit": job.length_unit, "digest": digest[:DIGEST_LETTERS]}
    blocks = [filled("head", head, job)]
    blocks += [
        filled(tag.template, tag.values, job)
        for kind in TAG_KINDS
        for tag in tags
        if tag.kind == kind.key != "port"
    ]
    blocks += _devices(job, [tag for tag in tags if tag.kind == "port"])
    return "\n".join(blocks)


def _devices(job: Job, ports: Sequence[Tag]) -> Iterator[str]:
    """Ports by their device; one that the job does not have is where its first port is."""
    known = {device.name for device in job.devices}
    for name in dict.fromkeys(tag.values["device"] for tag in ports):
        of = [tag for tag in ports if tag.values["device"] == name]
        yield filled("known device" if name in known else "device", of[0].values, job)
        for tag in of:
            yield filled("port", tag.values, job)


def filled(template: str, values: Mapping[str, str | float | list[float]], job: Job) -> str:
    """One of `TEMPLATES` with its values."""

    def one(place: re.Match[str]) -> str:
        return _written(values[place[1]], place[2], job)

    return _PLACE.sub(one, TEMPLATES[template])


def _written(value: str | float | list[float], kind: str, job: Job) -> str:
    unit = job.length_unit
    in_m, place_in_m = _factors(job)
    if isinstance(value, str):
        return value if kind == "word" else _quoted(value)
    if isinstance(value, list):
        if kind == "way":
            return f"[{', '.join(_digits(v, WAY_DECIMALS) for v in value)}]"
        decimals = DECIMALS[unit] + (kind == "fine")  # of a fitted hole one more
        return f"[{', '.join(_digits(v / place_in_m, decimals) for v in value)}]"
    if kind == "count":
        return _digits(value, 0)
    return _digits(value / in_m, DECIMALS[unit] + 1)


def _factors(job: Job) -> tuple[float, float]:
    """Metres of a unit of length and of a unit of place, in plain floating point as the page has it.

    The job multiplies every place it reads by the scale of its tape checks.
    """
    in_m = float(METRES_PER_UNIT[job.length_unit])
    return in_m, in_m * job.vehicle.mesh_scale


def _digits(value: float, decimals: int) -> str:
    """Rounded as the page does: half a step away from zero; no zero with a sign."""
    text = str(Decimal(value).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP))
    return text.removeprefix("-") if not text.strip("-0.") else text


def _quoted(text: str) -> str:
    """A basic string of TOML: JSON writes one, but for the delete character, which `plain` leaves out."""
    return json.dumps(plain(text), ensure_ascii=False)


def tagging_record(job: Job, digest: str) -> dict[str, Any]:
    """What the page has to know to make the same entries."""
    unit = job.length_unit
    in_m, place_in_m = _factors(job)
    return {
        "kinds": [{"key": k.key, "words": k.words, "taps": k.taps, "tell": k.tell} for k in TAG_KINDS],
        "templates": TEMPLATES,
        "nameWords": NAME_WORDS,
        "taken": {kind: [plain(n) for n in names] for kind, names in taken_names(job).items()},
        "reasons": [str(r) for r in Reason],
        "states": list(HOLE_STATES),
        "digest": digest[:DIGEST_LETTERS],
        "placeInM": place_in_m,
        "inM": in_m,
        "decimals": DECIMALS[unit],
        "wayDecimals": WAY_DECIMALS,
        "rimNear": RIM_NEAR,
        "rimNearM": RIM_NEAR_M,
        "rimBeforeM": RIM_BEFORE_M,
        "rimSlant": RIM_SLANT,
        "mouthM": MOUTH_M,
        "flatM": FLAT_M,
        "plainDiameterM": PLAIN_DIAMETER_M,
        "pointedM": POINTED_M,
    }
