"""Where to measure when something is dead or silent, the quickest places first, and what each reading tells.

Stage      service; asks nothing of the mesh
Units      V, minutes
Safe side  a lead whose feeding end is not known is not walked; trim of unknown time counts as it does everywhere
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from routecut.model.fault import FaultSearch, LiveTest, Probe, Symptom
from routecut.model.fitout import CableClass, Polarity
from routecut.model.plan import Plan
from routecut.model.service import (
    UNKNOWN_MINUTES,
    Answer,
    Asked,
    Focus,
    PlaceKind,
    Removal,
    Service,
    ServicePlace,
)
from routecut.model.sizing import Electrical
from routecut.service.answer import answer
from routecut.service.fuses import Feeds
from routecut.service.graph import removal_of

_RANK: Final = (
    Probe.SOURCE,
    Probe.DEVICE,
    Probe.FUSE,
    Probe.RETURN,
    Probe.VOLTS,
    Probe.PAIR,
    Probe.SPEAKER,
    Probe.CORES,
)
"""At places that take the same time: what tells most comes first."""

_SPEAKER: Final = ("speaker", "horn", "siren", "buzzer", "sounder")
_SIGNAL: Final = {CableClass.CONTROL, CableClass.DATA, CableClass.AUDIO}


def fault_searches(plan: Plan) -> tuple[FaultSearch, ...]:
    """Every search there is in a plan: by device and symptom, in the order of the devices; without a study none."""
    service = plan.service
    if service is None:
        return ()
    search = _Searching(plan, service)
    found = (
        one
        for device in plan.job.devices
        for one in (search.power(device.name), search.sound(device.name))
        if one is not None and (one.tests or one.shut)
    )
    return tuple(found)


class _Searching:
    """A plan with its leads and its places."""

    def __init__(self, plan: Plan, service: Service) -> None:
        self.plan, self.service = plan, service
        self.feeds = Feeds(plan, service)
        self.sized: dict[str, Electrical] = {} if plan.sizing is None else dict(plan.sizing.electrical)
        self.supplies = {} if plan.sizing is None else {s.device: s for s in plan.sizing.supplies}
        self.owners = {port.full_name: d.name for d in plan.job.devices for port in d.ports}
        self.known = {d.name: d for d in plan.job.devices}
        self.ends = {c.cable.name: (c.cable.from_port, c.cable.to_port) for c in plan.cables}
        self.at: dict[str, list[str]] = {}  # by device the cables that end at it
        for name, ends in self.ends.items():
            for device in dict.fromkeys(self.owners[end] for end in ends):
                self.at.setdefault(device, []).append(name)
        self.into = {device: self.feeds.leads_into(device) for device in self.feeds.fed}
        self.classes = {c.cable.name: c.cable.cable_class for c in plan.cables}
        self.connectors = {p.name: p for p in service.places if p.kind is PlaceKind.CONNECTOR}
        self.returns = {n for n, e in self.sized.items() if e.polarity is Polarity.NEGATIVE}
        self.by_key = {p.key: p for p in service.places}
        self.fuses = {p.cables[0]: p for p in service.places if p.kind is PlaceKind.FUSE}

    # --- power ---------------------------------------------------------------------------

    def power(self, device: str) -> FaultSearch | None:
        """Why a device has no volts, or too few; None for what hangs on no supply lead."""
        signal, fed = self._fed_through(device)
        if not fed:
            return None
        way, back = self._way(fed), self._back(fed)
        load = tuple(dict.fromkeys((fed, *signal, device)))
        tests = [*self._at_device(fed, way, back, load), *self._along(way, load), *self._returned(fed, back)]
        if signal:
            tests += [t for name in signal for t in self._cores(name, device)]
        elements = tuple(name for point in self._elements(way) for name in point)
        return self._told(
            FaultSearch(
                device=device,
                symptom=Symptom.POWER,
                through=fed if fed != device else "",
                way=(*elements, fed, *signal),
                back=back,
                cables=(*way, *back, *signal),
            ),
            tests,
        )

    def _fed_through(self, device: str) -> tuple[tuple[str, ...], str]:
        """The signal cables from a device to the nearest one with a supply lead, and that; itself with none between."""
        came: dict[str, tuple[str, ...]] = {device: ()}
        waiting = [device]
        while waiting:
            here = waiting.pop(0)
            if self.into.get(here, ()):
                return came[here], here
            for name in self.at.get(here, ()):
                own = [self._owner(end) for end in self.ends[name]]
                if self.classes[name] in _SIGNAL:
                    other = own[1 - own.index(here)]
                    if other not in came:
                        came[other] = (name, *came[here])
                        waiting.append(other)
        return (), ""

    def _way(self, device: str) -> tuple[str, ...]:
        """The supply leads from the source to a device; of several into one device the first."""
        found: list[str] = []
        here = device
        while leads := [name for name in self.into.get(here, ()) if name not in found]:
            found.insert(0, leads[0])
            here = self.feeds.feeder_of(leads[0])
        return tuple(found)

    def _back(self, device: str) -> tuple[str, ...]:
        """The return leads from a device to the nearest one that no lead feeds: a stud, the battery."""
        returns = self.returns
        came: dict[str, tuple[str, ...]] = {device: ()}
        waiting = [device]
        while waiting:
            here = waiting.pop(0)
            if came[here] and not self.into.get(here, ()):
                return came[here]
            for name in (n for n in self.at.get(here, ()) if n in returns):
                own = [self._owner(end) for end in self.ends[name]]
                if (other := own[1 - own.index(here)]) not in came:
                    came[other] = (*came[here], name)
                    waiting.append(other)
        return ()

    def _elements(self, way: Sequence[str]) -> list[list[str]]:
        """What the current goes through, lead by lead: what feeds it, its fuse, itself."""
        return [[self.feeds.feeder_of(name), *self._fused(name), name] for name in way]

    def _fused(self, name: str) -> tuple[str, ...]:
        """The fuse of a lead, with the piece of the lead before it where it does not sit in the block."""
        if name not in self.fuses:
            return ()
        fuse = f"fuse of {name}"
        return (fuse,) if self._in_block(self.sized[name]) else (f"{name} up to its fuse", fuse)

    def _along(self, way: Sequence[str], load: Sequence[str]) -> Iterator[LiveTest]:
        """At the fuse and at both ends of each lead: beyond it, or before it."""
        flat = [name for point in self._elements(way) for name in point]
        line = [*flat, *load]
        lost = peak = 0.0
        own = False
        for number, name in enumerate(way):
            e = self.sized[name]
            feeding, fed = self._directed(name)
            at = line.index(name)
            first = at - len(self._fused(name))  # of the lead, its fuse counted in
            fuse = self.fuses.get(name)
            if fuse is not None:
                yield LiveTest(
                    probe=Probe.FUSE, place=fuse.key, about=name, drop_v=lost, peak_drop_v=peak, own_return=own,
                    good=tuple(line[at:]), bad=tuple(line[: at - 1]),
                )  # fmt: skip
            if number == 0:
                yield replace(
                    self._volts(feeding, name, (lost, peak, own), line[first:], line[:first]),
                    probe=Probe.SOURCE,
                )
            elif fuse is None or not self._in_block(e):
                yield self._volts(feeding, name, (lost, peak, own), line[first:], line[:first])
            lost, peak, own = lost + e.drop_v, peak + e.peak_drop_v, own or e.return_length_m > 0.0
            if number < len(way) - 1:  # the last one ends at the device, which has a test of its own
                yield self._volts(fed, name, (lost, peak, own), line[at + 1 :], line[: at + 1])

    @staticmethod
    def _in_block(e: Electrical) -> bool:
        return e.fuse is not None and e.fuse.in_block

    def _volts(
        self, port: str, lead: str, lost: tuple[float, float, bool], good: Sequence[str], bad: Sequence[str]
    ) -> LiveTest:
        place = self.connectors.get(port)
        return LiveTest(
            probe=Probe.VOLTS, place="" if place is None else place.key, about=lead, drop_v=lost[0],
            peak_drop_v=lost[1], own_return=lost[2], good=tuple(good), bad=tuple(bad),
        )  # fmt: skip

    def _at_device(
        self, device: str, way: Sequence[str], back: Sequence[str], load: Sequence[str]
    ) -> Iterator[LiveTest]:
        """Between its own two terminals: what is lost there and back."""
        if not way:
            return
        _, fed = self._directed(way[-1])
        place = self.connectors.get(fed)
        supply = self.supplies.get(device)
        legs = [self.sized[n] for n in (*way, *back)]
        flat = [name for point in self._elements(way) for name in point]
        yield LiveTest(
            probe=Probe.DEVICE,
            place="" if place is None else place.key,
            about=device,
            drop_v=sum(e.drop_v for e in legs) if supply is None else supply.drop_v,
            peak_drop_v=sum(e.peak_drop_v for e in legs) if supply is None else supply.peak_drop_v,
            own_return=True,
            good=tuple(load),
            bad=(*flat, *back),
        )

    def _returned(self, device: str, back: Sequence[str]) -> Iterator[LiveTest]:
        """What is lost from the device, and from each place on the way back, to the battery's negative."""
        supply = self.supplies.get(device)
        body = (supply.body_v, supply.peak_body_v) if supply is not None else (0.0, 0.0)
        here = device
        for number, name in enumerate(back):
            start, end = self.ends[name]
            near = start if self._owner(start) == here else end
            legs = [self.sized[n] for n in back[number:]]
            place = self.connectors.get(near)
            yield LiveTest(
                probe=Probe.RETURN,
                place="" if place is None else place.key,
                about=name,
                drop_v=sum(e.drop_v for e in legs) + body[0],
                peak_drop_v=sum(e.peak_drop_v for e in legs) + body[1],
                good=(*back[:number], "the supply side") if number == 0 else tuple(back[:number]),
                bad=tuple(back[number:]),
            )
            here = self._owner(end if near == start else start)

    # --- sound ---------------------------------------------------------------------------

    def sound(self, device: str) -> FaultSearch | None:
        """Why nothing is heard from a speaker, or from the speakers of a radio; None where it has none."""
        mine = [n for n in self.at.get(device, ()) if self.classes[n] is CableClass.AUDIO]
        pairs = [
            (name, speaker)
            for name in mine
            if (speaker := next((o for e in self.ends[name] if self._speaks(o := self._owner(e))), ""))
        ]
        if not pairs:
            return None
        tests = [t for name, speaker in pairs for t in self._of_pair(name, speaker)]
        driver = self._other(pairs[0][0], pairs[0][1])
        return self._told(
            FaultSearch(
                device=device,
                symptom=Symptom.SOUND,
                through=driver if driver != device else "",
                way=(driver, *(n for pair in pairs for n in pair)),
                cables=tuple(name for name, _ in pairs),
            ),
            tests,
        )

    def _of_pair(self, name: str, speaker: str) -> Iterator[LiveTest]:
        driver = self._other(name, speaker)
        for end in self.ends[name]:
            place = self.connectors.get(end)
            good: tuple[str, ...] = (name, driver)
            bad: tuple[str, ...] = (speaker,)
            probe = Probe.SPEAKER
            if self._owner(end) == driver:
                probe, good, bad = Probe.PAIR, (driver,), (name, speaker)
            yield LiveTest(
                probe=probe, place="" if place is None else place.key, about=name, good=good, bad=bad
            )
        yield from self._cores(name, speaker, both=False)

    def _cores(self, name: str, device: str, *, both: bool = True) -> Iterator[LiveTest]:
        """A cable with both ends undone, at the end that is the dearer to get at: that one decides."""
        places = [p for end in self.ends[name] if (p := self.connectors.get(end)) is not None]
        if len(places) < len(self.ends[name]):
            return
        dearer = max(places, key=_weight)
        other = self._other(name, device) if both else ""
        good = tuple(n for n in (device, other) if n)
        yield LiveTest(probe=Probe.CORES, place=dearer.key, about=name, good=good, bad=(name,))

    # --- common --------------------------------------------------------------------------

    def _told(self, search: FaultSearch, tests: Sequence[LiveTest]) -> FaultSearch:
        by_key = self.by_key
        known = [t for t in tests if t.place in by_key]
        open_ = [t for t in known if by_key[t.place].removal is not None]
        shut = [t.place for t in known if by_key[t.place].removal is None]
        last = len(open_)
        order = sorted(
            enumerate(open_),
            # of the terminals the one nearest to the device first: they are listed from the source on
            key=lambda one: (
                _weight(by_key[one[1].place]),
                _RANK.index(one[1].probe),
                last - one[0] if one[1].probe in {Probe.FUSE, Probe.VOLTS} else one[0],
            ),
        )
        return FaultSearch(
            device=search.device,
            symptom=search.symptom,
            through=search.through,
            way=search.way,
            back=search.back,
            cables=tuple(dict.fromkeys(search.cables)),
            tests=tuple(test for _, test in order),
            shut=tuple(dict.fromkeys(shut)),
        )

    def _directed(self, name: str) -> tuple[str, str]:
        """The ends of a supply lead: the one that is fed, last."""
        start, end = self.ends[name]
        return (start, end) if self._owner(start) == self.feeds.feeder_of(name) else (end, start)

    def _owner(self, port: str) -> str:
        return self.owners[port]

    def _other(self, name: str, device: str) -> str:
        owners = [self._owner(end) for end in self.ends[name]]
        return next((o for o in owners if o != device), device)

    def _speaks(self, device: str) -> bool:
        found = self.known[device]
        own_lead = bool(self.into.get(device, ()))
        told = f"{found.kind} {found.equipment} {found.name}".casefold()
        return not own_lead and any(word in told for word in _SPEAKER)


def fault_answer(plan: Plan, search: FaultSearch) -> Answer:
    """A search as an answer: its places, and what has to come off for all of them.

    Raises
    ------
    ValueError
        Nobody looked at the plan how things are got at.
    """
    service = plan.service
    told = answer(plan, Asked.DEVICE, search.device)
    assert service is not None  # noqa: S101 - `answer` refused it
    by_key = {p.key: p for p in service.places}
    places = tuple(by_key[key] for key in dict.fromkeys(test.place for test in search.tests))
    removal = removal_of(service, places) or Removal()
    near = tuple((t, keep_out, far) for t in removal.trims for keep_out, far in service.trim(t).near)
    return replace(
        told,
        focus=Focus.FAULT,
        searches=(search,),
        places=places,
        removal=removal,
        near=near,
        cables=search.cables,
        blocked=tuple(by_key[key] for key in search.shut),
        opens=(),
        behind=(),
        shared=(),
        spares=(),
    )


def _weight(place: ServicePlace) -> float:
    """Minutes a place is weighed with; one that no hand gets to comes last."""
    if place.removal is None:
        return float("inf")
    return place.removal.minutes + UNKNOWN_MINUTES * len(place.removal.unknown)
