"""What sizing found: conductor, fuse and drop of power cables, loss of coax, bonds.

Stage      made by `routecut.sizing` from finished routes and cut lengths; read by documents
Units      A, V, ohm, mm2, MHz, dB, degrees C; lengths m
"""

from __future__ import annotations

from dataclasses import dataclass, field

from routecut.model.fitout import Polarity


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit of the rules in force.

    Attributes
    ----------
    name : str
        As in ``[rules]``.
    value : float
        In `unit`.
    deviation : bool
        Set by the job over the profile's own.
    lowest, highest : float
        What a job may set it to.
    """

    name: str
    value: float
    unit: str
    meaning: str
    source: str
    provenance: str
    deviation: bool = False
    lowest: float = 0.0
    highest: float = 1e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductor:
    """The metal of a wire.

    Attributes
    ----------
    name : str
        As it is bought: ``10 AWG (SAE)``, ``6 mm²``.
    area_mm2 : float
        Copper, on the low side of what the figures read allow. [mm2]
    r20_ohm_per_m : float
        At 20 degrees C, on the high side. [ohm/m]
    insulation_c : float
        What the insulation stands. [degrees C]
    rated_a : float or None
        Nominal current of its data sheet, single, in free air. [A]
    """

    name: str
    area_mm2: float
    r20_ohm_per_m: float
    insulation_c: float
    rated_a: float | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuse:
    """The fuse of a lead and where it sits.

    Attributes
    ----------
    rating_a : float
        [A]
    series : str
        Kind of fuse.
    distance_m : float
        From the terminal that feeds the lead, along the conductor. [m]
    at : str
        The port it sits at.
    space, access : str
        Where that is, and what it takes to get there; empty when not known.
    in_block : bool
        In the distribution block itself.
    why : str
    """

    rating_a: float
    series: str
    distance_m: float
    at: str
    space: str
    access: str
    in_block: bool
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ampacity:
    """What a conductor may carry where it runs.

    `table_a` is for one conductor in the air of the table, `allowed_a` after the factors. [A]
    """

    table_a: float
    heat_factor: float
    bundle_factor: float
    conductors: int
    air_c: float

    @property
    def allowed_a(self) -> float:
        """[A]"""
        return self.table_a * self.heat_factor * self.bundle_factor


@dataclass(frozen=True, slots=True, kw_only=True)
class Electrical:
    """A power cable as sized.

    Attributes
    ----------
    conductor : Conductor
    type_name : str
        The cable type: as given, or the one picked.
    picked : bool
        The job left the type open.
    polarity : Polarity
    length_m : float
        As cut, one way. [m]
    return_length_m : float
        Of the return that is taken to lie beside it, because the job has none; 0 otherwise. [m]
    amps, peak_amps : float
        Carried at duty and at peak: its own load, or the sum of what lies behind it. [A]
    drop_v, peak_drop_v : float
        Over this cable with its ends and its fuse, and over its `return_length_m`. [V]
    drop_percent, peak_drop_percent : float
        Of `system_volts`.
    max_drop_percent : float
        What is allowed, at peak.
    resistance_ohm : float
        Of the conductor alone, end to end, at 20 degrees C: what a meter should read. [ohm]
    conductor_c : float
        Of the copper at peak. [degrees C]
    ampacity : Ampacity
    fuse : Fuse or None
        None for a return that is not fused.
    least_fuse_a : float
        What the load asks for. [A]
    ok : bool
        Every limit is held.
    why : tuple of str
        In the order in which it was decided.
    """

    conductor: Conductor
    type_name: str
    picked: bool
    polarity: Polarity
    length_m: float
    return_length_m: float
    amps: float
    peak_amps: float
    drop_v: float
    peak_drop_v: float
    drop_percent: float
    peak_drop_percent: float
    max_drop_percent: float
    resistance_ohm: float
    conductor_c: float
    ampacity: Ampacity
    fuse: Fuse | None
    least_fuse_a: float
    ok: bool
    why: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """What a device gets: volts lost on the way there and back. [A], [V]

    `volts` and `peak_volts` are at the device, with `test_volts` at the battery. `body_v` and `peak_body_v`
    are what the body of the vehicle takes of the loss, where it is the way back.
    """

    device: str
    amps: float
    peak_amps: float
    drop_v: float
    peak_drop_v: float
    drop_percent: float
    peak_drop_percent: float
    volts: float
    peak_volts: float
    ok: bool
    body_v: float = 0.0
    peak_body_v: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CoaxLoss:
    """A coax cable at its working frequency.

    Attributes
    ----------
    mhz : float
    length_m : float
        As cut. [m]
    connectors : int
        Plugs in the way, both ends included.
    cable_db, loss_db : float
        Of the cable alone, and with its connectors. [dB]
    low_db, high_db : float
        The same with the lowest and the highest of the tables read, connectors included. [dB]
    max_loss_db : float
        What is allowed. [dB]
    share_percent : float
        Of the transmitter's power that is left at the antenna.
    watts, watts_left : float or None
        When the job says what the transmitter gives. [W]
    reflected_percent : float
        Most that may be read as reflected at the radio.
    open_percent : float
        What is read there with nothing on the far end: more than the limit, or the test
        can't tell a missing antenna.
    half_wave_m : float or None
        Physical length of half a wave in this cable. [m]
    half_waves : int or None
        How many of them the cable is cut to, where the job asks for it.
    rating_watts : float or None
        Power its data sheet allows at this frequency; None where that is not known. [W]
    bears_watts : float or None
        Where no rating is known: what the cable bears by its heat, worked out; it may warn and
        approves of nothing. None where a rating is known, or nothing of the inside of the type. [W]
    air_c : float
        Hottest on its way. [degrees C]
    picked : bool
        The job left the type open.
    inside : bool
        The frequency lies within the tables.
    """

    mhz: float
    length_m: float
    connectors: int
    cable_db: float
    loss_db: float
    low_db: float
    high_db: float
    max_loss_db: float
    share_percent: float
    reflected_percent: float
    open_percent: float
    half_wave_m: float | None
    watts: float | None = None
    watts_left: float | None = None
    half_waves: int | None = None
    rating_watts: float | None = None
    bears_watts: float | None = None
    air_c: float = 20.0
    picked: bool = False
    inside: bool = True
    ok: bool = True
    why: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Bond:
    """A bonding strap. [m], [mm2], [ohm]"""

    length_m: float
    width_m: float
    area_mm2: float
    resistance_ohm: float
    limit_ohm: float
    longest_m: float
    ok: bool
    why: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizing:
    """Everything sized, by the names of the cables, and the limits it was done by."""

    profile: str
    limits: tuple[Limit, ...]
    electrical: dict[str, Electrical] = field(default_factory=dict)
    coax: dict[str, CoaxLoss] = field(default_factory=dict)
    bonds: dict[str, Bond] = field(default_factory=dict)
    supplies: tuple[Supply, ...] = ()

    def limit(self, name: str) -> Limit:
        """The limit of that name; KeyError when there is none."""
        for limit in self.limits:
            if limit.name == name:
                return limit
        raise KeyError(name)

    def picks(self, cable: str) -> bool:
        """Whether the type of a cable was picked here, not said by the job."""
        sized = self.electrical.get(cable) or self.coax.get(cable)
        return sized is not None and sized.picked
