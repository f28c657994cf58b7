"""Something is dead or silent: where to measure, in which order, what is expected there and what a reading means.

Stage      documents
Units      V, milliohm, minutes
Source     the tests and what they mean: common practice, no source; the figures are those of the sizing
Safe side  live work: what must not be bridged and where no probe goes stands before the first test
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from routecut.documents.figures import Lengths
from routecut.documents.fuse_words import below_text
from routecut.documents.record_text import volts_text
from routecut.documents.service_cautions import caution_lines
from routecut.documents.service_reach import Section, reach_text
from routecut.documents.service_readings import reading_lines
from routecut.model.fault import FaultSearch, LiveTest, Probe, Symptom
from routecut.model.plan import Plan
from routecut.model.record import Kind, Record, What
from routecut.model.service import Answer, Asked, PlaceKind, ServicePlace

LIVE: Final = (
    (
        "The battery stays connected while volts are read: rings and watch off, insulated probes with a fused lead, no "
        "spanner and no bare probe across its posts or from its positive to metal: that is a short of hundreds of "
        "amperes."
    ),
    (
        "No probe, test lamp or ohmmeter on yellow plugs or wiring of airbags and belt tensioners, none on orange "
        "cable. Where trim comes off for a test: battery off and the maker's wait first, trim off, then battery on "
        "again to measure."
    ),
    (
        "Ohms only with the fuse pulled, and what is measured undone where the step says so: a meter on ohms across "
        "a live lead is destroyed."
    ),
)
"""Said before the first test."""

ENGINE_OFF: Final = (
    "Engine off: read the battery at its posts first, with the device on (a full one has 12.5 V or more at rest, below "
    "12 V charge it before anything else); hold every other reading against that one. What draws no current loses no "
    "volts on the way: then every place up to the fault reads what the battery reads, and none behind it"
)
FOUND: Final = (
    "Battery off, negative first, before a lead is undone or a fuse holder changed; a fuse of the same rating, never a "
    "larger one. One that blows again has a short or too much load behind it: with both ends of its lead undone, ohms "
    "from the lead to the body (open, or it is chafed: look at holes, clips and screws), then device by device."
)
"""Said after the last test."""

_TESTS: Final = (
    "Test in this order, the quickest to get at first (what a reading means: common practice, no source)"
)
_FEW: Final = 4
"""Devices without a supply lead are listed by themselves only where no more than that are listed."""
_SAYS: Final = "the fault is in"
_NAMES: Final = {Symptom.POWER: "dead", Symptom.SOUND: "silent"}


def only_fault(plan: Plan, answer: Answer, record: Record) -> list[Section]:
    """The tests of one device, or which devices there are to ask about."""
    if answer.asked is Asked.JOB:
        return [_which(plan, answer.searches)]
    found = [part for search in answer.searches for part in fault_sections(plan, search, record)]
    for number, part in enumerate(found):
        if part.title == _TESTS:
            found.insert(number, Section("Before a probe (common practice, no source)", LIVE, numbered=True))
            break
    return [
        *found,
        Section("Mind", tuple(caution_lines(plan, answer))),
        Section("When it is found", (FOUND,)),
    ]


def fault_sections(plan: Plan, search: FaultSearch, record: Record) -> Iterator[Section]:
    """One search in the order of the work, without what is the same for all of them: `LIVE`, `FOUND`, cautions."""
    power = search.symptom is Symptom.POWER
    yield Section("How it is fed" if power else "How it is driven", _way(plan, search))
    places = _places(plan)
    tests = [
        _test(plan, record, test, places[test.place], _first(plan, search))
        for test in search.tests
        if test.place in places
    ]
    yield Section(_TESTS, tuple(tests if power else [_listen(search), *tests]), numbered=True)
    yield Section(
        "No hand gets to these: judge them by the places before and behind",
        tuple(f"{places[key].name}, in {places[key].space}" for key in search.shut if key in places),
    )
    devices = [name for name in (search.device, search.through) if name]
    yield Section(
        "Readings, expected and measured", tuple(reading_lines(plan, search.cables, devices, record))
    )


def _which(plan: Plan, searches: Sequence[FaultSearch]) -> Section:
    """All it could be, where no device was named."""
    places = _places(plan)
    own = [s for s in searches if not s.through or s.symptom is Symptom.SOUND or len(searches) < _FEW]
    lines = []
    for search in own:
        fuses = [_fuse_text(plan, name) for name in search.cables if _fuse_text(plan, name)]
        quick = next(
            (places[t.place] for t in search.tests if t.probe is not Probe.SOURCE and t.place in places), None
        )
        first = "" if quick is None else f"; first place to test: {quick.name}, {reach_text(plan, quick)}"
        through = f", works through {search.through}" if search.through else ""
        fused = f"; {', '.join(fuses)}" if fuses else ""
        along = [s.device for s in searches if s not in own and s.through == search.device]
        also = f"; as well {', '.join(along)}, which work through it" if along else ""
        lines.append(f'"{search.device} is {_NAMES[search.symptom]}"{through}{fused}{first}{also}')
    none = "No device of this job has a supply lead or a speaker lead in the plan."
    return Section("Which one? Ask again with its name", tuple(lines) or (none,))


def _way(plan: Plan, search: FaultSearch) -> tuple[str, ...]:
    arrow = " \N{RIGHTWARDS ARROW} "
    if search.symptom is Symptom.SOUND:
        ends = {c.cable.name: c.cable for c in plan.cables}
        return tuple(f"{n}: {ends[n].from_port}{arrow}{ends[n].to_port}" for n in search.cables)
    told = [arrow.join(_named(plan, name) for name in dict.fromkeys(search.way))]
    if search.back:
        told.append(
            f"back: {search.device if not search.through else search.through}{arrow}{arrow.join(search.back)}"
        )
    else:
        told.append("back: no return lead in the plan: look where its negative goes")
    if search.through:
        told.append(f"{search.device} has no supply lead of its own: it works through {search.through}")
    told += [f"{n}: {t}" for n in search.cables if (t := _below(plan, n))]
    return tuple(told)


def _below(plan: Plan, name: str) -> str:
    e = None if plan.sizing is None else plan.sizing.electrical.get(name)
    return "" if e is None else below_text(e)


def _named(plan: Plan, element: str) -> str:
    fused = element.removeprefix("fuse of ")
    return _fuse_text(plan, fused) if fused != element else element


def _fuse_text(plan: Plan, cable: str) -> str:
    e = None if plan.sizing is None else plan.sizing.electrical.get(cable)
    return "" if e is None or e.fuse is None else f"fuse of {cable} ({e.fuse.rating_a:g} A {e.fuse.series})"


def _first(plan: Plan, search: FaultSearch) -> str:
    """What costs no tool: what else is dead."""
    hang = [name for name in _hanging_on(plan, search) if name != search.device]
    if not hang:
        return ""
    return (
        f" What else hangs on its way: {', '.join(hang)}. Where one of them works, what they share is whole."
    )


def _hanging_on(plan: Plan, search: FaultSearch) -> list[str]:
    """Devices at the ends of other supply leads that come out of the same places."""
    on_way = set(search.way) - {search.device, search.through}
    sized = {} if plan.sizing is None else plan.sizing.electrical
    found = []
    for c in plan.cables:
        if (
            c.cable.name in sized
            and sized[c.cable.name].fuse is not None
            and c.cable.name not in search.cables
        ):
            ends = [plan.job.device_of(e).name for e in (c.cable.from_port, c.cable.to_port)]
            if set(ends) & on_way:
                found += [e for e in ends if e not in on_way]
    return list(dict.fromkeys(found))


def _listen(search: FaultSearch) -> str:
    return (
        f"Is {search.through or search.device} itself on, its volume up, not muted, no other speaker chosen: does "
        f'any other speaker sound? Where it is dead itself ask "{search.through or search.device} is dead"'
    )


def _places(plan: Plan) -> Mapping[str, ServicePlace]:
    return {} if plan.service is None else {p.key: p for p in plan.service.places}


def _test(plan: Plan, record: Record, test: LiveTest, place: ServicePlace, first: str) -> str:
    """Where, how it is got at, how it is done, what is expected, what the result means."""
    reach = reach_text(plan, place)
    if test.probe is Probe.SOURCE:
        return f"{_at(plan, test, place)}: {reach}. {ENGINE_OFF}.{first}"
    return f"{_at(plan, test, place)}: {reach}. {_how(plan, record, test, place.name)} {_means(plan, test)}"


def _at(plan: Plan, test: LiveTest, place: ServicePlace) -> str:
    if test.probe is Probe.FUSE:
        fuse = None if plan.sizing is None else plan.sizing.electrical[test.about].fuse
        if fuse is not None:
            lengths = Lengths(plan.job.length_unit)
            where = (
                "in the block at" if fuse.in_block else f"{lengths.up(fuse.distance_m)} along the wire from"
            )
            return f"{_fuse_text(plan, test.about)}, {where} {fuse.at}, in {place.space}"
    plug = plan.job.port(place.name).termination
    return f"{place.name}{f' ({plug})' if plug else ''}, in {place.space}"


def _how(plan: Plan, record: Record, test: LiveTest, place: str) -> str:
    lost = _lost(plan, test)
    to = "to the return beside it" if test.own_return else "to the battery's negative post with a long lead"
    if test.probe is Probe.DEVICE:
        return f"Volts between its two supply terminals, device on: {lost}{_built(record, test)}."
    if test.probe is Probe.FUSE:
        return f"Look at the fuse; volts on both of its sides {to}: the same on both, {lost}."
    if test.probe is Probe.VOLTS:
        return f"Volts there {to}: {lost}."
    if test.probe is Probe.RETURN:
        return (
            f"Volts from this terminal to the battery's negative post with a long lead, device on: "
            f"{test.drop_v or 0.0:.2f} V at duty, {test.peak_drop_v or 0.0:.2f} V at peak, no more."
        )
    if test.probe is Probe.PAIR:
        return (
            f"Undo it, ohms between the two cores of {test.about} with the speaker still on: a little below the ohms "
            "printed on the speaker, and a click in it; open to the body. Or hold a speaker that works to the socket."
        )
    if test.probe is Probe.SPEAKER:
        return "Undo it, ohms of the speaker alone: a little below those printed on it, and a click in it."
    ends = next((c.cable.from_port, c.cable.to_port) for c in plan.cables if c.cable.name == test.about)
    reach = {p.name: reach_text(plan, p) for p in _places(plan).values() if p.kind is PlaceKind.CONNECTOR}
    other = "; ".join(f"{end}: {reach[end]}" for end in ends if end != place and end in reach)
    return (
        f"{test.about} with both ends undone (the other end, {other}): every core end to end below 1 ohm, none joined "
        "to another or to the body."
    )


def _built(record: Record, test: LiveTest) -> str:
    """What was read there when it was built."""
    fact = record.told(What.VOLTS, test.about)
    if fact is None or fact.kind is not Kind.DEVICE:
        return ""
    return f"; when it was built it read {volts_text(fact)}"


def _lost(plan: Plan, test: LiveTest) -> str:
    """What is expected, as volts below the battery and as predicted."""
    duty, peak = test.drop_v or 0.0, test.peak_drop_v or 0.0
    if max(duty, peak) < 0.005:
        return "what the battery reads"
    test_v = _test_volts(plan)
    predicted = (
        ""
        if test_v is None
        else f" ({test_v - duty:.1f} V and {test_v - peak:.1f} V with {test_v:g} V at the battery)"
    )
    return f"what the battery reads less {duty:.2f} V at duty, {peak:.2f} V at peak{predicted}"


def _test_volts(plan: Plan) -> float | None:
    limits = () if plan.sizing is None else plan.sizing.limits
    return next((x.value for x in limits if x.name == "test_volts"), None)


def _means(plan: Plan, test: LiveTest) -> str:
    good, bad = _list(plan, test.good), _list(plan, test.bad)
    if test.probe is Probe.FUSE:
        return (
            f"Only on the feeding side: the fuse or its holder; on neither: {_SAYS} {bad}; on both: in {good}, or in "
            "the return."
        )
    if test.probe is Probe.DEVICE:
        return f"As expected: {_SAYS} {good}; lower or nothing: in {bad}."
    if test.probe is Probe.RETURN:
        return f"More: {_SAYS} the return, {bad} and their ends; no more than that: in {good}."
    if test.probe is Probe.VOLTS:
        return f"As expected: {_SAYS} {good}, or in the return; lower or nothing: in {bad} or an end of one."
    if test.probe is Probe.PAIR:
        return f"So: {_SAYS} {good}; open, or nearly nothing: in {bad}."
    return f"So: {_SAYS} {good}; not so: in {bad}."


def _list(plan: Plan, names: Sequence[str]) -> str:
    told = [_named(plan, name) if name.startswith("fuse of ") else name for name in dict.fromkeys(names)]
    return f"{', '.join(told[:-1])} or {told[-1]}" if len(told) > 1 else "".join(told)
