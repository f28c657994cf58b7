"""What is installed: every package, the sample jobs, and nothing by accident."""

import ast
import re
import sys
import tomllib
from pathlib import Path
from typing import Any

from tests.docs.pages import TOP

PROJECT: dict[str, Any] = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))
SETUPTOOLS: dict[str, Any] = PROJECT["tool"]["setuptools"]


def package_folder(name: str) -> Path:
    mapped = SETUPTOOLS["package-dir"].get(name)
    return TOP / mapped if mapped else TOP.joinpath(*name.split("."))


def test_the_version_is_one_and_has_a_heading_in_the_changes() -> None:
    version = PROJECT["project"]["version"]
    assert f'__version__ = "{version}"' in (TOP / "routecut" / "__init__.py").read_text(encoding="utf-8")
    first = re.search(r"(?m)^## (\S+?)(?:,|$)", (TOP / "docs" / "changes.md").read_text(encoding="utf-8"))
    assert first is not None
    assert first[1] == version


def test_every_package_is_installed() -> None:
    here = {
        ".".join(init.parent.relative_to(TOP).parts) for init in (TOP / "routecut").rglob("__init__.py")
    } | {"routecut.samples"}
    assert sorted(here) == SETUPTOOLS["packages"]


def test_every_package_is_a_layer() -> None:
    layers = " ".join(PROJECT["tool"]["importlinter"]["contracts"][0]["layers"]).replace("|", " ").split()
    packages = {name for name in SETUPTOOLS["packages"] if name.count(".") == 1} - {"routecut.samples"}
    assert packages <= set(layers)


def test_every_file_that_is_no_code_is_installed() -> None:
    """A table or a stylesheet that is forgotten is missed only by those who install a wheel."""
    covered = {
        file
        for package, globs in SETUPTOOLS["package-data"].items()
        for pattern in globs
        for file in package_folder(package).glob(pattern)
    }
    data = {
        p
        for p in (TOP / "routecut").rglob("*")
        if p.is_file() and p.suffix not in {".py", ".pyc"} and p.name[0] != "."
    }
    assert {str(p.relative_to(TOP)) for p in data - covered} == set()


def test_every_sample_job_travels_with_its_mesh() -> None:
    covered = {f for g in SETUPTOOLS["package-data"]["routecut.samples"] for f in (TOP / "meshes").glob(g)}
    for job in (TOP / "meshes").glob("*/job.toml"):
        mesh = tomllib.loads(job.read_text(encoding="utf-8"))["vehicle"]["mesh"]
        assert {job, job.parent / mesh} <= covered
    assert any(p.name == "job.toml" for p in covered)


PACKAGE_OF = {"PIL": "pillow", "collada": "pycollada", "vtkmodules": "vtk"}
"""Packages that are imported by another name than they are installed by."""


def test_what_is_imported_is_asked_for() -> None:
    """A package that comes along with another one today may not come along tomorrow."""
    asked = {re.split(r"[>=<\[ ]", entry)[0] for entry in PROJECT["project"]["dependencies"]}
    imported = set()
    for file in (TOP / "routecut").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                imported |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module is not None and not node.level:
                imported.add(node.module.split(".")[0])
    foreign = imported - set(sys.stdlib_module_names) - {"routecut"}
    assert {"numpy", "PIL"} <= foreign
    assert {PACKAGE_OF.get(name, name.replace("_", "-")) for name in foreign} <= asked
