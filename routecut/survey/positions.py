"""Positions in a job: by coordinates, or by tape from landmarks.

Stage      survey; landmarks first, since everything else may be taped from them
Units      m, ISO 4130 axes
Safe side  a position with two possible answers is an error that names both
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from routecut.model.finding import Severity
from routecut.model.job import Landmark, Position, Vec3
from routecut.plain import nearest_name, shown
from routecut.survey.axes import DIRECTIONS
from routecut.survey.faults import listed
from routecut.survey.tape import Fix, TapeError, trilaterate
from routecut.survey.toml_fields import Fields
from routecut.units import format_length, from_m

MOST_TAPED: Final = 50
"""Tape distances that a position may be given by."""

# Which of a mirror pair lies further to a side is clear only if they differ that way by
# more than this share of their distance.
_CLEAR_SIDE = 0.1
# A residual below this is no news.
_WORTH_SAYING_M = 0.001


@dataclass
class Places:
    """What tape distances can be taken from.

    Attributes
    ----------
    landmarks : dict of str to Position or None
        None for a landmark that is named in the job but whose own position is at fault.
    sigma_m : float
        One-sigma error of a point and of a tape distance. [m]
    """

    sigma_m: float = 0.005
    landmarks: dict[str, Position | None] = field(default_factory=dict)


def read_position(
    fields: Fields, places: Places, key: str = "at", *, required: bool = True
) -> Position | None:
    """The position under a key, with `snap` beside it or in it; None when absent or at fault."""
    snap = fields.flag("snap")
    if not fields.has(key):
        if required:
            fields.require(key, _wanted(fields))
        return None
    return as_position(fields, places, key, fields.take(key), snap=snap)


def as_position(
    fields: Fields, places: Places, key: str, value: object, *, snap: bool = False
) -> Position | None:
    """A value taken as a position; None after a fault."""
    if not isinstance(value, dict):
        if not isinstance(value, list):
            fields.fault(
                "wrong-type",
                key,
                f"{key} is {shown(value)}; wanted is {_wanted(fields)}.",
                found=value,
                allowed=_wanted(fields),
            )
            return None
        at = fields.as_place(key, value)
        return None if at is None else Position(at_m=at, snap=snap)
    inner = fields.sub(value, key)
    snap = inner.flag("snap", snap)
    side = inner.one_of("side", tuple(DIRECTIONS), "front") if inner.has("side") else ""
    given = [name for name in ("tape", "at") if inner.has(name)]
    found: Position | None = None
    if len(given) != 1:
        inner.fault(
            "bad-position",
            "tape",
            "A position is given either by coordinates or by tape distances."
            if given
            else "A position needs coordinates or tape distances.",
            allowed=_wanted(fields),
        )
    elif given == ["at"]:
        at = inner.as_place("at", inner.take("at"))
        found = None if at is None else Position(at_m=at, snap=snap)
    else:
        found = _taped(inner, places, side, snap=snap)
    inner.finish()
    return found if inner.sound else None


def read_points(
    fields: Fields, places: Places, key: str, *, least: int, most: int | None = None
) -> tuple[Vec3, ...]:
    """A list of positions; required. [m]"""
    count = f"{least} points" if most == least else f"{least} or more points"
    wanted = f"a list of {count}, each {_wanted(fields)}"
    if not fields.has(key):
        fields.require(key, wanted)
        return ()
    value = fields.take(key)
    if not isinstance(value, list) or len(value) < least or (most is not None and len(value) > most):
        fields.fault(
            "wrong-type", key, f"{key} is {shown(value)}; wanted is {wanted}.", found=value, allowed=wanted
        )
        return ()
    found = [as_position(fields, places, key, item) for item in value]
    return tuple(position.at_m for position in found if position is not None)


def read_landmarks(entries: list[Fields], places: Places) -> list[tuple[Landmark, Fields]]:
    """Every landmark; those taped from others are solved after them.

    `places.landmarks` is filled; what can't be solved because it hangs on itself is an
    error that names the ring.
    """
    names = [entry.name() for entry in entries]
    for name in names:
        if name:
            places.landmarks.setdefault(name, None)
    solved: dict[int, Position | None] = {}
    waiting = list(range(len(entries)))
    while waiting:
        done_names = {names[i] for i in solved} | {""}
        ready = [i for i in waiting if _needs(entries[i], places.landmarks) <= done_names]
        if not ready:
            ring = listed(repr(names[i]) for i in waiting)
            for i in waiting:
                entries[i].fault(
                    "bad-position",
                    "at",
                    f"The landmarks {ring} are taped from each other in a ring; give one by coordinates.",
                )
            break
        for i in ready:
            solved[i] = read_position(entries[i], places)
            # the first of two equal names counts; the second is reported as a duplicate
            if names[i] and names[i] not in names[:i]:
                places.landmarks[names[i]] = solved[i]
        waiting = [i for i in waiting if i not in solved]
    found = []
    for i, entry in enumerate(entries):
        entry.has("at"), entry.has("snap")
        entry.finish()
        position = solved.get(i)
        if position is None:
            entry.spoil()
        found.append((Landmark(name=names[i], position=position or Position(at_m=(0.0, 0.0, 0.0))), entry))
    return found


def _needs(entry: Fields, known: Mapping[str, object]) -> set[str]:
    at = entry.data.get("at")
    tape = at.get("tape") if isinstance(at, dict) else None
    return {name for name in tape if name in known} if isinstance(tape, dict) else set()


def _taped(inner: Fields, places: Places, side: str, *, snap: bool) -> Position | None:
    tape = inner.child("tape")
    if tape is None:
        return None
    if len(tape.data) > MOST_TAPED:
        inner.fault(
            "out-of-range",
            "tape",
            f"{len(tape.data)} distances are given; {MOST_TAPED} can be used.",
            found=len(tape.data),
            allowed=f"3 to {MOST_TAPED} distances",
        )
        return None
    names, anchors, distances = [], [], []
    broken = False
    for name in tape.data:
        tape.has(name)
        distance = tape.as_length(name, tape.data[name], low_m=0.0, above=True)
        if name not in places.landmarks:
            tape.fault(
                "unknown-name",
                name,
                f"No [[landmark]] is called {name!r}.",
                found=name,
                allowed=listed(places.landmarks) or "none is defined",
                nearest=nearest_name(name, places.landmarks),
            )
            continue
        anchor = places.landmarks[name]
        if anchor is None:
            broken = True  # the landmark's own fault is reported where it is defined
        elif distance is not None:
            names.append(name)
            anchors.append(anchor.at_m)
            distances.append(distance)
    if broken or not tape.sound or not tape.unit_known:
        tape.spoil()
        return None
    try:
        fixes = trilaterate(names, anchors, distances, sigma_m=places.sigma_m, unit=tape.unit)
    except TapeError as error:
        inner.fault(
            "bad-position",
            "tape",
            f"This gives no point: {error}.",
            found=tape.data,
            allowed="three or more distances from landmarks that are not in one line",
        )
        return None
    if not inner.sound:  # the word for the side is at fault, and said so
        return None
    fix = _by_side(inner, fixes, side)
    if fix is None:
        return None
    _report_residual(inner, fix, places, len(names))
    return Position(at_m=fix.at_m, taped=True, residual_m=fix.residual_m, snap=snap)


def _by_side(inner: Fields, fixes: tuple[Fix, ...], side: str) -> Fix | None:
    if len(fixes) == 1:
        return fixes[0]
    first, second = (np.asarray(fix.at_m) for fix in fixes)
    between = second - first
    clear = [
        word
        for word, direction in DIRECTIONS.items()
        if abs(float(np.dot(between, direction))) > _CLEAR_SIDE * float(np.linalg.norm(between))
    ]
    if side in clear:
        return fixes[int(np.dot(between, DIRECTIONS[side]) > 0)]
    both = " or ".join(
        "[" + ", ".join(f"{from_m(v, inner.unit):.4g}" for v in fix.at_m) + "]" for fix in fixes
    )
    why = f"side = {side!r} does not tell them apart" if side else "side is missing"
    inner.fault(
        "bad-position",
        "side",
        f"The distances fit two points, {both} {inner.unit}, and {why}; say on which side the right one "
        "lies, seen from the other.",
        found=side or None,
        allowed=", ".join(clear),
    )
    return None


def _report_residual(inner: Fields, fix: Fix, places: Places, count: int) -> None:
    if fix.residual_m < _WORTH_SAYING_M:
        return
    limit = 3 * places.sigma_m
    bad = fix.residual_m > limit
    inner.fault(
        "tape-residual",
        "tape",
        f"The {count} tape distances leave a residual of {format_length(fix.residual_m, inner.unit)}"
        + (
            f", more than the {format_length(limit, inner.unit)} that point_error explains; measure again, "
            f"{fix.worst!r} first."
            if bad
            else "."
        ),
        found=format_length(fix.residual_m, inner.unit),
        allowed=format_length(limit, inner.unit),
        severity=Severity.WARNING if bad else Severity.NOTE,
    )


def _wanted(fields: Fields) -> str:
    return (
        f"[x, y, z] in {fields.unit}, x rear, y right, z up, or "
        "{ tape = { landmark = distance, ... }, side = ... }"
    )
