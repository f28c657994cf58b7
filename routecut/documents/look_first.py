"""What nobody may take from the plan without a look at the vehicle: entries nobody checked, holes nobody planned.

Units      m in
Safe side  a plan that holds on paper is told to be on paper as long as an entry of its job is unconfirmed
"""

from __future__ import annotations

import re
from typing import Final

from routecut.documents.figures import count
from routecut.documents.reading import natural
from routecut.model.job import CableClass, Device, Job, PassThrough

NOT_SEEN: Final = "nobody has seen it yet: look first"
"""What stands beside a pass-through that nobody confirmed."""

NOT_SEEN_SENTENCE: Final = f"{NOT_SEEN[0].upper()}{NOT_SEEN[1:]}."

_UNDER_THE_SKIN_M: Final = 0.001
"""A cable that leaves so far below its antenna leaves through the skin. [m]"""

_ANTENNA: Final = re.compile(r"\bantenna( base\b.*)?$")
"""What an antenna is called; an antenna splitter or a box for an antenna is none."""


def unchecked_counts(job: Job) -> str:
    """How many entries are unconfirmed, in words; empty where somebody has looked for each."""
    keep_outs = sum(not k.confirmed for k in job.keep_outs)
    holes = sum(not h.confirmed for h in job.pass_throughs)
    if not keep_outs + holes:
        return ""
    kinds = [
        *([count(keep_outs, "keep-out")] if keep_outs else []),
        *([count(holes, "pass-through", "pass-throughs")] if holes else []),
    ]
    total = count(keep_outs + holes, "entry", "entries")
    return f"{total} nobody has checked on the vehicle: {', '.join(kinds)}"


def unchecked_text(job: Job) -> str:
    """What is unconfirmed and what not to do before it is looked at; empty where nothing is."""
    told = unchecked_counts(job)
    return f"{told}. Don't cut or drill by this plan yet." if told else ""


def seen_mark(hole: PassThrough) -> str:
    """`NOT_SEEN` in brackets with a space before it, for a pass-through that nobody confirmed; else empty."""
    return "" if hole.confirmed else f" ({NOT_SEEN})"


def mounting_holes(job: Job) -> tuple[str, ...]:
    """The antennas that sit in a hole of their own, which is not planned: by name.

    Such an antenna has a port for coax below the point it sits at: the cable leaves under the
    skin. On a bracket the cable starts outside.
    """
    wired = {
        port
        for cable in job.cables
        if cable.cable_class is CableClass.COAX
        for port in (cable.from_port, cable.to_port)
    }
    found = [d.name for d in job.devices if _is_antenna(d) and _through_the_skin(d, wired)]
    return tuple(sorted(found, key=natural))


def mounting_text(job: Job) -> str:
    """That the mounting holes of antennas are not planned, and how they are made; empty where there are none."""
    named = mounting_holes(job)
    if not named:
        return ""
    holes = "hole of" if len(named) == 1 else "holes of"
    is_not, them = ("is not", "it") if len(named) == 1 else ("are not", "them")
    return (
        f"The mounting {holes} {', '.join(named)} {is_not} planned here: drill {them} by the maker's template; "
        "look behind first."
    )


def _is_antenna(device: Device) -> bool:
    what = device.kind or device.equipment or device.name
    return _ANTENNA.search(what.casefold()) is not None


def _through_the_skin(device: Device, wired: set[str]) -> bool:
    seat_m = device.position.at_m[2]
    return any(
        seat_m - port.position.at_m[2] > _UNDER_THE_SKIN_M for port in device.ports if port.full_name in wired
    )
