"""Each import contract holds, and each catches what it forbids.

The contracts are broken one by one in a copy of the source.
"""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.docs.pages import TOP

LINT_IMPORTS = "from importlinter.cli import lint_imports_command; lint_imports_command()"

# Where to add which import, and what it breaks.
BREACHES = {
    "Data flows one way": ("model/finding.py", "import routecut.survey"),
    "The verifier shares nothing with the search": ("verify/judge.py", "import routecut.geometry"),
    "Documents and preview print a plan": ("documents/summary.py", "import routecut.cutlist"),
    "Only the preview draws": ("cli/plan.py", "import pyvista"),
}


def copy_of_the_source(folder: Path) -> Path:
    shutil.copytree(TOP / "routecut", folder / "routecut", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(TOP / "pyproject.toml", folder / "pyproject.toml")
    return folder


def lint_imports(folder: Path) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-c", LINT_IMPORTS, "--no-cache"],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


def test_every_contract_holds(tmp_path: Path) -> None:
    ran = lint_imports(copy_of_the_source(tmp_path))
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert f"{len(BREACHES)} kept, 0 broken" in ran.stdout


@pytest.mark.parametrize("contract", BREACHES)
def test_every_contract_catches_its_breach(tmp_path: Path, contract: str) -> None:
    file, line = BREACHES[contract]
    path = copy_of_the_source(tmp_path) / "routecut" / file
    path.write_text(f"{path.read_text(encoding='utf-8')}\n{line}\n", encoding="utf-8")
    ran = lint_imports(tmp_path)
    assert ran.returncode == 1, ran.stdout + ran.stderr
    broken = [row for row in ran.stdout.splitlines() if row.endswith("BROKEN")]
    assert any(row.startswith(contract) for row in broken), ran.stdout


def test_a_drawing_library_at_the_top_of_a_module_is_refused() -> None:
    """The preview may import it, but not before a picture is asked for."""
    ran = subprocess.run(
        [
            *(sys.executable, "-m", "ruff", "check", "--select", "TID253"),
            *("--stdin-filename", "routecut/preview/probe.py", "-"),
        ],
        cwd=TOP,
        input="import pyvista\n",
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert ran.returncode == 1
    assert "TID253" in ran.stdout
