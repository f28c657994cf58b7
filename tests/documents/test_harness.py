from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import pytest
from reportlab.pdfbase.pdfmetrics import stringWidth

from routecut.documents import harness_svg
from routecut.documents.harness import lanes_of, rows_of
from routecut.documents.paper import shortened
from routecut.documents.port_words import port_text
from routecut.model.plan import Plan
from tests.documents.sample import renamed

HOSTILE = ["</script><img src=x onerror=alert(1)>", '"><svg onload=alert(1)>', "<!-- ]]> &lt;b&gt;"]
NAMES = "{http://www.w3.org/2000/svg}"


def test_every_cable_end_and_every_stretch_between_holes_is_a_row(plan: Plan) -> None:
    rows = rows_of(plan)
    for c in plan.cables:
        own = [r for r in rows if r.cable == c.cable.name]
        if c.route is None:
            assert own == []
            continue
        ends = {port_text(plan.job.port(p)) for p in (c.cable.from_port, c.cable.to_port)}
        assert {r.text.split(" (")[0] for r in own if not r.through} == ends
        assert sum(r.through for r in own) == max(0, len(c.route.passages) - 1)


def test_the_lengths_of_a_cable_add_up_to_its_run(plan: Plan) -> None:
    rows = rows_of(plan)
    for c in plan.cables:
        if c.route is not None:
            own = [r for r in rows if r.cable == c.cable.name]
            told = [int(r.length.removesuffix(" mm")) for r in own]
            total = sum(told) if c.route.passages else told[0]
            assert total == pytest.approx(c.route.length_m * 1000, abs=len(own))


def test_spaces_stand_from_front_to_rear(plan: Plan) -> None:
    spaces = list(dict.fromkeys(r.space for r in rows_of(plan)))
    begins = {s.name: s.boxes[0].low_m[0] for s in plan.job.spaces}
    assert spaces == sorted(spaces, key=lambda name: begins[name])


def test_no_two_upright_lines_lie_on_each_other_and_holes_stand_right_of_cables(plan: Plan) -> None:
    rows = rows_of(plan)
    lanes = lanes_of(rows)
    spans = {
        lane: (
            min(k for k, r in enumerate(rows) if lane in r.joins),
            max(k for k, r in enumerate(rows) if lane in r.joins),
        )
        for lane in lanes
    }
    for one, two in combinations(lanes, 2):
        if lanes[one] == lanes[two]:
            assert spans[one][1] < spans[two][0] or spans[two][1] < spans[one][0]
    assert max(p for lane, p in lanes.items() if lane.startswith("cable")) < min(
        p for lane, p in lanes.items() if lane.startswith("hole")
    )


def test_a_trunk_is_as_thick_as_it_has_cables(plan: Plan) -> None:
    root = ElementTree.fromstring(harness_svg(plan))  # noqa: S314  our own
    upright = [
        float(line.attrib["stroke-width"])
        for line in root.iter(f"{NAMES}line")
        if line.attrib["x1"] == line.attrib["x2"] and float(line.attrib["y1"]) != float(line.attrib["y2"])
    ]
    users = sorted(len(h.cables) for h in plan.holes if h.cables)
    thick = sorted(w for w in upright if w > 0.6)
    assert thick == pytest.approx([0.4 + 0.22 * n for n in users])


@pytest.mark.parametrize("mark", HOSTILE)
def test_hostile_names_are_text_in_the_diagram(plan: Plan, mark: str) -> None:
    written = harness_svg(renamed(plan, mark))
    root = ElementTree.fromstring(written)  # noqa: S314
    assert {e.tag.removeprefix(NAMES) for e in root.iter()} == {"svg", "line", "circle", "text"}
    assert any(mark[:12] in (e.text or "") for e in root.iter(f"{NAMES}text"))
    assert harness_svg(renamed(plan, mark)) == written


def test_what_does_not_fit_is_shortened_and_says_so() -> None:
    assert shortened("P1", 10, 2.5) == "P1"
    long = shortened("a very long name of a connector", 20, 2.5)
    assert long.endswith("...")
    assert "a very long name of a connector".startswith(long[:-3])
    one_more = "a very long name of a connector"[: len(long) - 2] + "..."
    assert stringWidth(long, "Helvetica", 2.5) <= 20 < stringWidth(one_more, "Helvetica", 2.5)
    assert shortened("x" * 9, 0.1, 2.5) == "..."


def test_a_plan_without_a_route_has_an_empty_diagram(plan: Plan) -> None:
    none = replace(plan, cables=tuple(replace(c, route=None, cut=None) for c in plan.cables))
    assert re.search("Harness, laid flat", harness_svg(none))
