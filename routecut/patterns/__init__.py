"""Parametric vehicles of our own: a body and a job from a tape.

Stage      beside the survey: measurements in, mesh and text of a job out
Units      mm inside, as on a tape; m in the mesh; the user's own unit in the text
Leaves     where things really are to whoever looks: what a pattern only supposes is unconfirmed
"""

from __future__ import annotations

from routecut.patterns.files import job_files
from routecut.patterns.known import PATTERNS, Pattern, pattern_named, read_given, read_value, taken_all

__all__ = ["PATTERNS", "Pattern", "job_files", "pattern_named", "read_given", "read_value", "taken_all"]
