"""What is known of a world without planning it: whether there is a way, and how long it is at least."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
from scipy.ndimage import label

from tests.properties.rooms import Block, Floats, World


def fill_says_yes(world: World, *, margin: float, step: float = 0.04) -> bool:
    """Whether a coarse flood fill along the walls of the rooms gets from end to end.

    Only the outermost layer of cells of each room counts, and only cells that are further than
    `margin` beyond what the cable needs from every keep-out, and from the window and the baffles.
    """
    names = [name for name, _, _ in world.rooms]
    joined: list[tuple[str, int]] = []
    found: dict[str, dict[str, int]] = {}
    for name, low, high in world.rooms:
        count = np.maximum(np.ceil((high - low) / step).astype(int), 3)
        cell = (high - low) / count
        index = np.stack(np.meshgrid(*(np.arange(n) for n in count), indexing="ij"), axis=-1)
        centres = low + (index + 0.5) * cell
        free = ((index == 0) | (index == count - 1)).any(axis=-1)
        points = centres.reshape(-1, 3)
        for keep_out in world.keep_outs:
            wanted = keep_out.clearance + world.diameter / 2 + margin
            free &= (keep_out.distance(points) > wanted).reshape(free.shape)
        if world.window is not None and world.wall is not None:
            w = world.window
            frame = Block(low=(world.wall, w[0], w[1]), high=(world.wall, w[2], w[3]))
            free &= (frame.distance(points) > margin).reshape(free.shape)
        for level, y0, z0, y1, z1 in world.baffles:
            plate = Block(low=(level, y0, z0), high=(level, y1, z1))
            free &= (plate.distance(points) > margin).reshape(free.shape)
        group, _ = label(free)
        places = {f"H{k}": np.array([world.wall, h.y, h.z]) for k, h in enumerate(world.holes)}
        if name == names[0]:
            places["start"] = np.array(world.start.at)
        if name == names[-1]:
            places["end"] = np.array(world.end.at)
        found[name] = {
            key: int(group[tuple(np.clip(((at - low) / cell).astype(int), 0, count - 1))])
            for key, at in places.items()
        }
    start = (names[0], found[names[0]]["start"])
    end = (names[-1], found[names[-1]]["end"])
    if not start[1] or not end[1]:
        return False
    if len(names) == 1:
        return start == end
    joined = [(f"H{k}", found[names[0]][f"H{k}"]) for k in range(len(world.holes))]
    return any(mark == start[1] and found[names[1]][key] == end[1] for key, mark in joined)


def unfolded(size: Any, start: Any, end: Any, inset: float) -> list[tuple[float, int]]:
    """Lengths of straight lines over unfoldings of a box room, and the edges each crosses.

    Both points lie at `inset` from a wall; the room counts as smaller by `inset` all round. The
    shortest of them is the shortest way along the walls (the spider and the fly: Dudeney, 1903).
    """
    room = np.asarray(size, dtype=float) - 2 * inset
    a, b = np.asarray(start, dtype=float) - inset, np.asarray(end, dtype=float) - inset
    lengths: list[tuple[float, int]] = []

    def on(point: Floats, axis: int, high: bool) -> bool:
        return bool(abs(point[axis] - (room[axis] if high else 0.0)) < 1e-6)

    def roll(frame: Floats, origin: Floats, axis: int, high: bool, visited: tuple[Any, ...]) -> None:
        # `frame` @ p + origin lays the room so that the face now down lies in the plane w = 0.
        if on(b, axis, high):
            flat = (frame @ b + origin)[:2] - (first @ a + first_origin)[:2]
            lengths.append((float(np.linalg.norm(flat)), len(visited) - 1))
        if len(visited) == 5:
            return
        for other, side in itertools.product(range(3), (False, True)):
            if other == axis or (other, side) in visited:
                continue
            # Tip the room over the edge between this face and the other one.
            normal = frame[:, other] * (1 if side else -1)
            edge = np.zeros(3)
            edge[other] = room[other] if side else 0.0
            edge[axis] = room[axis] if high else 0.0
            pivot = frame @ edge + origin
            up = np.array([0.0, 0.0, 1.0])
            hinge = np.cross(up, normal)
            # a quarter turn that takes the outward normal of the other face to -up
            turn = np.outer(hinge, hinge) - np.outer(up, normal) + np.outer(normal, up)
            roll(turn @ frame, turn @ (origin - pivot) + pivot, other, side, (*visited, (other, side)))

    for axis, high in itertools.product(range(3), (False, True)):
        if not on(a, axis, high):
            continue
        u, v = (k for k in range(3) if k != axis)
        first = np.zeros((3, 3))
        first[0, u] = first[1, v] = 1.0
        first[2, axis] = -1.0 if high else 1.0
        first_origin = np.array([0.0, 0.0, room[axis] if high else 0.0])
        roll(first, first_origin, axis, high, ((axis, high),))
    return lengths
