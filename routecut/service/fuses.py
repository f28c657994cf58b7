"""Which fuses make a cable or a device dead, read off the supply leads.

Stage      service
Safe side  what is not fed by a lead of its own is taken to be fed by everything it is joined to
"""

from __future__ import annotations

from collections.abc import Iterable

from routecut.model.fitout import CableClass, Device, Polarity
from routecut.model.plan import Plan
from routecut.model.service import FusePull, PlaceKind, Service


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
        """The cables whose fuses make a device dead."""
        own = self._into(device, set())
        if own:
            return tuple(own)
        beside = [
            end.name
            for planned in self._plan.cables
            if planned.cable.cable_class not in {CableClass.POWER, CableClass.BOND}
            for end in self._ends(planned.cable.name)
            if device in {e.name for e in self._ends(planned.cable.name)} and end.name != device
        ]
        return tuple(dict.fromkeys(c for other in beside for c in self._into(other, set())))

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
        found = [
            FusePull(cable=name, place=self._places[name], dead=self._behind(name))
            for name in dict.fromkeys(cables)
            if name in self._places
        ]
        first = tuple(
            pull
            for pull in found
            if not any(self._from[pull.cable] in other.dead for other in found if other is not pull)
        )
        return first or tuple(found)  # leads in a ring make each other dead

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
