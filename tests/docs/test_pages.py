"""What the documents say is complete, current and true of the program."""

import re
from pathlib import Path

import pytest

from routecut.cli.exits import ExitCode
from routecut.model.codes import CODES
from tests.docs.pages import NOTE, PAGES, TOP, command_names, same_words

MARKDOWN = sorted(
    [*TOP.glob("*.md"), *(TOP / "docs").rglob("*.md"), *(TOP / "meshes").rglob("*.md")], key=str
)
README = (TOP / "README.md").read_text(encoding="utf-8")
LATER = {"new", "drill", "order", "record", "service", "learn"}


def docs_text(*, made: bool) -> str:
    """All pages for users together; with or without those made from the program."""
    texts = [p.read_text(encoding="utf-8") for p in (TOP / "docs").glob("*.md")]
    return "\n".join([*(t for t in texts if made or NOTE.strip() not in t), README])


@pytest.mark.parametrize("name", PAGES)
def test_pages_made_from_the_program_are_current(name: str) -> None:
    text = (TOP / name).read_text(encoding="utf-8")
    assert same_words(text, PAGES[name]()), f"{name} is not current: run python -m tests.docs.pages"
    assert NOTE.strip() in text


@pytest.mark.parametrize("command", command_names())
def test_every_command_is_in_the_readme_and_on_its_page(command: str) -> None:
    assert f"| `routecut {command}" in README
    assert f"\n## routecut {command}\n" in (TOP / "docs/cli.md").read_text(encoding="utf-8")


def test_no_page_promises_a_command_that_is_not_there() -> None:
    named = set(re.findall(r"\broutecut ([a-z]+)\b", docs_text(made=True)))
    assert named & LATER == LATER & set(command_names())
    assert set(command_names()) <= named


def test_every_exit_code_is_on_the_page_and_those_for_scripts_in_the_readme() -> None:
    page = (TOP / "docs/cli.md").read_text(encoding="utf-8")
    for code in ExitCode:
        assert f"| {code.value} | {code.meaning} |" in page
    for code in (ExitCode.DONE, ExitCode.NOT_AS_ASKED, ExitCode.BAD_INPUT):
        assert re.search(rf"\b{code.value}: ", README.split("Exit code", 1)[1])


def test_every_finding_code_is_on_the_page_with_its_meaning_and_no_other() -> None:
    page = (TOP / "docs/findings.md").read_text(encoding="utf-8")
    assert dict(re.findall(r"(?m)^\| `([a-z-]+)` \| (.+) \|$", page)) == CODES


def test_the_quick_start_is_two_blocks_that_need_no_answer() -> None:
    section = README.split("\n## Quick start\n", 1)[1].split("\n## ", 1)[0]
    first, second = re.findall(r"(?ms)^```sh\n(.*?)^```", section)
    assert first.splitlines() == [
        "python3 -m venv .venv",
        ".venv/bin/pip install .",
        ".venv/bin/routecut demo",
    ]
    install, test = second.splitlines()
    assert install == ".venv/bin/pip install '.[test]'"
    assert test.startswith(".venv/bin/pytest")


def test_the_blocks_of_the_quick_start_are_the_only_sh_blocks_of_the_readme() -> None:
    assert README.count("```sh\n") == 2


def test_every_link_and_picture_leads_somewhere() -> None:
    dead = [
        f"{page.relative_to(TOP)}: {target}"
        for page in MARKDOWN
        for target in re.findall(r"\]\(([^)#\s]+)", page.read_text(encoding="utf-8"))
        if "://" not in target and not (page.parent / target).exists()
    ]
    assert dead == []


def test_every_package_is_in_the_developers_list() -> None:
    text = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
    packages = {p.parent.name for p in (TOP / "routecut").glob("*/__init__.py")}
    assert {p for p in packages if f"`{p}`" not in text} == set()


def test_every_word_of_the_glossary_is_explained_once_and_in_order() -> None:
    words = re.findall(r"(?m)^\| ([^|]+?) \|", (TOP / "docs/words.md").read_text(encoding="utf-8"))[2:]
    assert len(words) > 30
    assert words == sorted(set(words))


# --- Words that have no place here ----------------------------------------------------

# In pieces, so that this file does not hold what it looks for.
FORBIDDEN = re.compile(
    "|".join(
        [
            "/(?:work|farm)/",
            r"(?<![\w])/tmp/[a-z]",
            r"\.\./" + "shared",
            "pypi" + r"\.org",
            "python" + "hosted",
            "npm" + "js",
            "deb" + r"\.debian",
            "seed " + "document",
            "trans" + "cript",
            "sub" + "agent",
            "language " + "model",
        ]
    ),
    re.IGNORECASE,
)
TEXT = {".py", ".md", ".toml", ".csv", ".css", ".js", ".json", ".html", ""}


def own_files() -> list[Path]:
    """Every text file of the tree that is ours; no environment, cache or build."""
    found = [p for p in TOP.iterdir() if p.is_file()]
    for folder in ("routecut", "tests", "docs", "meshes", ".ci"):
        found += [p for p in (TOP / folder).rglob("*") if p.is_file() and "__pycache__" not in p.parts]
    return [p for p in found if p.suffix in TEXT and p.name != ".git"]


def test_no_path_of_a_machine_and_no_host_of_a_registry_is_named() -> None:
    hits = [
        f"{path.relative_to(TOP)}: {hit.group()}"
        for path in own_files()
        # Inputs that a fuzzer made are no text, and may still hold some.
        for hit in FORBIDDEN.finditer(path.read_text(encoding="utf-8", errors="replace"))
    ]
    assert hits == []


@pytest.mark.parametrize("bad", ["see /" + "work/main", "https://pypi" + ".org/simple", "/" + "tmp/x/y"])
def test_the_search_for_them_finds_them(bad: str) -> None:
    assert FORBIDDEN.search(bad)


def test_the_search_reads_the_whole_tree() -> None:
    names = {p.relative_to(TOP).as_posix() for p in own_files()}
    assert {"README.md", ".ci/run", "pyproject.toml", "routecut/errors.py", "docs/cli.md"} <= names
    assert len(names) > 60
