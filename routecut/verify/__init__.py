"""Judges a finished route on the full mesh, by code that had no part in finding it.

Stage      after routing; `planning` prints no plan that has a finding of this stage
Units      m
Sources    ISO 10133:2012 7.3 and FAA AC 43.13-1B 11-96a (span), NEC chapter 9 table 1 (fill)
Safe side  what is doubtful within a stated tolerance (`limits`) passes, all else is an error
"""

from routecut.verify.company import verify_company
from routecut.verify.judge import verify_plan, verify_route
from routecut.verify.openings import untagged_gaps
from routecut.verify.verdicts import Verdicts

__all__ = ["Verdicts", "untagged_gaps", "verify_company", "verify_plan", "verify_route"]
