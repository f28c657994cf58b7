from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import pytest

from routecut.documents import label_files
from routecut.documents.labels import COLUMNS, LABEL_MM, PAGE_MM, ROWS, labels
from routecut.documents.port_words import port_text
from routecut.documents.reading import revision_mark
from routecut.model.plan import Plan
from tests.documents.sample import renamed

NAMES = "{http://www.w3.org/2000/svg}"
LETTER_MM = (215.9, 279.4)


def test_every_routed_cable_has_a_label_for_each_end_that_names_the_other(plan: Plan) -> None:
    found = {(label.cable, label.here, label.lines[0]) for label in labels(plan)}
    ends = {
        c.cable.name: [port_text(plan.job.port(p)) for p in (c.cable.from_port, c.cable.to_port)]
        for c in plan.cables
        if c.route is not None
    }
    assert found == {
        (name, here, f"to {there}") for name, both in ends.items() for here, there in (both, both[::-1])
    }


def test_a_label_has_class_length_job_revision_and_room_for_a_date(plan: Plan) -> None:
    by_name = {label.cable: label.lines for label in labels(plan)}
    assert by_name["P1"][1:4] == ("power, wire-10awg-red", "cut 4600 mm", plan.job.title)
    assert by_name["D1"][2] == "lead 3000 mm + 3000 mm"
    assert by_name["P1"][4] == f"rev. {revision_mark(plan)}   date ____________"


def test_the_grid_is_of_the_stated_size_and_lies_on_a4_and_on_letter() -> None:
    wide, high = COLUMNS * LABEL_MM[0], ROWS * LABEL_MM[1]
    assert PAGE_MM[0] - wide >= 20
    assert LETTER_MM[1] - high >= 20


def test_no_text_of_a_label_leaves_it(plan: Plan) -> None:
    files = label_files(
        renamed(plan, " of a very long name, <b>longer</b> than any label could ever show to anybody")
    )
    sheets = [data for name, data in sorted(files.items()) if name.endswith(".svg")]
    assert len(sheets) == 2
    pdfmetrics = pytest.importorskip("reportlab.pdfbase.pdfmetrics")
    left, top = (PAGE_MM[0] - COLUMNS * LABEL_MM[0]) / 2, (PAGE_MM[1] - ROWS * LABEL_MM[1]) / 2
    for sheet in sheets:
        root = ElementTree.fromstring(sheet)  # noqa: S314  our own
        texts = list(root.iter(f"{NAMES}text"))[1:]
        assert texts
        for text in texts:
            font = "Helvetica-Bold" if text.attrib.get("font-weight") else "Helvetica"
            x, y, size = (float(text.attrib[k]) for k in ("x", "y", "font-size"))
            ends = x + pdfmetrics.stringWidth(text.text, font, size)
            column, row = int((x - left) // LABEL_MM[0]), int((y - top) // LABEL_MM[1])
            assert (column < COLUMNS, row < ROWS) == (True, True)
            assert ends <= left + (column + 1) * LABEL_MM[0] - 1.9
            assert y - size >= top + row * LABEL_MM[1]


def test_the_same_plan_gives_the_same_bytes_and_no_label_no_file(plan: Plan) -> None:
    assert label_files(plan) == label_files(plan)
    assert set(label_files(plan)) == {"labels.pdf", "labels-1.svg", "labels-2.svg"}


def test_the_pdf_has_a_page_for_each_sheet(plan: Plan, tmp_path: Path) -> None:
    program = shutil.which("pdfinfo")
    if program is None:
        pytest.skip("no pdfinfo on this machine")
    (tmp_path / "l.pdf").write_bytes(label_files(plan)["labels.pdf"])
    told = subprocess.run([program, tmp_path / "l.pdf"], capture_output=True, text=True, check=True).stdout
    assert "Pages:           2" in told
