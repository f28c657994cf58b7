"""The right wire, fuse and coax, by published tables and over the lengths really cut.

Stage      after the cut lengths; sees the job, the routes and the lengths, prints nothing
Units      A, V, ohm, mm2, MHz, dB, degrees C; lengths m
Sources    `routecut/tables/SOURCES.md`; every limit carries its own in `rule_limits.csv`
Safe side  never the nearer size: the next thicker conductor, the next fuse that holds the load
           and is not above what the conductor may carry
"""

from routecut.sizing.coax_types import cut_step_m
from routecut.sizing.size import size_job

__all__ = ["cut_step_m", "size_job"]
