"""Which cables may run together, and what was bought by that: bundles, metres too near, other ways.

Units      m
Source     FCS 1362:2010 sec. 4.2.5.1 and 4.6.2 for coax and supply leads; the rest common practice, no source
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from routecut.model.fitout import CableClass
from routecut.model.vehicle import Vec3

SEPARATION: Final = "separation"
COMPANY: Final = "company"
HOLE_COST: Final = "hole"
"""Causes of the cost of a way, beside those of the roadmap: a foreign group alongside, its own group (less), a hole
that has to be made or holds much already."""


SLEEVE_OVER: Final = 1.15
"""Inside of a sleeve over what is drawn into it (common practice, no source)."""


class Group(StrEnum):
    """Cables that are laid together; each group keeps apart from the others.

    In the order in which they are laid: the later give way.
    """

    SUPPLY = "supply"
    ANTENNA = "antenna"
    SIGNAL = "signal"
    BOND = "bond"


_GROUPS: Final = {
    CableClass.POWER: Group.SUPPLY,
    CableClass.BOND: Group.BOND,
    CableClass.COAX: Group.ANTENNA,
    CableClass.CONTROL: Group.SIGNAL,
    CableClass.AUDIO: Group.SIGNAL,
    CableClass.DATA: Group.SIGNAL,
}


def group_of(cable_class: CableClass) -> Group:
    """The group of a class.

    >>> group_of(CableClass.AUDIO) is group_of(CableClass.DATA)
    True
    """
    return _GROUPS[cable_class]


def foreign(one: Group, other: Group) -> bool:
    """Whether two groups keep apart: all but bonds, which carry nothing that disturbs."""
    return one is not other and Group.BOND not in (one, other)


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """A cable in a bundle: where along its own route it joins and leaves, and where it lies in it. [m]

    `from_m` and `to_m` are in the direction of the bundle: from more than to where the cable runs
    against it. `place_m` is its middle in the section, from the middle of the bundle.
    """

    cable: str
    from_m: float
    to_m: float
    place_m: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle:
    """Cables that run together over a stretch.

    Attributes
    ----------
    name : str
    members : tuple of Member
        The first is the one whose run the bundle follows.
    length_m : float
    diameter_m : float
        Of a circle that really holds them all. [m]
    bend_radius_m : float
        Least, to the middle of the bundle: that of each member on the inside of the bend. [m]
    from_at_m, to_at_m : Vec3
        Its ends. [m]
    """

    name: str
    members: tuple[Member, ...]
    length_m: float
    diameter_m: float
    bend_radius_m: float
    from_at_m: Vec3
    to_at_m: Vec3

    @property
    def sleeve_m(self) -> float:
        """Least inside of a sleeve for all of it. [m]"""
        return SLEEVE_OVER * self.diameter_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """A stretch where a cable runs alongside what it should keep apart from.

    Attributes
    ----------
    cable, other : str
        `other` is a cable, or a noise source where `noise` is true.
    from_m, to_m : float
        Along the route of `cable`. [m]
    least_m : float
        Least distance, middle to middle. [m]
    wanted_m : float
        The separation asked for. [m]
    at_m : Vec3
        Where it is least. [m]
    holes : tuple of str
        Pass-throughs of the stretch that both go through: inside, the separation can't be kept.
    """

    cable: str
    other: str
    from_m: float
    to_m: float
    least_m: float
    wanted_m: float
    at_m: Vec3
    noise: bool = False
    holes: tuple[str, ...] = ()

    @property
    def length_m(self) -> float:
        """Of the stretch. [m]"""
        return self.to_m - self.from_m


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherWay:
    """The nearest other way of a cable and what it costs, beside the one that was taken.

    Attributes
    ----------
    holes : tuple of str
        Of the other way, in order.
    length_m, taken_m : float
        Of both along the roadmap, before they are pulled tight. [m]
    more_m : dict of str to float
        What the other way costs more, by cause; less where negative. [m]
    """

    holes: tuple[str, ...]
    length_m: float
    taken_m: float
    more_m: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """What the rounds bought: the first, in which each cable chose in turn, and the best.

    Lengths along the roadmap; `total_m` with every cost. [m]
    """

    rounds: int
    length_before_m: float
    length_after_m: float
    shared_before_m: float
    shared_after_m: float
    beside_before_m: float
    beside_after_m: float
    total_before_m: float
    total_after_m: float
