"""The length to cut, as a sum of lines that each say why.

Stage      after verification; sees one finished route at a time
Units      m
Sources    FAA AC 43.13-1B paragraph 11-118 (slack for two re-terminations at each end)
Safe side  every allowance is added, none is spent twice; rounding is up, always
"""

from routecut.cutlist.cuts import cut_length
from routecut.cutlist.measure import measure_first
from routecut.cutlist.outlook import measure_next
from routecut.cutlist.spent import Spent

__all__ = ["Spent", "cut_length", "measure_first", "measure_next"]
