"""Power and coax in the job pack: sizes, the fuse map, and the readings to test against."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element

from routecut.documents.built import deviation_text
from routecut.documents.figures import Lengths, unbroken
from routecut.documents.fuse_words import asked_text, below_text, fuse_reach
from routecut.documents.limit_words import limits_table
from routecut.documents.markup import Child, el
from routecut.documents.pack_as_built import measured
from routecut.documents.pack_parts import anchor, fold, table
from routecut.documents.planned_built import both_text, built_sizing
from routecut.documents.reading import natural
from routecut.model.plan import Plan
from routecut.model.record import Kind, What
from routecut.model.sizing import Electrical, Sizing, Supply

WRITE: str = "________"
"""Room for a reading taken by hand."""

_TREAT = (
    "Predicted at the lengths cut and the conductor as warm as the peak makes it. Fuse every supply lead before the "
    "battery is connected. The instructions of the vehicle maker and the radio maker, local codes and licensed "
    "practice come first; where they ask for more, do more."
)


def power_and_coax(plan: Plan) -> Element:
    """Wire, fuses, drops, coax and bonds with room for measured values."""
    sizing = plan.sizing
    if sizing is None or not (sizing.electrical or sizing.coax or sizing.bonds):
        return el(
            "p",
            "Nothing in this job was sized: no power cable with a load, no coax with a frequency, no bond.",
        )
    parts: list[Child] = [el("p", _TREAT)]
    if sizing.electrical:
        parts += [fold(el("h3", "Power cables"), _power(plan, sizing))]
        parts += [fold(el("h3", "Why these sizes"), _reasons(sizing))]
        parts += [fold(el("h3", "Fuses"), _fuses(plan, sizing))]
    if sizing.supplies:
        parts += [fold(el("h3", "Volts at the devices"), el("p", _DUTY), _supplies(plan, sizing))]
    if sizing.coax:
        parts += [fold(el("h3", "Coax"), el("p", _COAX), _coax(plan, sizing))]
    if sizing.bonds:
        parts += [fold(el("h3", "Bonds"), _bonds(plan, sizing))]
    parts += [fold(el("h3", "Not checked"), _not_checked(sizing))]
    parts += [fold(el("h3", "Limits"), limits_table(sizing, Lengths(plan.job.length_unit)))]
    return el("div", parts)


_DUTY = (
    "A radio is at duty while it receives and at peak while it transmits, into a dummy load or its antenna. Measure at "
    "the terminals of the device; in the table of power cables there is room for the volts lost over each lead."
)

_COAX = (
    "Tables of one cable type differ from maker to maker: the band is what was read. Extra-flexible kinds of the "
    "low-loss types lose a fifth more than the plain ones. Reflected power is read at the radio; the cable hides part "
    "of what the antenna throws back, so the figure is lower than the limit at the antenna."
)

_HELD: Final = "\N{NO-BREAK SPACE}"


def _names(named: dict[str, object]) -> list[str]:
    return sorted(named, key=natural)


def _power(plan: Plan, sizing: Sizing) -> Element:
    lengths = Lengths(plan.job.length_unit)
    rows: list[list[Child]] = []
    now = built_sizing(plan)
    built = {} if now is None else now.electrical
    for name in _names(dict(sizing.electrical)):
        e = sizing.electrical[name]
        carries = e.ampacity.allowed_a >= (e.least_fuse_a if e.fuse is None else e.fuse.rating_a)
        verdict = _holds(e.peak_drop_percent <= e.max_drop_percent)
        way = lengths.up(e.length_m)
        if e.return_length_m:
            way += f" and {lengths.up(e.return_length_m)} back"
        rows.append(
            [
                el("b", name),
                el(
                    "div",
                    e.conductor.name,
                    f" ({e.conductor.area_mm2:.2f} mm\N{SUPERSCRIPT TWO})",
                    el("br"),
                    el("small", f"{'picked: ' if e.picked else ''}{e.type_name}"),
                ),
                unbroken(way),
                f"{e.amps:g} / {e.peak_amps:g} A",
                el("div", f"{e.ampacity.allowed_a:.0f} A", None if carries else el("b", " TOO LITTLE")),
                el(
                    "div",
                    _drop(e),
                    _as_built(e, built.get(name, e)),
                    el("br"),
                    el("small", f"{verdict}; {e.max_drop_percent:g} % allowed at peak"),
                ),
                both_text(
                    e.resistance_ohm * 1000,
                    built.get(name, e).resistance_ohm * 1000,
                    1,
                    "m\N{GREEK CAPITAL LETTER OMEGA}",
                ),
                el(
                    "div",
                    measured(plan, What.RESISTANCE, name) or f"{WRITE} m\N{GREEK CAPITAL LETTER OMEGA}",
                    el("br"),
                    measured(plan, What.VOLTS, name) or f"{WRITE} / {WRITE} V",
                ),
            ]
        )
    return table(
        [
            "cable",
            "conductor",
            "length",
            "duty / peak",
            "may carry",
            "lost, duty / peak",
            "end to end, cold",
            "measured",
        ],
        rows,
        kind="power",
    )


def _reasons(sizing: Sizing) -> Element:
    """Why each conductor is what it is, and its drop piece by piece."""
    rows: list[list[Child]] = [
        [el("b", name), unbroken("; ".join(sizing.electrical[name].why))]
        for name in _names(dict(sizing.electrical))
    ]
    return table(["cable", "why"], rows, kind="reasons")


def _holds(holds: bool) -> str:
    return "holds" if holds else "DOES NOT HOLD"


def _drop(e: Electrical) -> str:
    # breaks before the bracket, where it has to
    volts, share = (
        f"{e.drop_v:.2f} / {e.peak_drop_v:.2f} V",
        f"({e.drop_percent:.1f} / {e.peak_drop_percent:.1f} %)",
    )
    return f"{volts.replace(' ', _HELD)} {share.replace(' ', _HELD)}"


def _as_built(planned: Electrical, built: Electrical) -> Element | None:
    """The drop as built, where it prints otherwise."""
    return None if _drop(planned) == _drop(built) else el("div", el("b", f"as built {_drop(built)}"))


def fuse_anchors(plan: Plan) -> dict[str, str]:
    """The id of the row of each fuse, by its cable."""
    sized = {} if plan.sizing is None else plan.sizing.electrical
    fused = (name for name in _names(dict(sized)) if sized[name].fuse is not None)
    return {name: anchor("fuse", n) for n, name in enumerate(fused, start=1)}


def volts_anchors(plan: Plan) -> dict[str, str]:
    """The id of the row of each device on the test sheet."""
    supplies = () if plan.sizing is None else plan.sizing.supplies
    return {s.device: anchor("volts", n) for n, s in enumerate(supplies, start=1)}


def _fuses(plan: Plan, sizing: Sizing) -> Element:
    lengths = Lengths(plan.job.length_unit)
    rows: list[list[Child]] = []
    unfused: dict[str, list[str]] = {}
    keys = fuse_anchors(plan)
    for name in _names(dict(sizing.electrical)):
        e = sizing.electrical[name]
        if e.fuse is None:
            unfused.setdefault(str(e.polarity), []).append(name)
            continue
        f = e.fuse
        far = "in the block" if f.in_block else f"{lengths.up(f.distance_m)} from {f.at}, along the conductor"
        access = fuse_reach(plan, name, f)
        rows.append(
            [
                el("div", el("b", name, id=keys[name]), el("br"), el("small", _ends(plan, name))),
                el("b", f"{f.rating_a:g} A"),
                el(
                    "div", f"{f.series}; ", el("strong", below) if (below := below_text(e)) else asked_text(e)
                ),
                far,
                access,
            ]
        )
    for polarity, names in unfused.items():
        rows.append([el("b", ", ".join(names)), "none", f"{polarity}: not fused by these rules", "", ""])
    return table(["cable", "fuse", "kind", "where", "reached from"], rows, kind="fuses")


def _ends(plan: Plan, name: str) -> str:
    """From which device to which a cable goes."""
    cable = next(c.cable for c in plan.cables if c.cable.name == name)
    ends = (plan.job.device_of(port).name for port in (cable.from_port, cable.to_port))
    return " \N{RIGHTWARDS ARROW} ".join(ends)


def _supplies(plan: Plan, sizing: Sizing) -> Element:
    now = built_sizing(plan)
    built = {} if now is None else {s.device: s for s in now.supplies}
    at_battery = sizing.limit("test_volts").value
    keys = volts_anchors(plan)
    rows: list[list[Child]] = [
        [
            el("b", s.device, id=keys[s.device]),
            f"{s.amps:g} / {s.peak_amps:g} A",
            el(
                "div",
                f"{s.drop_v:.2f} / {s.peak_drop_v:.2f} V",
                el("br") if s.peak_body_v > 0.0 else None,
                el(
                    "small",
                    f"of it {s.body_v:.2f} / {s.peak_body_v:.2f} V in the body of the vehicle, to the battery",
                )
                if s.peak_body_v > 0.0
                else None,
            ),
            el(
                "div",
                _volts(s),
                None if s.ok else el("b", " LOSES TOO MUCH"),
                None
                if _volts(built.get(s.device, s)) == _volts(s)
                else el("div", el("b", f"as built {_volts(built[s.device])}")),
            ),
            measured(plan, What.VOLTS, s.device, kind=Kind.DEVICE) or f"{WRITE} / {WRITE}",
        ]
        for s in sizing.supplies
    ]
    return table(
        [
            "device",
            "duty / peak",
            "lost, there and back",
            f"volts with {at_battery:g} V at the battery",
            "measured",
        ],
        rows,
        kind="supplies",
    )


def _volts(supply: Supply) -> str:
    return f"{supply.volts:.1f} / {supply.peak_volts:.1f} V"


def _built_otherwise(plan: Plan, name: str) -> Iterator[Element]:
    """That the figures of a row are of the plan, where another cable or way was built."""
    if told := deviation_text(plan, name):
        yield el("div", el("b", f"DEVIATES, as built: {told}; this row is of the plan", class_="none"))


def _coax(plan: Plan, sizing: Sizing) -> Element:
    lengths = Lengths(plan.job.length_unit)
    types = {c.cable.name: c.cable.type.name for c in plan.cables}
    rows: list[list[Child]] = []
    for name in _names(dict(sizing.coax)):
        c = sizing.coax[name]
        left = f"{c.share_percent:.0f} %"
        if c.watts is not None and c.watts_left is not None:
            left += f": {c.watts_left:.0f} of {c.watts:g} W"
        rated = "" if c.rating_watts is None else f"rated for {c.rating_watts:g} W"
        if c.bears_watts is not None:
            rated = f"by its heat, worked out: about {c.bears_watts:.0f} W in {c.air_c:g} \N{DEGREE SIGN}C"
        if c.rating_watts is not None and c.watts is not None:
            rated += f"; {_holds(c.watts <= c.rating_watts)}"
        verdict = _holds(c.ok)
        half = "" if c.half_wave_m is None else f"half a wave in it: {lengths.text(c.half_wave_m)}"
        if c.half_waves is not None:
            half = f"{c.half_waves} half waves; {half} by the nominal velocity factor"
        kind = f"{'picked: ' if c.picked else ''}{types.get(name, '')}"
        rows.append(
            [
                el("div", el("b", name), el("br"), el("small", kind), *_built_otherwise(plan, name)),
                f"{c.mhz:g}",
                el("div", unbroken(lengths.up(c.length_m)), el("br"), el("small", unbroken(half))),
                el(
                    "div",
                    f"{c.loss_db:.2f} dB",
                    el("br"),
                    el(
                        "small",
                        unbroken(
                            f"{c.low_db:.2f} to {c.high_db:.2f} dB; {verdict}, {c.max_loss_db:g} dB allowed"
                        ),
                    ),
                ),
                el("div", unbroken(left), el("br"), el("small", unbroken(rated))),
                f"at most {c.reflected_percent:.1f} % of forward; {c.open_percent:.0f} % with no antenna",
                measured(plan, What.POWER, name)
                or el("div", f"forward {WRITE} W", el("br"), f"reflected {WRITE} W"),
            ]
        )
    return table(
        [
            "cable",
            "MHz",
            "length",
            "loss with connectors",
            "power left",
            "reflected, at the radio",
            "measured",
        ],
        rows,
        kind="coax-loss",
    )


def _bonds(plan: Plan, sizing: Sizing) -> Element:
    lengths = Lengths(plan.job.length_unit)
    rows: list[list[Child]] = [
        [
            el("b", name),
            f"{lengths.up(b.length_m)}; {_holds(b.length_m <= b.longest_m)}, {lengths.text(b.longest_m)} allowed",
            f"{b.width_m * 1000:g} mm braid, {b.area_mm2:.1f} mm\N{SUPERSCRIPT TWO}",
            (
                f"{b.resistance_ohm * 1000:.1f} m\N{GREEK CAPITAL LETTER OMEGA} with both ends, "
                f"less than {b.limit_ohm * 1000:g} wanted; {_holds(b.resistance_ohm < b.limit_ohm)}"
            ),
            measured(plan, What.RESISTANCE, name) or WRITE,
        ]
        for name, b in ((n, sizing.bonds[n]) for n in _names(dict(sizing.bonds)))
    ]
    return table(["cable", "length", "strap", "resistance", "measured"], rows, kind="bonds")


def _not_checked(sizing: Sizing) -> Element:
    """What no figures were read for, and so nobody has judged."""
    said: list[Child] = []
    unrated = [name for name in _names(dict(sizing.coax)) if sizing.coax[name].rating_watts is None]
    if unrated:
        said.append(
            el(
                "li",
                f"Power rating of {', '.join(unrated)}: no table of it was read. What a cable bears by its heat is "
                "worked out where its inside is known, and may warn; it approves of nothing. Compare the transmitter "
                "with the data sheet of the cable and of its connectors.",
            )
        )
    if any(e.fuse is not None for e in sizing.electrical.values()):
        said.append(
            el(
                "li",
                "Breaking capacity of the fuses: what flows when the battery is shorted is not worked out. Take fuses "
                "and holders made for the voltage of this vehicle, and at the battery only kinds their maker names "
                "for a lead straight from a battery.",
            )
        )
    said.append(
        el(
            "li",
            "The battery and the alternator themselves: their voltage falls under load, and readings with it. "
            "Measure at the battery as well.",
        )
    )
    return el("ul", said)
