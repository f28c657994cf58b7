"""What moving a device or a candidate does, against the job as it is.

Stage      made by `routecut.planning.whatif`, read by documents and the command line
Units      m, per cent, dB; positions in ISO 4130 axes
"""

from __future__ import annotations

from dataclasses import dataclass

from routecut.model.finding import Finding
from routecut.model.vehicle import Vec3


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """One thing at another place than the job has it.

    Attributes
    ----------
    name : str
    kind : str
        "device" or "pass-through".
    from_m, to_m : Vec3
        Where the job has it and where it is tried, both once snapped or seated. [m]
    from_space, to_space : str
        Of a device; empty for a pass-through.
    along : tuple of str
        Ports given by an offset: they go with their device.
    stay : tuple of str
        Ports given by coordinates or tapes of their own: they stay where they are.
    unmeasured : tuple of str
        Cables with a stretch measured with a string that ends here: it no longer holds and was
        left out.
    """

    name: str
    kind: str
    from_m: Vec3
    to_m: Vec3
    from_space: str = ""
    to_space: str = ""
    along: tuple[str, ...] = ()
    stay: tuple[str, ...] = ()
    unmeasured: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CableState:
    """One cable as it comes out of a plan.

    Attributes
    ----------
    route_m, cut_m : float or None
        None where it is not laid. [m]
    holes : tuple of str
        In their order.
    type_name : str
    drop_percent : float or None
        At peak; of a power cable.
    loss_db : float or None
        With its connectors; of coax.
    """

    route_m: float | None
    cut_m: float | None
    holes: tuple[str, ...]
    type_name: str
    drop_percent: float | None = None
    loss_db: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NewHole:
    """A hole to drill, in one of the two studies. `found`: on a panel, not given. [m]"""

    name: str
    at_m: Vec3
    found: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """The job with something moved, beside the job as it is.

    Attributes
    ----------
    moved : tuple of Moved
    holes_before, holes_after : tuple of NewHole
        To drill.
    cables : dict of str to (CableState, CableState)
        Of every cable: as it is, and moved.
    findings : tuple of Finding
        Of the survey, which the job as it is does not have.
    """

    moved: tuple[Moved, ...]
    holes_before: tuple[NewHole, ...]
    holes_after: tuple[NewHole, ...]
    cables: dict[str, tuple[CableState, CableState]]
    findings: tuple[Finding, ...] = ()
