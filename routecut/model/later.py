"""What the job pack tells for years later beside the plan itself.

Stage      made by `routecut.service`; read by documents
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from routecut.model.fault import FaultSearch
from routecut.model.one_more import OneMore, SpareHole


@dataclass(frozen=True, slots=True, kw_only=True)
class Later:
    """What the pack tells for years later beside the plan itself.

    Attributes
    ----------
    searches : tuple of FaultSearch
        Where to test when something is dead or silent.
    holes : tuple of SpareHole
        Those that are there, with their room.
    ways : tuple of OneMore
        Of one more cable between any two spaces.
    """

    searches: tuple[FaultSearch, ...] = ()
    holes: tuple[SpareHole, ...] = ()
    ways: tuple[OneMore, ...] = ()


NOTHING_LATER: Final = Later()
"""Nobody looked."""
