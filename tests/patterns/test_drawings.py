"""measure.html: what is drawn is what is to be measured, and the words are those of the vehicle."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from routecut.patterns.drawings import _outline, measure_page
from routecut.patterns.files import made_of
from routecut.patterns.known import PATTERNS, taken_all

NAMES = pytest.mark.parametrize("name", sorted(PATTERNS))


@cache
def page(name: str) -> str:
    pattern = PATTERNS[name]
    taken = taken_all(pattern, {})
    return measure_page(pattern, made_of(pattern, taken), taken, unit="mm")


def strokes(path: str) -> list[np.ndarray]:
    """Polylines of an SVG path of M, L, H and V."""
    found: list[list[list[float]]] = []
    for act, numbers in re.findall(r"([MLHV])([-\d. ]+)", path):
        values = [float(n) for n in numbers.split()]
        x, y = found[-1][-1] if found else (0.0, 0.0)
        point = {"H": [values[0], y], "V": [x, values[0]]}.get(act, values)
        found.append([point]) if act == "M" else found[-1].append(point)
    return [np.array(line) for line in found]


@NAMES
def test_thin_lines_go_through_both_ends_of_the_tape_and_reach_the_vehicle(name: str) -> None:
    text = page(name)
    shapes = {
        key: np.concatenate(strokes(path))
        for key, path in re.findall(r'<symbol id="view-(\w+)"[^>]*><path class="body" d="([^"]+)"', text)
    }
    items = re.findall(
        r'href="#view-(\w+)"/><path class="lead" d="([^"]+)"/><path class="tape" d="([^"]+)"', text
    )
    assert len(items) == len(PATTERNS[name].measurements)
    for view, lead, tape in items:
        line = strokes(tape)[0]
        body = shapes[view]
        along = int(
            np.abs(np.diff(line, axis=0))[0].argmin()
        )  # the tape is level or plumb: thin lines square to it
        for end, (first, last) in zip(line, strokes(lead), strict=True):
            assert first[1 - along] == last[1 - along] == end[1 - along]
            low, high = sorted((first[along], last[along]))
            assert low <= min(end[along], body[:, along].min())
            assert high >= max(end[along], body[:, along].max())


@pytest.mark.parametrize("name", ["panel van", "estate car", "four-door pickup", "ambulance box"])
def test_a_front_shows_no_rear_doors_and_no_seam_in_the_middle(name: str) -> None:
    path = re.search(r'id="view-front"[^>]*><path class="body" d="([^"]+)"', page(name))
    assert path is not None
    steps = [pair for line in strokes(path[1]) for pair in pairwise(line)]
    middle = [(a, b) for a, b in steps if abs(a[0]) <= 40 and abs(b[0]) <= 40 and abs(a[1] - b[1]) > 3]
    assert middle == []


@pytest.mark.parametrize("name", ["panel van", "estate car", "four-door pickup", "ambulance box"])
def test_a_rear_view_is_the_same_whatever_the_front_looks_like(name: str) -> None:
    pattern = PATTERNS[name]
    parts = dict(made_of(pattern, taken_all(pattern, {})).parts)
    half = max(float(vertices[:, 0].max()) for vertices, _ in parts.values()) / 2
    front = [part for part, (vertices, _) in parts.items() if float(vertices[:, 0].max()) < half]
    assert {"bonnet", "windscreen"} & {part.removeprefix("glass-") for part in front}
    whole, _ = _outline(parts, "rear")
    rear, _ = _outline({part: sheet for part, sheet in parts.items() if part not in front}, "rear")
    assert whole == rear


def test_words_are_those_of_the_vehicle() -> None:
    boat, tractor, van = (page(n) for n in ("small boat", "tractor", "panel van"))
    assert "wheels straight" in van
    assert "traffic" in van
    assert "wheels straight" not in boat
    assert "bonnet" not in boat.lower()
    assert "propeller" in boat
    assert "implement" in tractor
    assert all("Caution:" in text for text in (boat, tractor, van))
    assert 'aria-label="Transom width, seen from the rear"' in boat
