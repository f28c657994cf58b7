"""What is recorded is laid again and judged again; what it does not touch stays as planned.

Truth: the plan from scratch of a job in which the same was written, and the same search kept to the same holes.
"""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routecut.documents import cut_list_csv, pack_html, plan_json
from routecut.documents.built import as_fitted
from routecut.documents.reading import all_findings, pulling_order
from routecut.documents.view_data import view_json
from routecut.model.finding import Finding, Severity, cable_finding
from routecut.model.plan import Plan, PlannedCable, Verification
from routecut.planning import as_built, make_plan
from routecut.records import append
from routecut.routes.bundles import find_bundles
from routecut.verify import verify_company, verify_plan

WORLD = Path(__file__).parent.parent / "worlds" / "wall-three-holes"

SECOND = """
[[device]]
name = "a2"
at = [-6, -800, 400]
space = "front"
[[device.port]]
name = "p"
[[device]]
name = "b2"
at = [6, -500, -800]
space = "rear"
[[device.port]]
name = "p"
[[cable]]
name = "C2"
from = "a2.p"
to = "b2.p"
type = "thread"
"""


def moved(name: str, at: str, kind: str = "pass-through") -> dict[str, object]:
    return {"what": "moved", "kind": kind, "name": name, "at": [f"{v} mm" for v in at.split()]}


def string(cable: str, start: str, end: str, length: str) -> dict[str, object]:
    return {"what": "string", "kind": "cable", "name": cable, "from": start, "to": end, "length": length}


@pytest.fixture
def job(tmp_path: Path) -> Path:
    folder = tmp_path / "job"
    folder.mkdir()
    for file in ("job.toml", "body.ply"):
        shutil.copy(WORLD / file, folder / file)
    text = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(text + SECOND, encoding="utf-8")
    return folder


def cable(plan: Plan, name: str) -> PlannedCable:
    return next(c for c in plan.cables if c.cable.name == name)


def holes(plan: Plan, name: str) -> list[str]:
    route = cable(plan, name).route
    assert route is not None
    return [p.name for p in route.passages]


def errors(plan: Plan) -> list[str]:
    return [f"{f.where}: {f.message}" for f in all_findings(plan) if f.severity is Severity.ERROR]


@pytest.fixture
def planned(job: Path) -> Plan:
    plan, _ = make_plan(job)
    assert plan.as_built is None
    return plan


def test_a_moved_hole_lays_only_what_goes_through_it(job: Path, planned: Plan) -> None:
    (hole,) = holes(planned, "C1")
    assert hole not in holes(planned, "C2")
    at = next(h.at_m for h in planned.holes if h.pass_through.name == hole)
    there = f"0 {1000 * at[1] + 60:.3f} {1000 * at[2] - 25:.3f}"
    append(job, [moved(hole, there)])
    plan, _ = make_plan(job)
    assert plan.as_built is not None
    assert list(plan.as_built.relaid) == ["C1"]
    # the plan itself stays what was planned
    for name in ("C1", "C2"):
        before, after = cable(planned, name).route, cable(plan, name).route
        assert before is not None
        assert after is not None
        assert np.array_equal(before.points_m, after.points_m)
    relaid = plan.as_built.relaid["C1"]
    assert relaid.route is not None
    assert [p.name for p in relaid.route.passages] == [hole]
    assert relaid.verified is not None
    assert relaid.verified.ok
    # from scratch: the job as if the hole had been there
    (job / "record.jsonl").unlink()
    text = (job / "job.toml").read_text(encoding="utf-8")
    start = text.index(f'name = "{hole}"')
    old = text[text.index("at = ", start) : text.index("\n", text.index("at = ", start))]
    changed = text[:start] + text[start:].replace(old, f"at = [{there.replace(' ', ', ')}]", 1)
    (job / "job.toml").write_text(
        changed.replace('name = "C1"\n', f'name = "C1"\nthrough = ["{hole}"]\n'), encoding="utf-8"
    )
    scratch, _ = make_plan(job)
    expected = cable(scratch, "C1").route
    assert expected is not None
    assert relaid.route.length_m == pytest.approx(expected.length_m, abs=1e-6)


def test_a_string_stands_in_for_what_was_computed(job: Path, planned: Plan) -> None:
    (hole,) = holes(planned, "C1")
    append(job, [string("C1", "a.p", hole, "700 mm")])
    plan, _ = make_plan(job)
    assert plan.as_built is not None
    relaid = plan.as_built.relaid["C1"]
    assert relaid.route is not None
    (stretch,) = relaid.route.measured
    before = cable(planned, "C1").route
    assert before is not None
    assert relaid.route.length_m == pytest.approx(before.length_m - stretch.computed_m + 0.7)
    assert relaid.cut is not None
    assert any(e.what == "strings" for e in relaid.cut.errors)


def test_a_string_laid_before_its_end_was_moved_does_not_count(job: Path, planned: Plan) -> None:
    (hole,) = holes(planned, "C1")
    append(job, [string("C1", "a.p", hole, "700 mm"), moved(hole, "0 30 1200")])
    plan, _ = make_plan(job)
    assert plan.as_built is not None
    route = plan.as_built.relaid["C1"].route
    assert route is not None
    assert not route.measured
    assert "string-overtaken" in [f.code for f in plan.findings]
    append(job, [string("C1", "a.p", hole, "720 mm")])
    plan, _ = make_plan(job)
    assert plan.as_built is not None
    route = plan.as_built.relaid["C1"].route
    assert route is not None
    assert [s.measured_m for s in route.measured] == [0.72]


def test_a_device_takes_its_ports_along_and_those_with_a_place_of_their_own_are_said(job: Path) -> None:
    append(job, [moved("a2", "-6 -700 300", "device"), moved("a", "-6 100 300", "device")])
    plan, _ = make_plan(job)
    assert plan.as_built is not None
    route = plan.as_built.relaid["C2"].route
    assert route is not None
    assert route.points_m[0] == pytest.approx([-0.006, -0.7, 0.3], abs=1e-9)
    (stays,) = [f for f in plan.findings if f.code == "as-built-stays"]
    assert stays.where == "device a as built"


def test_what_cannot_be_laid_is_an_error_and_the_plan_is_still_there(job: Path, planned: Plan) -> None:
    (hole,) = holes(planned, "C1")
    append(job, [moved(hole, "0 0 9000")])
    plan, _ = make_plan(job)
    assert plan.complete
    assert errors(plan)
    assert all("as built" in text for text in errors(plan))
    assert "as built" in pack_html(plan, pictures={})


def test_a_cable_too_thick_for_its_hole_is_an_error(job: Path, planned: Plan) -> None:
    text = (job / "job.toml").read_text(encoding="utf-8")
    thick = '[[cable_type]]\nname = "rope"\nclass = "control"\ndiameter = 40\nmin_bend_radius = 20\n\n'
    (job / "job.toml").write_text(
        text.replace("[[cable_type]]", f"{thick}[[cable_type]]", 1), encoding="utf-8"
    )
    append(job, [{"what": "swapped", "kind": "cable", "name": "C1", "for": "rope"}])
    plan, _ = make_plan(job)
    assert plan.complete
    assert any("cable C1 as built" in text for text in errors(plan))


def test_what_the_check_on_the_mesh_finds_is_said(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The judge is made to object to what is laid again."""
    fault = cable_finding("verify-clearance", Severity.ERROR, "C2", "too near")

    def objects(**given: object) -> dict[str, Verification]:
        judged = verify_plan(**given)  # type: ignore[arg-type]
        return judged | {"C2": replace(judged["C2"], ok=False, findings=(fault,))}

    monkeypatch.setattr(as_built, "verify_plan", objects)
    append(job, [moved("a2", "-6 -700 300", "device")])
    plan, _ = make_plan(job)
    assert errors(plan) == ["cable C2 as built: too near"]
    assert plan.as_built is not None
    rows = {(r.about, r.what): r.after for r in plan.as_built.rows}
    assert rows["cable C2", "checked on the full mesh"] == "DOES NOT HOLD: see the findings"


def test_planned_and_built_stand_side_by_side_in_every_document(job: Path) -> None:
    append(
        job,
        [
            {"what": "cut", "kind": "cable", "name": "C1", "length": "1800 mm", "who": "night shift"},
            {"what": "left over", "kind": "cable", "name": "C1", "length": "-12 mm"},
            {"what": "serial", "kind": "device", "name": "a", "text": "AB<b>12"},
            {"what": "note", "kind": "job", "name": "job", "text": "wet day"},
        ],
    )
    plan, _ = make_plan(job)
    assert plan.as_built is not None
    rows = {(r.about, r.what): r for r in plan.as_built.rows}
    cut = rows["cable C1", "cut length"]
    planned_cut = cable(plan, "C1").cut
    assert planned_cut is not None
    assert (cut.before, cut.after, cut.marked) == (planned_cut.length_m, 1.8, True)
    assert rows["cable C1", "left over"].marked
    assert not rows["device a", "serial number"].marked
    said = json.loads(plan_json(plan))["as_built"]
    assert [line["what"] for line in said["lines"]] == ["cut", "left over", "serial", "note"]
    assert said["differences"][0]["after"] == 1.8
    html = pack_html(plan, pictures={})
    assert '<section id="as-built">' in html
    assert "cut to 1800 mm" in html
    assert "DEVIATES" in html
    assert "AB&lt;b&gt;12" in html
    assert "night shift" in html
    header, first, second = cut_list_csv(plan).splitlines()
    assert header.endswith("cut as built [mm],left over [mm]")
    assert {first.rsplit(",", 2)[1], second.rsplit(",", 2)[1]} == {"1800", ""}
    assert "12 too short" in first + second
    assert "as-built-short" in [f.code for f in plan.findings]


def test_the_pack_shows_what_was_laid_again_where_it_lies(job: Path) -> None:
    append(job, [moved("H1", "0 30 20")])
    plan, body = make_plan(job)
    assert plan.as_built is not None
    relaid = plan.as_built.relaid["C2"].route
    planned = cable(plan, "C2").route
    assert relaid is not None
    assert planned is not None
    shown = json.loads(view_json(plan, body))
    drawn = {c["name"]: np.array(c["run"]).reshape(-1, 3) for c in shown["cables"]}["C2"]
    off = np.linalg.norm(drawn[:, None] - relaid.points_m[None], axis=2).min(axis=1).max()
    assert off < 0.005
    assert np.linalg.norm(drawn[:, None] - planned.points_m[None], axis=2).min(axis=1).max() > 0.02
    told = {c["name"]: dict(c["facts"]) for c in shown["cables"]}
    assert "H1 is elsewhere" in told["C2"]["AS BUILT"]
    hole = next(h for h in shown["holes"] if h["name"] == "H1")
    assert hole["at"] == pytest.approx([0.0, 0.030, 0.020], abs=1e-3)
    assert dict(hole["facts"])["AS BUILT"].endswith("from its planned place")
    html = pack_html(plan, pictures={}, body=body)
    assert html.count("DEVIATES, as built: H1 is elsewhere") == sum("AS BUILT" in t for t in told.values())
    # numbers of cards are those of the plan: labels that are stuck on already lead there
    without, _ = make_plan(
        shutil.copytree(job, job.parent / "again", ignore=shutil.ignore_patterns("record.jsonl"))
    )
    assert [c["card"] for c in shown["cables"]] == [
        c["card"] for c in json.loads(view_json(without, body))["cables"]
    ]
    assert [c["name"] for c in shown["cables"]] == [c.cable.name for c in pulling_order(without)]
    assert as_fitted(without) is without


def test_what_runs_together_is_judged_again_as_built(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The truth is the judge itself, asked about the routes as built."""
    append(job, [moved("H1", "0 30 20")])
    plan, body = make_plan(job)
    built = plan.as_built
    assert built is not None
    routed = [(c.cable, c.route) for c in as_fitted(plan).cables if c.route is not None]
    bundles = find_bundles([c for c, _ in routed], {c.name: r for c, r in routed})
    beside, _ = verify_company(job=plan.job, body=body, routed=routed, bundles=bundles)
    assert (built.bundles, built.beside) == (bundles, beside)
    finding = Finding(
        code="separation-not-kept", severity=Severity.WARNING, where="cable C2", message="too near"
    )
    monkeypatch.setattr(as_built, "verify_company", lambda **_: ((), [finding]))
    again, _ = make_plan(job)
    assert [f.where for f in again.findings if f.message == "too near"] == ["cable C2 as built"]


def test_same_record_same_bytes(job: Path) -> None:
    append(job, [moved("H1", "0 30 20"), {"what": "cut", "kind": "cable", "name": "C1", "length": "2 m"}])
    first, second = (make_plan(job)[0] for _ in range(2))
    assert plan_json(first) == plan_json(second)
    assert pack_html(first, pictures={}) == pack_html(second, pictures={})


def test_a_torn_line_is_said_in_the_plan_and_the_rest_is_used(job: Path) -> None:
    append(job, [{"what": "cut", "kind": "cable", "name": "C1", "length": "2 m"}] * 2)
    data = (job / "record.jsonl").read_bytes()
    (job / "record.jsonl").write_bytes(data[:-40])
    plan, _ = make_plan(job)
    assert plan.as_built is not None
    assert len(plan.as_built.record.lines) == 1
    assert "record-torn" in [f.code for f in plan.findings]
