"""What to order: ready-made leads, cable by the metre, ends, grommets and fuses.

Stage      after the cut lengths
Units      m
Safe side  a lead is long enough or it is not chosen; quantities are never rounded down
"""

from routecut.ordering.fuses import fuse_lines
from routecut.ordering.leads import choose_lead
from routecut.ordering.lines import order_lines
from routecut.ordering.reach import Cover

__all__ = ["Cover", "choose_lead", "fuse_lines", "order_lines"]
