"""Reads where cables may run: spaces, keep-outs, noise sources, hinges, openings, pass-throughs.

Stage      survey
Units      m, ISO 4130 axes
Sources    default clearances: see `DEFAULT_CLEARANCE_M`
"""

from __future__ import annotations

from typing import Final

from routecut.model.job import (
    ANY,
    Access,
    Box,
    CableClass,
    Capsule,
    Exposure,
    Hinge,
    HoleState,
    KeepOut,
    NoiseSource,
    Opening,
    PartShape,
    PassThrough,
    Position,
    Reason,
    Shape,
    Space,
    Sphere,
    Vec3,
    vec3,
)
from routecut.plain import shown
from routecut.survey.positions import Places, as_position, read_points, read_position
from routecut.survey.toml_fields import Fields

CLASS_WORDS: Final = (ANY, *(c.value for c in CableClass))

DEFAULT_CLEARANCE_M: Final[dict[Reason, float]] = {
    # van and truck body-builder manuals ask for 100 to 200 mm from an exhaust
    Reason.HOT: 0.150,
    # a truck maker's body-builder guide: 75 mm from moving parts
    Reason.MOVING: 0.075,
    # FAA AC 43.13-1B par. 11-96w: 6 in from fuel lines
    Reason.FUEL: 0.1524,
}
"""Clearance of a keep-out that gives none, by reason; 0 for the others. [m]"""

_NOWHERE: Final = (0.0, 0.0, 0.0)
_SHAPES: Final = ("box", "capsule", "sphere", "part")


def middle_of(box: Box) -> Vec3:
    """The middle of a box. [m]"""
    return vec3((low + high) / 2 for low, high in zip(box.low_m, box.high_m, strict=True))


def read_space(fields: Fields) -> Space:
    """One ``[[space]]``."""
    name = fields.name()
    both = [key for key in ("box", "boxes") if fields.has(key)]
    boxes: list[Box] = []
    if not both:
        fields.require("box", "[[x, y, z], [x, y, z]]: the low and the high corner")
    elif len(both) == 2:
        fields.fault("not-allowed", "boxes", "box and boxes are both given; one of them is wanted.")
    else:
        value = fields.take(both[0])
        listed = [value] if both[0] == "box" else value
        if not isinstance(listed, list) or not listed:
            fields.fault(
                "wrong-type", both[0], f"{both[0]} is {shown(value)}; wanted is a list of boxes.", found=value
            )
        else:
            boxes = [box for item in listed if (box := read_box(fields, both[0], item)) is not None]
    seed = fields.as_place("seed", fields.take("seed")) if fields.has("seed") else None
    seed = seed or (middle_of(boxes[0]) if boxes else _NOWHERE)
    if fields.has("seed") and boxes and fields.sound and not any(box.holds(seed) for box in boxes):
        fields.fault(
            "out-of-range",
            "seed",
            f"seed lies outside the space {name!r}.",
            found=fields.data["seed"],
            allowed="a point in the space, in free air",
        )
    space = Space(
        name=name,
        boxes=tuple(boxes),
        seed_m=seed,
        seed_given=fields.has("seed"),
        exposure=tuple(
            Exposure(word)
            for word in fields.texts("exposure", (Exposure.DRY.value,), [w.value for w in Exposure])
            if word in set(Exposure)
        ),
        access=fields.word("access", Access, Access.OPEN),
        open_to=fields.texts("open_to"),
    )
    fields.finish()
    return space


def read_box(fields: Fields, key: str, value: object) -> Box | None:
    """Two corners taken as a box, scaled with the mesh; None after a fault."""
    if not isinstance(value, list) or len(value) != 2:
        fields.fault(
            "wrong-type",
            key,
            f"{key} is {shown(value)}; wanted is [[x, y, z], [x, y, z]]: the low and the high corner.",
            found=value,
            allowed="two corners",
        )
        return None
    low, high = (fields.as_place(key, corner) for corner in value)
    if low is None or high is None:
        return None
    wrong = [axis for axis, a, b in zip("xyz", low, high, strict=True) if a >= b]
    if wrong:
        fields.fault(
            "out-of-range",
            key,
            f"{key}: the first corner must lie below the second; it does not on {', '.join(wrong)}.",
            found=value,
            allowed="[[low x, low y, low z], [high x, high y, high z]]",
        )
        return None
    return Box(low_m=low, high_m=high)


def read_keep_out(fields: Fields, places: Places) -> KeepOut:
    """One ``[[keep_out]]``."""
    name = fields.name()
    given = [key for key in _SHAPES if fields.has(key)]
    shape: Shape | None = None
    if not given:
        fields.require("box", "a shape: box, capsule, sphere or part")
    elif len(given) > 1:
        fields.fault(
            "not-allowed", given[1], f"{' and '.join(given)} are given; a keep-out has one shape.",
            allowed=", ".join(_SHAPES),
        )  # fmt: skip
    elif given == ["box"]:
        shape = read_box(fields, "box", fields.take("box"))
    elif given == ["part"]:
        shape = PartShape(part=fields.name("part"))
    elif (inner := fields.child(given[0])) is not None:
        shape = _capsule(inner, places) if given == ["capsule"] else _sphere(inner, places)
        inner.finish()
    reason = fields.word("reason", Reason, Reason.OTHER)
    keep_out = KeepOut(
        name=name,
        shape=shape or Sphere(at_m=_NOWHERE, radius_m=0.0),
        clearance_m=fields.length("clearance", DEFAULT_CLEARANCE_M.get(reason, 0.0), high_m=2.0),
        reason=reason,
        sweep_m=fields.point("sweep", _NOWHERE),
        applies_to=fields.texts("applies_to", (ANY,), CLASS_WORDS),
        confirmed=fields.flag("confirmed", True),
    )
    fields.finish()
    return keep_out


def _capsule(inner: Fields, places: Places) -> Capsule | None:
    ends: list[Position | None] = []
    for key in ("from", "to"):
        if inner.has(key):
            ends.append(as_position(inner, places, key, inner.take(key)))
        else:
            inner.require(key, "a point: [x, y, z]")
    radius = inner.length("radius", high_m=10.0, above=True)
    if len(ends) != 2 or ends[0] is None or ends[1] is None:
        return None
    return Capsule(from_m=ends[0].at_m, to_m=ends[1].at_m, radius_m=radius)


def _sphere(inner: Fields, places: Places) -> Sphere | None:
    at = as_position(inner, places, "at", inner.take("at")) if inner.has("at") else None
    if not inner.has("at"):
        inner.require("at", "a point: [x, y, z]")
    radius = inner.length("radius", high_m=10.0, above=True)
    return None if at is None else Sphere(at_m=at.at_m, radius_m=radius)


def read_noise_source(fields: Fields, places: Places) -> NoiseSource:
    """One ``[[noise_source]]``."""
    source = NoiseSource(
        name=fields.name(),
        line_m=read_points(fields, places, "line", least=2),
        separation_m=fields.length("separation", 0.100, high_m=5.0, above=True),
        applies_to=fields.texts("applies_to", (ANY,), CLASS_WORDS),
    )
    fields.finish()
    return source


def read_hinge(fields: Fields, places: Places) -> Hinge:
    """One ``[[hinge]]``."""
    name = fields.name()
    line = read_points(fields, places, "line", least=2, most=2)
    if len(line) == 2 and line[0] == line[1]:
        fields.fault(
            "out-of-range", "line", "The two points of the line are the same.", found=fields.data["line"]
        )
    fields.finish()
    return Hinge(name=name, line_m=(line[0], line[1]) if len(line) == 2 else (_NOWHERE, _NOWHERE))


def read_opening(fields: Fields, places: Places) -> Opening:
    """One ``[[opening]]``."""
    name = fields.name()
    position = read_position(fields, places)
    if position is not None and position.snap:
        fields.fault(
            "not-allowed",
            "snap",
            "The middle of an opening lies in the air: it can't be moved onto a surface.",
            found=True,
            allowed="false, or no snap",
        )
    fields.finish()
    return Opening(name=name, position=position or Position(at_m=_NOWHERE))


def read_pass_through(fields: Fields, places: Places) -> PassThrough:
    """One ``[[pass_through]]``."""
    name = fields.name()
    position = read_position(fields, places)
    axis = fields.direction("axis", required=True)
    diameter = fields.length("diameter", high_m=1.0, above=True)
    joins = fields.texts("joins")
    if not fields.has("joins"):
        fields.require("joins", "the names of the two spaces it joins")
    elif isinstance(fields.data["joins"], list) and len(joins) != 2 and fields.sound:
        fields.fault(
            "out-of-range", "joins", f"joins is {shown(list(joins))}; wanted are the names of two spaces.",
            found=list(joins), allowed="two names",
        )  # fmt: skip
    pass_through = PassThrough(
        name=name,
        position=position or Position(at_m=_NOWHERE),
        axis=axis or (1.0, 0.0, 0.0),
        diameter_m=diameter,
        state=HoleState(
            fields.one_of(
                "state", (HoleState.EXISTING.value, HoleState.CANDIDATE.value), HoleState.EXISTING.value
            )
        ),
        joins=(joins[0], joins[1]) if len(joins) == 2 else ("", ""),
        depth_m=fields.length("depth", 0.0, high_m=5.0),
        classes=fields.texts("classes", (ANY,), CLASS_WORDS),
        in_use_m=fields.length("in_use", 0.0, high_m=1.0),
        grommet=fields.flag("grommet") if fields.has("grommet") else None,
        confirmed=fields.flag("confirmed", True),
    )
    if fields.sound and pass_through.in_use_m > pass_through.diameter_m:
        fields.fault(
            "out-of-range", "in_use", "in_use is more than the hole's diameter.", found=fields.data["in_use"],
            allowed=f"at most {shown(fields.data['diameter'])}",
        )  # fmt: skip
    fields.finish()
    return pass_through
