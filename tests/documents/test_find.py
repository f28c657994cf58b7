"""Finding one's way in the pack on a phone: the list behind the button, and what is folded away."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from routecut.documents import pack_html
from routecut.documents.harness import rows_of
from routecut.documents.markup import html as written
from routecut.documents.pack_find import find_panel
from routecut.documents.pull_words import comes_off
from routecut.documents.reading import hole_numbers, pulling_order
from routecut.model.as_built import AsBuilt
from routecut.model.plan import Plan
from routecut.model.record import Record
from routecut.model.sizing import Limit, Sizing, Supply
from tests.documents.browser import DESKTOP, PHONE, chromium, opened
from tests.documents.sample import body
from tests.documents.test_page import settled
from tests.service.test_answer import room, sized


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


@pytest.fixture(scope="module")
def file(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("find") / "pack.html"
    path.write_text(pack_html(plan, pictures={}, body=body()), encoding="utf-8")
    return path


def number_of(plan: Plan, name: str) -> int:
    return [c.cable.name for c in pulling_order(plan)].index(name) + 1


def in_sight(page: Any, key: str) -> bool:
    box = page.locator(f"#{key}").bounding_box()
    return box is not None and 0 <= box["y"] < page.viewport_size["height"] / 2


def test_a_finger_finds_a_cable_and_its_card_is_open(browser: Any, file: Path, plan: Plan) -> None:
    key = f"cable-{number_of(plan, 'P2')}"
    with opened(browser, file, PHONE) as page:
        card = page.locator(f"#{key} details")
        assert not card.locator("ol.run").is_visible()
        page.locator("#find summary").tap()
        assert page.locator("#find-what").evaluate("(e) => e === document.activeElement")
        page.locator("#find-what").fill("p2")
        assert page.locator("#find-list li:visible").first.inner_text().startswith("P2 ")
        page.locator("#find-list li:visible a").first.tap()
        settled(page)
        assert in_sight(page, key)
        assert card.locator("ol.run").is_visible()
        assert not page.locator(".find-panel").is_visible()


def test_the_keyboard_finds_a_hole_and_a_device(browser: Any, file: Path, plan: Plan) -> None:
    hole, number = next(iter(hole_numbers(plan).items()))
    with opened(browser, file, DESKTOP) as page:
        page.keyboard.press("/")
        page.keyboard.type(hole[:6].upper())
        page.keyboard.press("Enter")
        settled(page)
        assert page.url.endswith(f"#hole-{number}")
        page.keyboard.press("/")
        page.keyboard.type("voice radio")
        page.keyboard.press("Enter")
        settled(page)
        assert page.locator(f"#{page.url.split('#')[1]}").inner_text() == "voice radio in load area"
        page.keyboard.press("/")
        page.keyboard.type("radio")  # a device of that word goes before the cables that end at it
        assert page.locator("#find-list li:visible b").first.inner_text() in {
            d.name for d in plan.job.devices if "radio" in d.name
        }
        page.locator("#find-what").fill("radio  voice")  # words in any order
        assert "voice radio" in page.locator("#find-list li:visible b").all_inner_texts()
        page.locator("#find-what").fill("")
        page.keyboard.type("nothing of that name")
        assert page.locator("#find-list li:visible").count() == 0
        assert page.locator("#find-told").inner_text() == "nothing found"
        page.keyboard.press("Escape")
        assert not page.locator(".find-panel").is_visible()
        assert page.locator("#find summary").evaluate("(e) => e === document.activeElement")


def test_everything_in_the_pack_can_be_found(browser: Any, file: Path, plan: Plan) -> None:
    trims = {o.trim for o in comes_off(plan, plan.cables)}
    assert trims
    with opened(browser, file, DESKTOP) as page:
        names = page.locator("#find-list b").all_text_contents()
    devices = {plan.job.device_of(p).name for c in plan.cables for p in (c.cable.from_port, c.cable.to_port)}
    keep_outs = {k.name for k in plan.job.keep_outs}
    jointed = {f"joint of {c.cable.name}" for c in plan.cables if c.lead is not None and c.lead.joints}
    assert jointed
    assert plan.service is None
    work = {"welding, grinding, crash", "water, leak, seal, drip loop"}
    sorts = (
        {c.cable.name for c in plan.cables},
        hole_numbers(plan),
        devices,
        trims,
        keep_outs,
        jointed,
        work,
    )
    assert len(names) == sum(map(len, sorts))
    assert set(names) == set().union(*sorts)


def test_short_names_joints_and_keep_outs_are_found(browser: Any, file: Path, plan: Plan) -> None:
    holes = {number: name for name, number in hole_numbers(plan).items()}
    jointed = next(c.cable.name for c in plan.cables if c.lead is not None and c.lead.joints)
    keep_out = plan.job.keep_outs[0].name
    with opened(browser, file, PHONE) as page:
        for typed, said in (
            ("h2", holes[2]),
            ("joint", f"joint of {jointed}"),
            ("weld", "welding, grinding, crash"),
            (keep_out, keep_out),
        ):
            page.locator("#find summary").tap()
            page.locator("#find-what").fill(typed)
            assert page.locator("#find-list li:visible b").first.inner_text() == said
            page.locator("#find-list li:visible a").first.tap()
            settled(page)
            key = page.url.split("#")[1]
            assert page.locator(f"#{key}").is_visible()
            assert in_sight(page, key)


def test_fuses_volts_and_trim_lead_to_their_rows(plan: Plan) -> None:
    supply = Supply(
        device="voice radio", amps=10.0, peak_amps=14.0, drop_v=0.7, peak_drop_v=1.1, drop_percent=5.0,
        peak_drop_percent=8.0, volts=12.9, peak_volts=12.5, ok=True,
    )  # fmt: skip
    limit = Limit(name="test_volts", value=13.6, unit="V", meaning="", source="", provenance="")
    sizing = Sizing(profile="", limits=(limit,), electrical={"P1": sized("fuse box.p1")}, supplies=(supply,))
    page = pack_html(replace(plan, sizing=sizing), pictures={})
    for name in ("fuse of P1", "volts at voice radio", "sill trim, left"):
        (key,) = re.findall(rf'<a href="#([^"]+)"><b>{name}</b>', page)
        (row,) = re.findall(rf'id="{key}"[^>]*>([^<]+)<', page)
        assert row == name.removeprefix("fuse of ").removeprefix("volts at ")
    p1 = next(c.cable for c in plan.cables if c.cable.name == "P1")
    (told,) = re.findall(r"<b>fuse of P1</b> <small>([^<]+)<", page)
    assert p1.to_port.split(".")[0] in told  # so that a fuse is found by what it kills


def test_the_head_of_a_table_stays_below_the_bar_while_its_rows_go_by(browser: Any, file: Path) -> None:
    with opened(browser, file, DESKTOP) as page:
        page.evaluate("document.querySelector('table.connectors tbody tr:nth-child(20)').scrollIntoView()")
        settled(page)
        head = page.locator("table.connectors th").first.bounding_box()
        bar = page.locator(".bar").bounding_box()
        assert abs(head["y"] - (bar["y"] + bar["height"])) <= 2


def test_a_phone_gets_the_long_parts_folded_and_a_desk_and_paper_get_them_open(
    browser: Any, file: Path
) -> None:
    shut = "[...document.querySelectorAll('details.fold')].filter((e) => !e.open).length"
    high = "document.documentElement.scrollHeight"
    with opened(browser, file, PHONE) as page:
        folds, folded = page.locator("details.fold").count(), page.evaluate(high)
        assert page.evaluate(shut) == folds > 40
        page.evaluate("dispatchEvent(new Event('beforeprint'))")
        assert page.evaluate(shut) == 0
        assert page.evaluate(high) > 2 * folded
        page.evaluate("dispatchEvent(new Event('afterprint'))")
        assert page.evaluate(shut) == folds
    with opened(browser, file, DESKTOP) as page:
        assert page.evaluate(shut) == 0
        assert not page.locator("summary.quiet").first.is_visible()


def test_a_link_into_what_is_folded_opens_it_each_time(browser: Any, file: Path) -> None:
    with opened(browser, file, PHONE) as page:
        link = page.locator("#cut-list tbody a[href='#cable-1']")
        for _ in range(2):
            link.tap()
            settled(page)
            assert page.locator("#cable-1 ol.run").is_visible()
            page.locator("#cable-1 summary").tap()
            assert not page.locator("#cable-1 ol.run").is_visible()


def test_the_harness_is_a_list_on_a_phone_and_a_drawing_on_a_desk(
    browser: Any, file: Path, plan: Plan
) -> None:
    rows = rows_of(plan)
    with opened(browser, file, PHONE) as page:
        lists = page.locator(".listed details")
        assert lists.count() == len({row.space for row in rows})
        for one in lists.all():
            one.locator("summary").tap()
        told = page.locator(".ends-of li").all_inner_texts()
        assert len(told) == len(rows)
        assert all(row.cable in text and row.length in text for row, text in zip(rows, told, strict=True))
        assert page.evaluate("document.documentElement.scrollWidth") == PHONE["viewport"]["width"]
        assert not page.locator(".flat").is_visible()
    with opened(browser, file, DESKTOP) as page:
        assert not page.locator(".listed").is_visible()
        assert page.locator(".flat svg").is_visible()


def test_on_a_phone_names_do_not_crowd_until_one_is_closer(browser: Any, file: Path, plan: Plan) -> None:
    """From afar cables and what is to be drilled are named, and no name is cut; closer, devices too."""
    shown = "[...document.querySelectorAll('#view-labels .name:not(.gone){}')]"
    with opened(browser, file, PHONE) as page:
        settled(page)
        assert page.evaluate(f"{shown.format('.device')}.length") == 0
        assert page.evaluate(f"{shown.format('.cable')}.length") > 0
        assert page.evaluate(f"{shown.format('.drill')}.length") > 0
        over = "e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1"
        cut = f"{shown.format('')}.filter((e) => {over}).length"
        assert page.evaluate(cut) == 0
        page.locator("#view-3d").focus()
        named = 0
        for _ in range(14):
            page.keyboard.press("+")
            settled(page)
            named = max(named, page.evaluate(f"{shown.format('.device')}.length"))
        assert named > 0


def test_everything_out_and_the_record_are_found_where_they_are() -> None:
    there = {
        "service-out": "everything out, strip, scrap",
        "as-built": "as built, record, what was changed",
    }
    plan = room()
    bare = written(find_panel(replace(plan, service=None, as_built=None)))
    full = written(find_panel(replace(plan, as_built=AsBuilt(record=Record()))))
    for key, named in there.items():
        assert f'href="#{key}"><b>{named}</b>' in full
        assert f'href="#{key}"' not in bare
