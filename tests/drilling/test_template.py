"""Templates: what is printed measures what it says."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from routecut.documents import plan_json
from routecut.documents.drill_schedule import columns, drill_schedule_csv
from routecut.documents.look_first import NOT_SEEN
from routecut.documents.paper import pdf, svg
from routecut.documents.template import BAR_AT_MM, CENTRE_MM, PAGE_MM, sheet, template_files
from routecut.model.drilling import DrillCard
from routecut.model.plan import Plan
from tests.drilling.cards import card, plan_of

DPI = 600
PDFTOPPM = shutil.which("pdftoppm")


@pytest.fixture(scope="module")
def raster(tmp_path_factory: pytest.TempPathFactory) -> np.ndarray:
    """The template of the sample card, printed to pixels; dark is True, row 0 is the top."""
    if PDFTOPPM is None:
        pytest.skip("no pdftoppm (poppler-utils) to print with")
    folder = tmp_path_factory.mktemp("print")
    plan = plan_of(card())
    (folder / "t.pdf").write_bytes(pdf([sheet(plan, card())], PAGE_MM, title="H1"))
    subprocess.run([PDFTOPPM, "-r", str(DPI), "-gray", "-singlefile", "t.pdf", "t"], cwd=folder, check=True)
    return np.asarray(Image.open(folder / "t.pgm")) < 128


def pixels(mm: float) -> int:
    return round(mm / 25.4 * DPI)


def test_the_check_bar_measures_100_mm_within_three_per_mille(raster: np.ndarray) -> None:
    y = pixels(PAGE_MM[1] - BAR_AT_MM[1])
    bar = raster[y - 2 : y + 3].any(axis=0)
    dark = np.flatnonzero(bar)
    # ends of the bar are its end ticks, 0.25 mm wide: from the middle of one to the middle of the other
    assert (np.diff(dark) == 1).all()
    length = (dark[-1] - dark[0] + 1) / DPI * 25.4 - 0.25
    assert length == pytest.approx(100.0, rel=0.003)


def test_the_bar_upright_is_as_true_as_across(raster: np.ndarray) -> None:
    """The frame of the template is 170 mm high: its dashes end to end."""
    x = pixels(CENTRE_MM[0] - 85)
    column = np.any(raster[:, x - 2 : x + 3], axis=1)
    dark = np.flatnonzero(np.asarray(column)[pixels(40) : pixels(219)])
    assert (dark[-1] - dark[0]) / DPI * 25.4 == pytest.approx(170.0, abs=2.0)


def test_the_hole_is_as_large_as_it_is_drilled(raster: np.ndarray) -> None:
    """20 mm: along a slanting line from the middle, clear of cross and text."""
    x0, y0 = pixels(CENTRE_MM[0]), pixels(PAGE_MM[1] - CENTRE_MM[1])
    reach = np.arange(pixels(9.0), pixels(11.5))
    turn = np.radians(30)
    line = raster[(y0 + np.sin(turn) * reach).astype(int), (x0 + np.cos(turn) * reach).astype(int)]
    dark = reach[np.flatnonzero(line)]
    assert (dark[0] + dark[-1]) / 2 / DPI * 25.4 == pytest.approx(10.0, abs=0.1)


def test_svg_and_pdf_carry_the_same_lines() -> None:
    plan = plan_of(card())
    marks = tuple(sheet(plan, card()))
    root = ElementTree.fromstring(svg(marks, PAGE_MM))  # noqa: S314  our own
    assert (root.get("width"), root.get("height")) == ("210mm", "297mm")
    assert root.get("viewBox") == "0 0 210 297"
    space = "{http://www.w3.org/2000/svg}"
    ends = [(float(e.get("x1", 0)), float(e.get("x2", 0))) for e in root.iter(f"{space}line")]
    assert (BAR_AT_MM[0], BAR_AT_MM[0] + 100.0) in ends
    radii = [float(e.get("r", 0)) for e in root.iter(f"{space}circle")]
    assert 10.0 in radii  # drilled
    assert 8.0 in radii  # clear
    assert 15.0 in radii  # the hole beside it
    text = " ".join(e.text or "" for e in root.iter(f"{space}text"))
    for word in ("UP", "REAR", "old grommet", "812 mm (32 in) from left bolt", "must measure 100 mm"):
        assert word in text


def test_the_same_plan_gives_the_same_bytes_and_paths_for_any_name() -> None:
    odd = replace(card(), name="../Łoch <1>")
    plan = plan_of(odd)
    files = template_files(plan)
    assert files == template_files(plan)
    assert set(files) == {"templates/01-och-1.svg", "templates/01-och-1.pdf"}
    assert b"<1>" not in files["templates/01-och-1.svg"]
    assert files["templates/01-och-1.pdf"].startswith(b"%PDF")


def test_a_refused_hole_says_so_on_paper() -> None:
    refused = replace(card(), refused="fuel tank lies 25 mm behind it")
    root = ElementTree.fromstring(svg(sheet(plan_of(refused), refused), PAGE_MM))  # noqa: S314
    assert "DO NOT DRILL" in "".join(root.itertext())


def test_a_hole_nobody_saw_says_so_on_paper_in_the_schedule_and_for_programs() -> None:
    plan = plan_of(card())
    holes = tuple(replace(h, pass_through=replace(h.pass_through, confirmed=False)) for h in plan.holes)
    for one, said in ((plan, False), (replace(plan, holes=holes), True)):
        root = ElementTree.fromstring(svg(sheet(one, one.drilling[0]), PAGE_MM))  # noqa: S314
        assert (NOT_SEEN.upper() in "".join(root.itertext())) is said
        assert rows(one)["notes"].startswith("Nobody has seen it yet: look first.") is said
        assert [h["confirmed"] for h in json.loads(plan_json(one))["holes"]] == [not said] * len(holes)


def rows(plan: Plan) -> dict[str, str]:
    import csv
    import io

    header, line = csv.reader(io.StringIO(drill_schedule_csv(plan)))
    assert tuple(header) == columns(plan.job.length_unit)
    return dict(zip(header, line, strict=True))


def test_the_schedule_has_what_the_card_has() -> None:
    row = rows(plan_of(card()))
    assert row["hole"] == "H1"
    assert row["drill from"] == "cab"
    assert (row["landmark 1"], row["distance 1 [mm]"]) == ("left bolt", "812")
    assert (row["landmark 3"], row["distance 3 [mm]"]) == ("", "")
    assert row["check distance [mm]"] == "1010"
    assert (row["pilot [mm]"], row["drill [mm]"], row["clear hole [mm]"]) == ("3", "20", "16")
    assert (row["behind"], row["free behind [mm]"]) == ("fuel pipe", "62")
    assert row["longest screw [mm]"] == "12"
    assert row["cables"] == "C1, P1"


def blind(told: DrillCard) -> DrillCard:
    return replace(
        told, far=replace(told.far, met=None), longest_screw_m=None, fix=None, no_fix="none in sight"
    )


def test_what_is_not_known_is_said_and_no_figure_stands_for_it() -> None:
    row = rows(plan_of(blind(card())))
    assert row["behind"] == "nothing seen behind: probe by hand"
    assert row["free behind [mm]"] == ""
    assert row["longest screw [mm]"] == ""
    assert row["landmark 1"] == ""
    assert "none in sight" in row["notes"]


def test_a_name_is_no_formula_in_the_schedule() -> None:
    assert rows(plan_of(replace(card(), name="=1+1")))["hole"] == "'=1+1"


def test_the_pack_shows_the_card() -> None:
    from routecut.documents import pack_html

    page = re.sub(r"<[^>]+>", " ", pack_html(plan_of(card()), pictures={}))
    for words in (
        "drill from",
        "812 mm (32 in) from left bolt; 455 mm (17 7/8 in) from right bolt",
        "from right bolt; the arcs cross twice: take the crossing further up",
        "1010 mm (39 3/4 in) from seat bolt",
        "the mark may be 9 mm off one way and 7 mm across that way, 19 times in 20",
        "62 mm free, then fuel pipe (fuel)",
        "pilot 3 mm, then 20 mm",
        "5 mm (1/4 in) from its point: the sheet, then the point and a little more",
        "no longer than 12 mm under the head, driven from",
        "With the plug of C1 fitted in the vehicle a clear hole of 12 mm will do, 4 mm less",
        "raw edge painted",
        "drilled by:",
        "this position is to be re-measured",
    ):
        assert words in page, words


def test_the_pack_shows_loudly_what_is_not_known() -> None:
    from routecut.documents import pack_html

    page = pack_html(plan_of(blind(card())), pictures={})
    assert "<strong>nothing seen behind: probe by hand</strong>" in page
    assert "not with a tape: none in sight" in page
    assert "no screw until somebody has looked behind" in page


def test_the_tests_see_a_printer_that_shrinks(tmp_path: Path) -> None:
    """The measuring itself: the same sheet drawn at 99 per cent is caught."""
    if PDFTOPPM is None:
        pytest.skip("no pdftoppm (poppler-utils) to print with")
    (tmp_path / "t.pdf").write_bytes(pdf([sheet(plan_of(card()), card())], PAGE_MM, title="H1"))
    subprocess.run(
        [PDFTOPPM, "-r", str(int(DPI * 0.99)), "-gray", "-singlefile", "t.pdf", "t"], cwd=tmp_path, check=True
    )
    shrunk = np.asarray(Image.open(tmp_path / "t.pgm")) < 128
    y = int((PAGE_MM[1] - BAR_AT_MM[1]) / 25.4 * int(DPI * 0.99))
    dark = np.flatnonzero(shrunk[y - 3 : y + 4].any(axis=0))
    length = (dark[-1] - dark[0] + 1) / DPI * 25.4 - 0.25
    assert length != pytest.approx(100.0, rel=0.003)


def test_who_holds_the_drill_sees_that_side_and_is_warned_of_the_other() -> None:
    """Blind is what nobody sees: not the side the drill and the tape are held on."""
    from routecut.documents import placed_cautions

    def blind_spaces(told: DrillCard) -> list[str]:
        placed = placed_cautions(plan_of(told))
        return [p.because for p in placed if p.kind == "hole" and p.caution.topic == "blind drilling"]

    assert blind_spaces(card()) == []
    assert blind_spaces(replace(card(), far=replace(card().far, met=None))) == [
        "free depth in engine bay is not known"
    ]
    taped = card().fix
    assert taped is not None
    # marked and piloted from the engine bay: then the cab is the side nobody sees
    marked = replace(card(), fix=replace(taped, from_space="engine bay"))
    assert blind_spaces(marked) == ["free depth in cab is not known"]
