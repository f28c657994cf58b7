"""When routing is tried again with every hole that may be drilled."""

from __future__ import annotations

from typing import Any

import pytest

from routecut.model.finding import Finding, Severity
from routecut.planning import stages
from routecut.planning.holes import Opened
from routecut.routes.route_all import route_all
from routecut.survey import Survey
from tests.drilling.rooms import cable, device, job, opening, rooms


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
        routes, findings = route_all(roadmap, say)
        if all(hole.name != "closed" for hole in roadmap.job.pass_throughs):
            findings.append(
                Finding(
                    code=code, severity=Severity.ERROR, where="cable C", message="", table="cable", key="C"
                )
            )
        return routes, findings

    monkeypatch.setattr(stages, "route_all", faulty_without_the_closed_hole)
    said: list[str] = []
    opened = Opened(closed=frozenset({"closed"}), reached=frozenset({"C"}))
    plan, _ = stages.plan_survey(
        Survey(job=the_job, body=rooms(), findings=()), progress=said.append, opened=opened
    )
    assert "routing again with every hole that may be drilled" in said
    assert code not in {f.code for f in plan.findings}
