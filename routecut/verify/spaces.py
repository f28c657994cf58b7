"""Spaces: whether the route says a way that exists, and whether the curve keeps to it.

Boxes of spaces are inexact by up to 60 mm. A point counts as outside the spaces of its
run only when it does so however the boxes are moved by that much: allowed boxes are
grown, all others shrunk, and the first space listed that holds the point wins as always.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from routecut.model.body import Floats
from routecut.model.job import Cable, Job, Space
from routecut.model.plan import Route
from routecut.verify.limits import SPACE_SLACK_M


def neighbours(spaces: Sequence[Space]) -> dict[str, set[str]]:
    """For each space the spaces it is open to; it holds both ways."""
    open_to: dict[str, set[str]] = {s.name: set() for s in spaces}
    for space in spaces:
        for other in space.open_to:
            open_to[space.name].add(other)
            open_to.setdefault(other, set()).add(space.name)
    return open_to


def walk(job: Job, cable: Cable, route: Route) -> tuple[list[set[str]], list[str]]:
    """The spaces of each run between passages, and what is wrong with the way stated.

    Returns
    -------
    runs : list of set of str
        One more than there are passages: where the curve may be in each run, the spaces
        stated and those open to them.
    faults : list of str
    """
    open_to = neighbours(job.spaces)
    first, last = job.device_of(cable.from_port).space, job.device_of(cable.to_port).space
    stated = route.spaces
    faults: list[str] = []
    if not stated or stated[0] != first:
        faults.append(f"begins in {stated[0] if stated else 'no space'}; {cable.from_port} is in {first}")
    if not stated or stated[-1] != last:
        faults.append(f"ends in {stated[-1] if stated else 'no space'}; {cable.to_port} is in {last}")
    unknown = sorted({name for name in stated if name not in open_to})
    faults += [f"visits {name}, which is no space of the job" for name in unknown]

    visited: list[set[str]] = [{stated[0] if stated else first}]
    done = 0
    for here, there in pairwise(stated):
        passage = route.passages[done] if done < len(route.passages) else None
        if passage is not None and (passage.from_space, passage.to_space) == (here, there):
            done += 1
            visited.append({there})
        elif there in open_to.get(here, ()):
            visited[-1].add(there)
        else:
            faults.append(f"changes from {here} to {there} without a passage")
            visited[-1].add(there)
    if done < len(route.passages):
        names = ", ".join(p.name for p in route.passages[done:])
        faults.append(f"lists {names}, which the spaces stated ({', '.join(stated)}) do not go through")
    if len(visited) != len(route.passages) + 1:
        # the passages still say where the curve may be
        visited = [{first}] + [{p.to_space} for p in route.passages]
        for k, passage in enumerate(route.passages):
            visited[k].add(passage.from_space)
    return [names.union(*(open_to.get(name, set()) for name in names)) for names in visited], faults


def holder(points_m: Floats, spaces: Sequence[Space], allowed: set[str]) -> npt.NDArray[np.int64]:
    """Number of the first space that holds each point, allowed ones grown, others shrunk; -1 none."""
    result = np.full(len(points_m), -1, dtype=np.int64)
    for number in range(len(spaces) - 1, -1, -1):
        slack = SPACE_SLACK_M if spaces[number].name in allowed else -SPACE_SLACK_M
        for box in spaces[number].boxes:
            low, high = np.asarray(box.low_m) - slack, np.asarray(box.high_m) + slack
            result[((points_m >= low) & (points_m <= high)).all(axis=1)] = number
    return result


def strayed(points_m: Floats, spaces: Sequence[Space], allowed: set[str]) -> npt.NDArray[np.bool_]:
    """Whether each point lies outside the allowed spaces beyond doubt, (n,)."""
    number = holder(points_m, spaces, allowed)
    fine = np.array([space.name in allowed for space in spaces] + [False])
    return np.asarray(~fine[number])
