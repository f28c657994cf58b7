"""Round rims found in the mesh: what three taps on one stand for."""

from __future__ import annotations

from dataclasses import dataclass

from routecut.model.vehicle import Vec3


@dataclass(frozen=True, slots=True, kw_only=True)
class Rim:
    """The open edge of a round hole.

    Attributes
    ----------
    at_m, axis : Vec3
        The middle, and a unit vector square to the sheet.
    diameter_m : float
    edges : int
        How many edges of the mesh it is made of.
    off_m : float
        What its points lie off the circle, root of the mean square. [m]
    sigma_m : float
        One sigma of its middle, sideways: that of one point, thinned out by their number. [m]
    part : str
        Of the mesh.
    """

    at_m: Vec3
    axis: Vec3
    diameter_m: float
    edges: int
    off_m: float
    sigma_m: float
    part: str
