"""Answers to questions, on a room whose trim, cables and holes are known."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routecut.documents import answers_json, service_text
from routecut.documents.reading import hole_numbers
from routecut.documents.service_lengths import length_lines, spare_text
from routecut.documents.service_words import sections
from routecut.errors import OutOfRangeError
from routecut.model.as_built import AsBuilt, Difference, Relaid
from routecut.model.company import Bundle, Member
from routecut.model.fitout import CableClass, Load, Polarity
from routecut.model.job import Device, Reason
from routecut.model.plan import Covered, Passage, Plan, Verification
from routecut.model.record import Fact, Kind, Record, RecordLine, What
from routecut.model.service import Asked, Focus
from routecut.model.sizing import Ampacity, Conductor, Electrical, Fuse, Limit, Sizing, Supply
from routecut.planning.questions import meant, understood
from routecut.planning.service import answers
from routecut.records.deviations import rows
from routecut.service import answer, names, service_study
from routecut.service.fuses import Feeds
from tests.service.rooms import body, cable, device, job_with, plan_of, planned, with_joint

THROUGH = Passage(name="H1", at_route_m=0.3, from_space="room", to_space="cavity")


def room() -> Plan:
    """D1 and D2 go through H1 and are tied together; D1 ends behind the lining, D3 lies elsewhere."""
    devices = [
        device("radio", (0.012, 0.0, 0.0), loops=(0.2,)),
        device("head", (0.012, 2.0, 0.0), loops=(0.2, 0.2, 0.2)),
        device("modem", (0.5, 2.5, 0.0), loops=(0.2, 0.2)),
    ]
    cables = [
        cable("D1", "radio.p1", "head.p1"),
        cable("D2", "head.p2", "modem.p1"),
        cable("D3", "head.p3", "modem.p2"),
    ]
    job = job_with(*devices, cables=cables)
    d1 = planned(cables[0], job, [Covered(trim="lining", from_m=0.0, to_m=1.0, minutes=12.0)], [THROUGH])
    d2, d3 = planned(cables[1], job, passages=[THROUGH]), planned(cables[2], job)
    tied = Bundle(
        name="bundle 1",
        members=tuple(Member(cable=n, from_m=0.0, to_m=0.5, place_m=(0.0, 0.0)) for n in ("D1", "D2")),
        length_m=0.5,
        diameter_m=0.012,
        bend_radius_m=0.02,
        from_at_m=(0.0, 0.0, 0.0),
        to_at_m=(0.0, 0.0, 0.0),
    )
    return replace(plan_of(job, [d1, d2, d3]), bundles=(tied,))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return room()


def test_a_device_has_its_removal_what_it_opens_and_what_lies_beside(plan: Plan) -> None:
    found = answer(plan, Asked.DEVICE, "radio")
    assert found.removal is not None
    assert found.removal.trims == ("post trim", "lining")
    assert [p.key for p in found.opens] == ["hole H1 in room"]
    assert [(s.cable, s.holes, s.bundles) for s in found.shared] == [("D2", ("H1",), ("bundle 1",))]
    assert [(b.trim, b.cable) for b in found.behind] == [("lining", "D1")]
    (spare,) = found.spares
    assert (spare.port, spare.other, spare.again, spare.loop_m) == ("radio.p1", "head.p1", 2, 0.2)
    assert {keep_out for _, keep_out, _ in found.near} == {"curtain airbag"}


def test_trim_a_hole_a_cable_and_a_space_are_answered(plan: Plan) -> None:
    behind = answer(plan, Asked.TRIM, "lining")
    assert (behind.cables, behind.removal and behind.removal.minutes) == (("D1",), 20.0)
    assert {p.name for p in behind.opens} == {"radio.p1", "H1"}
    hole = answer(plan, Asked.HOLE, "H1")
    assert hole.cables == ("D1", "D2")
    assert [p.space for p in hole.blocked] == ["cavity"]
    run = answer(plan, Asked.CABLE, "D3")
    assert (run.removal and run.removal.trims, run.whole and run.whole.trims, run.shared) == ((), (), ())
    whole = answer(plan, Asked.CABLE, "D1").whole
    assert whole is not None
    assert whole.trims == ("post trim", "lining")
    space = answer(plan, Asked.SPACE, "room")
    assert set(space.devices) == {"radio", "head", "modem"}
    assert answer(plan, Asked.SPACE, "duct").cables == ()


def test_everything_out_names_what_is_left(plan: Plan) -> None:
    found = answer(plan, Asked.STRIP)
    assert found.removal is not None
    assert found.removal.trims == ("post trim", "lining")
    assert [(p.hole, p.size_m, p.drilled) for p in found.plugs] == [("H1", 0.02, True)]
    text = service_text(plan, [found])
    assert "H1 (cavity / room): blanking plug for 20 mm" in text


def test_every_name_that_can_be_asked_has_an_answer_that_can_be_printed(plan: Plan) -> None:
    for asked, named in names(plan).items():
        for name in named:
            assert answer(plan, asked, name).name == name
            assert name in service_text(plan, [answer(plan, asked, name)])
    with pytest.raises(KeyError):
        answer(plan, Asked.DEVICE, "nobody")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("radio", [(Asked.DEVICE, "radio")]),
        ("Replace the RADIO", [(Asked.DEVICE, "radio")]),
        ("what runs through hole H1?", [(Asked.HOLE, "H1")]),
        ("What is behind the lining", [(Asked.TRIM, "lining")]),
        ("radio.p1", [(Asked.CONNECTOR, "radio.p1")]),
        ("D1 and D2", [(Asked.CABLE, "D1"), (Asked.CABLE, "D2")]),
    ],
)
def test_a_question_is_about_what_it_names(plan: Plan, text: str, wanted: list[tuple[Asked, str]]) -> None:
    assert [(a.asked, a.name) for a in answers(plan, text)] == wanted


def test_the_kind_of_thing_tells_two_of_one_name_apart() -> None:
    called = {"rear door": [(Asked.SPACE, "rear door"), (Asked.TRIM, "rear door")]}
    assert meant(called, "rear door") == called["rear door"]
    assert meant(called, "the trim rear door") == [(Asked.TRIM, "rear door")]


def test_an_unknown_name_is_told_with_the_nearest(plan: Plan) -> None:
    with pytest.raises(OutOfRangeError, match=r"'radio.p2'; the nearest known: 'radio.p1'"):
        answers(plan, "radio.p2")
    with pytest.raises(OutOfRangeError, match="nothing in the plan is called 'foghorn'"):
        answers(plan, "foghorn")


CALLED = {
    name.casefold(): [(kind, name)]
    for kind, names_ in {
        Asked.DEVICE: (
            "hailer amplifier",
            "hailer switches",
            "voice radio",
            "rear horn speaker",
            "rear roof stud",
        ),
        Asked.HOLE: ("H1", "roof gland front", "roof gland rear"),
        Asked.TRIM: ("dash trim", "roof lining"),
        Asked.SPACE: ("roof cavity",),
        Asked.CABLE: ("P1", "P2"),
        Asked.FUSE: ("fuse of P1",),
        Asked.CONNECTOR: ("voice radio.power",),
    }.items()
    for name in names_
}


@pytest.mark.parametrize(
    ("text", "names_", "focus"),
    [
        ("which fuse kills the hailer", ["hailer amplifier", "hailer switches"], Focus.FUSES),
        ("Which fuse is the voice radio's?", ["voice radio"], Focus.FUSES),
        # the fuse is asked for, and the work after it: all of it is answered
        ("which fuse do I pull before I replace the voice radio", ["voice radio"], None),
        ("Which fuse to pull when swapping the hailer?", ["hailer amplifier", "hailer switches"], None),
        ("which fuse do I pull before I unplug the voice radio", ["voice radio"], None),
        ("pull the fuse and take out the voice radio", ["voice radio"], None),
        ("what is the fuse of P1 and where does P1 run", ["fuse of P1", "P1"], None),
        ("how big is the voice radio's fuse, and where does it sit?", ["voice radio"], Focus.FUSES),
        ("fuse map", ["everything"], Focus.FUSES),
        ("fuse of P1", ["fuse of P1"], None),
        ("what is the fuse of P1 for", ["fuse of P1"], None),
        ("where is spare cable?", ["everything"], Focus.SPARE),
        ("how much slack has P2", ["P2"], Focus.SPARE),
        ("what is behind the dash", ["dash trim"], None),
        ("voise radio", ["voice radio"], None),
        ("the rear horn", ["rear horn speaker"], None),
        ("where do the cables come through the roof", ["roof gland front", "roof gland rear"], None),
        ("what is in the roof", ["roof cavity"], None),
        ("draw a new P2 through", ["P2"], Focus.DRAW),
        ("lay a second P2", ["P2"], Focus.DRAW),
        ("draw a new voice radio in", ["voice radio"], None),
        ("what did the last man change", ["everything"], Focus.BUILT),
        ("what was changed", ["everything"], Focus.BUILT),
        ("history", ["everything"], Focus.BUILT),
        ("record of P2", ["P2"], None),
        ("strip everything out", ["everything"], None),
        ("It goes back to the leasing company", ["everything"], None),
        ("we sell the van next week", ["everything"], None),
        ("hand it back", ["everything"], None),
        ("hand the van back to its owner", ["everything"], None),
        ("return the rescue van", ["everything"], None),
    ],
)
def test_a_question_in_anybodys_words(text: str, names_: list[str], focus: Focus | None) -> None:
    found = understood(CALLED, text)
    assert ([name for _, name in found.things], found.focus) == (names_, focus)
    whole = any(call in text.casefold() for call in CALLED) or names_ == ["everything"]
    assert bool(found.taken) is not whole  # what was not named in full is said


@pytest.mark.parametrize(
    ("text", "wanted", "focus"),
    [
        ("the left cab speaker is dead", [(Asked.DEVICE, "cab speaker left")], None),
        (
            "which fuse for the speaker on the left in the cab",
            [(Asked.DEVICE, "cab speaker left")],
            Focus.FUSES,
        ),
        ("what is in the cab", [(Asked.SPACE, "cab")], None),
        ("is there a fuse in the cab", [(Asked.SPACE, "cab")], Focus.FUSES),
        ("everything has to come out", [(Asked.STRIP, "everything")], None),
    ],
)
def test_a_space_in_the_name_of_a_device_is_not_what_is_asked_for(
    text: str, wanted: list[tuple[Asked, str]], focus: Focus | None
) -> None:
    named = [(Asked.DEVICE, f"cab speaker {side}") for side in ("left", "right")]
    called = {name: [(kind, name)] for kind, name in [*named, (Asked.SPACE, "cab"), (Asked.DEVICE, "radio")]}
    found = understood(called, text)
    assert (list(found.things), found.focus) == (wanted, focus)
    assert bool(found.taken) == (wanted[0][0] is Asked.DEVICE)


def test_a_number_is_never_guessed_and_what_fits_too_much_is_asked_back() -> None:
    for text in ("P11", "what runs through H2", "replace the fog lamp", "", "which fuse is the fog lamp's"):
        with pytest.raises(OutOfRangeError, match="nothing in the plan is called"):
            understood(CALLED, text)
    with pytest.raises(OutOfRangeError, match=r"5 names fit 'roof'.* Say which"):
        understood(CALLED, "roof")
    assert understood(CALLED, "which holes are there").listed is Asked.HOLE


def test_fuses_alone_and_spare_alone_are_told_alone() -> None:
    plan = fed()
    text = " ".join(service_text(plan, answers(plan, "which fuse is the head's")).split())
    assert "Pull the 10 A fuse of P2" in text
    assert "Dead then: radio, and with it what works through it: head, microphone." in text
    assert "How each is got at" not in text
    every = service_text(plan, answers(plan, "fuses"))
    assert [every.count(f"fuse of {p} (") for p in ("P1", "P2", "P3")] == [1, 1, 1]
    assert "Pull the 10 A fuse of P1" in service_text(plan, answers(plan, "is there a fuse near the battery"))
    unsized = replace(plan, sizing=None)
    assert "No fuse of this job" in service_text(unsized, answers(unsized, "which fuse is the battery's"))
    spare = service_text(plan, answers(plan, "where is spare cable"))
    assert "C1 at head.p1 (from radio.p3)" in spare
    assert "Pull the" not in spare


def test_what_was_recorded_is_told_with_the_answer_it_is_about(plan: Plan) -> None:
    said = [
        RecordLine(number=1, fact=Fact(what=What.CUT, kind=Kind.CABLE, name="D1", length_m=2.5), who="A. N."),
        RecordLine(number=2, fact=Fact(what=What.NOTE, kind=Kind.CABLE, name="D3", text="elsewhere")),
        RecordLine(
            number=3,
            fact=Fact(what=What.NOTE, kind=Kind.DEVICE, name="radio", text="no longer true"),
            stands=False,
        ),
    ]
    found = answer(plan, Asked.DEVICE, "radio")
    (told,) = [s for s in sections(plan, found, Record(lines=tuple(said))) if s.title.startswith("As built")]
    assert told.lines == ("cable D1: cut to 2500 mm (A. N.)",)
    assert '"line": 1' in answers_json([found], Record(lines=tuple(said)))


def test_the_length_that_was_cut_stands_beside_the_planned_one(plan: Plan) -> None:
    cut = RecordLine(number=1, fact=Fact(what=What.CUT, kind=Kind.CABLE, name="D1", length_m=2.5))

    def lengths(record: Record) -> str:
        (told,) = [s for s in sections(plan, answer(plan, Asked.CABLE, "D1"), record) if s.title == "Lengths"]
        return " / ".join(told.lines)

    assert "run 2000 mm, cut 2440 mm" in lengths(Record(lines=()))
    assert "run 2000 mm; planned cut 2440 mm, cut 2500 mm by the record" in lengths(Record(lines=(cut,)))


def test_a_joint_on_the_way_is_a_thing_of_its_own() -> None:
    """D1 of the room with a joint behind the lining: it and its cable are asked for, and it is opened by trim."""
    plan = room()
    d1, d2, d3 = plan.cables
    plan = plan_of(plan.job, [with_joint(d1, at_m=0.5, from_m=0.4, to_m=0.6), d2, d3])
    found = answer(plan, Asked.JOINT, "joint of D1")
    assert found.removal is not None
    assert found.removal.trims == ("post trim", "lining")
    assert found.cables == ("D1",)
    assert [p.name for p in answer(plan, Asked.CABLE, "D1").places] == ["radio.p1", "head.p1", "joint of D1"]
    assert "joint of D1" in {p.name for p in answer(plan, Asked.TRIM, "lining").opens}
    assert [(a.asked, a.name) for a in answers(plan, "where is the joint of D1?")] == [
        (Asked.JOINT, "joint of D1")
    ]


def test_the_cautions_of_trim_stand_where_it_comes_off_and_once(plan: Plan) -> None:
    text = service_text(plan, [answer(plan, Asked.DEVICE, "radio")])
    (step,) = [line for line in text.splitlines() if "2. lining (" in line]
    assert "CAUTION airbag: curtain airbag" in step
    assert "from lining" not in text


# --- fuses -------------------------------------------------------------------------------


def sized(at: str | None, polarity: Polarity = Polarity.POSITIVE) -> Electrical:
    fuse = None if at is None else Fuse(
        rating_a=10.0, series="blade", distance_m=0.1, at=at, space="room", access="open", in_block=False, why=""
    )  # fmt: skip
    return Electrical(
        conductor=Conductor(name="c", area_mm2=1.0, r20_ohm_per_m=0.01, insulation_c=80.0),
        type_name="wire", picked=False, polarity=polarity, length_m=1.0, return_length_m=0.0, amps=1.0,
        peak_amps=2.0, drop_v=0.1, peak_drop_v=0.1, drop_percent=1.0, peak_drop_percent=1.0,
        max_drop_percent=3.0, resistance_ohm=0.01, conductor_c=30.0,
        ampacity=Ampacity(table_a=10.0, heat_factor=1.0, bundle_factor=1.0, conductors=1, air_c=20.0),
        fuse=fuse, least_fuse_a=1.0, ok=True,
    )  # fmt: skip


def fed() -> Plan:
    """A battery feeds a block, the block two loads by fuses of their own; a head hangs on one, a microphone on it."""
    y = {
        "battery": 2.0,
        "block": 2.2,
        "radio": 2.4,
        "amp": 2.6,
        "head": 2.8,
        "microphone": 2.9,
        "aerial": 1.8,
    }
    devices: list[Device] = [device(n, (0.5, at, 0.0), loops=(0.2,) * 5) for n, at in y.items()]
    runs = {
        "P1": ("battery.p1", "block.p1"),
        "P2": ("block.p2", "radio.p1"),
        "P3": ("amp.p1", "block.p3"),  # listed from the load: its fuse says which end feeds
        "N2": ("radio.p2", "block.p4"),
        "C1": ("radio.p3", "head.p1"),
        "A1": ("head.p2", "microphone.p1"),
        "X1": ("radio.p4", "aerial.p1"),
    }
    classes = {"C1": CableClass.DATA, "A1": CableClass.AUDIO, "X1": CableClass.COAX}
    cables = [
        replace(cable(n, a, b), cable_class=classes.get(n, CableClass.POWER), load=Load(amps=1))
        for n, (a, b) in runs.items()
    ]
    job = job_with(*devices, cables=cables)
    electrical = {
        "P1": sized("battery.p1"),
        "P2": sized("block.p2"),
        "P3": sized("block.p3"),
        "N2": sized(None, Polarity.NEGATIVE),
    }
    sizing = Sizing(profile="", limits=(), electrical=electrical)
    laid = [planned(c, job) for c in cables]
    service = service_study(job, body(), laid, sizing=sizing)
    return Plan(version="t", job=job, cables=tuple(laid), holes=(), sizing=sizing, service=service)


def test_the_fuse_that_makes_a_thing_dead() -> None:
    plan = fed()
    assert plan.service is not None
    feeds = Feeds(plan, plan.service)
    assert feeds.of_device("radio") == ("P2",)
    assert feeds.of_device("amp") == ("P3",)
    assert feeds.of_device("block") == ("P1",)
    assert feeds.of_device("battery") == ("P1",)  # what it feeds: nothing makes it dead
    assert feeds.of_device("head") == ("P2",)  # fed through the radio
    assert feeds.of_device("microphone") == ("P2",)  # through the head, and that through the radio
    assert feeds.pull("P2").along == ("head", "microphone")  # an aerial is not dead, nor alive
    assert (feeds.pull("P3").along, feeds.pull("P1").along) == ((), ("head", "microphone"))
    assert feeds.of_cable("C1") == ("P2",)
    assert feeds.of_cable("N2") == ("P2",)
    assert feeds.of_cable("P1") == ("P1",)
    assert {p.cable: p.dead for p in feeds.pulls(["P2", "P3"])} == {"P2": ("radio",), "P3": ("amp",)}
    # the one next to the battery makes all dead: the others need not be pulled
    assert [(p.cable, p.dead) for p in feeds.pulls(["P2", "P1"])] == [("P1", ("block", "radio", "amp"))]


def test_what_was_there_before_stays_when_everything_comes_out() -> None:
    plan = fed()
    assert plan.service is not None
    assert plan.service.stays == ("battery",)


def test_a_hole_nobody_saw_is_to_be_looked_for_first(plan: Plan) -> None:
    (hole,) = plan.holes
    unseen = replace(hole, pass_through=replace(hole.pass_through, confirmed=False))
    found = answer(plan, Asked.HOLE, "H1")
    for holes, said in (((hole,), False), ((unseen,), True)):
        first = sections(replace(plan, holes=holes), found)[0]
        assert (first.lines[0] == "Nobody has seen it yet: look first.") is said


# --- what stands first, and what years do to words -----------------------------------------


def told(*facts: Fact) -> Record:
    return Record(lines=tuple(RecordLine(number=n, fact=f) for n, f in enumerate(facts, start=1)))


def test_what_the_hands_need_stands_first() -> None:
    """Fuse, trim, what is disturbed, joints, volts: before any list."""
    plan = fed()
    supply = Supply(
        device="radio", amps=10.0, peak_amps=14.0, drop_v=0.7, peak_drop_v=1.1, drop_percent=5.0,
        peak_drop_percent=8.0, volts=12.9, peak_volts=12.5, ok=True,
    )  # fmt: skip
    assert plan.sizing is not None
    limit = Limit(name="test_volts", value=13.6, unit="V", meaning="", source="", provenance="")
    plan = replace(plan, sizing=replace(plan.sizing, supplies=(supply,), limits=(limit,)))
    record = told(
        Fact(what=What.VOLTS, kind=Kind.DEVICE, name="radio", duty=13.1, peak=12.4),
        Fact(what=What.JOINT, kind=Kind.CABLE, name="C1", length_m=0.2, space="room"),
        Fact(what=What.RESISTANCE, kind=Kind.CABLE, name="P2", ohm=0.0026),
    )
    first, *others = sections(plan, answer(plan, Asked.DEVICE, "radio"), record)
    assert (first.title, first.lines) == (
        "In short",
        (
            "Fuse: pull 10 A of P2, in room; battery off first.",
            "Off: nothing.",
            "Disturbed: no other cable of this job.",
            "Joints on its cables: C1 200 mm along the run from radio.p3, in room, by the record.",
            "Volts at radio: measured 13.1 V at duty, 12.4 V at peak; expected 12.9 V at duty, 12.5 V at peak.",
        ),
    )
    (readings,) = [s for s in others if s.title.startswith("Readings")]
    assert readings.lines[0].endswith("; MEASURED 13.1 V at duty, 12.4 V at peak")
    assert any(
        x.startswith("P2: 10.0") and x.endswith("; MEASURED 2.6 m\N{GREEK CAPITAL LETTER OMEGA} end to end")
        for x in readings.lines
    )
    lengths = next(s for s in sections(plan, answer(plan, Asked.CABLE, "C1"), record) if s.title == "Lengths")
    assert "1 joint: 200 mm along the run from radio.p3, in room, by the record" in lengths.lines


def test_a_hole_that_was_moved_is_told_where_it_is_and_a_cable_how_long_it_is(plan: Plan) -> None:
    (hole,) = plan.holes
    built = replace(hole.pass_through.position, at_m=(1.0, 2.0, 3.0))
    record = told(
        Fact(what=What.MOVED, kind=Kind.HOLE, name="H1", position=built),
        Fact(what=What.CUT, kind=Kind.CABLE, name="D1", length_m=2.5),
        Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name="D1", length_m=0.1),
    )
    for known, first in ((record, "AS BUILT: X 1000 mm, Y 2000 mm, Z 3000 mm"), (Record(), "X ")):
        (where,) = [s for s in sections(plan, answer(plan, Asked.HOLE, "H1"), known) if s.title == "Where"]
        assert where.lines[0].startswith(first)
    for known, said in (
        (record, "Length: 2400 mm, by the record."),
        (Record(), "Length: 2440 mm by the plan; nobody recorded it."),
    ):
        assert said in sections(plan, answer(plan, Asked.CABLE, "D1"), known)[0].lines


def test_what_else_is_disturbed_stands_first(plan: Plan) -> None:
    first = sections(plan, answer(plan, Asked.DEVICE, "radio"))[0]
    assert "Off: post trim, lining, 20 min." in first.lines
    assert (
        "Disturbed: nothing while only plugs are undone; where its cables are drawn, D2 in the same holes or bundles."
        in first.lines
    )
    tied = sections(plan, answer(plan, Asked.CABLE, "D1"))[0]
    assert "Disturbed: D2 in the same holes or bundles." in tied.lines


def test_what_comes_off_to_draw_a_cable_past_its_clips_stands_beside_what_its_ends_need(plan: Plan) -> None:
    """D3 made to run behind the lining: its ends need nothing off, its clips do."""
    covered = (Covered(trim="lining", from_m=0.1, to_m=0.4, minutes=12.0),)
    behind = replace(
        plan, cables=tuple(replace(c, covered=covered) if c.cable.name == "D3" else c for c in plan.cables)
    )
    for told, wanted in ((behind, True), (plan, False)):
        lines = sections(told, answer(told, Asked.CABLE, "D3"))[0].lines
        assert "Off: nothing." in lines
        drawn = [line for line in lines if line.startswith("Off to")]
        assert drawn == ["Off to open its clips and draw it out: post trim, lining, 20 min."] * wanted


def test_a_cable_says_what_it_all_but_touches_as_its_card_does(plan: Plan) -> None:
    d3 = next(c for c in plan.cables if c.cable.name == "D3")
    foot = replace(plan.job.keep_outs[0], name="cab floor under foot", reason=Reason.OTHER)
    job = replace(plan.job, keep_outs=(*plan.job.keep_outs, foot))
    for far, there in ((0.001, True), (0.026, False)):
        checked = Verification(
            ok=True, crossings=0, least_clearance_m={foot.name: far}, least_clearance_at_m={foot.name: 0.2},
            least_sheet_m=0.01, longest_span_m=0.1, least_bend_radius_m=0.05, length_m=0.5, findings=(),
        )  # fmt: skip
        near = replace(plan, job=job, cables=(*plan.cables[:2], replace(d3, verified=checked)))
        told = service_text(near, [answer(near, Asked.CABLE, "D3")])
        said = "CAUTION: cab floor under foot 1 mm away at 200 mm of the run, where the job lets no cable lie"
        assert (said in " ".join(told.split())) is there


def test_a_fuse_below_the_rule_is_told_where_it_is_pulled() -> None:
    plan = fed()
    assert plan.sizing is not None
    low = {**plan.sizing.electrical, "P2": replace(plan.sizing.electrical["P2"], least_fuse_a=15.4)}
    text = service_text(replace(plan, sizing=replace(plan.sizing, electrical=low)), answers(plan, "radio"))
    assert "BELOW THE RULE (15.4 A or more" in " ".join(text.split())
    assert "BELOW" not in service_text(plan, answers(plan, "radio"))


def test_out_comes_what_was_cut_and_what_no_hand_gets_to_stays() -> None:
    devices = [
        device("radio", (0.5, 0.0, 0.0), loops=(0.2, 0.2)),
        device("aerial", (-0.5, 0.0, 0.0), room="cavity", loops=(0.2, 0.2)),
        device("stud", (-0.5, 0.5, 0.0), room="cavity"),
    ]
    cables = [cable("X1", "radio.p1", "aerial.p1"), cable("B1", "aerial.p2", "stud.p1")]
    job = job_with(*devices, cables=cables)
    plan = plan_of(job, [planned(c, job) for c in cables])
    record = told(
        Fact(what=What.CUT, kind=Kind.CABLE, name="X1", length_m=1.9),
        Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name="X1", length_m=0.1),
    )
    text = " ".join(service_text(plan, [answer(plan, Asked.STRIP)], record).split())
    assert "B1: stays where it is: no hand gets to either end" in text
    assert "aerial.p1 stays, or the cable is cut off where it comes out; 1800 mm long by the record" in text
    assert "aerial.p1 (X1): nobody gets at it: cavity is closed all round, no hand gets in" in text


def test_a_cable_that_ended_short_is_as_long_as_it_was_cut(plan: Plan) -> None:
    """What was missing is told as what was wanted, not as cable that lies there."""
    short = told(
        Fact(what=What.CUT, kind=Kind.CABLE, name="D1", length_m=2.4),
        Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name="D1", length_m=-0.04),
    )
    assert (short.lies_m("D1"), short.used_m("D1")) == (2.4, 2.44)
    lines = sections(plan, answer(plan, Asked.CABLE, "D1"), short)[0].lines
    assert "Length: 2400 mm, by the record; it ended 40 mm short, so 2440 mm were wanted." in lines
    (out,) = [
        line
        for s in sections(plan, answer(plan, Asked.STRIP), short)
        for line in s.lines
        if line.startswith("D1: ")
    ]
    assert "2400 mm long by the record" in out


def test_a_cable_without_a_joint_says_that_it_is_in_one_piece_and_where_its_fuse_is() -> None:
    plan = fed()
    assert plan.sizing is not None
    for name, said in (
        ("C1", "Joints: no joint: in one piece from radio.p3 to head.p1."),
        ("P2", "no joint: in one piece from "),
    ):
        (line,) = [x for x in sections(plan, answer(plan, Asked.CABLE, name))[0].lines if "Joints" in x]
        assert said in line
        assert ("fuse holder 100 mm from" in line) == (name == "P2")


def test_a_keep_out_is_answered_with_the_cables_near_it_the_nearest_first(plan: Plan) -> None:
    name = plan.job.keep_outs[0].name
    far = dict(zip(("D1", "D2", "D3"), (0.25, 0.05, 0.31), strict=True))
    seen = tuple(
        replace(
            c,
            verified=Verification(
                ok=True,
                crossings=0,
                least_clearance_m={name: far[c.cable.name]},
                least_sheet_m=1.0,
                longest_span_m=0.0,
                least_bend_radius_m=1.0,
                length_m=1.0,
            ),
        )
        for c in plan.cables
    )
    near = replace(plan, cables=seen)
    (found,) = answers(near, f"what must be protected near the {name}")
    assert (found.asked, found.cables) == (Asked.KEEP_OUT, ("D2", "D1"))
    (lines,) = [s.lines for s in sections(near, found) if s.title.startswith("Cables near it")]
    assert [line.partition(" (")[0] for line in lines] == ["D2", "D1"]
    alone = replace(near, cables=(seen[2],))
    (told_,) = [
        s.lines
        for s in sections(alone, answer(alone, Asked.KEEP_OUT, name))
        if s.title.startswith("Cables near it")
    ]
    assert told_[0].startswith("no cable of this job within 300 mm; the nearest is D3, 310 mm away")


def test_drawing_a_new_cable_tells_its_length_its_way_and_the_room_in_its_holes(plan: Plan) -> None:
    """A length that is never shorter than what the old one took, the holes in their order, what to pull with."""
    d1 = next(c for c in plan.cables if c.cable.name == "D1")
    assert d1.cut is not None
    cases = (
        (told(), "cut 2440 mm: the plan asks for that"),
        (
            told(
                Fact(what=What.CUT, kind=Kind.CABLE, name="D1", length_m=2.44),
                Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name="D1", length_m=-0.04),
            ),
            "cut 2480 mm, the longer of two: the plan asks for 2440 mm, the old one took 2480 mm by the record, 40",
        ),
        (
            told(
                Fact(what=What.CUT, kind=Kind.CABLE, name="D1", length_m=2.6),
                Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name="D1", length_m=0.4),
            ),
            "cut 2440 mm, the longer of two: the plan asks for 2440 mm, the old one took 2200 mm by the record",
        ),
    )
    (asked,) = answers(plan, "draw a new D1 through")
    assert asked.focus is Focus.DRAW
    for record, said in cases:
        found = {s.title: s.lines for s in sections(plan, asked, record)}
        assert any(line.startswith(said) for line in found["The new one"])
        (way,) = [line for line in found["The new one"] if line.startswith("way: ")]
        assert d1.route is not None
        names_told = way.removeprefix("way: ").split(" (")[0].split(" \N{RIGHTWARDS ARROW} ")
        assert names_told[1:-1] == [p.name for p in d1.route.passages]
        assert any("pull with" in line or "no hole to pass" in line for line in found["The new one"])
    for passage in d1.route.passages if d1.route is not None else ():
        assert any(
            line.startswith(f"{passage.name}: ") for line in found["Room in the holes it goes through"]
        )


def test_no_whole_cable_is_spare_and_a_short_end_has_less_than_was_planned(plan: Plan) -> None:
    (asked,) = answers(plan, "which cable is spare")
    short = told(
        Fact(what=What.CUT, kind=Kind.CABLE, name="D1", length_m=2.4),
        Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name="D1", length_m=-0.04),
    )
    first, second, *_ = sections(plan, asked, short)
    assert first.lines[0].startswith(
        f"No cable is spare: all {len(plan.cables)} cables of this job are connected at both ends"
    )
    of_d1 = [line for line in second.lines if line.startswith("D1 at ")]
    assert of_d1
    assert all("IT ENDED 40 mm SHORT" in line for line in of_d1)
    assert not any("SHORT" in line for line in second.lines if not line.startswith("D1 at "))
    assert all("can't be terminated again: it ended 40 mm short by the record" in line for line in of_d1)


@pytest.mark.parametrize(
    ("short_m", "again", "loop"),
    [
        (0.0, "can be terminated again 2 times, 10 mm each", "; loop 200 mm"),
        (0.003, "can be terminated again 1 time, 10 mm each", "; loop 200 mm; IT ENDED 3 mm SHORT"),
        (0.010, "can be terminated again 1 time, 10 mm each", "; loop 200 mm; IT ENDED"),
        (0.011, "can't be terminated again: it ended 11 mm short by the record", "; loop 200 mm; IT ENDED"),
        (0.050, "can't be terminated again", "; loop 200 mm planned, 170 mm of it left; IT ENDED"),
        (0.300, "can't be terminated again", "; loop 200 mm planned, none left; IT ENDED"),
    ],
)
def test_only_what_is_left_of_the_ends_is_promised(plan: Plan, short_m: float, again: str, loop: str) -> None:
    """D1 keeps 2 x 10 mm and a loop of 200 mm at each end; what was missing comes off the ends first."""
    record = told(Fact(what=What.LEFT_OVER, kind=Kind.CABLE, name="D1", length_m=-short_m))
    spares = answer(plan, Asked.CABLE, "D1").spares
    assert len(spares) == 2
    for spare in spares:
        line = spare_text(plan, replace(spare, again=2, each_m=0.010, kept_m=0.020, loop_m=0.2), record)
        assert f": {again}" in line
        assert loop in line


def test_the_number_of_a_hole_in_the_pack_is_a_name_for_it(plan: Plan) -> None:
    """Where nothing of the job is called so itself."""
    numbers = {number: name for name, number in hole_numbers(plan).items()}
    (found,) = answers(plan, "what runs through hole 1?")
    assert (found.asked, found.name) == (Asked.HOLE, numbers[1])


def test_reflected_power_and_what_was_built_otherwise_are_told_alone(plan: Plan) -> None:
    for text in (
        "the antenna reads badly reflected: where are its connectors",
        "The antenna reflects badly: where are all its connectors and joints, what was measured, what was expected?",
        "swr too high",
    ):
        (found,) = answers(plan, text)
        assert (found.asked, found.focus) == (Asked.JOB, Focus.REFLECTED)
        assert sections(plan, found)[0].lines == ("No coax of this job ends there.",)
    (asked,) = answers(plan, "is the wiring as drawn?")
    assert (asked.asked, asked.focus) == (Asked.JOB, Focus.BUILT)
    (nothing,) = sections(plan, asked)
    assert nothing.lines[0].startswith("Nothing is recorded")
    record = told(Fact(what=What.CUT, kind=Kind.CABLE, name="D1", length_m=2.6))
    built = AsBuilt(record=record)
    known = replace(plan, as_built=replace(built, rows=rows(plan, built)))
    (one,) = sections(known, asked, record)
    assert one.title == "As built: 1 deviation"
    assert one.lines[0] == "cable D1, cut length: 2600 mm, planned 2440 mm"


@pytest.mark.parametrize(
    ("text", "names_"),
    [
        ("range is poor on the voice radio", ["voice radio"]),
        ("the voice radio has no reception", ["voice radio"]),
        ("nobody hears me when I transmit", ["everything"]),
        ("weak signal", ["everything"]),
    ],
)
def test_poor_range_is_looked_for_at_the_antenna(text: str, names_: list[str]) -> None:
    found = understood(CALLED, text)
    assert ([name for _, name in found.things], found.focus) == (names_, Focus.REFLECTED)
    assert "antenna and its coax" in found.taken
    last = understood(CALLED, "who touched the hailer last")
    assert [name for _, name in last.things] == ["hailer amplifier", "hailer switches"]


def test_an_antenna_that_reflects_badly_names_its_bond_and_no_other() -> None:
    devices = [
        device("radio", (0.5, 0.0, 0.0), loops=(0.2,)),
        device("aerial", (-0.5, 0.0, 0.0), loops=(0.2, 0.2)),
        device("stud", (-0.6, 0.0, 0.0), loops=(0.2, 0.2)),
        device("rail", (0.6, 0.0, 0.0), loops=(0.2,)),
    ]
    cables = [
        replace(one, cable_class=of, type=replace(one.type, cable_class=of))
        for one, of in (
            (cable("X1", "radio.p1", "aerial.p1"), CableClass.COAX),
            (cable("B1", "aerial.p2", "stud.p1"), CableClass.BOND),
            (cable("B2", "stud.p2", "rail.p1"), CableClass.BOND),
        )
    ]
    job = job_with(*devices, cables=cables)
    known = plan_of(job, [planned(c, job) for c in cables])
    (found,) = answers(known, "too much reflected power")
    shown = {s.title: s.lines for s in sections(known, found, told())}
    bonds = shown["What its ends are bonded to, and how one gets at each"]
    assert bonds[0] == "B1: aerial.p2 to stud.p1"
    assert sorted(line.split(",")[0].split(" (")[0] for line in bonds[1:]) == ["aerial.p2", "stud.p1"]


def test_the_connectors_of_a_coax_are_told_with_its_reading() -> None:
    devices = [
        device("radio", (0.5, 0.0, 0.0), loops=(0.2,)),
        device("aerial", (-0.5, 0.0, 0.0), loops=(0.2,)),
    ]
    one = cable("X1", "radio.p1", "aerial.p1")
    coax = replace(one, cable_class=CableClass.COAX, type=replace(one.type, cable_class=CableClass.COAX))
    job = job_with(*devices, cables=[coax])
    known = plan_of(job, [planned(coax, job)])
    record = told(Fact(what=What.POWER, kind=Kind.CABLE, name="X1", forward=25.0, reflected=4.0))
    (found,) = answers(known, "too much reflected power")
    shown = {s.title: s.lines for s in sections(known, found, record)}
    assert "25 W forward, 4 W reflected (16.0 %)" in shown["Reflected power, expected and measured"][0]
    ends = [line.split(",")[0] for line in shown["Its connectors, and how one gets at each"]]
    assert sorted(e.split(" (")[0] for e in ends) == ["aerial.p1", "radio.p1"]
    assert shown["Joints"] == ("X1: no joint: in one piece from radio.p1 to aerial.p1",)
    assert shown["What its ends are bonded to, and how one gets at each"][0].startswith("No bond in the job")
    assert list(shown)[:2] == ["Reflected power, expected and measured", "First"]  # before a plug is undone
    assert "Built otherwise than planned: look there before all else" not in shown
    other = Difference(about="cable X1", what="type", before="soft", after="coax-58", why="look at its plugs")
    laid = Relaid(why="coax-58 was fitted", route=known.cables[0].route)
    built = replace(known, as_built=AsBuilt(record=record, relaid={"X1": laid}, rows=(other,)))
    swapped = {s.title: s.lines for s in sections(built, found, record)}
    first, second = swapped["Built otherwise than planned: look there before all else"]
    assert first.startswith("X1: AS BUILT: coax-58 was fitted")
    assert second == "X1: type: coax-58, planned soft (look at its plugs)"
    (spare,) = answers(known, "terminate the radio coax again: how much is spare")
    assert (spare.asked, spare.name, spare.focus) == (Asked.CABLE, "X1", Focus.SPARE)


def test_a_run_that_could_not_be_laid_as_recorded_is_not_said_to_be_as_built(plan: Plan) -> None:
    def first(relaid: Relaid) -> str:
        known = replace(plan, as_built=AsBuilt(record=Record(), relaid={"D1": relaid}))
        return next(length_lines(known, "D1", Record()))

    route = next(c.route for c in plan.cables if c.cable.name == "D1")
    assert first(Relaid(why="H1 is elsewhere", route=route)) == "run 2000 mm as built, planned cut 2440 mm"
    assert first(Relaid(why="H1 is elsewhere")) == "run 2000 mm, cut 2440 mm"
