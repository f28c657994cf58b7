"""What-ifs on a kept plan against plans of the changed job from scratch.

Source     the same plan made with nothing kept
Circular?  No: what is expected was worked out without anything kept
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routecut.model.job import Job, KeepOut, Position, Sphere, Vec3
from routecut.planning import KeptPlan, plan_survey
from routecut.survey import Survey, survey_job
from routecut.verify import verify_plan

WORLD = Path(__file__).parent.parent / "worlds" / "wall-three-holes"
SAME_M = 1e-6


@pytest.fixture(scope="module")
def before() -> Survey:
    """The world with a second cable, low down through H3, far from the first."""
    seen = survey_job(WORLD)
    job = seen.job
    twins = tuple(
        replace(
            device,
            name=f"{device.name}2",
            position=shifted(device.position, (0.0, 0.0, -1.9)),
            ports=tuple(
                replace(p, device=f"{device.name}2", position=shifted(p.position, (0.0, 0.0, -1.9)))
                for p in device.ports
            ),
        )
        for device in job.devices
    )
    second = replace(job.cables[0], name="C2", from_port="a2.p", to_port="b2.p")
    return replace(seen, job=replace(job, devices=(*job.devices, *twins), cables=(*job.cables, second)))


@pytest.fixture(scope="module")
def kept(before: Survey) -> KeptPlan:
    return KeptPlan.make(before)


def shifted(position: Position, by_m: Vec3) -> Position:
    x, y, z = (a + b for a, b in zip(position.at_m, by_m, strict=True))
    return replace(position, at_m=(x, y, z))


def nothing(job: Job) -> Job:
    return job


def device_moved(job: Job) -> Job:
    first, *others = job.devices
    by_m = (0.0, 0.05, 0.03)
    ports = tuple(replace(p, position=shifted(p.position, by_m)) for p in first.ports)
    return replace(
        job, devices=(replace(first, position=shifted(first.position, by_m), ports=ports), *others)
    )


def hole_gone(job: Job) -> Job:
    return replace(job, pass_throughs=tuple(h for h in job.pass_throughs if h.name != "H2"))


def hole_moved(job: Job) -> Job:
    holes = tuple(
        replace(h, position=shifted(h.position, (0.0, -0.1, 0.0))) if h.name == "H2" else h
        for h in job.pass_throughs
    )
    return replace(job, pass_throughs=holes)


def keep_out_put(job: Job) -> Job:
    pot = KeepOut(name="pot", shape=Sphere(at_m=(0.0, -0.5, 1.2), radius_m=0.08), clearance_m=0.02)
    return replace(job, keep_outs=(*job.keep_outs, pot))


def hole_turned(job: Job) -> Job:
    holes = tuple(replace(h, axis=(-1.0, 0.0, 0.0)) if h.name == "H2" else h for h in job.pass_throughs)
    return replace(job, pass_throughs=holes)


@pytest.mark.parametrize(
    ("change", "relaid"),
    [
        (nothing, {}),
        (device_moved, {"C1": "a.p is elsewhere"}),
        (hole_gone, {"C1": "H2, which it took, is another or gone"}),
        (hole_moved, {"C1": "H2, which it took, is another or gone"}),
        (keep_out_put, {"C1": "the keep-out pot is another"}),
    ],
)
def test_an_answer_is_the_plan_from_scratch_and_only_what_is_touched_is_laid_again(
    before: Survey,
    kept: KeptPlan,
    change: Callable[[Job], Job],
    relaid: dict[str, str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    changed = replace(before, job=change(before.job))
    expected, _ = plan_survey(changed)

    def laid(*arguments: object) -> object:
        tightened.append(len(arguments[1]))  # type: ignore[arg-type]
        return tighten(*arguments)

    tightened: list[int] = []
    tighten = pytest.importorskip("routecut.routes.route_all").tighten
    monkeypatch.setattr("routecut.routes.route_all.tighten", laid)
    answer = kept.what_if(changed)
    assert answer.relaid == relaid
    assert sum(tightened) <= len(relaid)
    assert answer.plan.findings == expected.findings
    for got, wanted in zip(answer.plan.cables, expected.cables, strict=True):
        assert got.route is not None
        assert wanted.route is not None
        np.testing.assert_allclose(got.route.points_m, wanted.route.points_m, atol=SAME_M)
        assert got.route.passages == wanted.route.passages
        assert got.verified is not None
        assert got.verified.ok
        assert got.verified == wanted.verified
        assert got.cut == wanted.cut


def test_a_hole_that_is_turned_round_leads_the_other_way(before: Survey, kept: KeptPlan) -> None:
    changed = replace(before, job=hole_turned(before.job))
    expected, _ = plan_survey(changed)
    answer = kept.what_if(changed).plan
    assert [c.route and c.route.passages for c in answer.cables] == [
        c.route and c.route.passages for c in expected.cables
    ]
    assert all(c.verified is not None and c.verified.ok for c in answer.cables)


def test_a_thing_too_small_to_change_the_way_is_laid_round_all_the_same(
    before: Survey, kept: KeptPlan
) -> None:
    route = next(c.route for c in kept.plan.cables if c.cable.name == "C1")
    assert route is not None
    leg = int(np.linalg.norm(np.diff(route.points_m, axis=0), axis=1).argmax())
    x, y, z = ((route.points_m[leg] + route.points_m[leg + 1]) / 2).tolist()
    bead = KeepOut(name="bead", shape=Sphere(at_m=(x, y, z), radius_m=0.003), clearance_m=0.0)
    changed = replace(before, job=replace(before.job, keep_outs=(bead,)))
    expected, _ = plan_survey(changed)
    answer = kept.what_if(changed)
    assert answer.relaid == {"C1": "the keep-out bead is another"}
    for got, wanted in zip(answer.plan.cables, expected.cables, strict=True):
        assert got.route is not None
        assert wanted.route is not None
        np.testing.assert_allclose(got.route.points_m, wanted.route.points_m, atol=SAME_M)
        assert got.verified == wanted.verified


def test_a_verdict_does_not_outlive_what_it_rests_on(before: Survey, kept: KeptPlan) -> None:
    at = before.job.cables[0].name
    route = next(c.route for c in kept.plan.cables if c.cable.name == at)
    assert route is not None
    middle = tuple(route.points_m[len(route.points_m) // 3].tolist())
    ball = KeepOut(name="ball", shape=Sphere(at_m=middle, radius_m=0.01), clearance_m=0.0)
    laid = [(c.cable, c.route) for c in kept.plan.cables if c.route is not None]
    body, verdicts = kept.surveyed.body, kept.verdicts
    fine = verify_plan(job=before.job, body=body, routed=laid, verdicts=verdicts)
    assert all(v.ok for v in fine.values())
    with_ball = replace(before.job, keep_outs=(ball,))
    spoilt = verify_plan(job=with_ball, body=body, routed=laid, verdicts=verdicts)
    assert not spoilt[at].ok
