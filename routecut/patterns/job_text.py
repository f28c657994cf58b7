"""The commented job.toml of a pattern: every entry it made, and what to add next.

Stage      patterns
Units      lengths as numbers in the job's own unit, rounded to what a tape can show
"""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from routecut.model.job import (
    ANY,
    Box,
    Capsule,
    HoleState,
    KeepOut,
    Landmark,
    PassThrough,
    Space,
    Sphere,
    SurfaceRule,
)
from routecut.patterns.known import Pattern, in_unit, said
from routecut.patterns.made import Fitted, Made, Noted
from routecut.patterns.measurements import Taken
from routecut.plain import enumerated

SCAN_ERROR_PERCENT: Final = 1.0
"""What is left of the shape of a vehicle when all its measurements are taken (judgement)."""

POINT_ERROR_MM: Final = 15.0
"""One sigma of a place inside a pattern: dash, trim, grommets lie where they usually do (judgement). [mm]"""

_AS_MADE: Final = "# as made by routecut new: "

BEGIN: Final = "# --- example: a first fit-out"
END: Final = "# --- end of the example"
_TO_OPEN: Final = ("Take the # off the example, change it to", "Change the example to")


def job_text(
    pattern: Pattern, made: Made, taken: Mapping[str, Taken], *, title: str, unit: str, example: bool = False
) -> str:
    """The whole file.

    Parameters
    ----------
    taken : mapping of str to Taken
        What the vehicle was made of.
    title : str
        The job's title.
    unit : str
        The job's `length_unit`.
    example : bool
        With the fit-out at the end as entries; else it is commented out.
    """
    write = _Writer(unit)
    blocks = [
        _head(pattern, taken, title, unit),
        write.vehicle(made, taken),
        _group("What the parts of the mesh are; the first match wins", map(write.surface, made.surfaces)),
        _group(
            "Spaces: the first that holds a point has it",
            map(write.space, made.spaces),
            "The boxes of one space overlap on purpose: what lies between two of them must belong to one.",
        ),
        _group(
            "Keep-outs: usual places. CHECK EACH ONE on the vehicle",
            map(write.keep_out, made.keep_outs),
            "The pattern knows where such things usually are, not where they are in this vehicle. Look, ask the",
            "vehicle maker's instructions, mend the shape, then take the line confirmed = false out. What is not",
            "written here does not exist for routecut.",
        ),
        _group(
            "Pass-throughs: usual places. CHECK EACH ONE on the vehicle",
            map(write.hole, made.pass_throughs),
            "existing: there already; candidate: would have to be drilled. Take out what is not there.",
        ),
        _group(
            "Landmarks: easy to find, easy to hook a tape on",
            map(write.landmark, made.landmarks),
            "Places can be given by tape from three or more of them: at = { tape = { ... } }, see the job format.",
        ),
        _opened(write.example(made)) if example else write.example(made),
        _tail(unit, made.profile),
    ]
    return signed("\n".join(blocks).rstrip() + "\n")


def _opened(text: str) -> str:
    """The example without the # before its lines, and without the words on taking it off."""
    before, begin, rest = text.partition(BEGIN)
    _, line, lines = rest.partition("\n")
    entries, end, after = lines.partition(END)
    opened = re.sub(r"(?m)^# ", "", entries)
    return "".join([before.replace(*_TO_OPEN), begin, ", change it to yours", line, opened, end, after])


def signed(text: str) -> str:
    """The text with a last line by which it is known again as long as nobody changes it."""
    return f"{text}{_AS_MADE}{hashlib.sha256(text.encode()).hexdigest()[:16]}\n"


def is_as_made(text: str) -> bool:
    """Whether a job file is as `job_text` made it, to the letter."""
    head, mark, _ = text.rpartition(_AS_MADE)
    return bool(mark) and signed(head) == text


def _head(pattern: Pattern, taken: Mapping[str, Taken], title: str, unit: str) -> str:
    lines = [
        f'# A job made from the pattern "{pattern.name}" by routecut new. The pattern is nobody\'s vehicle: it is as',
        "# good as what was measured, and the vehicle itself is always right. This file is yours: change anything.",
        "#",
        f"# What was measured, in {unit} (the drawings are in measure.html):",
    ]
    for key, one in taken.items():
        lines.append(f"#   {key:<18}{in_unit(one.value, unit):>9}   {how_known(one, unit)}")
    lines += [
        "#",
        "# To put in what was not measured, make the job again (what you changed here is kept beside it):",
        f'#   routecut new FOLDER --force --pattern "{pattern.name}" --unit {unit}'
        + "".join(f" --set {k}={in_unit(t.value, unit)}" for k, t in taken.items() if t.measured)
        + " --set ...",
        f"title = {_text(title)}",
        f'length_unit = "{unit}"',
        "",
    ]
    return "\n".join(lines)


def how_known(one: Taken, unit: str) -> str:
    """How a value is known and how far it may be off, in words."""
    off = f"within {said(one.error, unit)} two times in three"
    if one.measured:
        return f"measured, {off}"
    scaled = (
        f"scaled by {one.scaled_by:.2f} with what was"
        if abs(one.scaled_by - 1) > 0.004
        else "the pattern's own"
    )
    return f"NOT measured: {scaled}, {off}"


def _group(heading: str, entries: Iterable[str], *notes: str) -> str:
    written = list(entries)
    line = f"# --- {heading} "
    return "\n".join([line + "-" * max(3, 92 - len(line)), *(f"# {n}" for n in notes), "", *written])


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


class _Writer:
    """Writes entries in one unit."""

    def __init__(self, unit: str) -> None:
        self.unit = unit

    def length(self, length_m: float) -> str:
        """A number in the unit, without needless zeros."""
        text = in_unit(length_m * 1000.0, self.unit)
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text in {"-0", ""} else text

    def point(self, point: Sequence[float]) -> str:
        """``[x, y, z]``."""
        return "[" + ", ".join(self.length(v) for v in point) + "]"

    def box(self, box: Box) -> str:
        """Two corners."""
        return f"[{self.point(box.low_m)}, {self.point(box.high_m)}]"

    def _entry(self, table: str, note: str, lines: Sequence[str]) -> str:
        head = [f"# {note}"] if note else []
        return "\n".join([*head, f"[[{table}]]", *lines, ""])

    def vehicle(self, made: Made, taken: Mapping[str, Taken]) -> str:
        """The vehicle, its sections with their errors, and tape checks to fill in."""
        lines = [
            "[vehicle]",
            'mesh = "body.glb"',
            'mesh_unit = "m"',
            f'axes = "+x rear, +y right, +z up"   # {made.datums}',
            f"scan_error_percent = {SCAN_ERROR_PERCENT:g}  # of the shape between what is measured (judgement)",
            f"point_error = {self.length(POINT_ERROR_MM / 1000):<16}# of a thing's usual place (judgement)",
            "",
            "# How well each stretch of the vehicle is known. What of a route runs along it makes its cut longer.",
        ]
        for section in made.sections:
            error = math.hypot(*(taken[key].error for key in section.keys))
            measured = all(taken[key].measured for key in section.keys)
            missing = [taken[key].measurement for key in section.keys if not taken[key].measured]
            lines += [
                "[[vehicle.section]]",
                f"name = {_text(section.name)}",
                "box = [" + ", ".join(self.point([v / 1000 for v in corner]) for corner in section.box) + "]",
                f'along = "{section.along}"',
                f"error = {self.length(error / 1000)}",
            ]
            if measured:
                lines.append("measured = true")
            else:
                wanted = enumerated([f"the {m.words.lower()} ({m.key})" for m in missing])
                lines.append(f"measure = {_text(wanted)}")
        lines += [
            "",
            "# Tape these on the vehicle and take the # off: check then says how far the pattern is off.",
        ]
        for first, second in made.tape_checks:
            at = {m.entry.name: m.entry.position.at_m for m in made.landmarks}
            lines += [
                "# [[vehicle.tape_check]]",
                f"# from = {_text(first)}",
                f"# to = {_text(second)}",
                f"# distance = {self.length(math.dist(at[first], at[second]))}   # what the pattern has",
            ]
        return "\n".join([*lines, ""])

    def surface(self, noted: Noted[SurfaceRule]) -> str:
        """One rule for parts."""
        rule = noted.entry
        lines = [f"part = {_text(rule.part)}", f'kind = "{rule.kind.value}"']
        if rule.material:
            lines.append(f"material = {_text(rule.material)}")
        if rule.thickness_m:
            lines.append(f'thickness = "{rule.thickness_m * 1000:g} mm"')
        if rule.drill:
            lines.append("drill = true")
        if rule.removal_minutes:
            lines.append(f"removal_minutes = {rule.removal_minutes:g}")
        return self._entry("surface", noted.note, lines).rstrip("\n")

    def space(self, noted: Noted[Space]) -> str:
        """One space."""
        space = noted.entry
        lines = [f"name = {_text(space.name)}"]
        if len(space.boxes) == 1:
            lines.append(f"box = {self.box(space.boxes[0])}")
        else:
            lines += ["boxes = [", *(f"  {self.box(b)}," for b in space.boxes), "]"]
        lines += [
            f"seed = {self.point(space.seed_m)}",
            f"exposure = {json.dumps([e.value for e in space.exposure])}",
            f'access = "{space.access.value}"',
        ]
        if space.open_to:
            lines.append(f"open_to = {json.dumps(list(space.open_to))}")
        return self._entry("space", noted.note, lines)

    def keep_out(self, noted: Noted[KeepOut]) -> str:
        """One keep-out."""
        entry = noted.entry
        lines = [f"name = {_text(entry.name)}"]
        shape = entry.shape
        if isinstance(shape, Box):
            lines.append(f"box = {self.box(shape)}")
        elif isinstance(shape, Capsule):
            ends = f"from = {self.point(shape.from_m)}, to = {self.point(shape.to_m)}"
            lines.append(f"capsule = {{ {ends}, radius = {self.length(shape.radius_m)} }}")
        elif isinstance(shape, Sphere):
            lines.append(
                f"sphere = {{ at = {self.point(shape.at_m)}, radius = {self.length(shape.radius_m)} }}"
            )
        else:
            lines.append(f"part = {_text(shape.part)}")
        if any(entry.sweep_m):
            lines.append(f"sweep = {self.point(entry.sweep_m)}")
        lines += [f"clearance = {self.length(entry.clearance_m)}", f'reason = "{entry.reason.value}"']
        if not entry.confirmed:
            lines.append("confirmed = false")
        return self._entry("keep_out", noted.note, lines)

    def hole(self, noted: Noted[PassThrough]) -> str:
        """One pass-through."""
        entry = noted.entry
        lines = [
            f"name = {_text(entry.name)}",
            f"at = {self.point(entry.position.at_m)}",
            f"axis = [{', '.join(f'{v:g}' for v in entry.axis)}]",
            f"diameter = {self.length(entry.diameter_m)}",
            f"depth = {self.length(entry.depth_m)}",
            f'state = "{entry.state.value}"',
            f"joins = {json.dumps(list(entry.joins), ensure_ascii=False)}",
        ]
        if entry.classes != (ANY,):
            lines.append(f"classes = {json.dumps(list(entry.classes))}")
        if entry.in_use_m:
            lines.append(f"in_use = {self.length(entry.in_use_m)}")
        lines.append("confirmed = false")
        note = noted.note or ("would have to be drilled" if entry.state is HoleState.CANDIDATE else "")
        return self._entry("pass_through", note, lines)

    def landmark(self, noted: Noted[Landmark]) -> str:
        """One landmark."""
        entry = noted.entry
        note = f"   # {noted.note}" if noted.note else ""
        at = f"at = {self.point(entry.position.at_m)}"
        return "\n".join(["[[landmark]]", f"name = {_text(entry.name)}", at + note])

    def example(self, made: Made) -> str:
        """A small fit-out, commented out, and what to do with it."""
        lines = [
            "",
            "# --- What to add next: devices and cables " + "-" * 50,
            "# A device names equipment of the catalogue (routecut catalogue) and says where it sits: by coordinates,",
            f"# or by tape from landmarks. A cable runs from a port to a port. {_TO_OPEN[0]}",
            "# yours, then: routecut check, routecut plan.",
            "#",
            f"{BEGIN}, take the # off every line down to its end",
        ]
        for device in made.devices:
            lines += self._device(device)
        radio = next(d for d in made.devices if "radio" in d.equipment).name
        feed = next(d for d in made.devices if "antenna" in d.equipment).name
        battery = next(d for d in made.devices if d.equipment == "battery").name
        cables = {
            "power": (
                "P1",
                f"{battery}.positive",
                f"{radio}.power",
                'class = "power"',
                "load = { amps = 8, peak_amps = 12, max_drop_percent = 4 }   # from the radio's data sheet",
            ),
            "return": (
                "P2",
                f"{radio}.return",
                f"{battery}.negative",
                'class = "power"',
                "load = { amps = 8, peak_amps = 12, max_drop_percent = 4 }",
            ),
            "coax": (
                "X1",
                f"{radio}.antenna",
                f"{feed}.feed",
                'class = "coax"',
                "signal = { mhz = 155, max_loss_db = 2.0, watts = 25 }",
            ),
        }
        for which in made.cables:
            name, start, end, *rest = cables[which]
            lines += [
                "# [[cable]]",
                f"# name = {_text(name)}",
                f"# from = {_text(start)}",
                f"# to = {_text(end)}",
            ]
            lines += [f"# {line}" for line in rest]
        return "\n".join([*lines, END, ""])

    def _device(self, device: Fitted) -> list[str]:
        found = ["# [[device]]", f"# name = {_text(device.name)}", f"# equipment = {_text(device.equipment)}"]
        at = f"# at = {self.point([v / 1000 for v in device.at])}"
        found += [f"{at}   # {device.note}" if device.note else at, f"# space = {_text(device.space)}"]
        if device.facing:
            found.append(f'# facing = "{device.facing}"   # the way its connectors face')
        return found + [f"# {line}" for line in device.more]


def _tail(unit: str, profile: str) -> str:
    return "\n".join(
        [
            "# --- How you work: the defaults are printed in the pack " + "-" * 37,
            "[rules]",
            f'profile = "{profile}"',
            "",
            "[lengths]",
            "lay_percent = 3",
            "confidence = 0.95",
            f"round_up_to = {in_unit(50.0, unit) if unit != 'in' else '2'}",
        ]
    )
