"""The table of a person's entries on the page of the tape-only walk is counted from what the page has one enter."""

from __future__ import annotations

import re
import tomllib

from routecut.patterns import PATTERNS, job_files, taken_all
from tests.docs.pages import TOP

PAGE = (TOP / "docs" / "tape-only.md").read_text(encoding="utf-8")
KIT = (TOP / "docs" / "tape-only-kit.toml").read_text(encoding="utf-8")
LONGEST_S = 15 * 60
"""Of a person's entries in all."""


def row(words: str) -> int:
    """The number at the end of a row of the table."""
    (found,) = re.findall(rf"(?m)^\| [^|\n]*{re.escape(words)}[^|\n]* \| (\d+)", PAGE)
    return int(found)


def test_measurements_and_lines_to_take_out_are_those_of_the_pattern() -> None:
    (command,) = re.findall(r"(?m)^\$ routecut new van-7 --force .*$", PAGE)
    settings = re.findall(r"--set (\w+)=(\d+)", command)
    assert row("measurements") == len(settings)
    pattern = PATTERNS["panel van"]
    taken = taken_all(pattern, {key: float(value) for key, value in settings})
    job = tomllib.loads(job_files(pattern, taken, title="van-7", unit="mm")["job.toml"].decode())
    counts = [sum(not e.get("confirmed", True) for e in job[kind]) for kind in ("keep_out", "pass_through")]
    assert f"{counts[0]} keep-outs, {counts[1]} pass-throughs" in PAGE
    assert row("lines `confirmed = false` to take out") == sum(counts)


def test_figures_and_names_are_those_of_the_kit() -> None:
    kit = tomllib.loads(KIT)
    places = sum(len(d["at"]) + ("pulls_out" in d) for d in kit["device"])
    assert row("places of nine devices") == places
    asked = sum(len(c.get("load", {})) + len(c.get("signal", {})) for c in kit["cable"])
    assert row("loads of six power cables") == asked
    assert row("pass-throughs that four cables are to use") == sum(
        len(c.get("through", [])) for c in kit["cable"]
    )
    typed = [line for line in KIT.splitlines() if line.strip() and not line.startswith("#")]
    assert f"has {len(typed)} lines" in PAGE


def test_they_add_up_and_stay_below_fifteen_minutes_at_the_pace_the_page_assumes() -> None:
    table = PAGE.split("| entries | by hand |", 1)[1].split("\n\n", 1)[0]
    *parts, total = [int(n) for n in re.findall(r"\| (\d+)[^|\n]*\|$", table, re.MULTILINE)]
    assert total == sum(parts)
    (pace,) = re.findall(r"no more than ([\d.]+) seconds", PAGE)
    assert LONGEST_S / total - 0.1 < float(pace) < LONGEST_S / total
    assert total * 5 < 10 * 60
