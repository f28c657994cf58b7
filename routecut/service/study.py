"""How every connector, joint, fuse and hole of a fit-out is got at once the trim is back on.

Stage      service, with the mesh
Units      m, minutes
Safe side  a space that is said to be behind trim is never open, whatever the mesh shows; trim the mesh does
           not show is named after its space; a sealed space is not got into
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from routecut.geometry.keep_out import KeepOutField
from routecut.model.body import Body, Floats
from routecut.model.drilling import HoleSize
from routecut.model.job import (
    Access,
    CableClass,
    Device,
    Exposure,
    HoleState,
    Job,
    PassThrough,
    Polarity,
    Port,
    Reason,
    Space,
    SurfaceKind,
    vec3,
)
from routecut.model.plan import PlannedCable, PlannedHole
from routecut.model.service import PlaceKind, Plug, Room, Service, ServicePlace, Trim, Way
from routecut.model.sizing import Sizing
from routecut.routes.polyline import points_at, running_m
from routecut.service.graph import removal_of, with_places
from routecut.service.hands import Hands
from routecut.service.room import rooms_of

NEAR_M: Final = 0.150
"""A keep-out this near to a piece of trim is named with it (common practice, no source). [m]"""

_PLUG_M: Final = 0.020
"""A hand takes hold of a plug so far before its port. [m]"""

_AT_HOLE_M: Final = 0.020
_DOOR_M: Final = 0.030
_SAMPLE_M: Final = 0.080


def service_study(
    job: Job,
    body: Body,
    cables: Sequence[PlannedCable],
    *,
    sizing: Sizing | None = None,
    holes: Sequence[PlannedHole] = (),
    sizes: Mapping[str, HoleSize] | None = None,
) -> Service:
    """The trim, the places behind it and the least that has to come off for each.

    Parameters
    ----------
    job : Job
        Surveyed.
    body : Body
    cables : sequence of PlannedCable
        With the routes and leads found.
    sizing : Sizing, optional
        For the fuses.
    holes, sizes
        For what is left when it comes out: the holes, and how large those to drill are, by name.
    """
    hands = Hands(body)
    trims = _trims(job, body)
    middles = body.triangles_m.mean(axis=1)
    doors = {s.name: _doors(s, body, trims, middles) for s in job.spaces if s.access is not Access.OPEN}
    known = {t.name for t in trims}
    made_up = sorted({name for names in doors.values() for name in names} - known)
    trims += tuple(Trim(name=name, in_mesh=False) for name in made_up)
    found = Service(trims=trims, doors=doors)
    places = [
        replace(place, removal=removal_of(found, [place]))
        for place in (
            *_connectors(job, cables, hands),
            *_joints(job, cables, hands),
            *_fuses(job, cables, sizing, hands),
            *_holes(job, cables, hands),
        )
    ]
    return replace(
        with_places(found, places, cables),
        plugs=_plugs(job, holes, sizes or {}),
        stays=_stays(job, cables, sizing),
        rooms=rooms_of(holes, cables),
        unused=tuple(
            replace(place, removal=removal_of(found, [place]))
            for place in _holes(job, cables, hands, used=False)
        ),
    )


def loop_wanted_m(job: Job, device: Device) -> float:
    """The slack each connector of a device needs so that it can be taken out and worked on. [m]"""
    if device.pulls_out_m is not None:
        return device.pulls_out_m
    return job.service.loop_m if device.serviceable else 0.0


# --- trim --------------------------------------------------------------------------------


def _trims(job: Job, body: Body) -> tuple[Trim, ...]:
    fields = [KeepOutField(k, body) for k in job.keep_outs if k.reason is not Reason.OTHER]
    found = []
    for number, (name, rule) in enumerate(zip(body.parts, body.rules, strict=True)):
        faces = body.face_part == number
        if rule.kind is not SurfaceKind.TRIM or not faces.any():
            continue
        points = _sampled(body.triangles_m[faces])
        near = [(field.name, float(field.distance_m(points).min())) for field in fields]
        found.append(
            Trim(
                name=name,
                minutes=rule.removal_minutes,
                after=body.off_before(number),
                near=tuple((k, max(d, 0.0)) for k, d in sorted(near, key=lambda n: n[1]) if d < NEAR_M),
            )
        )
    return tuple(found)


def _sampled(triangles: Floats) -> Floats:
    """Points on some triangles, none of which is further than about `_SAMPLE_M` from the next."""
    points = []
    for corners in triangles:
        longest = float(np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1).max())
        steps = max(1, int(np.ceil(longest / _SAMPLE_M)))
        share = np.array([(i, j) for i in range(steps + 1) for j in range(steps + 1 - i)]) / steps
        edges = np.stack([corners[1] - corners[0], corners[2] - corners[0]])
        points.append(corners[0] + share @ edges)
    return np.concatenate(points)


def _doors(space: Space, body: Body, trims: Iterable[Trim], middles_m: Floats) -> tuple[str, ...]:
    """The trim that opens a space: what of it lies in the space or closes it; `middles_m` are those of all faces."""
    if space.access is Access.SEALED:
        return ()
    found = []
    for trim in trims:
        faces = body.face_part == body.parts.index(trim.name)
        if any(space.holds(point, _DOOR_M) for point in middles_m[faces].tolist()):
            found.append(trim.name)
    return tuple(found) or (f"trim of {space.name}",)


# --- places ------------------------------------------------------------------------------


def ways_of(job: Job, hands: Hands, space: str, point: Floats) -> tuple[Way, ...]:
    """The ways for a hand to a point in a space; none into a sealed one."""
    if is_sealed(job, space):
        return ()
    seen = hands.ways(point)
    return tuple(Way(space=space, trims=tuple(sorted(trims)), room=seen.room) for trims in seen.ways)


def place_at(
    kind: PlaceKind, name: str, space: str, point: Floats, *, cables: Iterable[str], ways: tuple[Way, ...]
) -> ServicePlace:
    """A place, without what has to come off for it."""
    return ServicePlace(kind=kind, name=name, space=space, at_m=vec3(point), cables=tuple(cables), ways=ways)


def _connectors(job: Job, cables: Sequence[PlannedCable], hands: Hands) -> Iterator[ServicePlace]:
    for device in job.devices:
        users = {p.full_name: _ending_at(p, cables) for p in device.ports}
        out_m = device.pulls_out_m or 0.0
        drawn = out_m > 0.0 and all(
            p.service_loop_m >= out_m - 1e-9 for p in device.ports if users[p.full_name]
        )
        for port in device.ports:
            if not users[port.full_name]:
                continue
            point = np.array(port.position.at_m)
            grip = point if port.leaves is None else point + _PLUG_M * np.array(port.leaves)
            ways = ways_of(job, hands, device.space, grip)
            by_itself = not any(not way.trims and way.room is not Room.GUESSED for way in ways)
            if drawn and by_itself and not is_sealed(job, device.space):
                # the box comes to the hand: what is in front of its connectors stays where it is
                ways = (Way(space=device.space), *(w for w in ways if w.trims))
            found = place_at(
                PlaceKind.CONNECTOR,
                port.full_name,
                device.space,
                point,
                cables=users[port.full_name],
                ways=ways,
            )
            yield replace(found, drawn_out_m=out_m if drawn and by_itself and ways else 0.0)


def is_sealed(job: Job, space: str) -> bool:
    """No hand gets into it."""
    return any(s.name == space and s.access is Access.SEALED for s in job.spaces)


def _ending_at(port: Port, cables: Iterable[PlannedCable]) -> tuple[str, ...]:
    ends = port.full_name
    return tuple(c.cable.name for c in cables if ends in (c.cable.from_port, c.cable.to_port))


def _joints(job: Job, cables: Sequence[PlannedCable], hands: Hands) -> Iterator[ServicePlace]:
    for planned in cables:
        joints = planned.lead.joints if planned.lead is not None else ()
        for number, joint in enumerate(joints, start=1):
            if planned.route is None:
                continue
            point = on_run(planned, joint.at_route_m)
            ways = () if joint.access == Access.SEALED else ways_of(job, hands, joint.space, point)
            more = f" {number}" if len(joints) > 1 else ""
            name = f"joint{more} of {planned.cable.name}"
            yield place_at(PlaceKind.JOINT, name, joint.space, point, cables=[planned.cable.name], ways=ways)


def _fuses(
    job: Job, cables: Sequence[PlannedCable], sizing: Sizing | None, hands: Hands
) -> Iterator[ServicePlace]:
    sized = {} if sizing is None else sizing.electrical
    for planned in cables:
        found = sized.get(planned.cable.name)
        if found is None or found.fuse is None or planned.route is None:
            continue
        fuse = found.fuse
        along = (
            fuse.distance_m
            if fuse.at == planned.cable.from_port
            else planned.route.length_m - fuse.distance_m
        )
        point = np.array(job.port(fuse.at).position.at_m) if fuse.in_block else on_run(planned, along)
        name = f"fuse of {planned.cable.name}"
        ways = ways_of(job, hands, fuse.space, point)
        yield place_at(PlaceKind.FUSE, name, fuse.space, point, cables=[planned.cable.name], ways=ways)


def _holes(
    job: Job, cables: Sequence[PlannedCable], hands: Hands, *, used: bool = True
) -> Iterator[ServicePlace]:
    """Both sides of the holes that cables go through, or of those that are there and nothing goes through."""
    through: Mapping[str, list[str]] = {h.name: [] for h in job.pass_throughs}
    for planned in cables:
        for name in dict.fromkeys(p.name for p in planned.route.passages) if planned.route else ():
            through[name].append(planned.cable.name)
    for hole in job.pass_throughs:
        if bool(through[hole.name]) is not used or (not used and hole.state is not HoleState.EXISTING):
            continue
        for space, point in _sides(job, hole):
            ways = ways_of(job, hands, space, point)
            yield place_at(PlaceKind.HOLE, hole.name, space, point, cables=through[hole.name], ways=ways)


def _plugs(job: Job, holes: Sequence[PlannedHole], sizes: Mapping[str, HoleSize]) -> tuple[Plug, ...]:
    wet = {s.name for s in job.spaces if Exposure.WET in s.exposure}
    found = []
    for hole in holes:
        if not hole.cables:
            continue
        through, size = hole.pass_through, sizes.get(hole.pass_through.name)
        found.append(
            Plug(
                hole=through.name,
                size_m=size.drill_m if hole.drill and size is not None else through.diameter_m,
                joins=through.joins,
                sheets=size.sheets if size is not None else 1,
                drilled=hole.drill,
                wet=tuple(s for s in through.joins if s in wet),
                in_use_m=through.in_use_m,
            )
        )
    return tuple(found)


def _stays(job: Job, cables: Sequence[PlannedCable], sizing: Sizing | None) -> tuple[str, ...]:
    """The devices that were there before: where only bonds and returns end, and what feeds and is not fed."""
    sized = {} if sizing is None else sizing.electrical
    ending: dict[str, list[str]] = {d.name: [] for d in job.devices}
    for c in cables:
        one, kind = c.cable, c.cable.cable_class
        found = sized.get(one.name)
        positive = found is not None and found.polarity is Polarity.POSITIVE
        for port in (one.from_port, one.to_port):
            word = "other"
            if kind is CableClass.BOND or (kind is CableClass.POWER and found is not None and not positive):
                word = "return"
            elif positive:
                fuse_at = found.fuse.at if found is not None and found.fuse is not None else one.from_port
                word = "feeds" if port == fuse_at else "fed"
            ending[job.device_of(port).name].append(word)
    return tuple(name for name, words in ending.items() if words and set(words) <= {"return", "feeds"})


def _sides(job: Job, hole: PassThrough) -> Iterator[tuple[str, Floats]]:
    """The two sides of a hole: the space, and a point just before its mouth."""
    middle, axis = np.array(hole.position.at_m), np.array(hole.axis)
    off = hole.depth_m / 2 + _AT_HOLE_M
    points = [middle - off * axis, middle + off * axis]
    first, second = hole.joins
    lies = [next((s.name for s in job.spaces if s.name in hole.joins and s.holds(p)), "") for p in points]
    if lies[0] == second or lies[1] == first:
        first, second = second, first
    yield from zip((first, second), points, strict=True)


def on_run(planned: PlannedCable, at_m: float) -> Floats:
    """The place at a running length of the curve of a cable with a route, (3,). [m]"""
    assert planned.route is not None  # noqa: S101 - asked for cables with a route only
    points = planned.route.points_m
    return np.asarray(points_at(np.array([at_m]), running_m(points), points)[0])
