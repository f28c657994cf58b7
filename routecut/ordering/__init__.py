"""What to order: ready-made leads, cable off reels, ends, fuses, what holes take, fixings.

Stage      after the cut lengths and the sizing; one job or many
Units      m
Safe side  a lead is long enough or it is not chosen; quantities are never rounded down
"""

from routecut.ordering.leads import choose_lead
from routecut.ordering.lines import order_lines, order_list
from routecut.ordering.needs import GROUPS, Fitted
from routecut.ordering.reach import Cover
from routecut.ordering.shelf import missing_leads

__all__ = ["GROUPS", "Cover", "Fitted", "choose_lead", "missing_leads", "order_lines", "order_list"]
