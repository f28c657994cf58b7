"""`after`: what it means, and what can't be meant."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from routecut.model.body import Body
from routecut.model.finding import Severity
from routecut.model.job import SurfaceKind, SurfaceRule
from routecut.survey import load_job
from routecut.survey.faults import Collector
from routecut.survey.parts import rules_for
from tests.drilling.scenes import job_of
from tests.survey.test_job_reader import Write

PARTS = (("lining", "lining"), ("lining", "lining.2"), ("sill left",), ("sill right",), ("floor",))


def rule(part: str, *after: str, kind: SurfaceKind = SurfaceKind.TRIM) -> SurfaceRule:
    return SurfaceRule(part=part, kind=kind, after=after)


def read(*rules: SurfaceRule) -> tuple[Collector, Body]:
    collector = Collector()
    job = replace(job_of(), surfaces=(*rules, rule("*", kind=SurfaceKind.PANEL)))
    found = rules_for(job, PARTS, collector)
    body = Body(
        vertices_m=np.zeros((3, 3)),
        faces=np.zeros((0, 3), dtype=np.int64),
        face_part=np.zeros(0, dtype=np.int64),
        parts=tuple(names[-1] for names in PARTS),
        part_names=PARTS,
        rules=tuple(found),
    )
    return collector, body


def test_a_glob_means_trim_only_and_never_the_part_itself() -> None:
    collector, body = read(rule("lining.2", "*"), rule("lining"), rule("sill*"))
    assert collector.findings == []
    assert body.off_before(1) == ("lining", "sill left", "sill right")
    assert body.off_before(0) == ()


@pytest.mark.parametrize(
    "rules",
    [
        (rule("sill left", "sill right"), rule("sill right", "lining"), rule("lining", "sill left")),
        (rule("lining*", "lining*"), rule("sill*")),
    ],
)
def test_trim_that_waits_for_itself_is_an_error(rules: tuple[SurfaceRule, ...]) -> None:
    collector, _ = read(*rules)
    (one,) = [f for f in collector.findings if f.code == "trim-ring"]
    assert one.severity is Severity.ERROR
    assert "lining" in one.message


def test_a_name_that_means_no_trim_is_a_warning_with_the_nearest() -> None:
    collector, _ = read(rule("lining*", "sil left"), rule("sill*"))
    (one,) = collector.findings
    assert (one.code, one.severity, one.nearest) == ("mesh-part-unmatched", Severity.WARNING, "sill left")
    collector, _ = read(rule("lining*", "floor"), rule("sill*"))
    assert [f.found for f in collector.findings] == ["floor"]


def test_only_trim_comes_off(write_job: Write) -> None:
    _, findings = load_job(write_job(("removal_minutes = 0", 'after = ["floor"]')))
    assert [(f.code, f.key) for f in findings if f.severity is Severity.ERROR] == [("not-allowed", "after")]
