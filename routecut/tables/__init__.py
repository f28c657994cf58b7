"""Tables shipped with the tool: printed figures, one loader.

Stage      read by the survey and by every stage that needs a figure of the trade
Units      as in the column names of the files; converted to m by the loader
Sources    `SOURCES.md` beside the files; every row carries its own
"""

from routecut.tables.equipment import Equipment, equipment
from routecut.tables.loader import cable_types, how_known, read_rows
from routecut.tables.rules import limits_in_force, profile_limits, profiles, separation_m

__all__ = [
    "Equipment",
    "cable_types",
    "equipment",
    "how_known",
    "limits_in_force",
    "profile_limits",
    "profiles",
    "read_rows",
    "separation_m",
]
