"""What has been worked out on a roadmap and holds for as long as the roadmap does.

Everything in it is filed by the values it depends on, never by a name alone: a device that
was moved or a hole of the same name elsewhere is another entry. A plan that finds something
here is the plan it would be without.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import Any


@dataclass(eq=False)
class Memory:
    """Kept by the stages after the roadmap, each in its own drawer.

    Attributes
    ----------
    terminals : dict
        What ports and mouths see.
    sides : dict
        Which spaces lie on the two sides of a pass-through.
    fields : dict
        Costs of the ways from a terminal to all nodes.
    across : dict
        Whether one terminal sees another straight across.
    laid : dict
        Ways pulled tight and bent.
    """

    terminals: dict[Hashable, Any] = field(default_factory=dict)
    sides: dict[Hashable, Any] = field(default_factory=dict)
    fields: dict[Hashable, Any] = field(default_factory=dict)
    across: dict[Hashable, Any] = field(default_factory=dict)
    laid: dict[Hashable, Any] = field(default_factory=dict)
