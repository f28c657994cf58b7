"""The patterns there are, and what is made of each: checked values, a body, a job.

Stage      patterns
Units      mm inside, the user's unit in what is said
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from routecut.errors import JobError, OutOfRangeError
from routecut.model.finding import Finding, Severity
from routecut.patterns import ambulance, boat, boat_asked, estate, pickup, tractor, tractor_asked, van
from routecut.patterns.made import Made
from routecut.patterns.measurements import Clash, Measurement, Taken, Values, resolve
from routecut.plain import nearest_name, shown
from routecut.units import DECIMALS, format_length, from_m, parse_length, plain_number, to_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """A parametric vehicle."""

    name: str
    what: str
    measurements: tuple[Measurement, ...]
    clashes: Callable[[Values], list[Clash]]
    make: Callable[[Values], Made]
    stand: str = "Park level, wheels straight"
    caution: str = (
        "Ignition off; keep out of the way of fans, closing doors and bonnets, and stand clear of traffic."
    )

    def measurement(self, key: str) -> Measurement:
        """The measurement of that key; KeyError when there is none."""
        for one in self.measurements:
            if one.key == key:
                return one
        raise KeyError(key)


_ALL: Final = (
    Pattern(
        name="panel van",
        what="Bonnet, cab with a partition behind the seats, load area with rear doors",
        measurements=van.MEASUREMENTS,
        clashes=van.clashes,
        make=van.make,
    ),
    Pattern(
        name="estate car",
        what="Bonnet, four doors, two rows of seats, boot under a raked tailgate",
        measurements=estate.MEASUREMENTS,
        clashes=estate.clashes,
        make=estate.make,
    ),
    Pattern(
        name="four-door pickup",
        what="Bonnet, crew cab with a closed rear wall, open load bed with a tailgate",
        measurements=pickup.MEASUREMENTS,
        clashes=pickup.clashes,
        make=pickup.make,
    ),
    Pattern(
        name="ambulance box",
        what="Chassis cab, and behind it a module of its own with side and rear doors",
        measurements=ambulance.MEASUREMENTS,
        clashes=ambulance.clashes,
        make=ambulance.make,
    ),
    Pattern(
        name="small boat",
        what="Open boat of fibreglass with a wheelhouse, a cockpit aft and an outboard engine",
        measurements=boat_asked.MEASUREMENTS,
        clashes=boat_asked.clashes,
        make=boat.make,
        stand="On its trailer or cradle, keel level, chocked",
        caution="Battery switch off; keep clear of the propeller, and stand on nothing that is not made to carry you: "
        "the trailer tips and a wet deck is slippery.",
    ),
    Pattern(
        name="tractor",
        what="Bonnet, glass cab in a roll-over frame, fenders and large rear wheels",
        measurements=tractor_asked.MEASUREMENTS,
        clashes=tractor_asked.clashes,
        make=tractor.make,
        stand="Park level, wheels straight, linkage lowered, brake on",
        caution="Engine off and key out; keep clear of fan, shaft and linkage, and never stand between tractor and "
        "implement.",
    ),
)
PATTERNS: Final[Mapping[str, Pattern]] = {pattern.name: pattern for pattern in _ALL}
"""Every pattern by name."""

OPTION: Final = "--set"


def pattern_named(name: str) -> Pattern:
    """The pattern of that name.

    Raises
    ------
    OutOfRangeError
        There is none; the message lists them and names the nearest.
    """
    if name in PATTERNS:
        return PATTERNS[name]
    near = nearest_name(name, PATTERNS)
    hint = f"; the nearest is {near!r}" if near else ""
    raise OutOfRangeError(f"--pattern is {shown(name)}{hint}; there is {', '.join(PATTERNS)}")


def _fault(code: str, key: str, message: str, **parts: str) -> Finding:
    return Finding(
        code=code,
        severity=Severity.ERROR,
        where=f"{OPTION} {key}",
        message=message,
        file=OPTION,
        key=key,
        **parts,
    )


def read_value(pattern: Pattern, key: str, text: str, unit: str) -> float | Finding:
    """One measurement as typed, in mm, or what is wrong with it.

    Parameters
    ----------
    text : str
        A number in `unit`, or a length with its own unit.
    """
    one = pattern.measurement(key)
    number = plain_number(text)
    try:
        length_m = parse_length(text) if number is None else to_m(number, unit)
    except OutOfRangeError as error:
        return _fault(
            "wrong-type", key, f"{error}.", found=text, allowed=f"a length, as {said(one.default, unit)}"
        )
    value = length_m * 1000.0
    if not one.low <= value <= one.high:
        allowed = f"{said(one.low, unit)} to {said(one.high, unit)}"
        return _fault(
            "out-of-range",
            key,
            f"{one.words} of {said(value, unit)} is not plausible for a {pattern.name}: {allowed} is. "
            f"Measure again: {one.how}.",
            found=text,
            allowed=allowed,
        )
    return value


def read_given(pattern: Pattern, settings: tuple[str, ...], unit: str) -> dict[str, float]:
    """What `--set` gives, in mm by key.

    Parameters
    ----------
    settings : tuple of str
        Each ``KEY=LENGTH``.
    unit : str
        Of lengths without one of their own.

    Raises
    ------
    JobError
        Every fault of all of them at once.
    """
    given: dict[str, float] = {}
    faults: list[Finding] = []
    known = [one.key for one in pattern.measurements]
    for setting in settings:
        key, equals, text = (part.strip() for part in setting.partition("="))
        if not equals or not key:
            faults.append(
                _fault(
                    "wrong-type",
                    setting,
                    f"{shown(setting)} is no setting; wanted is KEY=LENGTH"
                    + (
                        f", such as {near}={in_unit(pattern.measurement(near).default, unit)}."
                        if (near := nearest_name(setting.partition("=")[0], known))
                        else f"; the keys are {', '.join(known)}."
                    ),
                    found=setting,
                    allowed="KEY=LENGTH",
                    nearest=near,
                )
            )
        elif key not in known:
            near = nearest_name(key, known)
            faults.append(
                _fault(
                    "unknown-name",
                    key,
                    f"A {pattern.name} has no measurement {shown(key)}"
                    + (f"; the nearest is {near!r}." if near else f"; there is {', '.join(known)}."),
                    found=key,
                    allowed=", ".join(known),
                    nearest=near,
                )
            )
        elif key in given:
            faults.append(_fault("duplicate-name", key, f"{key} is given more than once.", found=text))
        else:
            value = read_value(pattern, key, text, unit)
            if isinstance(value, Finding):
                faults.append(value)
                given[key] = pattern.measurement(key).default
            else:
                given[key] = value
    if faults:
        raise JobError(faults)
    return given


def taken_all(pattern: Pattern, given: Values) -> dict[str, Taken]:
    """Every measurement with its value and error, checked against each other.

    Raises
    ------
    JobError
        Measurements that contradict each other, all at once.
    """
    taken = resolve(pattern.measurements, given)
    values = {key: one.value for key, one in taken.items()}
    faults = []
    for keys, what in pattern.clashes(values):
        guessed = [key for key in keys if not taken[key].measured]
        told = ", ".join(
            f"{k} = {values[k]:.0f} mm{'' if taken[k].measured else ' (not measured)'}" for k in keys
        )
        help_ = f" Measure {' and '.join(guessed)} as well." if guessed else " Measure them again."
        faults.append(
            _fault("out-of-range", keys[0], f"These can't all be true: {told}; {what}.{help_}", found=told)
        )
    if faults:
        raise JobError(faults)
    return taken


def said(value_mm: float, unit: str) -> str:
    """A measurement for a person, in the unit of the job."""
    return format_length(value_mm / 1000.0, unit)


def in_unit(value_mm: float, unit: str) -> str:
    """A measurement as `--set` takes it: a plain number in the unit.

    Examples
    --------
    >>> in_unit(3665.0, "mm"), in_unit(3665.0, "in")
    ('3665', '144.29')
    """
    return f"{from_m(value_mm / 1000.0, unit):.{DECIMALS[unit]}f}"
