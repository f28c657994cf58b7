"""What is said of loose pieces, open edges and cracks."""

from __future__ import annotations

import re

import numpy as np
import pytest

from routecut.model.finding import Finding
from routecut.survey.faults import Collector
from routecut.survey.soundness import report_soundness
from tests.damage import ways
from tests.worlds.shapes import Floats, box, merged, plate


def said(triangles: Floats) -> list[Finding]:
    mesh, collector = merged(triangles), Collector(file="body.ply")
    report_soundness(mesh["vertices"], mesh["faces"], 0.0, collector)
    return collector.findings


def test_of_a_few_sound_sheets_nothing_is_said() -> None:
    seam = np.concatenate([plate(2, 0, (0, 1), (0, 1), cell=0.1), plate(2, 0, (1, 2), (0, 1), cell=0.07)])
    assert said(seam) == []
    assert said(box((0, 0, 0), (1, 1, 1))) == []


@pytest.mark.parametrize("width", [0.0005, 0.001, 0.003])
def test_cracks_are_found_with_their_width(width: float) -> None:
    sheets = ways.cracked({"sheet": box((0, 0, 0), (1, 1, 1), cell=0.05)}, width)["sheet"]
    (finding,) = said(sheets)
    assert finding.code == "mesh-open"
    share, wide = re.search(r"about (\d+) % of them are cracks of ([\d.]+) mm", finding.message).groups()  # type: ignore[union-attr]
    assert int(share) > 90
    assert float(wide) == pytest.approx(1000 * width, abs=0.1 + 0.2 * 1000 * width)
    assert finding.found == str(len(sheets))


def test_panels_further_apart_are_loose_pieces_and_not_cracked() -> None:
    strips = [plate(2, 0, (0.1 * k, 0.1 * k + 0.09), (0, 1), cell=0.05) for k in range(30)]
    (finding,) = said(np.concatenate(strips))
    assert finding.message.startswith("30 loose pieces, 65.4")
    assert "crack" not in finding.message
