"""The vehicle body as a mesh, in metres and ISO 4130 axes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatchcase

import numpy as np
import numpy.typing as npt

from routecut.model.job import SurfaceKind, SurfaceRule

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """Every face a cable has to know of; parts of kind `ignore` are left out.

    Attributes
    ----------
    vertices_m : (n, 3) float64
        In ISO 4130 axes. [m]
    faces : (m, 3) int64
        Vertex numbers. Winding means nothing.
    face_part : (m,) int64
        Index into `parts` for each face.
    parts : tuple of str
        Names as in the mesh file (node or group names), equal ones told apart by a number:
        seat, seat.2; unnamed geometry is "body".
    part_names : tuple of tuple of str
        For each part everything a job may call it by, as long as `parts`; when empty, the
        names in `parts` alone.
    rules : tuple of SurfaceRule
        The rule that applies to each part, as long as `parts`.
    smoothed_m : (n, 3) float64 or None
        Where routing takes the vertices to be, where the mesh is rough: without the noise of
        a scan. None where they are as in `vertices_m`. [m]
    noise_m : float
        One sigma of the noise of a scan, square to its sheets; 0 where they are smooth. [m]
    pictured : (k, 3, 3) float64
        Triangles of ignored parts, for pictures only. [m]
    digest : str
        SHA-256 of the mesh file, hexadecimal.
    """

    vertices_m: Floats
    faces: Ints
    face_part: Ints
    parts: tuple[str, ...]
    rules: tuple[SurfaceRule, ...]
    digest: str = ""
    pictured: Floats = field(default_factory=lambda: np.zeros((0, 3, 3)))
    part_names: tuple[tuple[str, ...], ...] = ()
    smoothed_m: Floats | None = None
    noise_m: float = 0.0

    @property
    def triangles_m(self) -> Floats:
        """Corners of every face, (m, 3, 3). [m]"""
        return self.vertices_m[self.faces]

    @property
    def routing_triangles_m(self) -> Floats:
        """Corners of every face as routing takes them, (m, 3, 3). [m]"""
        return (self.vertices_m if self.smoothed_m is None else self.smoothed_m)[self.faces]

    def faces_of_kind(self, *kinds: SurfaceKind) -> npt.NDArray[np.bool_]:
        """(m,) bool: the faces whose part is of one of the kinds."""
        of_kind = np.array([rule.kind in kinds for rule in self.rules], dtype=bool)
        return of_kind[self.face_part]

    def parts_called(self, glob: str) -> npt.NDArray[np.bool_]:
        """(p,) bool, as long as `parts`: those that a glob of the job means.

        Every stage that meets a glob asks here, so that all mean the same parts.
        """
        return np.array([any(means(glob, name) for name in called) for called in self._called], dtype=bool)

    @property
    def _called(self) -> Sequence[tuple[str, ...]]:
        """What each part may be called by."""
        return self.part_names or tuple((part,) for part in self.parts)

    def off_before(self, part: int) -> tuple[str, ...]:
        """The trim that has to be off before a piece of trim: what `after` of its rule means, itself aside."""
        return tuple(dict.fromkeys(self.parts[k] for k in off_first(part, self.rules, self._called)))

    def faces_called(self, glob: str) -> npt.NDArray[np.bool_]:
        """(m,) bool: the faces of `parts_called`."""
        return self.parts_called(glob)[self.face_part]


def off_first(part: int, rules: Sequence[SurfaceRule], called: Sequence[tuple[str, ...]]) -> list[int]:
    """Numbers of the trim that has to be off before a part: what `after` of its rule means, itself aside.

    Parameters
    ----------
    part : int
    rules : sequence of SurfaceRule
        The rule of each part.
    called : sequence of tuple of str
        What each part may be called by.
    """
    found = [
        k
        for glob in rules[part].after
        for k, names in enumerate(called)
        if k != part and rules[k].kind is SurfaceKind.TRIM and any(means(glob, name) for name in names)
    ]
    return list(dict.fromkeys(found))


def means(glob: str, name: str) -> bool:
    """Whether a glob means a name; brackets may also stand for themselves.

    Examples
    --------
    >>> means("seat*", "seat left"), means("rail[2]", "rail[2]"), means("seat", "seat left")
    (True, True, False)
    """
    return glob == name or fnmatchcase(name, glob)
