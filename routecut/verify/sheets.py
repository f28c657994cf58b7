"""Crossings of sheets and clearance to them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routecut.model.body import Floats, Ints
from routecut.verify.curve import Curve
from routecut.verify.faces import FaceIndex
from routecut.verify.limits import SAME_CROSSING_M, TOUCH_M
from routecut.verify.passages import Tube

_FLAT = 1e-9  # sine of the angle between a segment and a face that counts as lying in it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contact:
    """Faces the curve comes near, away from its passages where that was asked for.

    Attributes
    ----------
    run_m, distance_m : (k,) float64
        Place on the curve and distance of its middle there. [m]
    face, segment : (k,) int64
        Of the mesh, and between which two samples of the curve.
    """

    run_m: Floats
    distance_m: Floats
    face: Ints
    segment: Ints

    def rows(self, pick: npt.NDArray[np.bool_] | Ints) -> Contact:
        """Some of the rows, in the order of `pick`."""
        return Contact(
            run_m=self.run_m[pick],
            distance_m=self.distance_m[pick],
            face=self.face[pick],
            segment=self.segment[pick],
        )


def contacts(curve: Curve, faces: FaceIndex, reach_m: float) -> tuple[Contact, Contact]:
    """What the curve meets, and what it comes within `reach_m` of without meeting it.

    Both hold every pair of segment and face; passages are not yet considered.
    """
    met = faces.segments_near(curve.points_m, max(reach_m, TOUCH_M))
    run = curve.run_m[met.segment] + met.place * np.diff(curve.run_m)[met.segment]
    touch = met.distance_m <= TOUCH_M
    both = Contact(run_m=run, distance_m=met.distance_m, face=met.face, segment=met.segment)
    return both.rows(touch), both.rows(~touch)


def crossings(curve: Curve, faces: FaceIndex, contact: Contact, tubes: Sequence[Tube]) -> list[Contact]:
    """Meetings with metal that no passage of the route opens, one item for each sheet met.

    A segment lying in a face meets it along a line: there both its ends must be in the
    passage, not only the one point of contact.
    """
    start, end = curve.points_m[contact.segment], curve.points_m[contact.segment + 1]
    triangles = faces.triangles_m[contact.face]
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    along = end - start
    sine = np.abs(np.einsum("ij,ij->i", normal, along))
    flat = sine <= _FLAT * np.linalg.norm(normal, axis=1) * np.linalg.norm(along, axis=1)
    points = curve.at(contact.run_m)
    opened = np.zeros(len(points), dtype=bool)
    for tube in tubes:
        opened |= tube.holds(points) & (~flat | (tube.holds(start) & tube.holds(end)))
    shut = contact.rows(~opened)
    shut = shut.rows(np.argsort(shut.run_m, kind="stable"))
    if not len(shut.run_m):
        return []
    breaks = np.flatnonzero(np.diff(shut.run_m) > SAME_CROSSING_M) + 1
    return [shut.rows(rows) for rows in np.split(np.arange(len(shut.run_m)), breaks)]
