"""One more cable, years later: which way it can go, what room the holes have, what to follow.

Stage      made by `routecut.service`; read by documents
Units      m, minutes
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleRoom:
    """How full a hole is, and what still goes in.

    Attributes
    ----------
    hole : str
    filled, most : float
        Share of its area that is taken, with what was in it before; and what may be.
    with_one_more : float
        The same beside one more of the cable that was asked about.
    most_with : float
        What may be taken then: it goes by the number of cables.
    largest_m : float
        The thickest cable that still goes in beside what is there; 0 where none does. [m]
    """

    hole: str
    filled: float
    most: float
    with_one_more: float = 0.0
    most_with: float = 1.0
    largest_m: float = 0.0

    @property
    def fits(self) -> bool:
        """One more goes in beside what is there."""
        return self.with_one_more <= self.most_with


@dataclass(frozen=True, slots=True, kw_only=True)
class SpareHole:
    """A hole that is there, and what still goes in.

    Attributes
    ----------
    hole : str
    joins : tuple of str
    clear_m : float
        Through it. [m]
    filled, most : float
        Share of its area that is taken, with what was in it before; and what may be with one cable more.
    largest_m : float
        The thickest cable that still goes in; 0 where none does. [m]
    used_by : tuple of str
        Cables of the job in it.
    sides : tuple of str
        Keys of the places of the service study on its sides; empty where nobody looked.
    """

    hole: str
    joins: tuple[str, str]
    clear_m: float
    filled: float
    most: float
    largest_m: float
    used_by: tuple[str, ...] = ()
    sides: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """From one space into the next: the holes between them, the best first; none where nothing is between.

    `follow` are cables that go from the one into the other, those through the best hole first.
    """

    from_space: str
    to_space: str
    holes: tuple[SpareHole, ...] = ()
    follow: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OneMore:
    """One more cable from a space to another.

    Attributes
    ----------
    start, end : str
        Spaces.
    diameter_m : float
        Of the cable that was asked about; 0 where none was. [m]
    crossings : tuple of Crossing
        None where no way is left through the holes that are there.
    cable_class : str
        That was asked about; empty where none was.
    follow : tuple of str
        Cables that go all of this way, those through the same holes first.
    bundles : tuple of str
        That the first of them, else the first of each crossing, is tied in.
    trims : tuple of str
        What comes off to open the clips of those and to get at the holes, in order.
    minutes : float
    unknown : tuple of str
        Trim of unknown time.
    full : tuple of SpareHole
        Holes on the way that take no more.
    """

    start: str
    end: str
    diameter_m: float = 0.0
    cable_class: str = ""
    crossings: tuple[Crossing, ...] = ()
    follow: tuple[str, ...] = ()
    bundles: tuple[str, ...] = ()
    trims: tuple[str, ...] = ()
    minutes: float = 0.0
    unknown: tuple[str, ...] = ()
    full: tuple[SpareHole, ...] = ()
