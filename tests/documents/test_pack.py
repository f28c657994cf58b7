from __future__ import annotations

import base64
import csv
import hashlib
import io
import math
import re
from dataclasses import replace
from html.parser import HTMLParser
from types import SimpleNamespace
from typing import cast

import pytest

from routecut.documents import cut_list_csv, pack_html
from routecut.documents.cut_list import notes
from routecut.documents.figures import Lengths
from routecut.documents.markup import asset
from routecut.documents.markup import html as written
from routecut.documents.pack import PAGE_SCRIPT
from routecut.documents.pack_back import order_list
from routecut.documents.pack_cables import cut_list
from routecut.documents.pack_front import header, overview
from routecut.documents.pack_holes import NOT_KNOWN_BEHIND
from routecut.documents.port_words import port_text
from routecut.documents.reading import NO_TERMINATION, SIZE_PICKED, TYPE_ASSUMED, hole_numbers
from routecut.model.finding import Finding, Severity
from routecut.model.plan import OrderLine, Plan
from routecut.model.sizing import Electrical, Sizing
from routecut.scene.palette import REASON_MARK
from tests.documents.sample import body, renamed

PICTURES = {"left-front.png": b"\x89PNG left", "above.png": b"\x89PNG above"}
HOSTILE = [
    "</script><img src=x onerror=alert(1)>",
    '"><svg onload=alert(1)>',
    "' style='x' onclick='y",
    "<!-- ]]> &lt;b&gt; &#60;i&#62;",
    "</style></title><b>",
]


class Page(HTMLParser):
    """Tags with their attributes, and the text of each tag."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.inside: list[str] = []
        self.comments: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag in {"style", "title", "svg"}:  # the diagram shortens what is long: see its own tests
            self.inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.inside and self.inside[-1] == tag:
            self.inside.pop()

    def handle_comment(self, data: str) -> None:
        self.comments.append(data)

    def handle_data(self, data: str) -> None:
        if not self.inside:
            self.words.append(data)

    @property
    def text(self) -> str:
        return "".join(self.words)


def shape(page: Page) -> list[tuple[str, tuple[str, ...]]]:
    return [(tag, tuple(sorted(attributes))) for tag, attributes in page.tags]


@pytest.fixture(scope="module")
def html(plan: Plan) -> str:
    return pack_html(plan, pictures=PICTURES)


@pytest.mark.parametrize("mark", HOSTILE)
def test_hostile_names_are_text_in_every_field(plan: Plan, html: str, mark: str) -> None:
    """Names add no tag, no attribute and no comment, and are readable as they are."""
    page = Page(pack_html(renamed(plan, mark), pictures=PICTURES))
    tame = Page(pack_html(renamed(plan, "-x"), pictures=PICTURES))
    assert shape(page) == shape(tame)
    assert page.comments == []
    for words in (
        "River rescue van 3: voice, data and hailer",
        "P1",
        "cab",
        "bulkhead grommet left",
        "exhaust",
    ):
        assert words + mark in page.text
    # the names are the only difference, and the digest of the job that holds them
    told, expected = (
        re.sub(r"job \(SHA-256\)[0-9a-f]{64}|revision[0-9a-f]{8}", "", p.text) for p in (page, tame)
    )
    assert told.replace(mark, "-x") == expected


def test_only_the_tags_and_attributes_we_mean(html: str) -> None:
    page = Page(html)
    assert {tag for tag, _ in page.tags}.isdisjoint({"iframe", "object", "form", "link", "base"})
    names = {name for _, attributes in page.tags for name in attributes}
    assert names <= {
        "lang", "charset", "http-equiv", "content", "name", "class", "id", "href", "src", "alt", "scope",
        "open", "data-label", "data-show", "data-tick", "data-revision", "autocomplete", "hidden", "for", "type",
        "aria-hidden", "aria-label",
        "viewbox", "d", "role", "tabindex", "x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "stroke", "stroke-width",
        "fill", "font-size", "font-family", "font-weight", "text-anchor",
    }  # fmt: skip


def test_the_policy_lets_in_our_style_and_our_script_by_their_hashes_and_nothing_else(plan: Plan) -> None:
    page = pack_html(plan, pictures={}, body=body())
    (script,) = re.findall(r"<script>(.*?)</script>", page, re.DOTALL)
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    hashes = [base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in (style, script)]
    policies = [a["content"] for t, a in Page(page).tags if a.get("http-equiv") == "Content-Security-Policy"]
    style_hash, script_hash = (f"'sha256-{h}'" for h in hashes)
    assert policies == [
        "; ".join(
            [
                "default-src 'none'",
                "img-src data:",
                f"style-src {style_hash}",
                f"script-src {script_hash}",
                "base-uri 'none'",
                "form-action 'none'",
            ]
        )
    ]
    assert re.findall(r"<script [^>]*>", page) == ['<script type="application/json" id="view-data">']
    assert "style=" not in page.replace("style-src", "")


def test_where_there_is_no_view_the_script_holds_the_ticks_alone(html: str) -> None:
    (script,) = re.findall(r"<script>(.*?)</script>", html, re.DOTALL)
    assert script == asset(PAGE_SCRIPT)
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    policies = [a["content"] for t, a in Page(html).tags if a.get("http-equiv") == "Content-Security-Policy"]
    assert f"script-src 'sha256-{digest}'" in str(policies[0])
    assert 'type="application/json"' not in html


def test_the_page_asks_nothing_of_a_network(plan: Plan) -> None:
    html = pack_html(plan, pictures=PICTURES, body=body())
    for _, attributes in Page(html).tags:
        assert (attributes.get("href") or "#").startswith("#")
        assert (attributes.get("src") or "data:").startswith(
            "data:image/png;base64,"
        ) or "src" not in attributes
    assert "url(" not in html
    assert "@import" not in html


def test_links_lead_somewhere_and_ids_are_single(plan: Plan) -> None:
    page = Page(pack_html(plan, pictures=PICTURES, body=body()))
    ids = [a["id"] for _, a in page.tags if "id" in a]
    assert len(ids) == len(set(ids))
    assert {str(a["href"])[1:] for _, a in page.tags if "href" in a} <= set(ids)


def test_pictures_are_captioned_and_described(html: str) -> None:
    images = [a for t, a in Page(html).tags if t == "img"]
    assert [base64.b64decode(str(a["src"]).partition(",")[2]) for a in images] == list(PICTURES.values())
    assert all(a["alt"] for a in images)
    assert html.count("<figcaption>") == len(images)


def test_without_pictures_the_section_is_left_out(plan: Plan) -> None:
    page = Page(pack_html(plan, pictures={}))
    assert "pictures" not in [a.get("id") for _, a in page.tags]
    assert "#pictures" not in [a.get("href") for _, a in page.tags]


def test_every_cut_length_stands_in_the_pack_as_the_cut_list_has_it(plan: Plan, html: str) -> None:
    lengths, text = Lengths("mm"), Page(html).text
    for planned in plan.cables:
        if planned.cut is not None:
            assert lengths.up(planned.cut.length_m) in text


def test_an_unverified_length_is_not_shown_as_good(plan: Plan, html: str) -> None:
    assert "NOT COMPLETE" in html
    assert html.count("NOT VERIFIED") == 2  # S3, in the cut list and on its card
    assert html.count("NO SAFE ROUTE") == 2  # D5
    unchecked = replace(plan, cables=tuple(replace(c, verified=None) for c in plan.cables))
    assert pack_html(unchecked, pictures={}).count("NOT VERIFIED") == 2 * 19


def test_the_sum_of_each_card_adds_up(html: str) -> None:
    tables = re.findall(r'<table class="sum">(.*?)</table>', html, re.DOTALL)
    assert len(tables) == 19
    for table in tables:
        *lines, total = (int(n) for n in re.findall(r'data-label="length">(?:<b>)?(-?\d+) mm', table))
        assert sum(lines) == total


def test_the_revision_names_the_inputs_and_no_time(plan: Plan, html: str) -> None:
    revision = html[html.index('id="revision"') :]
    assert plan.body_digest in revision
    assert len(re.findall(r"\b[0-9a-f]{64}\b", revision)) == 2
    assert not re.search(r"\b20\d\d-\d\d-\d\d\b|\d\d:\d\d:\d\d", html)


def section(html: str, key: str) -> str:
    found = re.search(rf'<section id="{key}">(.*?)</section>', html, re.DOTALL)
    assert found is not None
    return found[1]


def test_sections_stand_in_the_order_of_the_work(html: str) -> None:
    assert re.findall(r'<section id="([a-z-]+)"', html) == [
        "overview", "before", "cut-list", "holes", "pictures", "cables", "harness", "bundles", "power",
        "order", "service", "sums", "figures", "findings", "revision",
    ]  # fmt: skip


def test_an_assumed_type_is_marked_wherever_it_could_be_ordered_or_cut(plan: Plan, html: str) -> None:
    assumed = [c.cable for c in plan.cables if c.cable.type_assumed]
    assert [c.name for c in assumed] == ["P4"]
    assert TYPE_ASSUMED in section(html, "overview")
    for key in ("cut-list", "cables", "order"):
        told = section(html, key)
        assert TYPE_ASSUMED in told
        row = next(r for r in re.split(r"<tr>|<article", told) if TYPE_ASSUMED in r)
        assert assumed[0].name in row
    lines = [
        OrderLine(what=what, quantity=1.0, unit="piece", for_cables=("P4",), why="wanted")
        for what in (assumed[0].type.name, f"{assumed[0].type.name}, ready-made lead 3000 mm", "ring M6")
    ]
    bought = section(pack_html(replace(plan, order=tuple(lines)), pictures={}), "order")
    assert [TYPE_ASSUMED in row for row in bought.split("<tr>")[2:]] == [
        True,
        True,
        False,
    ]  # a ring is a ring
    chosen = replace(
        plan, cables=tuple(replace(c, cable=replace(c.cable, type_assumed=False)) for c in plan.cables)
    )
    assert TYPE_ASSUMED not in pack_html(chosen, pictures={})


def test_what_is_not_known_behind_is_an_instruction_where_it_is_drilled_and_silence_elsewhere(
    plan: Plan,
) -> None:
    blind = replace(plan, holes=tuple(replace(h, behind_m={}) for h in plan.holes))
    cards = re.findall(r"<article.*?</article>", section(pack_html(blind, pictures={}), "holes"), re.DOTALL)
    drilled = [card for card in cards if "to be drilled" in card]
    assert drilled
    assert all(card.count(NOT_KNOWN_BEHIND) == 2 for card in drilled)  # both sides
    assert not any("not known" in card or "behind, in" in card for card in cards if card not in drilled)


@pytest.mark.parametrize(
    ("filled", "said"), [(0.2237, "22 % by these cables, at most 40 %"), (0.4251, "does not fit")]
)
def test_each_hole_says_whether_its_cables_fit(plan: Plan, filled: float, said: str) -> None:
    hole = next(h for h in plan.holes if h.cables)
    full = replace(plan, holes=(replace(hole, filled=filled, fill_most=0.4),))
    assert said in section(pack_html(full, pictures={}), "holes")


def test_what_is_known_behind_is_printed_with_its_unit(plan: Plan) -> None:
    hole = next(h for h in plan.holes if h.drill)
    space = hole.pass_through.joins[0]
    known = replace(plan, holes=(replace(hole, behind_m={space: 0.0834}),))
    assert re.search(rf"behind, in {space}</dt><dd>83 mm free", pack_html(known, pictures={}))


def test_cut_lengths_stand_in_the_unit_of_the_job_first_and_in_the_other_system_behind(
    plan: Plan, html: str
) -> None:
    inches = pack_html(replace(plan, job=replace(plan.job, length_unit="in")), pictures={})
    lead, *_ = [c for c in plan.cables if c.cable.ready_made]
    cut, *_ = [c for c in plan.cables if c.cut is not None and not c.cable.ready_made]
    for page, unit in ((html, "mm"), (inches, "in")):
        lengths, told = Lengths(unit), Page(section(page, "cut-list")).text
        for planned, words in ((cut, "{}; {}"), (lead, "must reach {} ({})")):
            assert planned.cut is not None
            first = lengths.band(planned.cut.length_m) if planned is cut else lengths.up(planned.cut.length_m)
            assert words.format(first, lengths.other(planned.cut.length_m, "up")) in told


def test_each_run_begins_and_ends_at_a_port_and_says_where_its_lengths_are_measured_from(
    plan: Plan, html: str
) -> None:
    cards = re.findall(r"<article.*?</article>", section(html, "cables"), re.DOTALL)
    runs = [re.findall(r"<li><span class=\"at\">(.*?)</span><span><b>(.*?)</b>", card) for card in cards]
    routed = {port_text(plan.job.port(c.cable.from_port)) for c in plan.cables if c.route is not None}
    assert sum(bool(run) for run in runs) == len([c for c in plan.cables if c.route is not None])
    for card, run in zip(cards, runs, strict=True):
        if run:
            start = run[0][1].removeprefix("start at ")
            assert start in routed
            assert f"measured from {start}" in card
            assert run[-1][1].startswith("end at ")


def test_a_size_picked_here_is_said_to_be_picked_and_not_to_be_the_thickest(plan: Plan) -> None:
    picked = cast("Electrical", SimpleNamespace(picked=True, fuse=None))  # all that a mark asks of it
    sized = replace(plan, sizing=Sizing(profile="", limits=(), electrical={"P4": picked}))
    for part in (overview(sized), cut_list(sized), order_list(sized)):
        told = written(part)
        assert SIZE_PICKED in told
        assert TYPE_ASSUMED not in told
    (row,) = [r for r in csv.DictReader(io.StringIO(cut_list_csv(sized), newline="")) if r["name"] == "P4"]
    assert SIZE_PICKED in row["notes"]


def test_the_head_of_the_pack_calls_no_plan_good_that_has_errors(plan: Plan) -> None:
    sound = replace(
        plan, cables=tuple(c for c in plan.cables if c.verified is not None and c.verified.ok), findings=()
    )
    assert sound.complete
    assert 'class="state good"' in written(header(sound))
    wrong = Finding(code="wire-thin", severity=Severity.ERROR, where="cable P1", message="loses too much")
    told = written(header(replace(sound, findings=(wrong,))))
    assert 'class="state bad"' in told
    assert "1 ERROR TO BE SOLVED" in told


def test_no_port_is_printed_with_a_dot_and_every_port_in_words(plan: Plan, html: str) -> None:
    text = Page(re.sub(r"<script.*?</script>", "", html, flags=re.DOTALL)).text
    for device in plan.job.devices:
        for port in device.ports:
            assert f"{port.device} / {port.name}" in text
            assert not re.search(rf"(?<!\w){re.escape(port.full_name)}(?!\w)", text)


@pytest.mark.parametrize("word", ["sigma", "lay_percent", "published-read", "half axes", "root mean square"])
def test_no_word_of_a_programmer_is_printed(html: str, word: str) -> None:
    assert word not in Page(re.sub(r"<script.*?</script>", "", html, flags=re.DOTALL)).text


def test_an_end_for_which_the_job_names_nothing_is_told_to_be_bare_wherever_it_stands(plan: Plan) -> None:
    bare = replace(plan.job.port("voice radio.p2"), termination="")
    device = plan.job.device_of("voice radio.p2")
    ports = tuple(bare if p.name == "p2" else p for p in device.ports)
    devices = tuple(replace(d, ports=ports) if d is device else d for d in plan.job.devices)
    page = pack_html(replace(plan, job=replace(plan.job, devices=devices)), pictures={})
    for key in ("cut-list", "cables", "service"):
        assert section(page, key).count(NO_TERMINATION) == 1
    for key in ("cut-list", "cables"):
        assert section(page, key).count("BARE END: settle it before you cut") == 1
    assert (
        section(page, "cables").count(
            "BARE END at voice radio / p2: no plug or lug is named or ordered; settle"
        )
        == 1
    )
    assert "1 bare end: </strong>voice radio / p2 (P2)." in section(page, "overview")
    assert "bare end" not in section(pack_html(plan, pictures={}), "overview")


def test_what_is_cut_and_what_comes_as_leads_are_counted_apart(plan: Plan) -> None:
    cut = [c.cut.length_m for c in plan.cables if c.cut is not None and not c.cable.ready_made]
    leads = [m for c in plan.cables if c.lead is not None for m in c.lead.lengths_m]
    told = Page(written(overview(plan))).text
    assert f"{math.ceil(sum(cut) * 10 - 1e-6) / 10:.1f} mto cut, in {len(cut)} pieces" in told
    assert f"{sum(leads):.1f} min {len(leads)} ready-made leads" in told


def test_every_count_of_the_overview_leads_to_what_it_counts(html: str) -> None:
    tiles = re.search(r'<ul class="tiles">(.*?)</ul>', html, re.DOTALL)
    assert tiles is not None
    links = re.findall(r'<li><a href="#(.*?)">', tiles[1])
    assert len(links) == tiles[1].count("<li>") >= 8
    assert {"cut-list", "order", "holes", "holes-there", "found-error"} <= set(links)


def test_cables_too_near_each_other_are_told_on_their_cards_and_a_shared_hole_is_no_place_to_clip(
    plan: Plan,
) -> None:
    inside = replace(plan.beside[0], cable="P1", other="C2", from_m=2.0, to_m=2.9, holes=("partition left",))
    page = pack_html(replace(plan, beside=(inside,)), pictures={})
    cards = re.findall(r"<article.*?</article>", section(page, "cables"), re.DOTALL)
    (p1,) = [card for card in cards if "<h3>P1 " in card]
    (c2,) = [card for card in cards if "<h3>C2 " in card]
    assert (
        "keep 51 mm away from C2 at 2000 to 2900 mm of the run; in partition left it can't be, so fan them"
        in p1
    )
    assert "keep 51 mm away from P1 (from where: on their cards); in partition left it can't be" in c2
    assert "Inside partition left, 28 mm wide, C2, P1 lie together." in section(page, "bundles")
    assert "partly in partition left" in section(page, "bundles")


@pytest.mark.parametrize(("asked", "said"), [(15.4, True), (15.0, False)])
def test_a_fuse_below_what_the_rules_ask_for_is_told_on_the_card_of_its_cable(
    plan: Plan, asked: float, said: bool
) -> None:
    fuse = SimpleNamespace(rating_a=15.0)
    sized = cast(
        "Electrical", SimpleNamespace(fuse=fuse, least_fuse_a=asked, amps=10.0, peak_amps=14.0, picked=False)
    )
    p1 = next(c for c in plan.cables if c.cable.name == "P1")
    told = notes(replace(plan, sizing=Sizing(profile="", limits=(), electrical={"P1": sized})), p1)
    words = "BELOW THE RULE (15.4 A or more asked for 10 A at duty and 14 A at peak)"
    assert any(words in note for note in told) is said


def test_no_letter_means_two_things(plan: Plan, html: str) -> None:
    """Keep-outs go by words, holes by the number of their card: letters are the names of cables."""
    assert all(len(mark) > 1 for mark in REASON_MARK.values())
    numbers = hole_numbers(plan)
    for name, number in numbers.items():
        assert f"<h4>{number}: {name}" in html
        assert f"hole {number}: {name}, " in html  # under the flat harness


def test_every_box_has_a_key_of_its_own(plan: Plan, html: str) -> None:
    keys = [a["data-tick"] for t, a in Page(html).tags if "data-tick" in a]
    assert len(keys) == len(set(keys)) > 3 * len([c for c in plan.cables if c.route is not None])


def test_the_order_says_in_which_currency_it_is_not(plan: Plan) -> None:
    line = replace(plan.order[0], price=41.0)
    assert "in the currency of the job" in written(order_list(replace(plan, order=(line,))))
