"""The harness graph of a cable as a plain networkx graph, for questions of one's own.

Stage      planning
Units      m
"""

from __future__ import annotations

import networkx as nx

from routecut.errors import OutOfRangeError
from routecut.plain import nearest_name, shown
from routecut.planning.chart_cache import ready_roadmap
from routecut.routes.harness import Harness
from routecut.survey import Survey


def harness_graph(surveyed: Survey, cable: str) -> nx.Graph:
    """Ports, mouths of pass-throughs and the shortest ways between them, for one cable of a job.

    Parameters
    ----------
    surveyed : Survey
    cable : str
        Its name in the job.

    Returns
    -------
    networkx.Graph
        Nodes: the two ports (``"device.port"``) and both mouths of every pass-through that the cable may
        use. Edges: ``hole``, the pass-through it goes through or ``""`` for a way inside a space;
        ``cost_m``, its length along the roadmap with what is charged for free air, trim and noise, and,
        for a hole that has to be drilled, what a hole costs [m]; ``fee_m`` on passages, the share of
        that charge [m]. The ways are those before tightening: some per cent long.

    Raises
    ------
    OutOfRangeError
        No cable of the job has that name.
    """
    cables = {c.name: c for c in surveyed.job.cables}
    if cable not in cables:
        near = nearest_name(cable, cables)
        hint = f"; the nearest known name is {near!r}" if near else ""
        message = f"no cable of the job is named {shown(cable)}{hint}"
        raise OutOfRangeError(message)
    return Harness.of(ready_roadmap(surveyed.job, surveyed.body)).graph(cables[cable])
