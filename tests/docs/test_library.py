"""The public names, and the page about them: what it shows is run."""

import doctest
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import routecut
from tests.docs.pages import TOP

PAGE = TOP / "docs" / "library.md"


def test_every_public_name_is_there_documented_and_on_the_page() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert len(routecut.__all__) < 15
    for name in set(routecut.__all__) - {"__version__"}:
        assert (getattr(routecut, name).__doc__ or "").strip(), name
        assert re.search(rf"(?m)^\.\. auto\w+:: routecut\.{name}$", page), name


def test_names_that_are_not_public_are_refused_as_by_any_module() -> None:
    with pytest.raises(AttributeError, match="module 'routecut' has no attribute 'plam'"):
        getattr(routecut, "plam")  # noqa: B009 - as a program would ask


def test_importing_the_library_imports_nothing_heavy() -> None:
    heavy = "{'numpy', 'scipy', 'networkx', 'trimesh', 'pyvista'}"
    code = f"import sys, routecut; dir(routecut); print(sorted({heavy} & set(sys.modules)))"
    found = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert found.stdout == "[]\n"


def test_what_the_page_shows_is_what_happens(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(TOP / "meshes" / "river-rescue-van", tmp_path / "routecut-demo")
    monkeypatch.chdir(tmp_path)
    page = PAGE.read_text(encoding="utf-8")
    code = "\n".join(re.findall(r"(?ms)^```python\n(.*?)^```", page))
    test = doctest.DocTestParser().get_doctest(code, {}, "library.md", str(PAGE), 0)
    assert len(test.examples) > 15
    ran = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS, verbose=False).run(test)
    assert ran.failed == 0
