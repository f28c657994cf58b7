"""Bodies damaged on purpose: routes stay right, lengths stay near those on the clean body.

Truth      the same cables on the clean body; the verifier on the damaged mesh as the job has it
Tolerance  stated with each case; docs/accuracy.md has the figures
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.damage.table import CASES, Outcome, off_percent, outcome

CABLES = ("over the arch", "up the roof")
CELL = 0.05


@cache
def clean() -> Outcome:
    return outcome(CASES["clean"], cell=CELL, cables=CABLES)


def test_of_the_clean_body_little_is_said() -> None:
    assert clean().violations == ()
    assert "mesh-rough" not in clean().said


@pytest.mark.parametrize(
    ("name", "most_percent"),
    [
        ("cracks", 0.5),
        ("rough 2", 0.5),
        ("rough 5", 1.0),
        ("pieces", 1.0),
        ("spaces 60", 0.1),
        ("tag 60", 0.1),
        # through the window would be shorter, and is another space's side
        ("window", 0.5),
    ],
)
def test_damage_changes_lengths_by_little_and_breaks_no_rule(name: str, most_percent: float) -> None:
    found = outcome(CASES[name], cell=CELL, cables=CABLES)
    assert found.violations == ()
    off = off_percent(found, clean())
    assert set(off) == set(CABLES)
    assert max(abs(v) for v in off.values()) <= most_percent, off
    if name.startswith("rough"):
        assert "rough, as of a scan" in found.said["mesh-rough"]
    if name == "cracks":
        assert "cracks of 1." in found.said["mesh-open"]
