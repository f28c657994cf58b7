"""The harness of the comparison on a tiny case; peers that are not installed are skipped.

Source     first principles: counts and lengths that the case itself fixes
Circular?  No: the ways of peers are judged by a verifier that had no part in finding them
"""

from __future__ import annotations

import importlib.util
import math
from pathlib import Path

import numpy as np
import pytest

from routecut.survey import Survey, survey_job
from tests.bench.__main__ import child
from tests.bench.judged import faults, length_m
from tests.bench.paths import ends_m
from tests.bench.seeds import Drawn, table
from tests.bench.seeds import child as child_of_chance
from tests.bench.table import Row, exponent, page
from tests.bench.vans import of_faces, write


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("van")
    write(where, 2_000, 2)
    return where


@pytest.fixture(scope="module")
def seen(folder: Path) -> Survey:
    return survey_job(folder)


@pytest.mark.parametrize("count", [2_000, 17_000])
def test_a_van_has_about_the_faces_asked_for(count: int) -> None:
    assert 0.9 * count < len(of_faces(count)) <= count


@pytest.mark.parametrize(("planner", "module"), [("lattice 50", "networkx"), ("wavefront 25", "skimage")])
def test_a_peer_hands_over_ways_from_port_to_port(
    folder: Path, seen: Survey, tmp_path: Path, planner: str, module: str
) -> None:
    if importlib.util.find_spec(module) is None:
        pytest.skip(f"{module} is not installed")
    found = child(planner, folder, tmp_path / "out.npz")
    assert found is not None
    told, paths = found
    assert told["seconds"] > 0
    assert told["peak_mb"] > 10
    assert paths
    for name, points in paths.items():
        np.testing.assert_allclose(points[[0, -1]], ends_m(seen)[name])
        assert length_m(points) >= np.linalg.norm(points[-1] - points[0])


def test_a_way_straight_through_the_wall_is_faulty(seen: Survey) -> None:
    name = seen.job.cables[0].name
    outside = ends_m(seen)[name].copy()
    way = np.array([outside[0], [-1.0, 0.9, 0.9], outside[1]])
    assert faults(seen, {name: way})[name] > 0


def test_growth_is_the_slope_between_the_least_and_the_most() -> None:
    rows = [
        _row("routecut", faces, cables, seconds) for faces, cables, seconds in ((10, 1, 2), (1000, 1, 20))
    ]
    assert exponent(rows, "faces") == pytest.approx(0.5)
    assert math.isnan(exponent(rows, "cables"))
    text = page([*rows, _row("lattice 50", 1000, 1, 30)], "a machine", ["RRT*"])
    assert "Not installed: RRT*" in text
    assert "plans anew in 15.0 times that" in text
    assert "faces to the power of 0.50" in text
    assert "Not run" not in text


def test_the_page_names_the_usual_cases_it_has_not() -> None:
    rows = [_row("routecut", 16_938, 12, 2.0)]
    text = page(rows, "a machine", [], [(17_000, 12), (17_000, 40), (40_000, 12)])
    assert "Not run for this page: 17000 faces with 40 cables; 40000 faces with 12 cables." in text


def _row(planner: str, faces: int, cables: int, seconds: float) -> Row:
    return Row(
        planner=planner,
        faces=faces,
        cables=cables,
        routed=1,
        faulty=0,
        over_percent=(0.0, 0.0),
        seconds=seconds,
        ratio=1.0,
        peak_mb=1.0,
        what_if_seconds=2.0,
    )


def test_how_much_a_plan_depends_on_chance_is_told_from_the_shortest() -> None:
    plans = [
        Drawn(length_m={"A": 2.0, "B": 1.0}, holes={"A": ["h"], "B": []}, unverified=[]),
        Drawn(length_m={"A": 1.6, "B": 1.002}, holes={"A": ["g", "h"], "B": []}, unverified=["A"]),
        Drawn(length_m={"B": 1.001}, holes={"B": []}, unverified=["A"]),
    ]
    told = table(plans)
    assert "| A | 1.600 m | 25.0 % | 12.5 % | 25.0 % | g, h / h / no route |" in told
    assert "| B | 1.000 m | 0.2 % | 0.1 % | 0.0 % | the same |" in told
    assert "1 of 2 cables are within 0.5 %" in told
    assert "3.00 m, 15.4 % longer than each on its shortest roadmap (2.60 m)" in told
    assert "refused by the verifier: 2." in told


def test_another_roadmap_is_another_one(tmp_path: Path) -> None:
    write(tmp_path, 2_000, 1)
    first, again, other = (child_of_chance(tmp_path, number) for number in (0, 0, 3))
    assert first == again
    assert first.length_m.keys() == other.length_m.keys()
    assert first.length_m != other.length_m
    for name, length in first.length_m.items():
        assert other.length_m[name] == pytest.approx(length, rel=0.1)
