"""Charts kept on disk: the same plan with and without, and never one that is stale or torn.

Source     first principles
Circular?  No: plans are compared with plans made with the cache off
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routecut.documents import plan_json
from routecut.model.body import Body
from routecut.model.job import Job
from routecut.planning import chart_cache, plan_survey
from routecut.planning.chart_cache import key_of, load, ready_roadmap, save
from routecut.roadmap import build
from routecut.roadmap.build import Chart
from routecut.survey import Survey, survey_job

WORLD = Path(__file__).parent.parent / "worlds" / "wall-hole"


@pytest.fixture(scope="module")
def seen() -> Survey:
    return survey_job(WORLD)


@pytest.fixture
def where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(chart_cache.VARIABLE, str(tmp_path / "charts"))
    return tmp_path / "charts"


def charted(seen: Survey, monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """Grows by one for each chart that is made."""
    made: list[bool] = []
    make = build._chart

    def noted(*arguments: object) -> Chart:
        made.append(True)
        return make(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(build, "_chart", noted)
    return made


def test_the_second_plan_uses_the_chart_and_is_the_same_to_the_byte(
    seen: Survey, where: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = charted(seen, monkeypatch)
    first, second = (plan_json(plan_survey(seen)[0]) for _ in range(2))
    assert len(made) == 1
    assert len(list(where.iterdir())) == 1
    monkeypatch.setenv(chart_cache.VARIABLE, chart_cache.OFF)
    without = plan_json(plan_survey(seen)[0])
    assert len(made) == 2
    assert first == second == without


@pytest.mark.parametrize("spoil", ["torn", "changed", "foreign", "empty", "renamed"])
def test_a_file_that_is_not_what_was_written_is_made_anew(
    seen: Survey, where: Path, monkeypatch: pytest.MonkeyPatch, spoil: str
) -> None:
    made = charted(seen, monkeypatch)
    right = ready_roadmap(seen.job, seen.body)
    (path,) = where.iterdir()
    written = path.read_bytes()
    if spoil == "torn":
        path.write_bytes(written[: len(written) // 2])
    elif spoil == "changed":
        data = bytearray(written)
        data[len(data) // 2] ^= 1
        path.write_bytes(bytes(data))
    elif spoil == "foreign":
        np.savez(path, at_m=np.zeros((3, 3)), digest=np.zeros(32, dtype=np.uint8))
    elif spoil == "empty":
        path.write_bytes(b"")
    else:  # a chart of something else under this name
        chart = Chart(right.nodes, right.hops, right.label)
        save(where / f"{'0' * 64}.npz", chart)
        (where / f"{'0' * 64}.npz").replace(path)
    assert load(path) is None
    again = ready_roadmap(seen.job, seen.body)
    assert len(made) == 2
    np.testing.assert_array_equal(again.nodes.at_m, right.nodes.at_m)
    assert path.read_bytes() == written


def test_every_change_of_what_a_chart_is_made_from_is_another_chart(
    seen: Survey, monkeypatch: pytest.MonkeyPatch
) -> None:
    job, body = seen.job, seen.body
    moved = body.vertices_m.copy()
    moved[0, 0] += 1e-9
    space = replace(job.spaces[0], seed_m=(0.1, 0.1, 0.1))
    others: list[tuple[Job, Body]] = [
        (job, replace(body, vertices_m=moved)),
        (job, replace(body, faces=body.faces[::-1])),
        (replace(job, spaces=(space, *job.spaces[1:])), body),
        (replace(job, routing=replace(job.routing, bridge_m=0.3)), body),
    ]
    keys = [key_of(job, body), *(key_of(*other) for other in others)]
    monkeypatch.setattr("routecut.__version__", "0.0.0")
    keys.append(key_of(job, body))
    assert len(set(keys)) == len(keys)
    monkeypatch.undo()
    # What moves on the roadmap, not the roadmap itself, is not in it.
    assert key_of(replace(job, cables=(), devices=(), pass_throughs=()), body) == keys[0]


def test_the_oldest_go_when_there_are_too_many(
    seen: Survey, where: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    roadmap = ready_roadmap(seen.job, seen.body)
    chart = Chart(roadmap.nodes, roadmap.hops, roadmap.label)
    (first,) = where.iterdir()
    size = first.stat().st_size
    monkeypatch.setattr(chart_cache, "MOST_BYTES", int(2.5 * size))
    for k in range(3):
        save(where / f"{k}.npz", chart)
    assert sum(f.stat().st_size for f in where.iterdir()) <= 2.5 * size
    assert (where / "2.npz").exists()
    assert not first.exists()


def test_a_folder_that_can_not_be_made_is_no_reason_not_to_plan(
    seen: Survey, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv(chart_cache.VARIABLE, str(tmp_path / "file" / "charts"))
    assert len(ready_roadmap(seen.job, seen.body).nodes.at_m)


def test_a_cache_home_that_is_not_absolute_is_ignored(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv(chart_cache.VARIABLE, raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CACHE_HOME", "here")
    assert chart_cache.folder() == tmp_path / ".cache" / "routecut" / "charts"
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    assert chart_cache.folder() == tmp_path / "caches" / "routecut" / "charts"
