"""The oldest versions that pyproject.toml allows, installed together and tried.

    python -m tests.hostile.lowest [FOLDER]

makes an environment in FOLDER (one of its own without) with every dependency at its lower bound, asks pip
whether they agree and none was withdrawn, and runs the tests of `TRIED` in it. Exit code 1 when something is
wrong. Needs the network, for pip; takes some minutes, so it is no part of the other tests.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path
from typing import Final

TOP: Final = Path(__file__).parents[2]

TRIED: Final = (
    *(
        "tests/units",
        "tests/survey/test_mesh.py",
        "tests/hostile/test_jobs.py",
        "tests/drilling/test_template.py",
    ),
    *("tests/documents/test_tables_xlsx.py", "tests/documents/test_scene_glb.py"),
)
"""Reading every format, whole plans by the command, workbooks, drawings, the scene; no picture is drawn."""

_BOUND: Final = re.compile(r"^([A-Za-z0-9._-]+)>=([0-9][A-Za-z0-9.]*)$")
# What a library of today says of how one of then calls it, or of another that is not there, is no fault of ours.
_QUIET: Final = ("-W", "ignore::DeprecationWarning", "-W", "ignore::ImportWarning")
_WANTED_OF_TESTS: Final = ("hypothesis", "pytest", "pytest-xdist")


def bounds(extras: tuple[str, ...] = ()) -> dict[str, str]:
    """Every dependency and its lower bound, in the order of pyproject.toml; of the extras named as well."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lines = [*project["dependencies"]]
    for extra in extras:
        lines += project["optional-dependencies"][extra]
    found: dict[str, str] = {}
    for line in lines:
        told = _BOUND.match(line.split(";")[0].strip())
        assert told is not None, line
        found[told[1]] = told[2]
    return found


def main(folder: Path) -> int:
    """Install and try; 1 when something does not work."""
    venv.create(folder, with_pip=True)
    python = folder / "bin" / "python"
    lowest = bounds(("test",))
    constraints = folder / "lowest.txt"
    constraints.write_text("".join(f"{name}=={at}\n" for name, at in lowest.items()), encoding="utf-8")
    for command in (
        [python, "-m", "pip", "install", "--quiet", "-c", constraints, TOP, *_WANTED_OF_TESTS],
        [python, "-m", "pip", "check"],
        [python, "-m", "pip", "list"],
        [python, "-m", "pytest", "-q", "-p", "no:cacheprovider", *_QUIET, *TRIED],
    ):
        if _fails([str(part) for part in command]):
            return 1
    return 0


def _fails(command: list[str]) -> bool:
    """Whether a command does not end well; a version that its makers have withdrawn is no good end of pip."""
    withdrawn = False
    with subprocess.Popen(
        command, cwd=TOP, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as run:
        for line in run.stdout or ():
            sys.stdout.write(line)
            sys.stdout.flush()
            withdrawn |= "yanked version" in line
    if withdrawn:
        sys.stdout.write("A version at its lower bound was withdrawn by its makers: raise the bound.\n")
    return withdrawn or bool(run.returncode)


if __name__ == "__main__":
    if len(sys.argv) > 1:
        sys.exit(main(Path(sys.argv[1])))
    with tempfile.TemporaryDirectory() as place:
        sys.exit(main(Path(place) / "lowest"))
