"""What one fit-out needs, item by item, and how needs become lines of an order.

Stage      ordering
Units      pieces or m
Sources    spares: common practice, no source
Safe side  quantities are never rounded down
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from routecut.model.drilling import HoleSize
from routecut.model.job import Job
from routecut.model.plan import OrderLine, PlannedCable, PlannedHole
from routecut.model.sizing import Sizing

GROUPS: Final = (
    "cable",
    "ready-made lead",
    "terminal or connector",
    "fuse",
    "distribution",
    "heat shrink",
    "label",
    "grommet",
    "edge guard",
    "paint and sealant",
    "sleeve",
    "clip",
    "tie",
    "pull cord",
)
"""In this order an order is written."""

_STEP_M: Final = 0.1
"""What is sold by the metre, cable aside, is ordered in steps of this. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """So much is ordered beyond what is needed: a share, and no fewer than `least`.

    Examples
    --------
    >>> ONE_MORE.with_spares(3.0, "piece"), ONE_IN_TEN.with_spares(25.0, "piece")
    (4.0, 28.0)
    >>> A_TENTH_MORE.with_spares(0.25, "m")
    0.3
    """

    share: float = 0.0
    least: float = 0.0
    text: str = ""

    def with_spares(self, needed: float, unit: str) -> float:
        """The quantity to order; whole pieces, or metres in steps."""
        total = needed + max(self.share * needed, self.least)
        if unit == "piece":
            return float(math.ceil(round(total, 9)))
        return math.ceil(round(total / _STEP_M, 6)) * _STEP_M


NO_SPARE: Final = Spare()
ONE_IN_TEN: Final = Spare(share=0.1, least=1.0, text="one in ten, at least one (common practice, no source)")
ONE_MORE: Final = Spare(least=1.0, text="one more (common practice, no source)")
A_TENTH_MORE: Final = Spare(share=0.1, text="a tenth more for offcuts (common practice, no source)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """So much of one thing, for one cable or hole."""

    group: str
    what: str
    unit: str
    quantity: float
    cable: str
    why: str
    spare: Spare = NO_SPARE


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fitted:
    """One planned job as the order sees it; `label` tells it from others, empty for one alone.

    `sizes` are those of the holes that have to be drilled, by name.
    """

    job: Job
    cables: tuple[PlannedCable, ...]
    holes: tuple[PlannedHole, ...] = ()
    sizes: Mapping[str, HoleSize] = field(default_factory=dict)
    sizing: Sizing | None = None
    label: str = ""

    @property
    def planned(self) -> list[PlannedCable]:
        """Cables that have a route and a cut length, by name: the others order nothing."""
        done = [c for c in self.cables if c.route is not None and c.cut is not None]
        return sorted(done, key=lambda c: c.cable.name)

    @property
    def made_up(self) -> list[PlannedCable]:
        """Those of them that are cut."""
        return [c for c in self.planned if not c.cable.ready_made]

    def named(self, cable: str) -> str:
        """A cable's name among several jobs."""
        return f"{self.label}: {cable}" if self.label else cable


def lines_of(needs: Iterable[Need]) -> list[OrderLine]:
    """Needs of the same thing added up, by group and name."""
    found: dict[tuple[str, str, str], list[Need]] = {}
    for need in needs:
        found.setdefault((need.group, need.what, need.unit), []).append(need)
    lines = []
    for group, what, unit in sorted(found, key=lambda k: (GROUPS.index(k[0]), k[1], k[2])):
        same = found[group, what, unit]
        spare = max((n.spare for n in same), key=lambda s: (s.share, s.least))
        lines.append(
            OrderLine(
                what=what,
                quantity=spare.with_spares(math.fsum(n.quantity for n in same), unit),
                unit=unit,
                for_cables=tuple(sorted({n.cable for n in same if n.cable})),
                why="; ".join(dict.fromkeys(n.why for n in same)),
                group=group,
                spare=spare.text,
            )
        )
    return lines


def size_above(least: float, sizes: Sequence[float]) -> float:
    """The smallest of some sizes that is large enough; the largest where none is."""
    return next((s for s in sizes if s >= least - 1e-9), sizes[-1])
