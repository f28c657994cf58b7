"""The vehicle body as a mesh, in metres and ISO 4130 axes."""

from __future__ import annotations

from dataclasses import dataclass, field

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
        Names as in the mesh file (node or group names); unnamed geometry is "body".
    rules : tuple of SurfaceRule
        The rule that applies to each part, as long as `parts`.
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

    @property
    def triangles_m(self) -> Floats:
        """Corners of every face, (m, 3, 3). [m]"""
        return self.vertices_m[self.faces]

    def faces_of_kind(self, *kinds: SurfaceKind) -> npt.NDArray[np.bool_]:
        """(m,) bool: the faces whose part is of one of the kinds."""
        of_kind = np.array([rule.kind in kinds for rule in self.rules], dtype=bool)
        return of_kind[self.face_part]
