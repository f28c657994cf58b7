"""A point that somebody pointed at, put onto the full mesh."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import trimesh

from routecut.model.body import Body
from routecut.model.job import Vec3, vec3


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """A point on the body.

    `normal` is a unit vector towards whoever looked; `part` is the name of the mesh part. [m]
    """

    at_m: Vec3
    part: str
    normal: Vec3


def picked(body: Body, at_m: Vec3, eye_m: Vec3) -> Picked | None:
    """The point of the full mesh nearest to one on a simplified picture of it.

    Parameters
    ----------
    body : Body
    at_m, eye_m : Vec3
        The point, and where it was seen from. [m]

    Returns
    -------
    Picked or None
        None for a body without faces.
    """
    triangles = body.triangles_m
    if not len(triangles):
        return None
    asked = np.broadcast_to(np.array(at_m), (len(triangles), 3))
    closest = trimesh.triangles.closest_point(triangles, asked)
    face = int(np.linalg.norm(closest - asked, axis=1).argmin())
    point = closest[face]
    normal = np.cross(*(b - a for a, b in pairwise(triangles[face])))
    normal /= np.linalg.norm(normal) or 1.0
    if normal @ (np.array(eye_m) - point) < 0.0:
        normal = -normal
    return Picked(at_m=vec3(point), part=body.parts[int(body.face_part[face])], normal=vec3(normal))
