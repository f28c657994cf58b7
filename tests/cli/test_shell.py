"""The program as the shell sees it: quick to start, tidy in a pipe, quiet off a terminal."""

import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from routecut.cli import app
from routecut.cli.exits import ExitCode
from tests.cli.conftest import Run

HEAVY = ("numpy", "scipy", "networkx", "trimesh", "embreex", "pyvista", "vtkmodules", "rich")
COMMANDS = {c.callback.__name__: c for c in app.registered_commands if c.callback is not None}


def python(*arguments: str, **options: object) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(  # type: ignore[call-overload, no-any-return]
        [sys.executable, *arguments], text=True, capture_output=True, check=False, timeout=120, **options
    )


@pytest.mark.parametrize("arguments", ["", "--help", "--version", "plan --help", "demo --help"])
def test_start_imports_nothing_heavy(arguments: str) -> None:
    script = (
        "import sys, routecut.cli\n"
        f"sys.argv[1:] = {arguments.split()!r}\n"
        "try: routecut.cli.main()\n"
        "except SystemExit: pass\n"
        f"print('heavy:', *[m for m in {HEAVY!r} if m in sys.modules])"
    )
    assert python("-c", script).stdout.splitlines()[-1].strip() == "heavy:"


def test_the_watch_for_heavy_imports_sees_one() -> None:
    script = f"import sys, networkx; print(*[m for m in {HEAVY!r} if m in sys.modules])"
    assert "networkx" in python("-c", script).stdout


@pytest.mark.parametrize("command", ["order", "drill"])
def test_what_a_solver_prints_of_its_own_does_not_spoil_json(job: Path, command: str) -> None:
    """Compiled code writes to the first file descriptor, past all that Python knows of."""
    with (job / "job.toml").open("a", encoding="utf-8") as file:
        file.write('[[stock]]\ntype = "thread"\nreel = 20000\n')
    script = (
        "import os, sys, scipy.optimize as so\n"
        "def noisy(solver):\n"
        "    def run(*a, **k):\n"
        "        os.write(1, b'a solver speaking\\n')\n"
        "        return solver(*a, **k)\n"
        "    return run\n"
        "so.milp, so.linprog = noisy(so.milp), noisy(so.linprog)\n"
        "import routecut.planning, routecut.preview\n"
        "routecut.preview.can_draw = lambda: False\n"
        "from routecut.cli import main\n"
        f"sys.argv[1:] = [{command!r}, {str(job)!r}, '--json']\n"
        "main()"
    )
    ran = python("-c", script)
    assert "a solver speaking" in ran.stderr
    assert json.loads(ran.stdout)


def test_version(run: Run) -> None:
    ran = run("--version")
    assert ran.code == ExitCode.DONE
    assert ran.out.startswith("routecut 0.")


def test_the_commands_are_those_that_work() -> None:
    """What the readme lists, and nothing that is hidden from it."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert set(COMMANDS) == set(re.findall(r"(?m)^\| `routecut ([a-z]+)", readme))


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_json_and_an_example_that_parses(run: Run, name: str) -> None:
    ran = run(name, "--help")
    assert ran.code == ExitCode.DONE
    assert "--json" in ran.out
    example = next(line.strip() for line in ran.out.splitlines() if line.strip().startswith("Example: "))
    program, *arguments = shlex.split(example.removeprefix("Example: "))
    assert (program, arguments[0]) == ("routecut", name)
    command = typer.main.get_command(app).get_command(None, name)  # type: ignore[attr-defined]
    command.make_context(name, arguments[1:])


def test_a_reader_that_goes_away_is_no_error(job: Path) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    try:
        ended = subprocess.run(
            [sys.executable, "-m", "routecut", "check", str(job)],
            stdout=writer,
            stderr=subprocess.PIPE,
            check=False,
            timeout=120,
        )
    finally:
        os.close(writer)
    assert ended.stderr == b""
    assert ended.returncode == ExitCode.DONE


def test_no_progress_off_a_terminal(job: Path) -> None:
    ended = python("-m", "routecut", "check", str(job))
    assert ended.stderr == ""


@pytest.mark.skipif(sys.platform == "win32", reason="has no pseudo-terminal")
def test_stages_are_named_on_a_terminal_and_stdout_stays_clean(job: Path) -> None:
    import pty

    ours, theirs = pty.openpty()
    try:
        ended = subprocess.run(
            [sys.executable, "-m", "routecut", "check", str(job)],
            stdout=subprocess.PIPE,
            stderr=theirs,
            check=False,
            timeout=120,
            env={**os.environ, "TERM": "xterm"},
        )
        seen = os.read(ours, 65536).decode()
    finally:
        os.close(ours)
        os.close(theirs)
    assert "reading the job and its mesh" in seen
    assert ended.stdout.endswith(b"\nno errors\n")


def test_a_letter_the_terminal_cannot_show_ends_nothing(job: Path) -> None:
    text = (
        (job / "job.toml").read_text(encoding="utf-8").replace('from = "a.p"', 'from = "Ørsted\N{SNOWMAN}.p"')
    )
    (job / "job.toml").write_text(text, encoding="utf-8")
    ended = python(
        "-m", "routecut", "check", str(job), env={**os.environ, "PYTHONIOENCODING": "ascii:strict"}
    )
    assert ended.returncode == ExitCode.BAD_INPUT
    assert "\\xd8rsted" in ended.stdout
    assert "Traceback" not in ended.stderr
