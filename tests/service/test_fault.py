"""Something dead or silent: the places to test, their order, what is expected there and what a reading means."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from routecut.documents import service_text
from routecut.documents.markup import html as written
from routecut.documents.pack_find import find_panel
from routecut.documents.pack_service import service
from routecut.model.fault import FaultSearch, Probe, Symptom
from routecut.model.fitout import CableClass, Polarity
from routecut.model.plan import Plan
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.model.service import Asked, Focus, Removal
from routecut.planning.service import answers, question
from routecut.planning.symptoms import symptom_of
from routecut.service import fault_searches, later, service_study
from tests.service.rooms import body, cable, device, job_with, planned
from tests.service.test_answer import fed, sized


@pytest.fixture(scope="module")
def wired() -> Plan:
    """As `fed`, with a return of the block to a stud, and a speaker of the radio."""
    plan = fed()
    y = {"stud": 1.6, "speaker": 1.4, "mast": 1.2}
    devices = (*plan.job.devices, *(device(n, (0.5, at, 0.0), loops=(0.2,) * 5) for n, at in y.items()))
    runs = {
        "N1": ("block.p5", "stud.p1", CableClass.POWER),
        "A2": ("radio.p5", "speaker.p1", CableClass.AUDIO),
    }
    more = [replace(cable(n, a, b), cable_class=kind) for n, (a, b, kind) in runs.items()]
    job = replace(
        job_with(*devices, cables=[c.cable for c in plan.cables]),
        cables=(*(c.cable for c in plan.cables), *more),
    )
    assert plan.sizing is not None
    sizing = replace(plan.sizing, electrical={**plan.sizing.electrical, "N1": sized(None, Polarity.NEGATIVE)})
    laid = [*plan.cables, *(planned(c, job) for c in more)]
    found = service_study(job, body(), laid, sizing=sizing)
    return replace(plan, job=job, cables=tuple(laid), sizing=sizing, service=found)


def search(plan: Plan, name: str, symptom: Symptom = Symptom.POWER) -> FaultSearch:
    (found,) = [s for s in fault_searches(plan) if (s.device, s.symptom) == (name, symptom)]
    return found


def test_the_way_of_the_current_is_walked_from_the_source_and_back(wired: Plan) -> None:
    radio = search(wired, "radio")
    assert radio.way == (
        *("battery", "P1 up to its fuse", "fuse of P1", "P1"),
        *("block", "P2 up to its fuse", "fuse of P2", "P2", "radio"),
    )
    assert radio.back == ("N2", "N1")
    assert search(wired, "amp").way[-3:] == ("fuse of P3", "P3", "amp")  # listed from the load
    head = search(wired, "microphone")
    assert (head.through, head.way[-4:]) == ("radio", ("P2", "radio", "C1", "A1"))
    assert not [s for s in fault_searches(wired) if s.device in {"battery", "aerial", "stud", "mast"}]


def test_what_is_lost_up_to_a_place_is_the_sum_of_its_leads(wired: Plan) -> None:
    tests = {(t.probe, t.about): t.drop_v for t in search(wired, "radio").tests}
    assert tests[Probe.FUSE, "P1"] == pytest.approx(0.0)
    assert tests[Probe.FUSE, "P2"] == pytest.approx(0.1)
    assert tests[Probe.DEVICE, "radio"] == pytest.approx(0.4)  # two leads there, two back
    assert tests[Probe.RETURN, "N2"] == pytest.approx(0.2)
    assert tests[Probe.RETURN, "N1"] == pytest.approx(0.1)


def test_a_reading_parts_the_way_in_two_and_loses_nothing_of_it(wired: Plan) -> None:
    for name in ("radio", "head", "amp", "block"):
        found = search(wired, name)
        line = list(dict.fromkeys((*found.way, name)))
        for test in found.tests:
            if test.probe in {Probe.VOLTS, Probe.SOURCE}:
                assert [*test.bad, *test.good] == line
            if test.probe is Probe.FUSE:
                assert [*test.bad, f"fuse of {test.about}", *test.good] == line
            if test.probe is Probe.DEVICE:
                assert {*test.bad, *test.good} == {*line, *found.back}


def test_the_quickest_to_get_at_comes_first_and_what_no_hand_gets_to_is_told_apart(wired: Plan) -> None:
    first = search(wired, "radio").tests[0]
    assert first.probe is Probe.SOURCE
    assert wired.service is not None

    def with_(removal: Removal | None) -> FaultSearch:
        places = tuple(
            replace(p, removal=removal) if p.name == "fuse of P2" else p
            for p in wired.service.places  # type: ignore[union-attr]
        )
        assert wired.service is not None
        return search(replace(wired, service=replace(wired.service, places=places)), "radio")

    late = with_(Removal(trims=("lining",), minutes=12.0))
    assert (late.tests[-1].probe, late.tests[-1].about) == (Probe.FUSE, "P2")
    unknown = with_(Removal(trims=("lining",), unknown=("lining",)))
    assert (unknown.tests[-1].probe, unknown.tests[-1].about) == (Probe.FUSE, "P2")
    shut = with_(None)
    assert shut.shut == ("fuse fuse of P2 in room",)
    assert ("P2", Probe.FUSE) not in {(t.about, t.probe) for t in shut.tests}


def test_a_speaker_is_told_from_its_pair_and_from_what_drives_it(wired: Plan) -> None:
    found = search(wired, "speaker", Symptom.SOUND)
    assert (found.through, found.cables) == ("radio", ("A2",))
    means = {t.probe: (t.good, t.bad) for t in found.tests}
    assert means[Probe.PAIR] == (("radio",), ("A2", "speaker"))
    assert means[Probe.SPEAKER] == (("A2", "radio"), ("speaker",))
    assert means[Probe.CORES] == (("speaker",), ("A2",))
    assert search(wired, "radio", Symptom.SOUND).cables == ("A2",)


@pytest.mark.parametrize(
    ("text", "names", "symptom"),
    [
        ("radio is dead", ["radio"], Symptom.POWER),
        ("low volts at the radio", ["radio"], Symptom.POWER),
        ("the head won't turn on", ["head"], Symptom.POWER),
        ("P2 has no volts", ["radio"], Symptom.POWER),
        ("P3 has no volts", ["amp"], Symptom.POWER),
        ("the amp cuts out when I transmit", ["amp"], Symptom.POWER),
        ("fuse of P2 keeps blowing", ["radio"], Symptom.POWER),
        ("the fuse of the amp blew again", ["amp"], Symptom.POWER),
        ("silent speaker", ["speaker"], Symptom.SOUND),
        ("the loudspeaker is dead", ["speaker"], Symptom.SOUND),
        ("loudspeaker dead", ["speaker"], Symptom.SOUND),
        ("radio works but the speaker dead", ["speaker"], Symptom.SOUND),
        ("no sound from the radio", ["radio"], Symptom.SOUND),
        ("A2 has no sound", ["speaker"], Symptom.SOUND),
        ("the amp is silent", ["amp"], Symptom.POWER),  # it has no speaker: what is left is its power
    ],
)
def test_a_symptom_is_answered_with_tests(wired: Plan, text: str, names: list[str], symptom: Symptom) -> None:
    found = answers(wired, text)
    assert [(a.asked, a.name, a.focus) for a in found] == [(Asked.DEVICE, n, Focus.FAULT) for n in names]
    assert [s.symptom for a in found for s in a.searches] == [symptom]


def test_without_a_device_all_it_could_be_are_listed(wired: Plan) -> None:
    for text, symptom in (("no power", Symptom.POWER), ("no sound", Symptom.SOUND), ("dead", Symptom.POWER)):
        (found,) = answers(wired, text)
        assert found.asked is Asked.JOB
        assert {s.device for s in found.searches} == {
            s.device for s in fault_searches(wired) if s.symptom is symptom
        }
        assert "no device of this job is named" in question(wired, text).taken
    told = " ".join(service_text(wired, answers(wired, "no power")).split())
    assert '"radio is dead"; fuse of P1 (10 A blade), fuse of P2 (10 A blade)' in told
    assert "as well head, microphone, speaker, which work through it" in told


@pytest.mark.parametrize(
    "text",
    [
        "what is dead when I pull P2",
        "which things go dead when I pull P2",
        "which fuse: the radio is dead",
        "replace the radio",
        "what voltage should the radio get",
    ],
)
def test_what_is_no_symptom_is_answered_as_before(wired: Plan, text: str) -> None:
    assert all(a.focus is not Focus.FAULT for a in answers(wired, text))
    assert symptom_of("what else goes dead") is None


def test_the_words_have_the_figures_and_the_caution_before_the_first_test(wired: Plan) -> None:
    read = Fact(what=What.VOLTS, kind=Kind.DEVICE, name="radio", duty=12.9, peak=12.4)
    record = Record(lines=(RecordLine(number=1, fact=read),))
    told = " ".join(service_text(wired, answers(wired, "the radio is dead"), record).split())
    assert "what the battery reads less 0.40 V at duty, 0.40 V at peak" in told
    assert "when it was built it read 12.9 V at duty, 12.4 V at peak" in told
    assert "fuse of P2 (10 A blade), 100 mm along the wire from block.p2, in room" in told
    assert told.index("No probe, test lamp or ohmmeter on yellow plugs") < told.index("Test in this order")
    assert "back: radio \N{RIGHTWARDS ARROW} N2 \N{RIGHTWARDS ARROW} N1" in told


def test_the_pack_has_the_same_tests_and_finds_them(wired: Plan) -> None:
    found = later(wired)
    page = written(service(wired, found))
    told = re.sub(r"<[^>]+>", " ", page)
    for one in fault_searches(wired):
        assert f"{one.device}: " in told
    for line in (
        "less 0.40 V at duty",
        "No probe, test lamp or ohmmeter on yellow plugs",
        "the speaker alone",
    ):
        assert line in told
    panel = written(find_panel(wired, found))
    keys = set(re.findall(r'href="#(fault-\d+|service-fault)"', panel))
    assert len(keys) == len(found.searches) + 1
    assert keys <= set(re.findall(r'id="([^"]+)"', page))
    assert "dead, no power, low volts, silent" in panel
    assert "service-fault" not in written(service(wired))  # nobody looked
