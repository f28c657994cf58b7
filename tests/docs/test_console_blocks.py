"""The console blocks of a page, run in order in an empty folder; their output is compared.

``...`` in a page stands for anything, as in doctest. The command is the installed one.
"""

import doctest
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.docs.pages import TOP

PAGES = [p for p in sorted((TOP / "docs").glob("*.md")) if "\n```console\n" in p.read_text(encoding="utf-8")]
END = "--- end of command, exit code"


def steps(page: str) -> list[tuple[str, str]]:
    """Each command of a page with the output that the page shows."""
    found: list[tuple[str, str]] = []
    for block in re.findall(r"(?ms)^```console\n(.*?)^```", page):
        for part in re.split(r"(?m)^\$ ", block)[1:]:
            command, *rest = part.split("\n")
            # a command goes on over lines that begin as a shell asks for them
            while rest and (rest[0] == ">" or rest[0].startswith("> ")):
                command += "\n" + rest.pop(0)[2:]
            found.append((command, "\n".join(rest)))
    return found


def bring_linked_files(page: Path, folder: Path) -> list[str]:
    """Put the TOML files a page links to into a folder, as a reader saves them; their names."""
    names = sorted(set(re.findall(r"\]\(([\w.-]+\.toml)\)", page.read_text(encoding="utf-8"))))
    for name in names:
        shutil.copy(page.parent / name, folder)
    return names


def run_all(commands: list[str], folder: Path) -> list[tuple[str, int]]:
    """Output and exit code of each command, run one after the other in one shell."""
    # The exit code is handed on, so that a page can show `echo $?`.
    lines = [f"{command}\n__code=$?\necho '{END}' $__code\n(exit $__code)" for command in commands]
    ended = subprocess.run(
        ["bash", "-c", "\n".join(lines)],
        cwd=folder,
        env={**os.environ, "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        text=True,
        check=False,
        timeout=600,
    )
    parts = re.split(rf"(?m)^{re.escape(END)} (\d+)\n", ended.stdout)
    return [(output, int(code)) for output, code in zip(parts[0:-1:2], parts[1::2], strict=True)]


def matches(shown: str, got: str) -> bool:
    """Whether an output is what a page shows of it."""
    return doctest.OutputChecker().check_output(shown, got, doctest.ELLIPSIS)


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.stem)
def test_the_blocks_of_a_page_do_what_the_page_says(page: Path, tmp_path: Path) -> None:
    assert shutil.which("routecut", path=str(Path(sys.executable).parent)), "the project is not installed"
    wanted = steps(page.read_text(encoding="utf-8"))
    bring_linked_files(page, tmp_path)
    results = run_all([command for command, _ in wanted], tmp_path)
    assert len(results) == len(wanted)
    said = {command for command, _ in wanted if command == "echo $?"}
    for number, ((command, shown), (got, code)) in enumerate(zip(wanted, results, strict=True)):
        assert matches(shown, got), f"$ {command}\n{got}\n--- the page shows:\n{shown}"
        follower = wanted[number + 1][0] if number + 1 < len(wanted) else ""
        assert code == 0 or follower in said, f"$ {command} ended with {code}, the page does not say so"


def test_first_job_is_among_the_pages_that_run() -> None:
    assert "first-job" in [p.stem for p in PAGES]


def test_the_files_a_page_links_to_are_beside_it(tmp_path: Path) -> None:
    assert bring_linked_files(TOP / "docs" / "tape-only.md", tmp_path) == ["tape-only-kit.toml"]
    kit = tomllib.loads((tmp_path / "tape-only-kit.toml").read_text(encoding="utf-8"))
    # the page says nine devices and twelve cables
    assert (len(kit["device"]), len(kit["cable"])) == (9, 12)
    assert bring_linked_files(TOP / "docs" / "first-job.md", tmp_path) == []


def test_the_runner_hands_on_outputs_and_exit_codes(tmp_path: Path) -> None:
    assert run_all(["echo a; false", "echo $?", "true", "echo b > x", "cat x"], tmp_path) == [
        ("a\n", 1),
        ("1\n", 0),
        ("", 0),
        ("", 0),
        ("b\n", 0),
    ]


def test_a_command_goes_on_over_lines_that_begin_with_an_angle() -> None:
    page = "```console\n$ cat <<'END'\n> a\n>\n> b\nEND\na\n$ true\n```\n".replace("\nEND\n", "\n> END\n")
    assert steps(page) == [("cat <<'END'\na\n\nb\nEND", "a\n"), ("true", "")]


def test_the_comparison_is_strict_but_for_dots() -> None:
    assert matches("a\n...\nd\n", "a\nb\nc\nd\n")
    assert not matches("a\n...\nd\n", "a\nb\nc\n")
    assert not matches("a\n", "a\nb\n")
