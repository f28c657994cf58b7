from __future__ import annotations

import re

from routecut.documents import summary_text
from routecut.documents.figures import Lengths
from routecut.model.plan import Plan
from tests.documents.sample import renamed


def test_every_cable_has_its_line_and_every_error_is_printed(plan: Plan) -> None:
    text = summary_text(plan)
    for planned in plan.cables:
        assert re.search(rf"^\d+ +{planned.cable.name} ", text, re.MULTILINE)
    assert "no safe route" in text
    assert "[no-route]" in text
    assert "[verify-span]" in text
    assert "2 errors, 2 warnings, 1 note" in text


def test_names_can_not_drive_the_terminal(plan: Plan) -> None:
    text = summary_text(renamed(plan, "\x1b[2J\r\x07\u202e"))
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f\u202e]", text)


def test_a_sum_is_rounded_so_that_it_adds_up() -> None:
    lengths = Lengths("mm")
    lines = [1.0004, 0.0304, 0.0404, 0.0004, 0.0004]
    shown = [int(t.split()[0]) for t in lengths.sum_texts(lines, sum(lines))]
    assert shown[0] == 1000  # the route reads as it does everywhere else
    assert sum(shown) == 1072  # 1072.0 mm; each line rounded by itself would make 1070


def test_the_band_is_plus_only_and_never_wider_than_its_source() -> None:
    """IPC/WHMA-A-620 as republished: +25 to 0.3 m, +50 to 1.5, +100 to 3, +150 to 7.5, then 5 %."""
    lengths = Lengths("mm")
    printed = {0.3: 25, 0.31: 50, 1.5: 50, 1.51: 100, 3.0: 100, 3.01: 150, 7.5: 150, 8.0: 400}
    for cut, more in printed.items():
        assert lengths.band(cut) == f"\N{MINUS SIGN}0 / +{more} mm"
    assert Lengths("in").band(1.0) == "\N{MINUS SIGN}0 / +1 7/8 in"  # 50 mm is 1.97 in
    assert lengths.band(4.106, 0.274) == "\N{MINUS SIGN}0 / +5 mm"  # half a wave off is no trim
