"""What a pattern makes of its measurements: the body's parts and the entries of a job.

Stage      patterns
Units      the makers think in mm; what they hand on is of `routecut.model`, in m
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Generic, TypeVar

import numpy as np

from routecut.model.job import (
    ANY,
    Access,
    Box,
    Capsule,
    Exposure,
    HoleState,
    KeepOut,
    Landmark,
    PassThrough,
    Position,
    Reason,
    Shape,
    Space,
    Sphere,
    SurfaceKind,
    SurfaceRule,
    Vec3,
)
from routecut.patterns.form import Form
from routecut.patterns.sheets import Sheet
from routecut.tables.rules import BASE_PROFILE

Corners = tuple[Sequence[float], Sequence[float]]
Entry = TypeVar("Entry")


@dataclass(frozen=True, slots=True)
class Noted(Generic[Entry]):
    """An entry of the job and what to say of it in a comment."""

    entry: Entry
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionBox:
    """Where the error of some measurements shows in the mesh. [mm]"""

    name: str
    along: str
    box: Corners
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A device of the small fit-out that is offered in the job. [mm]"""

    name: str
    equipment: str
    at: Sequence[float]
    space: str
    facing: str = ""
    note: str = ""
    more: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A vehicle made of measurements."""

    parts: Mapping[str, Sheet]
    surfaces: tuple[Noted[SurfaceRule], ...]
    spaces: tuple[Noted[Space], ...]
    keep_outs: tuple[Noted[KeepOut], ...]
    pass_throughs: tuple[Noted[PassThrough], ...]
    landmarks: tuple[Noted[Landmark], ...]
    sections: tuple[SectionBox, ...]
    devices: tuple[Fitted, ...]
    cables: tuple[str, ...]
    tape_checks: tuple[tuple[str, str], ...] = ()
    remarks: tuple[str, ...] = field(default=())
    profile: str = BASE_PROFILE
    datums: str = "x from the front, y from the middle, z from the ground"
    """From where places are measured, in words."""


def metres(point: Sequence[float]) -> Vec3:
    """A point in mm as one in m, to a tenth of a millimetre."""
    x, y, z = (round(float(v) / 1000.0, 4) for v in point)
    return (x, y, z)


def a_box(corners: Corners) -> Box:
    """A box from two corners in mm."""
    return Box(low_m=metres(corners[0]), high_m=metres(corners[1]))


def a_space(
    name: str,
    boxes: Sequence[Corners],
    seed: Sequence[float],
    *exposure: str,
    access: Access = Access.OPEN,
    open_to: tuple[str, ...] = (),
    note: str = "",
) -> Noted[Space]:
    """A space. [mm]"""
    return Noted(
        Space(
            name=name,
            boxes=tuple(a_box(b) for b in boxes),
            seed_m=metres(seed),
            seed_given=True,
            exposure=tuple(Exposure(word) for word in exposure or ("dry",)),
            access=access,
            open_to=open_to,
        ),
        note,
    )


def keep_out(
    name: str,
    shape: Shape,
    reason: str,
    clearance: float,
    *,
    sweep: Sequence[float] = (0, 0, 0),
    note: str = "",
    confirmed: bool = False,
) -> Noted[KeepOut]:
    """A keep-out, unconfirmed unless it is the pattern's own. [mm]"""
    return Noted(
        KeepOut(
            name=name,
            shape=shape,
            clearance_m=clearance / 1000.0,
            reason=Reason(reason),
            sweep_m=metres(sweep),
            confirmed=confirmed,
        ),
        note,
    )


def capsule(start: Sequence[float], end: Sequence[float], radius: float) -> Capsule:
    """A capsule. [mm]"""
    return Capsule(from_m=metres(start), to_m=metres(end), radius_m=radius / 1000.0)


def sphere(at: Sequence[float], radius: float) -> Sphere:
    """A sphere. [mm]"""
    return Sphere(at_m=metres(at), radius_m=radius / 1000.0)


def hole(
    name: str,
    at: Sequence[float],
    axis: Vec3,
    diameter: float,
    joins: tuple[str, str],
    *,
    depth: float = 10.0,
    candidate: bool = False,
    classes: tuple[str, ...] = (ANY,),
    in_use: float = 0.0,
    note: str = "",
) -> Noted[PassThrough]:
    """A usual pass-through, unconfirmed. [mm]"""
    return Noted(
        PassThrough(
            name=name,
            position=Position(at_m=metres(at)),
            axis=axis,
            diameter_m=diameter / 1000.0,
            depth_m=depth / 1000.0,
            state=HoleState.CANDIDATE if candidate else HoleState.EXISTING,
            joins=joins,
            classes=classes,
            in_use_m=in_use / 1000.0,
            confirmed=False,
        ),
        note,
    )


def mark(name: str, at: Sequence[float], note: str = "") -> Noted[Landmark]:
    """A landmark. [mm]"""
    return Noted(Landmark(name=name, position=Position(at_m=metres(at))), note)


def obstacle(*parts: str, note: str = "") -> list[Noted[SurfaceRule]]:
    """Parts that nothing is clipped to; the note stands at the first."""
    return [
        Noted(SurfaceRule(part=part, kind=SurfaceKind.OBSTACLE), note if k == 0 else "")
        for k, part in enumerate(parts)
    ]


def a_trim(part: str, minutes: float, note: str = "") -> Noted[SurfaceRule]:
    """Trim and what it costs to take it off."""
    return Noted(SurfaceRule(part=part, kind=SurfaceKind.TRIM, removal_minutes=minutes), note)


def panel(
    part: str, thickness: float, *, material: str = "steel", drill: bool = False, note: str = ""
) -> Noted[SurfaceRule]:
    """Sheet that cables clip to. [mm]"""
    return Noted(
        SurfaceRule(
            part=part, kind=SurfaceKind.PANEL, material=material, thickness_m=thickness / 1000.0, drill=drill
        ),
        note,
    )


def levels(low: float, belt: float, roof: float) -> list[float]:
    """Heights at which a space under a rounded roof is stepped; each step is within 60 mm of the roof. [mm]"""
    up = roof - 190 - belt
    rising = [belt + share * up for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    return [z for z in (*rising, roof - 115, roof - 65, roof - 28, roof - 4) if z > low + 50]


def stepped(
    form: Form, x: tuple[float, float], low: float, tops: Sequence[float], *, widest: float = 1e4
) -> list[Corners]:
    """Boxes of a space under the outer form, one for each height: each where the form is about as wide as anywhere.

    Parameters
    ----------
    x : (float, float)
        From where to where. [mm]
    low : float
        Bottom of all of them. [mm]
    tops : sequence of float
        Their tops, rising. [mm]
    widest : float
        Half width that none exceeds. [mm]
    """
    boxes: list[Corners] = []
    stations = np.linspace(x[0], x[1], max(3, int((x[1] - x[0]) / 20)))
    for top in tops:
        wide = np.minimum(form.half_width(stations, np.full(len(stations), float(top))), widest)
        half = float(wide.max())
        good = np.flatnonzero(wide > half - NARROWER)
        if half < 200 or not len(good):
            continue
        first, last = float(stations[good[0]]), float(stations[good[-1]])
        if last - first > 40:
            boxes.append(((first, -half, low), (last, half, float(top))))
    return boxes


NARROWER: Final = 50.0
"""A box may stand out of the form by this much: routes are judged with 60 mm to spare. [mm]"""
