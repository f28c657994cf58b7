"""The harness graph handed out is a plain graph with the ports, the holes and the lengths of the job."""

from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from routecut.errors import OutOfRangeError
from routecut.planning import harness_graph, plan_survey
from routecut.survey import Survey, survey_job

WORLD = Path(__file__).parents[1] / "worlds" / "wall-three-holes"


@pytest.fixture(scope="module")
def world() -> Survey:
    return survey_job(WORLD)


def test_the_shortest_path_is_the_way_that_is_planned(world: Survey) -> None:
    graph = harness_graph(world, "C1")
    path = nx.shortest_path(graph, "a.p", "b.p", weight="cost_m")
    holes = [graph.edges[pair]["hole"] for pair in nx.utils.pairwise(path)]
    plan, _ = plan_survey(world)
    route = plan.cables[0].route
    assert route is not None
    assert [h for h in holes if h] == [p.name for p in route.passages]
    along = nx.path_weight(graph, path, weight="cost_m")
    assert route.length_m < along * 1.001
    assert along < route.length_m * 1.11  # how long roadmap ways may be before tightening


def test_no_edge_is_shorter_than_a_straight_line(world: Survey) -> None:
    graph = harness_graph(world, "C1")
    one, other = (np.array(world.job.port(f"{d}.p").position.at_m) for d in "ab")
    direct = float(np.linalg.norm(one - other))
    assert nx.shortest_path_length(graph, "a.p", "b.p", weight="cost_m") >= direct
    assert {d["hole"] for _, _, d in graph.edges(data=True)} == {"", "H1", "H2", "H3"}


def test_a_name_that_is_not_there_is_told_with_the_nearest(world: Survey) -> None:
    with pytest.raises(OutOfRangeError, match=r"no cable of the job is named 'C11'; .* 'C1'"):
        harness_graph(world, "C11")
