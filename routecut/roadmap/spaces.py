"""Which space a node is in, although boxes are never exact and meshes never closed.

Points of free air inside each space's boxes that can be reached from the space's seed
vote for the nodes they see; so do points outside every box. Nodes that nobody sees, or
that are seen from two spaces, take the label of the nearest labelled node along the
roadmap, like a watershed. A box 60 mm too large therefore does no harm: its air beyond
the panel is not reached from the seed.

Units      m
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix, csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from routecut.geometry.sheets import Sheets
from routecut.model.body import Floats, Ints
from routecut.model.job import Box, Space, vec3

NOWHERE = -1
"""The label of what lies in no space."""

_LATTICE_M = (0.04, 0.30)
_MOST_PER_SPACE = 6000
_INSET_M = 0.06
"""How far boxes are trusted to be wrong: votes come from further inside than this."""

_SIGHT_M = 0.45
_BEYOND_M = 0.5
"""How far beyond the panels air is looked at."""

_VOTERS = 10
_CLEAR_MAJORITY = 0.7
_SEED_LEAST = 0.3
"""An unstated seed whose air is smaller than this share of the largest lies in a closed solid."""


def in_boxes(points_m: Floats, boxes: Sequence[Box], grow_m: float = 0.0) -> npt.NDArray[np.bool_]:
    """Whether each point lies in one of the boxes, grown by `grow_m` all round, (n,)."""
    inside = np.zeros(len(points_m), dtype=bool)
    for box in boxes:
        low, high = np.array(box.low_m) - grow_m, np.array(box.high_m) + grow_m
        inside |= ((points_m >= low) & (points_m <= high)).all(axis=1)
    return inside


def space_of(points_m: Floats, spaces: Sequence[Space]) -> Ints:
    """Index of the first space listed whose boxes hold each point, NOWHERE where none does, (n,)."""
    label = np.full(len(points_m), NOWHERE, dtype=np.int64)
    for index in reversed(range(len(spaces))):
        label[in_boxes(points_m, spaces[index].boxes)] = index
    return label


def _grid(low: Floats, high: Floats, step: float) -> Floats:
    axes = []
    for a, b in zip(low, high, strict=True):
        n = max(1, int(np.ceil((b - a) / step)))
        axes.append(a + (np.arange(n) + 0.5) * (b - a) / n)
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


def _connected(sheets: Sheets, points: Floats, reach_m: float) -> Ints:
    """Group number of each point: one group for what unblocked hops connect, (n,)."""
    pairs = cKDTree(points).query_pairs(reach_m, output_type="ndarray")
    free = ~sheets.blocked(points[pairs[:, 0]], points[pairs[:, 1]])
    pairs = pairs[free]
    links = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(points), len(points)))
    _, group = connected_components(links, directed=False)
    return np.asarray(group, dtype=np.int64)


def _surely_inside(boxes: Sequence[Box], box: Box, step_m: float) -> Floats:
    """Points of a box that stay in the boxes when moved by the inset along any axis: where two abut they go on."""
    low, high = np.array(box.low_m), np.array(box.high_m)
    inset = np.minimum(_INSET_M, (high - low) / 4)
    points = _grid(low, high, step_m)
    for move in np.concatenate([np.diag(inset), -np.diag(inset)]):
        points = points[in_boxes(points + move, boxes, 1e-9)]
    return points if len(points) else _grid(low + inset, high - inset, step_m)


def _within(box: Box, limits: Box) -> Box | None:
    """What two boxes have in common, None where that has no volume."""
    low = np.maximum(box.low_m, limits.low_m)
    high = np.minimum(box.high_m, limits.high_m)
    return Box(low_m=vec3(low), high_m=vec3(high)) if (low < high).all() else None


def _step_m(boxes: Sequence[Box]) -> float:
    """Distance of the points that stand for the air in boxes."""
    size = np.array([np.array(b.high_m) - np.array(b.low_m) for b in boxes])
    volume = float(size.prod(axis=1).sum())
    return max(float(np.clip(size.min() / 3, *_LATTICE_M)), float(np.cbrt(volume / _MOST_PER_SPACE)))


def _air_of(sheets: Sheets, spaces: Sequence[Space], index: int, around: Box) -> Floats:
    """Points of free air surely in the space: inside its boxes, connected to its seed."""
    space = spaces[index]
    boxes = list(space.boxes)
    step = _step_m(boxes)
    if step > _LATTICE_M[1]:
        # Of boxes many times the vehicle most air sees no sheet: it would leave too few points for the rest.
        boxes = [near for box in boxes if (near := _within(box, around)) is not None] or boxes
        step = _step_m(boxes)
    grids = [_surely_inside(boxes, box, step) for box in boxes]
    points = np.concatenate([np.array([space.seed_m]), *grids])
    own = space_of(points, spaces) == index
    own[0] = True
    points = points[own]
    group = _connected(sheets, points, 1.8 * step)
    size_of = np.bincount(group)
    chosen = group[0]
    if not space.seed_given and size_of[chosen] < _SEED_LEAST * size_of.max():
        # The middle of a box may lie inside a seat or a tank: the largest air in the box is meant.
        chosen = size_of.argmax()
    return np.asarray(points[group == chosen])


def _air_of_nowhere(sheets: Sheets, spaces: Sequence[Space], around: Box) -> Floats:
    """Points of free air outside every box, connected to the far outside."""
    low, high = np.array(around.low_m), np.array(around.high_m)
    step = max(0.15, float(((high - low).prod() / (4 * _MOST_PER_SPACE)) ** (1 / 3)))
    points = _grid(low, high, step)
    outside = ~np.logical_or.reduce(
        [np.zeros(len(points), dtype=bool), *(in_boxes(points, s.boxes, _INSET_M) for s in spaces)]
    )
    points = points[outside]
    shell = np.flatnonzero(((points < low + step) | (points > high - step)).any(axis=1))
    if not len(shell):
        return np.zeros((0, 3))
    group = _connected(sheets, points, 1.8 * step)
    return np.asarray(points[np.isin(group, group[shell])])


def label_nodes(sheets: Sheets, spaces: Sequence[Space], nodes_m: Floats, links: csr_matrix) -> Ints:
    """Index of the space of each node, NOWHERE for those in none.

    Parameters
    ----------
    sheets : Sheets
    spaces : sequence of Space
    nodes_m : (n, 3) float64
    links : csr_matrix, shape (n, n)
        Lengths of unblocked hops between nodes. [m]

    Returns
    -------
    (n,) int64
    """
    known = np.concatenate([nodes_m, np.array([space.seed_m for space in spaces]).reshape(-1, 3)])
    if not len(nodes_m):
        return np.zeros(0, dtype=np.int64)
    around = Box(
        low_m=vec3(known.min(axis=0) - _BEYOND_M),
        high_m=vec3(known.max(axis=0) + _BEYOND_M),
    )
    air = [_air_of(sheets, spaces, i, around) for i in range(len(spaces))]
    air.append(_air_of_nowhere(sheets, spaces, around))
    voters = np.concatenate(air)
    party = np.concatenate([np.full(len(a), i) for i, a in enumerate(air)])
    distance, row = cKDTree(voters).query(nodes_m, k=_VOTERS, distance_upper_bound=_SIGHT_M)
    node, rank = np.nonzero(np.isfinite(distance))
    voter = row[node, rank]
    seen = ~sheets.blocked(nodes_m[node], voters[voter])
    node, voter, weight = node[seen], voter[seen], 1 / np.maximum(distance[node, rank][seen], 0.02) ** 2
    votes = np.zeros((len(nodes_m), len(air)))
    np.add.at(votes, (node, party[voter]), weight)
    total = votes.sum(axis=1)
    best = votes.argmax(axis=1)
    sure = (total > 0) & (votes.max(axis=1) >= _CLEAR_MAJORITY * np.maximum(total, 1e-12))
    label = np.where(sure, best, -2)
    if sure.any() and not sure.all():
        reach, _, source = dijkstra(
            links, directed=False, indices=np.flatnonzero(sure), min_only=True, return_predecessors=True
        )
        late = ~sure & np.isfinite(reach)
        label[late] = label[source[late]]
    return np.where((label == len(spaces)) | (label < 0), NOWHERE, label)
