"""Where devices, their ports and holes came to lie: tapes solved, points seated on the mesh.

Stage      documents, before there is a plan
Units      m in; the job's unit out
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from routecut.documents.figures import Lengths
from routecut.documents.rounding import rounded
from routecut.model.job import Job, Position
from routecut.plain import plain

_NO_NEWS_M: Final = 0.0005
"""Three tapes always meet somewhere; what is left below this is arithmetic. [m]"""


def places_text(job: Job) -> str:
    """A table for a terminal, to be held against the vehicle.

    Parameters
    ----------
    job : Job
        As it was fitted to its mesh (`routecut.survey.survey_job`).
    """
    lengths = Lengths(job.length_unit)
    rows: list[tuple[str, ...]] = [("place", "x", "y", "z", "in", "")]
    rows += [
        (
            plain(name),
            *(lengths.number(v) for v in position.at_m),
            plain(space),
            _known(position, lengths) if own else "",
        )
        for name, space, position, own in _places(job)
    ]
    wide = [max(len(row[k]) for row in rows) for k in range(5)]
    rows.insert(1, (*("-" * w for w in wide), ""))
    table = [
        "  ".join(
            [f"{r[0]:<{wide[0]}}", *(f"{r[k]:>{wide[k]}}" for k in (1, 2, 3)), f"{r[4]:<{wide[4]}}", r[5]]
        )
        for r in rows
    ]
    head = f"places in {lengths.column_unit}: x to the rear, y to the right, z up"
    return "\n".join([head, *(line.rstrip() for line in table)])


def places_json(job: Job) -> list[dict[str, Any]]:
    """The same for programs. [m]"""
    return [
        {
            "name": name,
            "at_m": [rounded(v) for v in position.at_m],
            "space": space,
            "taped": position.taped,
            "residual_m": rounded(position.residual_m),
            "snapped_m": rounded(position.snapped_m),
        }
        for name, space, position, _ in _places(job)
    ]


def _places(job: Job) -> Iterator[tuple[str, str, Position, bool]]:
    """Name, space, place, and whether that is its own: a port by its offset is as well known as its device."""
    for device in job.devices:
        yield device.name, device.space, device.position, True
        for port in device.ports:
            yield port.full_name, device.space, port.position, port.offset_m is None
    for hole in job.pass_throughs:
        yield hole.name, " / ".join(hole.joins), hole.position, True


def _known(position: Position, lengths: Lengths) -> str:
    """How a place is known, where it was not written as it stands."""
    said = []
    if position.taped:
        left = lengths.up(position.residual_m) if position.residual_m > _NO_NEWS_M else ""
        said.append(f"by tape, {left} left unexplained" if left else "by tape")
    if position.snapped_m > 0.0:
        said.append(f"moved {lengths.text(position.snapped_m)} onto the surface")
    return "; ".join(said)
