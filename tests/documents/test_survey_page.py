"""The survey page in a browser, with a mouse and a finger: what is pointed at comes out as a job can hold it."""

from __future__ import annotations

import json
import math
import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from routecut.documents import picks_toml, survey_html
from routecut.documents.view_data import common_records
from routecut.model.body import Body
from routecut.model.job import Job, Vec3
from routecut.model.rim import Rim
from routecut.scene import Picked
from routecut.scene.naming import fault, fields
from routecut.scene.tagging import TAG_KINDS, Tagger
from routecut.survey import find_rims, load_job
from routecut.survey.additions import add_to_job
from tests.documents.browser import DESKTOP, PHONE, chromium, opened
from tests.documents.test_view import settled
from tests.survey.conftest import FULL_JOB
from tests.survey.test_rims import circle, sheet

LOOKS = pytest.mark.parametrize("look", [DESKTOP, PHONE], ids=["desktop", "phone"])


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as found:
        yield found


def level(radius: float, seed: int, noise: float) -> Body:
    """A sheet with a round hole in the middle, lying flat at z = 0.5 m, origin in the middle of the hole."""
    body, turn, place = sheet(circle(radius, 44), seed, noise=noise)
    return replace(body, vertices_m=(body.vertices_m - place) @ turn + np.array([0, 0, 0.5]), digest="f" * 64)


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """A job of two spaces, one above the sheet and one below."""
    folder = tmp_path_factory.mktemp("job")
    text = (
        'title = "bench </script> & more"\nlength_unit = "mm"\n[vehicle]\nmesh = "body.ply"\nmesh_unit = "m"\n'
        'axes = "+x rear, +y right, +z up"\n[[space]]\nname = "under"\nbox = [[-500, -500, 0], [500, 500, 500]]\n'
        '[[space]]\nname = "over"\nbox = [[-500, -500, 500], [500, 500, 1000]]\n'
        '[[landmark]]\nname = "corner"\nat = [0, 0, 500]\n'
        '[[device]]\nname = "radio"\nat = [0, 0, 520]\nspace = "over"\n'
    )
    (folder / "job.toml").write_text(text, encoding="utf-8")
    (folder / "body.ply").write_bytes(b"ply")
    found = load_job(folder)[0]
    assert found is not None
    return found


@pytest.fixture
def page(
    request: pytest.FixtureRequest, browser: Any, job: Job, tmp_path: Path, look: dict[str, Any]
) -> Iterator[Any]:
    body = level(0.02, 4, 0.001)
    (tmp_path / "survey.html").write_text(survey_html(job, body, find_rims(body)), encoding="utf-8")
    with opened(browser, tmp_path / "survey.html", look) as found:
        found.locator("[data-layer=names]").uncheck()
        found.locator("button", has_text="above").click()
        found.evaluate(
            "document.getElementById('view-stage').scrollIntoView({block: 'start', behavior: 'instant'})"
        )
        settled(found)
        yield found


class Pointer:
    """Taps places of the sheet, once it is known where two of them are on the screen."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.touch = page.evaluate("navigator.maxTouchPoints > 0")
        box = page.locator("#view-3d").bounding_box()
        middle, span = np.array([box["width"], box["height"]]) / 2, min(box["width"], box["height"]) * 0.25
        self.pixels = [middle - span, middle + span]
        for pixel in self.pixels:
            self.at(pixel)
        first, second = (np.array(entry["at"][:2]) / 1000 for entry in toml(page)["landmark"])
        # seen from above: the picture of a level sheet is the sheet, turned and scaled
        way, seen = complex(*(second - first)), complex(*(self.pixels[1] - self.pixels[0]).tolist())
        self.first, self.turn = first, seen.conjugate() / way
        for _ in self.pixels:
            page.locator("#view-picks button").first.click()

    def at(self, pixel: np.ndarray) -> None:
        """A pixel of the picture."""
        self.page.evaluate(
            "document.getElementById('view-stage').scrollIntoView({block: 'start', behavior: 'instant'})"
        )
        box = self.page.locator("#view-3d").bounding_box()
        x, y = (pixel + np.array([box["x"], box["y"]])).tolist()
        (self.page.touchscreen.tap if self.touch else self.page.mouse.click)(x, y)
        settled(self.page)

    def tap(self, x: float, y: float) -> None:
        way = (complex(x, y) - complex(*self.first)) * self.turn
        self.at(self.pixels[0] + np.array([way.real, -way.imag]))


def toml(page: Any) -> dict[str, Any]:
    return tomllib.loads(page.locator("#view-picked").input_value())


def choose(page: Any, kind: str) -> None:
    page.locator(f"input[name=view-kind][value={kind}]").check()


@LOOKS
def test_three_taps_on_a_rough_rim_place_the_hole(page: Any) -> None:
    """Sheet and taps both off by a millimetre, one sigma: middle within 1 mm, axis within 2 degrees."""
    pointer = Pointer(page)
    choose(page, "rim")
    random = np.random.default_rng(1)
    for turn in (0.3, 2.2, 4.4):
        x, y = 0.02 * np.array([math.cos(turn), math.sin(turn)]) + random.normal(0, 0.001, 2)
        pointer.tap(x, y)
    (hole,) = toml(page)["pass_through"]
    assert math.dist(hole["at"], (0, 0, 500)) < 1.0
    assert math.degrees(math.acos(abs(hole["axis"][2]) / math.hypot(*hole["axis"]))) < 2.0
    assert hole["diameter"] == pytest.approx(40.0, abs=1.0)
    assert hole["joins"] in (["under", "over"], ["over", "under"])
    assert "by its rim" in page.locator("#view-picked").input_value()


@LOOKS
def test_all_kinds_are_picked_named_saved_and_added(page: Any, job: Job, tmp_path: Path) -> None:
    pointer = Pointer(page)
    pointer.tap(0.05, 0.05)
    choose(page, "port")
    pointer.tap(-0.05, 0.05)
    pointer.tap(-0.05, 0.04)
    choose(page, "hole")
    pointer.tap(0.05, -0.05)
    choose(page, "hinge")
    pointer.tap(-0.06, -0.06)
    assert "1 of 2 taps" in page.locator("#view-pick-told").inner_text()
    pointer.tap(0.06, -0.06)
    rows = page.locator("#view-picks > li")
    assert rows.count() == 5
    field = page.get_by_label
    field("name of pick 1", exact=True).fill("corner")
    assert "has this name already" in rows.last.inner_text()
    field("name of pick 1", exact=True).fill('left "step"')
    assert "already" not in rows.last.inner_text()
    field("device of pick 2").fill("radio")
    field("device of pick 3").fill("radio")
    assert "picked twice" in rows.nth(2).inner_text()
    field("port of pick 2").fill("power")
    field("port of pick 3").fill("aerial")
    field("diameter, mm of pick 4").fill("27,5")
    field("it is of pick 4").select_option("candidate")
    right = field("and of pick 4").input_value()
    field("and of pick 4").select_option(field("joins of pick 4").input_value())
    assert "joins a space with itself" in rows.nth(1).inner_text()
    with page.expect_download():
        page.locator("#view-save").click()
    assert "Saved: 5 picks. 1 of them can't be added as it is" in page.locator("#view-pick-told").inner_text()
    field("and of pick 4").select_option(right)
    with page.expect_download() as download:
        page.locator("#view-save").click()
    assert (
        "Saved: 5 picks. Not in the job before it is added." in page.locator("#view-pick-told").inner_text()
    )
    file = Path(download.value.path())
    assert file.read_text(encoding="utf-8") == page.locator("#view-picked").input_value()
    (tmp_path / "picks.toml").write_bytes(file.read_bytes())
    added = add_to_job(job.folder, tmp_path / "picks.toml", mesh_digest="f" * 64)
    assert added.findings == ()
    assert added.added == (
        '[[landmark]] "left \\"step\\""'.replace("\\", ""),
        '[[pass_through]] "hole 1"',
        '[[hinge]] "hinge 1"',
        '[[device.port]] "radio.power"',
        '[[device.port]] "radio.aerial"',
    )
    new = tomllib.loads(added.new.decode())
    assert (new["pass_through"][0]["diameter"], new["pass_through"][0]["state"]) == (27.5, "candidate")


@LOOKS
def test_a_keep_out_of_corners_in_one_plane_asks_for_a_third(page: Any) -> None:
    pointer = Pointer(page)
    choose(page, "keep_out")
    pointer.tap(-0.05, -0.05)
    pointer.tap(0.05, 0.05)
    assert "one plane" in page.locator("#view-pick-told").inner_text()
    assert page.locator("#view-collected").is_hidden()
    page.locator("#view-again").click()
    assert page.locator("#view-again").is_hidden()


@LOOKS
def test_it_fits_the_screen_and_axe_finds_nothing_serious(page: Any) -> None:
    Pointer(page).tap(0.05, 0.05)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-core is not installed")
    found = axe.Axe().run(page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in {"serious", "critical"}] == []


# --- one truth, told twice -----------------------------------------------------------------------


def taps(job: Job, rims: tuple[Rim, ...]) -> list[tuple[str, Picked]]:
    """Taps of every kind, many; some on rims, some that make nothing."""
    random = np.random.default_rng(8)
    found: list[tuple[str, Picked]] = []
    for kind in (k.key for k in TAG_KINDS):
        for number in range(18):
            way = random.normal(size=3)
            at = random.uniform(-0.6, 0.6, 3) + np.array([0, 0, 0.5])
            if kind == "rim" and number < 6:
                turn = 2.1 * number
                at = np.array([0.02 * math.cos(turn), 0.02 * math.sin(turn), 0.5]) + random.normal(
                    0, 0.001, 3
                )
            if kind == "rim" and 6 <= number < 9:
                at = np.array([0.1 * number, 0.0, 0.5])  # in a line
            # halves of a step, where languages round differently
            at = np.where(random.uniform(size=3) < 0.2, np.round(at, 3) + 0.0005, at)
            unit = way / np.linalg.norm(way)
            found.append(
                (
                    kind,
                    Picked(at_m=tuple(at.tolist()), part=f'p "{number}" \\ ü', normal=tuple(unit.tolist())),
                )
            )
    return found


def short(values: Vec3) -> Vec3:
    x, y, z = (round(v, 6) for v in values)
    return (x, y, z)


@pytest.mark.parametrize(
    ("unit", "scale"), [("mm", 1.0), ("in", 1.0), ("m", 1.013), ("ft", 0.97), ("cm", 1.0)]
)
def test_the_page_writes_what_the_program_writes(
    browser: Any, job: Job, tmp_path: Path, unit: str, scale: float
) -> None:
    job = replace(job, length_unit=unit, vehicle=replace(job.vehicle, mesh_scale=scale))
    body = level(0.02, 4, 0.0)
    # as short as the page is told them
    rims = tuple(
        replace(r, at_m=short(r.at_m), axis=short(r.axis), diameter_m=round(r.diameter_m, 6))
        for r in find_rims(body)
    )
    tagger = Tagger(job, rims)
    given = taps(job, rims)
    for kind, pick in given:
        if tagger.kind != kind:
            tagger.choose(kind)
        tagger.tap(pick)
    assert {t.template for t in tagger.tags} == {
        "landmark",
        "port",
        "rim",
        "taps",
        "hole",
        "keep_out",
        "hinge",
    }
    ours = picks_toml(job, body.digest, tagger.tags)
    slants = [(2.0, 2.0, 0.4), (0.3, -0.2, 1.5), (0.01, 0.0, 1.5), (0.018, 0.001, -0.9)]
    met = [Picked(at_m=(0.018, 0.005, z), part="far", normal=(0.0, 0.0, 1.0)) for z in (0.2, 0.52, 0.9)]
    tagger.choose("rim")
    meant = [tagger.pointed(eye, one) for eye in slants for one in met]
    assert {m.part for m in meant} == {"far", rims[0].part}
    # faults: as they came, and with names that can't be
    told = [(fault(tag, tagger.tags, job), [f.words for f in fields(tag, job)]) for tag in tagger.tags]
    for number, name in ((0, "corner"), (1, "twice"), (2, "twice"), (3, "  ")):
        tagger.tags[number].values["name"] = name
    for tag in (tag for tag in tagger.tags if "state" in tag.values):
        tag.values["second"] = tag.values["first"]
    told += [(fault(tag, tagger.tags, job), []) for tag in tagger.tags]
    assert len({words for words, _ in told}) == 7
    (tmp_path / "s.html").write_text(survey_html(job, body, rims), encoding="utf-8")
    with opened(browser, tmp_path / "s.html", DESKTOP) as page:
        theirs = page.evaluate(
            """([given, slants, met]) => {
              const scene = JSON.parse(document.getElementById("view-data").textContent);
              const marks = { name: () => ({}), rename() {}, forget() {} };
              const picks = new Picks(scene, marks, () => {});
              for (const [kind, at, normal, part] of given) {
                if (picks.kind !== kind) picks.choose(kind);
                picks.add({ point: at, normal }, part, 0);
              }
              const toml = picks.toml();
              picks.choose("rim");
              const meant = slants.flatMap((eye) => met.map((at) => {
                const far = Math.hypot(...minus(at, eye));
                const rim = picks.rimUnder(eye, minus(at, eye).map((v) => v / far), { depth: far });
                return rim ? [...rim.point, rim.part] : [...at, "far"];
              }));
              const words = (one) => [...picks.row(one, 0).querySelectorAll("label > span")].map((s) => s.textContent);
              const told = picks.all.map((one) => [picks.fault(one), words(one)]);
              ["corner", "twice", "twice", "  "].forEach((name, k) => { picks.all[k].values.name = name; });
              for (const one of picks.all.filter((one) => "state" in one.values)) one.values.second = one.values.first;
              told.push(...picks.all.map((one) => [picks.fault(one), []]));
              return { toml, meant, told };
            }""",
            [[[kind, p.at_m, p.normal, p.part] for kind, p in given], slants, [p.at_m for p in met]],
        )
    assert theirs["toml"] == ours
    assert [tuple(one) for one in theirs["told"]] == told
    for at, one in zip(theirs["meant"], meant, strict=True):
        assert at == [*(pytest.approx(v, abs=1e-9) for v in one.at_m), one.part]
    tomllib.loads(ours)


def test_points_of_a_rescaled_mesh_come_back_to_where_they_were_picked(tmp_path: Path) -> None:
    """The job multiplies coordinates by the scale of its tape checks; a pick is written so that it lands right."""
    text = FULL_JOB.replace("distance = 1000", "distance = 1020").replace(
        "[vehicle]", "[vehicle]\nrescale = true", 1
    )
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    (tmp_path / "body.ply").write_bytes(b"ply")
    job = load_job(tmp_path)[0]
    assert job is not None
    assert job.vehicle.mesh_scale == pytest.approx(1.02)
    tagger = Tagger(job)
    tagger.tap(Picked(at_m=(2.04, -0.51, 1.02), part="shell", normal=(0.0, 0.0, 1.0)))
    (tmp_path / "picks.toml").write_text(picks_toml(job, "", tagger.tags), encoding="utf-8")
    added = add_to_job(tmp_path, tmp_path / "picks.toml")
    (tmp_path / "job.toml").write_bytes(added.new)
    again = load_job(tmp_path)[0]
    assert again is not None
    assert again.landmarks[-1].position.at_m == pytest.approx((2.04, -0.51, 1.02), abs=1e-6)


def test_the_page_is_the_same_to_the_byte_and_lets_no_name_out(job: Job) -> None:
    body = level(0.02, 4, 0.0)
    rims = find_rims(body)
    text = survey_html(job, body, rims)
    assert text == survey_html(job, body, rims)
    assert "default-src 'none'" in text
    data = re.search(r'<script type="application/json" id="view-data">(.*?)</script>', text, re.DOTALL)
    assert data is not None
    assert json.loads(data[1])["title"] == "bench </script> & more"
    assert common_records(job, body)["tagging"]["taken"]["landmark"] == ["corner"]
