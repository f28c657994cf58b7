"""What the stages do together: routing tried again, and warnings about finished routes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from routecut.model.finding import Finding, Severity
from routecut.model.plan import Covered, Route
from routecut.model.service import Service
from routecut.ordering import Cover
from routecut.planning import make_plan, stages
from routecut.planning.holes import Opened
from routecut.routes.route_all import route_all
from routecut.survey import Survey
from tests.drilling.rooms import cable, device, job, opening, rooms
from tests.worlds.further import Known
from tests.worlds.shapes import box, plate


@pytest.mark.parametrize("code", ["bend-not-kept", "span-not-kept"])
def test_a_cable_that_cannot_be_laid_through_the_chosen_holes_may_take_every_hole(
    code: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    the_job = job(
        [device("a", (0.3, 0.4, 0.02), "front"), device("b", (1.7, 0.4, 0.02), "rear")],
        [cable("C", "a", "b")],
        [opening("chosen", 0.4, 0.1), opening("closed", 0.2, 0.1)],
    )

    def faulty_without_the_closed_hole(roadmap: Any, say: Any) -> Any:
        found = route_all(roadmap, say)
        if all(hole.name != "closed" for hole in roadmap.job.pass_throughs):
            found.findings.append(
                Finding(
                    code=code, severity=Severity.ERROR, where="cable C", message="", table="cable", key="C"
                )
            )
        return found

    monkeypatch.setattr(stages, "route_all", faulty_without_the_closed_hole)
    said: list[str] = []
    opened = Opened(closed=frozenset({"closed"}), reached=frozenset({"C"}))
    plan, _ = stages.plan_survey(
        Survey(job=the_job, body=rooms(), findings=()), progress=said.append, opened=opened
    )
    assert "routing again with every hole that may be drilled" in said
    assert code not in {f.code for f in plan.findings}


def test_the_trim_along_each_route_is_part_of_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    def whole_run(self: Cover, route: Route) -> tuple[Covered, ...]:
        return (Covered(trim="lining", from_m=0.0, to_m=route.length_m),)

    monkeypatch.setattr(Cover, "along", whole_run)
    # the study would look for this lining in the body, where it is not
    monkeypatch.setattr(stages, "service_study", lambda *_, **__: Service())
    the_job = job(
        [device("a", (0.3, 0.4, 0.02), "front"), device("b", (1.7, 0.4, 0.02), "rear")],
        [cable("C", "a", "b")],
        [opening("there", 0.4, 0.1)],
    )
    plan, _ = stages.plan_survey(Survey(job=the_job, body=rooms(), findings=()))
    (planned,) = plan.cables
    assert planned.route is not None
    assert planned.covered == (Covered(trim="lining", from_m=0.0, to_m=planned.route.length_m),)


def test_a_plan_warns_of_an_opening_that_nobody_has_tagged_until_it_is_confirmed(tmp_path: Path) -> None:
    """One space, parted by a wall with a window of 200 mm x 150 mm."""
    wall = [
        plate(0, 0.6, u, v, cell=0.05)
        for u, v in (
            ((0, 0.3), (0, 0.5)),
            ((0.5, 0.8), (0, 0.5)),
            ((0.3, 0.5), (0, 0.2)),
            ((0.3, 0.5), (0.35, 0.5)),
        )
    ]
    known = Known(
        name="window",
        triangles=np.concatenate([box((0, 0, 0), (1.2, 0.8, 0.5)), *wall]),
        start=(0.2, 0.4, 0.006),
        end=(1.0, 0.4, 0.006),
        exact_m=float("nan"),
        why="",
        seed=(0.3, 0.4, 0.25),
    )
    known.write(tmp_path)
    plan, _ = make_plan(tmp_path)
    assert plan.complete
    (finding,) = [f for f in plan.findings if f.code == "untagged-gap"]
    assert finding.severity is Severity.WARNING
    assert finding.found == "200 x 150 mm"
    confirmed = '[[opening]]\nname = "window"\nat = [0.6, 0.4, 0.27]\n'
    replace(known, more=confirmed).write(tmp_path)
    plan, _ = make_plan(tmp_path)
    assert "untagged-gap" not in {f.code for f in plan.findings}
