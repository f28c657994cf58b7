"""Route lengths in worlds whose exact shortest way is known.

Source     first principles, one a world, said in its `expected.json`: unfolding of boxes and edges (the
           spider and the fly: Dudeney, 1903), the unrolled cylinder, tangent-arc-tangent round a
           circle, Pythagorean legs through holes, tangent arcs at bends
Tolerance  -0.2 % to +0.5 %, as in `expected.json`: too short is the dangerous side
Circular?  No: the exact lengths come from formulas, the routes from the meshes
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from routecut.planning import make_plan

WORLDS = Path(__file__).parent.parent / "worlds"


@pytest.mark.parametrize("world", sorted(p.name for p in WORLDS.iterdir() if p.is_dir()))
def test_route_is_the_shortest_way_and_verified(world: str) -> None:
    expected = json.loads((WORLDS / world / "expected.json").read_text(encoding="utf-8"))
    plan, _ = make_plan(WORLDS / world)
    (cable,) = plan.cables
    assert cable.route is not None
    assert cable.verified is not None
    low, high = expected["tolerance_percent"]
    off_percent = 100 * (cable.route.length_m / expected["exact_route_length_m"] - 1)
    assert low <= off_percent <= high
    assert [p.name for p in cable.route.passages] == expected["pass_throughs"]
    assert cable.verified.findings == ()
    assert plan.complete
    # The length is that of the curve handed over, not a figure beside it.
    chords = np.linalg.norm(np.diff(cable.route.points_m, axis=0), axis=1).sum()
    assert chords == pytest.approx(cable.route.length_m, abs=1e-9)


def test_a_closed_wall_is_said_and_named(tmp_path: Path) -> None:
    world = WORLDS / "wall-hole"
    (tmp_path / "body.ply").write_bytes((world / "body.ply").read_bytes())
    text = (world / "job.toml").read_text(encoding="utf-8")
    (tmp_path / "job.toml").write_text(
        text.replace('joins = ["front", "rear"]', 'joins = ["front", "rear"]\nclasses = ["power"]'),
        encoding="utf-8",
    )
    plan, _ = make_plan(tmp_path)
    assert not plan.complete
    (finding,) = [f for f in plan.findings if f.code == "no-route"]
    assert '"front"' in finding.message
    assert "it is for power only" in finding.message
    assert 'let it use "H1"' in finding.message
