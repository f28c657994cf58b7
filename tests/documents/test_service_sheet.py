from __future__ import annotations

import re
from dataclasses import replace
from itertools import permutations
from types import SimpleNamespace
from typing import cast

from routecut.documents.markup import html as written
from routecut.documents.pack_find import find_panel
from routecut.documents.pack_service import in_front, service
from routecut.model.as_built import AsBuilt
from routecut.model.job import KeepOut, Reason, Sphere
from routecut.model.plan import Covered, Plan
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.model.sizing import Electrical, Sizing
from tests.service.test_answer import room


def rows(page: str, heading: str) -> list[list[str]]:
    body = page.split(heading, 1)[1].split("</table>", maxsplit=1)[0].split("<tbody>")[1]
    return [
        [re.sub("<.*?>", "", cell) for cell in re.findall(r"<td[^>]*>(.*?)</td>", row)]
        for row in re.findall(r"<tr>(.*?)</tr>", body)
    ]


def test_every_end_of_every_cable_is_on_the_service_sheet_with_the_other_end(plan: Plan) -> None:
    found, device = set(), ""
    for row in rows(written(service(plan)), "Connectors"):
        device = row[0].split(" in ")[0] or device
        found.add((device, row[2], row[3]))
    assert found == {
        (end.partition(".")[0], c.cable.name, other)
        for c in plan.cables
        for end, other in permutations((c.cable.from_port, c.cable.to_port))
    }


def test_the_fuse_stands_with_the_device_that_goes_dead(plan: Plan) -> None:
    fuse = SimpleNamespace(
        rating_a=15.0, series="regular blade", in_block=False, distance_m=0.08, at="battery.p3",
        space="engine bay", access="open",
    )  # fmt: skip
    sized = {
        "P1": cast("Electrical", SimpleNamespace(fuse=fuse, least_fuse_a=15.0)),
        "P2": cast("Electrical", SimpleNamespace(fuse=None)),
    }
    page = written(service(replace(plan, sizing=Sizing(profile="", limits=(), electrical=sized))))
    assert rows(page, "Which fuse to pull") == [
        ["voice radio", "15 A, regular blade", "80 mm from battery.p3", "engine bay (access: open)", "P1"]
    ]


def test_trim_at_the_end_of_a_run_is_in_front_of_its_connector_and_trim_on_the_way_is_not(plan: Plan) -> None:
    p1 = next(c for c in plan.cables if c.cable.name == "P1")
    assert p1.route is not None
    long = p1.route.length_m
    end = plan.job.port(p1.cable.to_port)
    device = plan.job.device_of(p1.cable.to_port)
    for start, stop, told in (
        (long - 0.5, long - 0.14, "lining (7 min)"),
        (long - 0.5, long - 0.16, "nothing to take off"),
        (0.0, 0.3, "nothing to take off"),
    ):
        trim = Covered(trim="lining", from_m=start, to_m=stop, minutes=7.0)
        assert in_front(plan, device, end, replace(p1, covered=(trim,))) == told


def test_joints_and_trim_are_listed(plan: Plan) -> None:
    page = written(service(plan))
    assert [row[0] for row in rows(page, "Joints and fuse holders on the way")] == [
        "D1",
        "D5",
    ]  # D5 has no lead
    (sill,) = [row for row in rows(page, "What comes off") if row[0] == "sill trim, left"]
    assert sill[1] == "3 min"
    assert len(sill[2].split(", ")) == sum(c.route is not None for c in plan.cables)


def test_welding_is_found_in_the_pack_with_what_to_do_before(plan: Plan) -> None:
    sheet, find = written(service(plan)), written(find_panel(plan))
    assert 'href="#service-body"' in sheet
    assert 'href="#service-body"' in find
    assert "welding, grinding, crash" in find
    told = sheet.split('id="service-body"')[1]
    assert (
        told.index("Ignition off, key out") < told.index("Earth clamp of the welder") < told.index("pinched")
    )


def test_the_sheet_tells_how_all_is_got_at_and_every_link_on_it_leads_somewhere() -> None:
    page = written(service(room()))
    here = set(re.findall(r'id="([^"]+)"', page))
    there = {h for h in re.findall(r'href="#([^"]+)"', page) if not h.startswith("cable-")}
    assert {"service-holes", "service-out", "service-device-1"} <= here
    assert there <= here
    connectors = {
        row[1].split(":")[0]: row[4] for row in rows(page, "Connectors") if row[0].startswith("radio")
    }
    assert connectors == {"p1": "post trim, lining (20 min) off"}
    assert [row[:3] for row in rows(page, "Holes, from either side")] == [
        ["H1", "cavity", "nobody gets at it: cavity is closed all round, no hand gets in"],
        ["H1", "room", "post trim, lining (20 min) off"],
    ]
    (lining,) = [row for row in rows(page, "What comes off") if row[0] == "lining"]
    assert lining[1] == "12 min; post trim off before. CAUTION airbag: curtain airbag 88 mm"
    out = page.split("Everything out")[-1]
    assert "H1 (cavity / room): blanking plug for 20 mm" in out


def test_trim_and_everything_out_say_what_to_mind_where_it_comes_off() -> None:
    plan = room()
    assert plan.service is not None
    near = {"lining": (("curtain airbag", 0.115), ("tank", 0.0))}
    trims = tuple(replace(t, near=near.get(t.name, ())) for t in plan.service.trims)
    keep_outs = tuple(
        KeepOut(name=name, reason=reason, shape=Sphere(at_m=(9.0, 9.0, 9.0), radius_m=0.1))
        for name, reason in (("curtain airbag", Reason.AIRBAG), ("tank", Reason.FUEL))
    )
    plan = replace(
        plan, service=replace(plan.service, trims=trims), job=replace(plan.job, keep_outs=keep_outs)
    )
    said = "CAUTION airbag: curtain airbag 115 mm; CAUTION fuel: tank at it"
    page = written(service(plan))
    (lining,) = [row for row in rows(page, "What comes off") if row[0] == "lining"]
    assert lining[1] == f"12 min; post trim off before. {said}"
    out = page.split('id="service-out"')[1].split('id="service-keep-outs"')[0]
    assert f"lining (12 min). {said}" in out
    assert page.count(said) == page.count("lining (12 min). ") + 1


def test_ends_that_are_gone_by_the_record_are_not_promised_on_the_sheet() -> None:
    """D1 keeps 20 mm at each end."""
    plan = room()
    for short_m, told in ((0.0, ""), (0.005, "15 mm of it left"), (0.02, "NONE of it left")):
        fact = Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name="D1", length_m=-short_m)
        record = Record(lines=(RecordLine(number=1, fact=fact),))
        page = written(service(replace(plan, as_built=AsBuilt(record=record))))
        cells = [(row[2], row[-1]) for row in rows(page, "Connectors")]
        assert len([cell for name, cell in cells if name == "D1"]) == 2
        for name, cell in cells:
            assert ("of it left" in cell) is (name == "D1" and short_m > 0.0)
            assert ("short by the record" in cell) is (name == "D1" and short_m > 0.0)
            assert name != "D1" or told in cell
