"""Runs the stages one after the other and puts their results together.

Stage      above everything but the command line
"""

from routecut.planning.again import KeptPlan
from routecut.planning.as_built import make_plan
from routecut.planning.harness import harness_graph
from routecut.planning.stages import plan_survey
from routecut.planning.stored import stored_plan

__all__ = ["KeptPlan", "harness_graph", "make_plan", "plan_survey", "stored_plan"]
