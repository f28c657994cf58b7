"""A cable that was built in another type than planned: judged anew, figure by figure, beside what was planned.

Stage      records, beside deviations
Units      m, mm of diameters, V, A, dB, ohm, per cent
Safe side  what is not recorded, plugs and clips, is told as not known and to be looked at
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from routecut.model.as_built import AsBuilt, Difference
from routecut.model.job import Cable, CableType
from routecut.model.plan import Plan, PlannedCable, Route
from routecut.model.sizing import Sizing

_SAME: Final = 1e-6


def type_rows(plan: Plan, built: AsBuilt, planned: PlannedCable) -> Iterator[Difference]:
    """What the type that was fitted changes; nothing where it is the planned one or nothing was laid with it."""
    name = planned.cable.name
    relaid = built.relaid.get(name)
    cable = None if relaid is None else relaid.cable
    if relaid is None or cable is None or cable.type.name == planned.cable.type.name:
        return
    about, was, now = f"cable {name}", planned.cable.type, cable.type
    yield from _thickness(about, was, now)
    yield from _bend(
        about, was, now, None if relaid.verified is None else relaid.verified.least_bend_radius_m
    )
    if relaid.route is not None:
        yield from _holes(plan, built, about, relaid.route)
    yield _connectors(plan, about, cable, was, now)
    if plan.sizing is not None and built.sizing is not None:
        yield from _electrical(about, name, plan.sizing, built.sizing)


def _row(
    about: str, what: str, before: float | str, after: float | str, *, unit: str = "", why: str = ""
) -> Difference:
    same = (
        before == after if isinstance(before, str) or isinstance(after, str) else abs(before - after) < _SAME
    )
    return Difference(about=about, what=what, before=before, after=after, unit=unit, marked=not same, why=why)


def _thickness(about: str, was: CableType, now: CableType) -> Iterator[Difference]:
    if abs(was.diameter_m - now.diameter_m) < _SAME:
        return
    word = "thinner" if now.diameter_m < was.diameter_m else "thicker"
    yield _row(
        about,
        "thickness",
        1000.0 * was.diameter_m,
        1000.0 * now.diameter_m,
        unit="mm",
        why=f"{word}: clips and grommets were ordered for {was.name}; see that they hold it without slack or pinching "
        "(common practice, no source)",
    )


def _bend(about: str, was: CableType, now: CableType, tightest_m: float | None) -> Iterator[Difference]:
    if abs(was.min_bend_radius_m - now.min_bend_radius_m) < _SAME:
        return
    if tightest_m is None:
        why = "not checked"
    elif tightest_m < now.min_bend_radius_m - _SAME:
        why = "A BEND OF THE RUN IS TIGHTER: see the findings"
    else:
        why = "the run laid again with it holds it; where it was laid as planned, look at the bends"
    row = _row(
        about, "bend radius, at least", was.min_bend_radius_m, now.min_bend_radius_m, unit="m", why=why
    )
    yield replace(row, up=True)


def _holes(plan: Plan, built: AsBuilt, about: str, route: Route) -> Iterator[Difference]:
    holes = {h.pass_through.name: h for h in plan.holes}
    for passage in route.passages:
        hole, now = holes.get(passage.name), built.fills.get(passage.name)
        if hole is None or now is None:
            continue
        fits = f"at most {100 * hole.fill_most:.0f} %: {'fits' if now <= hole.fill_most else 'DOES NOT FIT'}"
        yield _row(about, f"{passage.name} filled", 100 * hole.filled, 100 * now, unit="%", why=fits)


def _connectors(plan: Plan, about: str, cable: Cable, was: CableType, now: CableType) -> Difference:
    ends = ", ".join(
        f"{plan.job.port(end).termination or 'not named'} at {end}"
        for end in (cable.from_port, cable.to_port)
    )
    return Difference(
        about=about,
        what="connectors",
        before=f"for {was.name}: {ends}",
        after=f"for {now.name}: not recorded which",
        why=f"an end that is made for {was.name} may neither hold nor match {now.name}: look which were fitted, and "
        "note it (common practice, no source)",
    )


def _electrical(about: str, name: str, before: Sizing, after: Sizing) -> Iterator[Difference]:
    if name in before.coax and name in after.coax:
        one, two = before.coax[name], after.coax[name]
        holds = "holds" if two.ok else "DOES NOT HOLD"
        yield _row(
            about, f"loss at {two.mhz:g} MHz", one.loss_db, two.loss_db, unit="dB",
            why=f"{holds}, {two.max_loss_db:g} dB allowed",
        )  # fmt: skip
        yield _row(about, "power left at the antenna", one.share_percent, two.share_percent, unit="%")
        yield _row(
            about, "reflected at the radio, at most", one.reflected_percent, two.reflected_percent, unit="%",
            why="with more loss less comes back: a bad antenna is hidden by it" if two.loss_db > one.loss_db else "",
        )  # fmt: skip
    if name in before.electrical and name in after.electrical:
        wire, now = before.electrical[name], after.electrical[name]
        holds = "holds every limit" if now.ok else "DOES NOT HOLD: see the findings"
        yield _row(about, "loses at peak", wire.peak_drop_v, now.peak_drop_v, unit="V", why=holds)
        fuse = "" if now.fuse is None else f"; its fuse is {now.fuse.rating_a:g} A"
        yield _row(
            about, "may carry where it runs", wire.ampacity.allowed_a, now.ampacity.allowed_a, unit="A",
            why=f"it carries {now.peak_amps:g} A at peak{fuse}",
        )  # fmt: skip
        yield _row(about, "resistance to be read", wire.resistance_ohm, now.resistance_ohm, unit="ohm")
    if name in before.bonds and name in after.bonds:
        strap, built = before.bonds[name], after.bonds[name]
        holds = "holds" if built.ok else "DOES NOT HOLD"
        yield _row(
            about, "resistance of the bond", strap.resistance_ohm, built.resistance_ohm, unit="ohm",
            why=f"{holds}, less than {1000 * built.limit_ohm:g} m\N{GREEK CAPITAL LETTER OMEGA} wanted",
        )  # fmt: skip
