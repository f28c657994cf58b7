"""What the program is made of lets nobody in: read off its source, and off what it says it needs."""

from __future__ import annotations

import ast
import importlib.metadata
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.hostile.supply import PROJECT, libraries, not_allowed

TOP = Path(__file__).parents[2]
SOURCES = sorted([*TOP.glob("routecut/**/*.py"), *TOP.glob("meshes/**/*.py")])

FORBIDDEN_MODULES = {
    *("pickle", "cPickle", "dill", "cloudpickle", "marshal", "shelve", "code", "codeop", "runpy", "yaml"),
    *(
        "socket",
        "urllib.request",
        "http",
        "http.client",
        "http.server",
        "ftplib",
        "smtplib",
        "requests",
        "httpx",
    ),
    *("multiprocessing", "joblib", "xmlrpc", "webbrowser", "ctypes"),
}
"""What runs what it reads, or asks a network."""

FORBIDDEN_CALLS = {"eval", "exec", "compile", "__import__", "os.system", "os.popen", "breakpoint"}
PROCESSES = {"run", "Popen", "call", "check_call", "check_output"}
STARTS_PROCESSES = {"routecut/preview/children.py"}
"""Pictures are drawn in a child: our own interpreter and module, a list of words, no shell."""


def faults(source: str, name: str) -> Iterator[str]:
    """What a source does that none of ours may."""
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import(names=names):
                modules = [alias.name for alias in names]
            case ast.ImportFrom(module=str() as module, names=names):
                modules = [module, *(f"{module}.{alias.name}" for alias in names)]
            case _:
                modules = []
        yield from (f"imports {m}" for m in modules if {m, m.split(".")[0]} & FORBIDDEN_MODULES)
        if "subprocess" in modules and name not in STARTS_PROCESSES:
            yield "starts processes"
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        if called in FORBIDDEN_CALLS or called.startswith(("os.exec", "os.spawn")):
            yield f"calls {called}"
        words = {k.arg: ast.unparse(k.value) for k in node.keywords}
        if words.get("shell", "False") != "False":
            yield f"{called} with a shell"
        if called.startswith("subprocess.") and called.split(".")[1] in PROCESSES:
            first = node.args[0] if node.args else None
            if isinstance(first, ast.Constant | ast.JoinedStr):
                yield f"{called} of a text"
        if called in {"np.load", "numpy.load"} and words.get("allow_pickle") != "False":
            yield f"{called} of anything"
        if called in {"np.save", "np.savez", "np.savez_compressed"} and words.get("allow_pickle") == "True":
            yield f"{called} of anything"


def test_there_are_sources() -> None:
    assert len(SOURCES) > 200


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(TOP)))
def test_no_source_runs_what_it_reads_nor_a_shell_nor_asks_a_network(path: Path) -> None:
    name = path.relative_to(TOP).as_posix()
    assert list(faults(path.read_text(encoding="utf-8"), name)) == []


@pytest.mark.parametrize(
    "source",
    [
        *("import pickle", "from pickle import loads", "import urllib.request", "from http import client"),
        *("eval('1')", "exec(x)", "__import__('x')", "import os; os.system('x')", "os.execv('a', [])"),
        *("import subprocess", "subprocess.run('ls')", "subprocess.run(['ls'], shell=True)", "np.load(f)"),
        *("subprocess.run(f'ls {x}')", "import yaml", "np.load(f, allow_pickle=True)", "import socket"),
    ],
)
def test_each_of_these_is_noticed(source: str) -> None:
    assert list(faults(source, "routecut/x.py"))


# --- what it says it needs ------------------------------------------------------------------------

NEEDED = PROJECT["dependencies"] + [r for rs in PROJECT["optional-dependencies"].values() for r in rs]


@pytest.mark.parametrize("needed", NEEDED)
def test_every_dependency_has_a_lower_bound_and_no_address(needed: str) -> None:
    assert re.fullmatch(r"[A-Za-z0-9-]+>=\d[\w.]*(; [\w ='!.]+)?", needed), needed


@pytest.mark.parametrize("needed", PROJECT["dependencies"])
def test_what_is_installed_is_not_below_the_bound(needed: str) -> None:
    name, least = re.split(">=", needed.split(";", maxsplit=1)[0])
    numbers = [[int(n) for n in re.findall(r"\d+", v)][:3] for v in (importlib.metadata.version(name), least)]
    assert numbers[0] >= numbers[1], needed


def test_every_library_that_is_imported_is_declared() -> None:
    declared = {re.split("[>;]", d)[0].lower().replace("-", "_") for d in PROJECT["dependencies"]}
    called = {"pil": "pillow", "collada": "pycollada", "vtkmodules": "vtk"}
    asked = set()
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                asked |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
                asked.add(node.module.split(".")[0])
    import sys

    outside = {
        a.lower() for a in asked if a not in sys.stdlib_module_names and a not in {"routecut", "meshes"}
    }
    beside = {path.stem for path in TOP.glob("meshes/*/*.py")}
    assert {called.get(a, a) for a in outside} - beside <= declared


# --- what that brings along -----------------------------------------------------------------------


def test_every_library_that_is_brought_along_fits_and_is_under_a_licence_that_is_allowed() -> None:
    found = libraries()
    assert {library.name for library in found} >= {
        re.split("[>;]", d)[0].lower() for d in PROJECT["dependencies"]
    }
    assert [(library.name, library.faults) for library in found if library.faults] == []


@pytest.mark.parametrize(
    ("needed", "fault"),
    [
        ("no-library-of-this-name>=1", "not installed"),
        ("numpy>=999", "routecut needs >=999"),
        ("numpy; python_version < '3'", ""),
        ("numpy>=1", ""),
    ],
)
def test_what_does_not_fit_is_told(needed: str, fault: str) -> None:
    told = "; ".join(f for library in libraries((needed,)) for f in library.faults)
    assert fault in told
    assert bool(told) == bool(fault)


@pytest.mark.parametrize(
    ("licence", "wrong"),
    [
        *((good, []) for good in ("MIT", "BSD-3-Clause AND Zlib", "Apache-2.0 OR GPL-3.0", "(MIT)")),
        *((bad, [bad]) for bad in ("", "GPL-3.0-or-later", "Proprietary", "Copyright (c) somebody")),
        ("MIT AND GPL-2.0-only", ["GPL-2.0-only"]),
    ],
)
def test_a_licence_that_is_none_of_those_allowed_is_noticed(licence: str, wrong: list[str]) -> None:
    assert not_allowed(licence) == wrong
