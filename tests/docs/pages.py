"""Writes the pages of docs/ that are made from the program itself.

Run it from the top of the tree: ``python -m tests.docs.pages`` writes them, with
``--check`` it only says which are not current. A test does the same check.
"""

import os
import re
import subprocess
import sys
from pathlib import Path

import routecut.model.codes
from routecut.cli import app
from routecut.cli.exits import ExitCode
from routecut.model.codes import CODES
from routecut.tables.rules import BASE_PROFILE, profile_limits, profiles
from tests.docs.axes_picture import axes_svg
from tests.docs.job_keys import job_keys_page
from tests.hostile.page import reliability_page

TOP = Path(__file__).parents[2]
NOTE = "<!-- Made by `python -m tests.docs.pages`; a test fails when it is not current. -->\n"


def command_names() -> list[str]:
    """The commands in the order of the help."""
    return [c.callback.__name__ for c in app.registered_commands if c.callback is not None]


def help_text(*arguments: str) -> str:
    """What ``routecut ... --help`` prints on a terminal of 80 columns."""
    return subprocess.run(
        [sys.executable, "-m", "routecut", *arguments, "--help"],
        env={**os.environ, "COLUMNS": "80", "TERM": "dumb"},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    ).stdout.strip()


def cli_page() -> str:
    """docs/cli.md."""
    lines = [
        "# Commands\n",
        NOTE,
        "Results go to standard output, everything else to standard error; progress is shown on a terminal",
        "only. `--json` prints the result for programs; an error then is JSON on standard output too:",
        "an object with `error`, a text, and `findings`, a list that is empty when the job is not at fault.\n",
        "## Exit codes\n",
        "| code | meaning |",
        "| --- | --- |",
        *(f"| {code.value} | {code.meaning} |" for code in ExitCode),
        "",
        f"## routecut\n\n```text\n{help_text()}\n```\n",
    ]
    lines += [f"## routecut {name}\n\n```text\n{help_text(name)}\n```\n" for name in command_names()]
    return "\n".join(lines)


def findings_page() -> str:
    """docs/findings.md, grouped as the list of codes is in its source."""
    lines = [
        "# Findings\n",
        NOTE,
        "What `routecut` notices about a job, its mesh or a plan carries a code. Codes stay the same from",
        "version to version. An **error** must be mended: a job with one is not planned, a route with one is",
        "not safe. A **warning** is a thing to look at before cutting or drilling. A **note** says what was",
        "assumed or moved.",
    ]
    assert routecut.model.codes.__file__ is not None
    source = Path(routecut.model.codes.__file__).read_text(encoding="utf-8")
    for heading, code in re.findall(r'(?m)^    # --- (.+?) -+$|^    "([a-z-]+)":', source):
        if heading:
            lines += [f"\n## {heading[0].upper()}{heading[1:]}\n", "| code | meaning |", "| --- | --- |"]
        else:
            lines.append(f"| `{code}` | {CODES[code]} |")
    return "\n".join(lines) + "\n"


def rules_page() -> str:
    """docs/rules.md: every limit of every profile with where it comes from."""
    lines = [
        "# Rules and their sources\n",
        NOTE,
        "Sources disagree, so limits come in named sets: `profile` in `[rules]` of the job. What a profile does not",
        "say is common practice. Any limit can be set by its name in `[rules]` as well, within the range given here;",
        "the job pack prints every limit in force with its source, and one that the job sets as a deviation. What is",
        "*from memory* was read nowhere while the table was made: it may make a limit tighter, and is never all that",
        "a limit of safety rests on. Local codes and the vehicle maker come first.",
    ]
    base = profile_limits(BASE_PROFILE)
    for profile in profiles():
        lines += [f"\n## {profile[0].upper()}{profile[1:]}\n"]
        lines += ["| limit | value | range | what it is | source |", "| --- | --- | --- | --- | --- |"]
        for name, limit in profile_limits(profile).items():
            if profile != BASE_PROFILE and limit == base[name]:
                continue
            unit = f" {limit.unit}" if limit.unit else ""
            memory = (
                "; from memory" if limit.provenance == "from-memory" and "memory" not in limit.source else ""
            )
            lines.append(
                f"| `{name}` | {limit.value:g}{unit} | {limit.lowest:g} to {limit.highest:g} | {limit.meaning} "
                f"| {limit.source}{memory} |"
            )
    lines += [
        "\n## The tables behind\n",
        "Wire, ampacity, fuses, coax, cable types, terminals: each table names its sources and how far each can be",
        "trusted in `routecut/tables/SOURCES.md`.",
    ]
    return "\n".join(lines) + "\n"


def reliability() -> str:
    """docs/reliability.md."""
    return reliability_page(NOTE)


def job_keys() -> str:
    """docs/job-keys.md."""
    return job_keys_page(NOTE)


def axes() -> str:
    """docs/images/axes.svg."""
    return axes_svg(NOTE)


PAGES = {
    "docs/cli.md": cli_page,
    "docs/findings.md": findings_page,
    "docs/rules.md": rules_page,
    "docs/reliability.md": reliability,
    "docs/job-keys.md": job_keys,
    "docs/images/axes.svg": axes,
}


def same_words(one: str, other: str) -> bool:
    """Whether two pages say the same; where lines are broken may differ with the version of typer."""
    return one.split() == other.split()


def main(arguments: list[str]) -> int:
    """Write or check the pages; returns the exit code."""
    stale = []
    for name, make in PAGES.items():
        path, text = TOP / name, make()
        if path.is_file() and same_words(path.read_text(encoding="utf-8"), text):
            continue
        stale.append(name)
        if "--check" not in arguments:
            path.write_text(text, encoding="utf-8")
    for name in stale:
        sys.stdout.write(f"{name}: {'not current' if '--check' in arguments else 'written'}\n")
    return int("--check" in arguments and bool(stale))


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
