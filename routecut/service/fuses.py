"""Which fuses make a cable or a device dead, read off the supply leads.

Stage      service
Safe side  what is not fed by a lead of its own is taken to be fed by everything it is joined to
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from routecut.model.fitout import CableClass, Device, Polarity
from routecut.model.plan import Plan
from routecut.model.service import FusePull, PlaceKind, Service

_METAL: Final = {CableClass.POWER, CableClass.BOND}
_SPEAKS: Final = {CableClass.CONTROL, CableClass.AUDIO, CableClass.DATA}


class Feeds:
    """The supply leads of a plan, each with the device that feeds it and the one it feeds."""

    def __init__(self, plan: Plan, service: Service) -> None:
        self._plan = plan
        self._sized = {} if plan.sizing is None else plan.sizing.electrical
        self._places = {p.cables[0]: p for p in service.places if p.kind is PlaceKind.FUSE}
        self._from: dict[str, str] = {}
        self._to: dict[str, str] = {}
        for planned in plan.cables:
            cable, sized = planned.cable, self._sized.get(planned.cable.name)
            if sized is None or sized.polarity is not Polarity.POSITIVE:
                continue
            ends = cable.from_port, cable.to_port
            if sized.fuse is not None and sized.fuse.at == cable.to_port:
                ends = ends[1], ends[0]
            self._from[cable.name], self._to[cable.name] = (plan.job.device_of(e).name for e in ends)

    def of_device(self, device: str) -> tuple[str, ...]:
        """The cables whose fuses make a device dead.

        One without a supply lead hangs on the nearest that has one: a microphone on the control head, and that
        on its radio.
        """
        seen, near = {device}, [device]
        while near:
            found = tuple(dict.fromkeys(c for name in near for c in self._into(name, set())))
            if found:
                return found
            near = [other for name in near for other in self._beside(name) if other not in seen]
            seen |= set(near)
        return self._out_of(device)

    @property
    def fed(self) -> tuple[str, ...]:
        """The devices that a supply lead ends at."""
        return tuple(dict.fromkeys(self._to.values()))

    def leads_into(self, device: str) -> tuple[str, ...]:
        """The supply leads that end at a device, fused or not."""
        return tuple(name for name, fed in self._to.items() if fed == device)

    def feeder_of(self, lead: str) -> str:
        """The device that a supply lead comes from."""
        return self._from[lead]

    def _out_of(self, device: str) -> tuple[str, ...]:
        """The fused cables that a source feeds: nothing makes a battery dead, but these its leads."""
        return tuple(name for name, feeds in self._from.items() if feeds == device and self._fused(name))

    def of_cable(self, name: str) -> tuple[str, ...]:
        """The cables whose fuses make a cable dead."""
        if name in self._to:
            if self._fused(name):
                return (name,)
            return tuple(self._into(self._from[name], set()))
        ends = [d.name for d in self._ends(name)]
        loads = [d for d in ends if d in self._to.values() and d not in self._from.values()]
        found = [c for d in loads or ends for c in self.of_device(d)]
        return tuple(dict.fromkeys(found))

    def pulls(self, cables: Iterable[str]) -> tuple[FusePull, ...]:
        """The fuses of some cables with what goes dead by each, without those that another makes dead."""
        found = [self.pull(name) for name in dict.fromkeys(cables) if name in self._places]
        first = tuple(
            pull
            for pull in found
            if not any(self._from[pull.cable] in other.dead for other in found if other is not pull)
        )
        return first or tuple(found)  # leads in a ring make each other dead

    def pull(self, name: str) -> FusePull:
        """The fuse of a cable, with what goes dead by it and what that takes along."""
        dead = self._behind(name)
        behind = {c for c, device in self._to.items() if device in dead and self._fused(c)} | {name}
        along = tuple(
            device.name
            for device in self._plan.job.devices
            if device.name not in dead
            and self._listens(device.name)
            and (feeds := self.of_device(device.name))
            and set(feeds) <= behind
        )
        return FusePull(cable=name, place=self._places[name], dead=dead, along=along)

    def _listens(self, device: str) -> bool:
        """Whether a device has no supply lead of its own and works through another one: no antenna, no stud."""
        return not self._into(device, set()) and any(
            planned.cable.cable_class in _SPEAKS
            and device in {e.name for e in self._ends(planned.cable.name)}
            for planned in self._plan.cables
        )

    def _beside(self, device: str) -> Iterator[str]:
        """The devices at the other ends of what is no supply lead, in the order of the cables."""
        for planned in self._plan.cables:
            ends = [e.name for e in self._ends(planned.cable.name)]
            if planned.cable.cable_class not in _METAL and device in ends:
                yield from (name for name in ends if name != device)

    def _fused(self, name: str) -> bool:
        return self._sized[name].fuse is not None

    def _into(self, device: str, seen: set[str]) -> list[str]:
        """The fused cables nearest to a device on its way from the source."""
        found = []
        for name in (n for n, d in self._to.items() if d == device and n not in seen):
            seen.add(name)
            found += [name] if self._fused(name) else self._into(self._from[name], seen)
        return found

    def _behind(self, name: str) -> tuple[str, ...]:
        dead, waiting = [self._to[name]], [self._to[name]]
        while waiting:
            device = waiting.pop()
            for following in (self._to[n] for n, d in self._from.items() if d == device):
                if following not in dead:
                    dead.append(following)
                    waiting.append(following)
        return tuple(dead)

    def _ends(self, name: str) -> tuple[Device, Device]:
        cable = next(c.cable for c in self._plan.cables if c.cable.name == name)
        return self._plan.job.device_of(cable.from_port), self._plan.job.device_of(cable.to_port)
