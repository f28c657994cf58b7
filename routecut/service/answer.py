"""Questions about service, answered from a plan.

Stage      service; asks nothing of the mesh: the study of the plan holds all that is needed
Units      m, minutes
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from routecut.cutlist.slack import RE_TERMINATIONS, used_by_termination
from routecut.model.plan import Plan, PlannedCable
from routecut.model.service import (
    NEAR_KEEP_OUT_M,
    Answer,
    Asked,
    Behind,
    PlaceKind,
    Removal,
    Service,
    ServicePlace,
    Shared,
    Spare,
)
from routecut.service.fuses import Feeds
from routecut.service.graph import opened_by, ordered, removal_of, taken_off
from routecut.service.room import hole_room


def answer(plan: Plan, asked: Asked, name: str = "") -> Answer:
    """What it takes to service something.

    Parameters
    ----------
    plan : Plan
        With its `service`.
    asked : Asked
    name : str
        As the job has it; of a joint or a fuse, ``joint of C1``; nothing for a strip.

    Raises
    ------
    KeyError
        There is nothing of that name.
    ValueError
        Nobody looked at the plan how things are got at.
    """
    if plan.service is None:
        raise ValueError("the plan has no service study")
    return _ANSWERS[asked](_Asking(plan, plan.service), name)


def names(plan: Plan) -> dict[Asked, tuple[str, ...]]:
    """Everything that can be asked about, by kind."""
    service = plan.service or Service()
    places = service.places

    def of(kind: PlaceKind) -> tuple[str, ...]:
        return tuple(dict.fromkeys(p.name for p in places if p.kind is kind))

    return {
        Asked.DEVICE: tuple(d.name for d in plan.job.devices),
        Asked.CABLE: tuple(c.cable.name for c in plan.cables),
        Asked.HOLE: tuple(h.pass_through.name for h in plan.holes),
        Asked.TRIM: tuple(t.name for t in service.trims),
        Asked.SPACE: tuple(s.name for s in plan.job.spaces),
        Asked.KEEP_OUT: tuple(k.name for k in plan.job.keep_outs),
        Asked.FUSE: of(PlaceKind.FUSE),
        Asked.JOINT: of(PlaceKind.JOINT),
        Asked.CONNECTOR: of(PlaceKind.CONNECTOR),
    }


class _Asking:
    """A plan and what the parts of an answer are worked out from."""

    def __init__(self, plan: Plan, service: Service) -> None:
        self.plan = plan
        self.service = service
        self.feeds = Feeds(plan, service)
        self.cables = {c.cable.name: c for c in plan.cables}

    def put(
        self,
        asked: Asked,
        name: str,
        places: Sequence[ServicePlace],
        *,
        cables: Iterable[str] = (),
        devices: Iterable[str] = (),
        fuses: Iterable[str] = (),
        trims: Iterable[str] = (),
        whole: Iterable[str] | None = None,
        ends: Callable[[str], bool] = lambda _: True,
    ) -> Answer:
        """An answer about some places: removal, what it opens and bares, what lies beside."""
        worked = tuple(dict.fromkeys(cables))
        within = [p for p in places if p.removal is not None]
        removal = removal_of(self.service, within, trims) or Removal()
        full = None if whole is None else removal_of(self.service, within, [*trims, *whole])
        off = (full or removal).trims
        known = {t.name: t for t in self.service.trims}
        wanted = {p.key for p in places}
        return Answer(
            asked=asked,
            name=name,
            places=tuple(places),
            removal=removal,
            blocked=tuple(p for p in places if p.removal is None),
            whole=full,
            opens=tuple(p for p in opened_by(self.service, removal.trims) if p.key not in wanted),
            cables=worked,
            behind=self.behind(off),
            shared=self.shared(worked),
            fuses=self.feeds.pulls(fuses),
            spares=tuple(s for c in worked for s in self.spares(self.cables[c]) if ends(s.port)),
            devices=tuple(dict.fromkeys(devices)),
            near=tuple((t, keep_out, far) for t in off for keep_out, far in known[t].near),
        )

    def of_kind(self, kind: PlaceKind, wanted: Callable[[ServicePlace], bool]) -> list[ServicePlace]:
        return [p for p in self.service.places if p.kind is kind and wanted(p)]

    def behind(self, trims: Iterable[str]) -> tuple[Behind, ...]:
        """The stretches behind some trim, trim by trim."""
        return tuple(
            Behind(trim=trim, cable=c.cable.name, from_m=cover.from_m, to_m=cover.to_m)
            for trim in trims
            for c in self.plan.cables
            for cover in c.covered
            if cover.trim == trim
        )

    def shared(self, worked: Sequence[str]) -> tuple[Shared, ...]:
        """The cables that share a hole or a bundle with those that are worked on."""
        found = []
        for planned in self.plan.cables:
            name = planned.cable.name
            if name in worked:
                continue
            holes = [
                h.pass_through.name
                for h in self.plan.holes
                if name in h.cables and set(worked) & set(h.cables)
            ]
            bundles = [
                b.name
                for b in self.plan.bundles
                if name in {m.cable for m in b.members} and set(worked) & {m.cable for m in b.members}
            ]
            if holes or bundles:
                found.append(Shared(cable=name, holes=tuple(holes), bundles=tuple(bundles)))
        return tuple(found)

    def spares(self, planned: PlannedCable) -> list[Spare]:
        """What is kept at both ends of a cable, by the sum of its cut."""
        if planned.cut is None:
            return []
        cable, lead = planned.cable, planned.lead
        sums = {line.what: line.length_m for line in planned.cut.lines}
        found = []
        for end, other in ((cable.from_port, cable.to_port), (cable.to_port, cable.from_port)):
            each, _ = used_by_termination(self.plan.job.port(end))
            kept = sums.get(f"re-terminations at {end}", 0.0)
            found.append(
                Spare(
                    port=end,
                    cable=cable.name,
                    other=other,
                    again=min(RE_TERMINATIONS, round(kept / each)) if each > 0.0 else 0,
                    each_m=each,
                    kept_m=kept,
                    loop_m=sums.get(f"service loop at {end}", 0.0),
                    ready_made=cable.ready_made,
                    surplus_m=lead.surplus_m if lead is not None and lead.lengths_m else 0.0,
                    parked=lead.parked if lead is not None else "",
                )
            )
        return found


def _device(a: _Asking, name: str) -> Answer:
    device = next((d for d in a.plan.job.devices if d.name == name), None)
    if device is None:
        raise KeyError(name)
    ports = {p.full_name for p in device.ports}
    places = a.of_kind(PlaceKind.CONNECTOR, lambda p: p.name in ports)
    return a.put(
        Asked.DEVICE,
        name,
        places,
        cables=[c for p in places for c in p.cables],
        devices=[name],
        fuses=a.feeds.of_device(name),
        ends=lambda port: port in ports,
    )


def _connector(a: _Asking, name: str) -> Answer:
    places = a.of_kind(PlaceKind.CONNECTOR, lambda p: p.name == name)
    if not places:
        raise KeyError(name)
    cables = [c for p in places for c in p.cables]
    return a.put(
        Asked.CONNECTOR,
        name,
        places,
        cables=cables,
        devices=[a.plan.job.device_of(name).name],
        fuses=[f for c in cables for f in a.feeds.of_cable(c)],
        ends=lambda port: port == name,
    )


def _on_cable(asked: Asked, kind: PlaceKind) -> Callable[[_Asking, str], Answer]:
    """A joint or a fuse: a place on a cable."""

    def found(a: _Asking, name: str) -> Answer:
        places = a.of_kind(kind, lambda p: p.name == name)
        if not places:
            raise KeyError(name)
        cables = [c for p in places for c in p.cables]
        told = a.put(
            asked, name, places, cables=cables, fuses=[f for c in cables for f in a.feeds.of_cable(c)]
        )
        return replace(told, shared=(), spares=()) if asked is Asked.FUSE else told

    return found


def _cable(a: _Asking, name: str) -> Answer:
    planned = a.cables[name]
    ends = {planned.cable.from_port, planned.cable.to_port}
    places = [
        p
        for p in a.service.places
        if (p.kind is PlaceKind.CONNECTOR and p.name in ends)
        or (p.kind is PlaceKind.JOINT and name in p.cables)
    ]
    told = a.put(
        Asked.CABLE,
        name,
        places,
        cables=[name],
        devices=[
            a.plan.job.device_of(planned.cable.from_port).name,
            a.plan.job.device_of(planned.cable.to_port).name,
        ],
        fuses=a.feeds.of_cable(name),
        whole=dict.fromkeys(cover.trim for cover in planned.covered),
    )
    return replace(told, rooms=a.service.rooms.get(name, ()))


def _hole(a: _Asking, name: str) -> Answer:
    hole = next((h for h in a.plan.holes if h.pass_through.name == name), None)
    if hole is None:
        raise KeyError(name)
    places = a.of_kind(PlaceKind.HOLE, lambda p: p.name == name)
    told = a.put(
        Asked.HOLE,
        name,
        places,
        cables=hole.cables,
        fuses=[f for c in hole.cables for f in a.feeds.of_cable(c)],
        ends=lambda _: False,
    )
    return replace(told, rooms=(hole_room(a.plan.holes, a.plan.cables, name),))


def _trim(a: _Asking, name: str) -> Answer:
    if name not in {t.name for t in a.service.trims}:
        raise KeyError(name)
    cables = dict.fromkeys(b.cable for b in a.behind([name]))
    return a.put(
        Asked.TRIM,
        name,
        [],
        cables=cables,
        trims=[name],
        fuses=[f for c in cables for f in a.feeds.of_cable(c)],
        ends=lambda _: False,
    )


def _space(a: _Asking, name: str) -> Answer:
    a.plan.job.space(name)
    places = [p for p in a.service.places if p.space == name]
    cables = [c.cable.name for c in a.plan.cables if c.route is not None and name in c.route.spaces]
    devices = [d.name for d in a.plan.job.devices if d.space == name]
    ports = {p.name for p in places if p.kind is PlaceKind.CONNECTOR}
    return a.put(
        Asked.SPACE,
        name,
        places,
        cables=cables,
        devices=devices,
        fuses=[f for c in cables for f in a.feeds.of_cable(c)],
        ends=lambda port: port in ports,
    )


def _keep_out(a: _Asking, name: str) -> Answer:
    """What lies near a part of the vehicle that somebody works on: cables to protect, fuses that make them dead."""
    if name not in {k.name for k in a.plan.job.keep_outs}:
        raise KeyError(name)
    near = {
        c.cable.name: c.verified.least_clearance_m[name]
        for c in a.plan.cables
        if c.verified is not None
        and c.verified.least_clearance_m.get(name, NEAR_KEEP_OUT_M) < NEAR_KEEP_OUT_M
    }
    cables = sorted(near, key=lambda c: (near[c], c))
    return a.put(
        Asked.KEEP_OUT,
        name,
        [],
        cables=cables,
        fuses=[f for c in cables for f in a.feeds.of_cable(c)],
        ends=lambda _: False,
    )


def _strip(a: _Asking, _name: str) -> Answer:
    """Everything out: all places; as a whole, all the trim that any cable runs behind."""
    covered = dict.fromkeys(cover.trim for c in a.plan.cables for cover in c.covered)
    found = a.put(
        Asked.STRIP,
        "everything",
        a.service.places,
        cables=a.cables,
        devices=[d.name for d in a.plan.job.devices],
        fuses=[
            c for c in a.cables if c in {p.cables[0] for p in a.service.places if p.kind is PlaceKind.FUSE}
        ],
        whole=covered,
        ends=lambda _: False,
    )
    return replace(found, shared=(), opens=(), plugs=a.service.plugs)


def _job(a: _Asking, _name: str) -> Answer:
    """The whole fit-out: every fuse by itself, and what is spare at every end."""
    fused = dict.fromkeys(p.cables[0] for p in a.service.places if p.kind is PlaceKind.FUSE)
    found = a.put(
        Asked.JOB,
        "everything",
        [p for p in a.service.places if p.kind is PlaceKind.CONNECTOR],
        cables=a.cables,
        devices=[d.name for d in a.plan.job.devices],
    )
    return replace(found, shared=(), opens=(), fuses=tuple(a.feeds.pull(c) for c in a.cables if c in fused))


_ANSWERS: dict[Asked, Callable[[_Asking, str], Answer]] = {
    Asked.DEVICE: _device,
    Asked.CONNECTOR: _connector,
    Asked.JOINT: _on_cable(Asked.JOINT, PlaceKind.JOINT),
    Asked.FUSE: _on_cable(Asked.FUSE, PlaceKind.FUSE),
    Asked.CABLE: _cable,
    Asked.HOLE: _hole,
    Asked.TRIM: _trim,
    Asked.SPACE: _space,
    Asked.KEEP_OUT: _keep_out,
    Asked.STRIP: _strip,
    Asked.JOB: _job,
}

__all__ = ["answer", "names", "ordered", "taken_off"]
