"""What the tests of the command line share: a small real job, and a stand-in for drawing.

The engine is the real one on a small world; only the drawing is replaced, because most
machines that run tests have no screen. The real drawing is tested in tests/preview.
"""

import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

import routecut.preview
from routecut.cli import main
from routecut.model.body import Body
from routecut.model.plan import Plan
from routecut.model.rim import Rim
from routecut.planning.kept import MANIFEST
from routecut.scene.tagging import Tag

WORLDS = Path(__file__).parents[1] / "worlds"
PICTURES = {"front.png": b"a picture", "top.png": b"another"}


@dataclass
class Ran:
    """How a command ended and what it said."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run the program as the console script does; anything but a plain exit fails the test."""

    def _run(*arguments: str | Path) -> Ran:
        monkeypatch.setattr(sys, "argv", ["routecut", *map(str, arguments)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return Ran(int(ended.value.code or 0), said.out, said.err)

    return _run


@dataclass
class Drawing:
    """The stand-in for the preview."""

    works: bool = True
    shown: list[Plan] = field(default_factory=list)
    picks: tuple[Tag, ...] = ()


@pytest.fixture(autouse=True)
def drawing(monkeypatch: pytest.MonkeyPatch) -> Drawing:
    """No OpenGL is touched; the test says whether this machine can draw. No screen either."""
    stand_in = Drawing()

    def stills(planned: Plan, body: Body) -> dict[str, bytes]:
        return PICTURES

    monkeypatch.setattr(routecut.preview, "can_draw", lambda: stand_in.works)
    monkeypatch.setattr(routecut.preview, "stills", stills)

    def show(planned: Plan, body: Body, rims: tuple[Rim, ...]) -> tuple[Tag, ...]:
        stand_in.shown.append(planned)
        return stand_in.picks

    monkeypatch.setattr(routecut.preview, "show", show)
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    return stand_in


def world(name: str, folder: Path) -> Path:
    """A copy of a world as a job folder."""
    folder.mkdir()
    for file in ("job.toml", "body.ply"):
        shutil.copy(WORLDS / name / file, folder / file)
    return folder


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job with one cable through one hole in a wall; it can be done."""
    return world("wall-hole", tmp_path / "job")


@pytest.fixture
def blocked_job(job: Path) -> Path:
    """The same, but the one hole is too small for the cable."""
    change(job, "diameter = 30", "diameter = 1")
    return job


@pytest.fixture
def bad_job(job: Path) -> Path:
    """The same with two faults in it."""
    change(job, 'kind = "panel"', 'kind = "pannel"')
    change(job, 'from = "a.p"', 'from = "nobody.p"')
    return job


def change(job: Path, old: str, new: str) -> None:
    """Change the one place in job.toml that reads `old`."""
    text = (job / "job.toml").read_text(encoding="utf-8")
    assert text.count(old) == 1, old
    (job / "job.toml").write_text(text.replace(old, new), encoding="utf-8")


def written(job: Path) -> set[str]:
    """The files of the plan folder, the list of them aside."""
    here = {p.relative_to(job / "plan").as_posix() for p in (job / "plan").rglob("*") if p.is_file()}
    return here - {MANIFEST}
