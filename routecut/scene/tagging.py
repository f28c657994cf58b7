"""Points picked on the body become entries of a job: landmarks, ports, holes, keep-outs, hinges.

Stage      scene; the page says and does the same in its own language (`documents/assets/view_picks.js`),
           from the lists here; `tests/documents/test_survey_page.py` holds one against the other
Units      m
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from routecut.model.job import HoleState, Job, Reason, Vec3, vec3
from routecut.model.rim import Rim
from routecut.scene.picked import Picked

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TagKind:
    """What picked points can stand for: a key, in words, how many taps it takes, what to tap."""

    key: str
    words: str
    taps: int
    tell: str


TAG_KINDS: Final = (
    TagKind(
        key="landmark", words="landmark", taps=1, tell="Tap a point that is easy to find on the vehicle."
    ),
    TagKind(key="port", words="port of a device", taps=1, tell="Tap the body where the connector is."),
    TagKind(key="rim", words="hole, by its rim", taps=3, tell="Tap three points on its rim, far apart."),
    TagKind(key="hole", words="hole, by its middle", taps=1, tell="Tap its middle; then type its diameter."),
    TagKind(
        key="keep_out", words="keep-out", taps=2, tell="Tap two opposite corners of what to keep out of."
    ),
    TagKind(key="hinge", words="hinge", taps=2, tell="Tap both ends of the line it turns about."),
)

RIM_NEAR: Final = 0.35
RIM_NEAR_M: Final = 0.008
"""Taps belong to a rim when all lie within this share of its radius of it, or this far."""

MOUTH_M: Final = 0.03
"""So far from the sheet it is asked in which space a point lies. [m]"""

FLAT_M: Final = 0.01
"""Two corners nearer than this along an axis span no box: a third one is asked for. [m]"""

POINTED_M: Final = 0.001
"""How near somebody points, where the picture is as good as the mesh. [m]"""

PLAIN_DIAMETER_M: Final = 0.02
"""Of a hole that was only pointed at, until somebody measures it. [m]"""

RIM_BEFORE_M: Final = 0.05
"""A rim is looked at past a face when it lies no further than this behind it. [m]"""

RIM_SLANT: Final = 0.1
"""A rim is not pointed at that is seen from nearer to its edge than this: sine of the angle to its plane."""

HOLE_STATES: Final = (str(HoleState.EXISTING), str(HoleState.CANDIDATE))


@dataclass(slots=True, kw_only=True)
class Tag:
    """One entry to be: the template it is written with, and what goes into it.

    `values` holds texts, numbers [m], and points or directions as lists of three numbers.
    """

    kind: str
    template: str
    values: dict[str, str | float | list[float]]

    @property
    def marked_m(self) -> Vec3:
        """Where its name is put in a picture. [m]"""
        values = self.values
        if "low" in values:
            return vec3((np.array(values["low"]) + np.array(values["high"])) / 2)
        return vec3(np.array(values["at"] if "at" in values else values["first"]))


@dataclass(slots=True)
class Tagger:
    """Taps one by one; every so often an entry comes of them.

    Attributes
    ----------
    job : Job
        For its spaces and the names that are taken.
    rims : sequence of Rim
        Round holes of the mesh (`routecut.survey.find_rims`).
    """

    job: Job
    rims: Sequence[Rim] = ()
    kind: str = "landmark"
    pending: list[Picked] = field(default_factory=list)
    tags: list[Tag] = field(default_factory=list)
    said: str = ""

    def choose(self, kind: str) -> None:
        """What the next taps are about; taps that are waiting for more are forgotten."""
        self.kind, self.pending = kind, []
        self.said = next(k.tell for k in TAG_KINDS if k.key == kind)

    def tap(self, pick: Picked) -> Tag | None:
        """Take a point; the entry that it completes, if it does."""
        self.pending.append(pick)
        wanted = next(k.taps for k in TAG_KINDS if k.key == self.kind)
        if len(self.pending) < wanted:
            self.said = f"{len(self.pending)} of {wanted} taps"
            return None
        tag, self.said = self._made(self.pending)
        if tag is not None:
            self.tags.append(tag)
        if tag is not None or self.kind != "keep_out":
            self.pending = []
        return tag

    def pointed(self, eye_m: Vec3, met: Picked) -> Picked:
        """What is meant by pointing from `eye_m` at a face: a rim that is passed close by, when rims are picked.

        A tap beside the sheet, in the hole, meets whatever lies behind it and is meant for the rim.
        """
        if self.kind != "rim":
            return met
        eye, way = np.array(eye_m), np.array(met.at_m) - np.array(eye_m)
        far = float(np.linalg.norm(way))
        best, least = met, math.inf
        for rim in self.rims if far > 0.0 else ():
            at, axis, radius = np.array(rim.at_m), np.array(rim.axis), rim.diameter_m / 2
            slope = float(way @ axis) / far
            depth = float((at - eye) @ axis) / slope if abs(slope) >= RIM_SLANT else 0.0
            point = eye + way / far * depth
            off = abs(float(np.linalg.norm(point - at)) - radius)
            near = off <= max(RIM_NEAR * radius, RIM_NEAR_M) and off < least
            if 0.0 < depth <= far + RIM_BEFORE_M and near:
                normal = -axis if slope > 0.0 else axis
                best, least = Picked(at_m=vec3(point), part=rim.part, normal=vec3(normal)), off
        return best

    def _made(self, picks: Sequence[Picked]) -> tuple[Tag | None, str]:
        name = self._free_name()
        first, last = picks[0], picks[-1]
        on: dict[str, str | float | list[float]] = {"part": first.part, "off": POINTED_M}
        if self.kind == "landmark":
            return self._tag("landmark", name=name, at=first.at_m, **on)
        if self.kind == "port":
            space = self.job.space_at(_out(first.at_m, first.normal))
            return self._tag(
                "port", device=name, name="1", at=first.at_m, normal=first.normal, space=space, **on
            )
        if self.kind == "hinge":
            return self._tag("hinge", name=name, first=first.at_m, second=last.at_m)
        if self.kind == "keep_out":
            corners = np.array([p.at_m for p in picks])
            low, high = corners.min(axis=0), corners.max(axis=0)
            if (high - low).min() < FLAT_M:
                return None, "These lie in one plane: tap a third corner, as far out as it reaches."
            return self._tag("keep_out", name=name, low=low, high=high, reason=str(Reason.OTHER))
        return self._hole(name, picks)

    def _hole(self, name: str, picks: Sequence[Picked]) -> tuple[Tag | None, str]:
        more: dict[str, str | float | list[float]] = {"part": picks[0].part}
        axis = np.array(picks[0].normal)
        if self.kind == "hole":
            template, at, diameter = "hole", np.array(picks[0].at_m), PLAIN_DIAMETER_M
        elif (rim := rim_of(self.rims, [p.at_m for p in picks])) is not None:
            template, at, axis, diameter = "rim", np.array(rim.at_m), np.array(rim.axis), rim.diameter_m
            more |= {"part": rim.part, "edges": float(rim.edges), "within": max(2 * rim.sigma_m, 0.0005)}
        else:
            axis = sum((_alike(np.array(p.normal), axis) for p in picks[1:]), axis)
            axis = axis / np.linalg.norm(axis)
            circle = circle_through([np.array(p.at_m) for p in picks], axis)
            if circle is None:
                return None, "These three lie in one line: tap three points far apart on the rim."
            template, (at, diameter) = "taps", circle
        mouths = [self.job.space_at(_out(vec3(at), vec3(axis), sign)) for sign in (-1.0, 1.0)]
        return self._tag(
            template, name=name, at=at, axis=axis, diameter=diameter, state="existing", first=mouths[0],
            second=mouths[1], **more,
        )  # fmt: skip

    def _tag(self, template: str, **values: object) -> tuple[Tag, str]:
        kept: dict[str, str | float | list[float]] = {}
        for key, value in values.items():
            kept[key] = value if isinstance(value, str | float) else [float(v) for v in np.asarray(value)]
        return Tag(
            kind=self.kind, template=template, values=kept
        ), f"{kept.get('device', kept['name'])}: picked"

    def _free_name(self) -> str:
        word, taken = NAME_WORDS[self.kind], set(taken_names(self.job)[self.kind])
        taken |= {str(t.values.get("device", t.values["name"])) for t in self.tags}
        number = 1
        while f"{word} {number}" in taken:
            number += 1
        return f"{word} {number}"


NAME_WORDS: Final = {
    "landmark": "landmark",
    "port": "device",
    "rim": "hole",
    "hole": "hole",
    "keep_out": "keep-out",
    "hinge": "hinge",
}
"""What a picked thing is called until it gets its name."""


def taken_names(job: Job) -> Mapping[str, list[str]]:
    """Names of the job by the kinds that can't use them again; a device's can, for more ports."""
    holes = [h.name for h in job.pass_throughs]
    return {
        "landmark": [m.name for m in job.landmarks],
        "port": [d.name for d in job.devices],
        "rim": holes,
        "hole": holes,
        "keep_out": [k.name for k in job.keep_outs],
        "hinge": [h.name for h in job.hinges],
    }


def rim_of(rims: Sequence[Rim], taps: Sequence[Vec3]) -> Rim | None:
    """The rim that all taps lie on, the nearest where there are several."""
    best: tuple[float, Rim | None] = (math.inf, None)
    for rim in rims:
        radius = rim.diameter_m / 2
        off = np.array(taps) - rim.at_m
        high = off @ np.array(rim.axis)
        flat = np.linalg.norm(off - high[:, None] * np.array(rim.axis), axis=1)
        far = float(np.hypot(flat - radius, high).max())
        if far <= max(RIM_NEAR * radius, RIM_NEAR_M) and far < best[0]:
            best = (far, rim)
    return best[1]


def circle_through(points: Sequence[Floats], axis: Floats) -> tuple[Floats, float] | None:
    """Middle and diameter of the circle through three points seen along an axis; None for a line."""
    middle = sum(points, np.zeros(3)) / 3
    least = np.zeros(3)
    least[int(np.abs(axis).argmin())] = 1.0
    across = np.cross(axis, least)
    across /= np.linalg.norm(across)
    up = np.cross(axis, across)
    a, b, c = (np.array([float((p - middle) @ across), float((p - middle) @ up)]) for p in points)
    u, v = b - a, c - a
    twice = 2 * (u[0] * v[1] - u[1] * v[0])
    longest = max(float(u @ u), float(v @ v))
    if abs(twice) < 0.05 * longest:
        return None
    x = (v[1] * float(u @ u) - u[1] * float(v @ v)) / twice
    y = (u[0] * float(v @ v) - v[0] * float(u @ u)) / twice
    at = middle + (a[0] + x) * across + (a[1] + y) * up
    return at, 2 * math.hypot(x, y)


def _out(at_m: Vec3, way: Vec3, sign: float = 1.0) -> Vec3:
    return vec3(a + sign * MOUTH_M * w for a, w in zip(at_m, way, strict=True))


def _alike(way: Floats, other: Floats) -> Floats:
    return way if float(way @ other) >= 0 else -way
