"""Where the body of a vehicle is worked on, and what of a fit-out lies there.

Stage      made by `routecut.service`; read by documents
Units      m
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

SIDES: Final = ("left", "right", "front", "rear", "roof", "floor")
"""What a part of the vehicle is called that has no name of its own."""

NEAR_WORK_M: Final = 0.5
"""What is nearer to a weld, a grinder or a dent is in its way (common practice, no source). [m]"""

KEEP_OUT: Final = "keep-out"
"""The kind of what lies there that is not of the fit-out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lies:
    """Something of the fit-out where the body is worked on.

    Attributes
    ----------
    kind : str
        ``cable``, ``device``, ``hole``, or a kind of place: ``joint``, ``fuse``; `KEEP_OUT`.
    name : str
    far_m : float
        The least distance to what is worked on. [m]
    stretches_m : tuple of (float, float)
        Of a cable: from where to where along it. [m]
    near : tuple of (str, float)
        Keep-outs that the cable is near on these stretches, with how near there. [m]
    """

    kind: str
    name: str
    far_m: float
    stretches_m: tuple[tuple[float, float], ...] = ()
    near: tuple[tuple[str, float], ...] = ()
