"""The pack on paper, printed by a real browser; the text of each sheet is read back from the PDF."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from routecut.documents import pack_html
from routecut.documents.port_words import port_text
from routecut.documents.reading import pulling_order, revision_mark
from routecut.model.plan import Plan
from tests.documents.browser import chromium


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.fixture(scope="module", params=["A4", "Letter"])
def sheets(plan: Plan, browser: Any, request: pytest.FixtureRequest, tmp_path_factory: Any) -> list[str]:
    """The words of each sheet in the order they were written, blanks made even."""
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip("no pdftotext on this machine")
    folder: Path = tmp_path_factory.mktemp("print")
    (folder / "pack.html").write_text(pack_html(plan, pictures={}), encoding="utf-8")
    page = browser.new_page()
    page.goto((folder / "pack.html").as_uri())
    page.pdf(path=folder / "pack.pdf", format=request.param)
    page.close()
    told = subprocess.run(
        [program, "-raw", folder / "pack.pdf", "-"], capture_output=True, text=True, check=True
    ).stdout
    return [re.sub(r"\s+", " ", sheet) for sheet in told.split("\f")[:-1]]


def test_no_card_of_a_cable_is_cut_by_the_end_of_a_sheet(plan: Plan, sheets: list[str]) -> None:
    for number, planned in enumerate(pulling_order(plan), start=1):
        if planned.route is not None:
            (found,) = [s for s in sheets if f"{planned.cable.name} pull {number} " in s]
            assert f"end at {port_text(plan.job.port(planned.cable.to_port))} " in found


def test_every_sheet_has_job_revision_and_number_at_its_edges(plan: Plan, sheets: list[str]) -> None:
    for number, sheet in enumerate(sheets, start=1):
        assert plan.job.title in sheet
        assert f"job pack, revision {revision_mark(plan)}" in sheet
        assert f"sheet {number} of {len(sheets)}" in sheet
