"""What to order: ready-made leads, cable by the metre, ends and grommets.

Stage      after the cut lengths
Units      m
Safe side  a lead is long enough or it is not chosen; quantities are never rounded down
"""

from routecut.ordering.leads import choose_lead
from routecut.ordering.lines import order_lines

__all__ = ["choose_lead", "order_lines"]
