"""Where cables are clipped, so that those that run together share a clip.

Stage      ordering, from finished routes
Units      m
Sources    longest stretch between two clips: `support_mm` of the rules; a tie between clips that are further
           apart than 12 in: FAA AC 43.13-1B par. 11-158b; how near cables share a clip: common practice, no source
Safe side  no stretch of any cable is longer than allowed between two clips, or between a clip and an end
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from routecut.model.body import Floats
from routecut.routes.polyline import in_steps, points_at

TOGETHER_M: Final = 0.040
"""Middle to middle, cables nearer than this go under one clip. [m]"""

ALONG: Final = 0.8
"""Cosine of the angle up to which they run the same way; a clip holds none that crosses."""

TIE_ABOVE_M: Final = 12 * 0.0254
"""Cables under two clips further apart than this are tied together between them. [m]"""

_STEP_M: Final = 0.010


@dataclass(eq=False)
class Clip:
    """A clip and the cables under it."""

    at_m: Floats
    cables: list[str]


@dataclass(frozen=True, slots=True)
class _Way:
    """A route in steps: places, directions, and how far along. [m]"""

    points_m: Floats
    along: Floats
    run_m: Floats


def clips_of(
    ways_m: Mapping[str, Floats], every_m: float, kinds: Mapping[str, str]
) -> tuple[list[Clip], dict[str, list[tuple[float, int]]]]:
    """Clips for cables along their routes.

    Parameters
    ----------
    ways_m : mapping of str to (n, 3) float64
        Routes by cable. [m]
    every_m : float
        The longest stretch of a cable from clip to clip, and from an end to a clip. Above 0. [m]
    kinds : mapping of str to str
        Cables of one kind alone share a clip.

    Returns
    -------
    clips : list of Clip
    along : dict of str to list of (float, int)
        Of each cable, where its clips sit along it and which they are, in order.

    Notes
    -----
    The longest cable first. Each next clip is the furthest one within `every_m` that is there
    already for a cable that runs alongside; where there is none, a new one is set as far on as allowed.
    """
    ways = {name: _in_steps(points) for name, points in ways_m.items()}
    clips: list[Clip] = []
    along: dict[str, list[tuple[float, int]]] = {}
    directions: list[Floats] = []
    for name in sorted(ways, key=lambda n: (-float(ways[n].run_m[-1]), n)):
        way = ways[name]
        shared = [
            (at, k) for at, k in _beside(way, clips, directions) if kinds[clips[k].cables[0]] == kinds[name]
        ]
        end, last = float(way.run_m[-1]), 0.0
        mine: list[tuple[float, int]] = []
        while end - last > every_m * (1.0 + 1e-9):
            ahead = [(at, k) for at, k in shared if last + _STEP_M / 2 < at <= last + every_m * (1.0 + 1e-9)]
            if ahead:
                last, k = max(ahead)
                clips[k].cables.append(name)
            else:
                last += every_m
                step = int(np.argmin(np.abs(way.run_m - last)))
                k = len(clips)
                clips.append(
                    Clip(at_m=points_at(np.array([last]), way.run_m, way.points_m)[0], cables=[name])
                )
                directions.append(way.along[step])
            mine.append((last, k))
        along[name] = mine
    return clips, along


def ties_between(along: Mapping[str, Sequence[tuple[float, int]]]) -> list[tuple[str, ...]]:
    """The cables under each tie that is wanted between two clips they share."""
    spans: dict[tuple[int, int], tuple[float, list[str]]] = {}
    for name in sorted(along):
        for (a, first), (b, second) in pairwise(along[name]):
            key = (min(first, second), max(first, second))
            far, names = spans.get(key, (0.0, []))
            spans[key] = (max(far, b - a), [*names, name])
    found = []
    for far, names in spans.values():
        if len(names) > 1:
            found += [tuple(names)] * (math.ceil(round(far / TIE_ABOVE_M, 9)) - 1)
    return found


def _in_steps(points_m: Floats) -> _Way:
    at, places = in_steps(points_m, _STEP_M, least=1)
    along = np.gradient(places, axis=0)
    sizes = np.linalg.norm(along, axis=1, keepdims=True)
    return _Way(places, np.divide(along, sizes, out=np.zeros_like(along), where=sizes > 0.0), at)


def _beside(way: _Way, clips: Sequence[Clip], directions: Sequence[Floats]) -> list[tuple[float, int]]:
    """Clips that a cable passes alongside: where along it, and which."""
    if not clips:
        return []
    distances, steps = cKDTree(way.points_m).query([c.at_m for c in clips], distance_upper_bound=TOGETHER_M)
    return [
        (float(way.run_m[step]), k)
        for k, (distance, step) in enumerate(zip(distances.tolist(), steps.tolist(), strict=True))
        if math.isfinite(distance) and abs(float(way.along[step] @ directions[k])) >= ALONG
    ]
