"""A port that sees no panel: the plan and the check before it say the same, and what is said is true by construction.

Truth: a floor at z = 0, a port straight above it, and at most one thing between.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from routecut.geometry.clip_reach import Outlook
from routecut.geometry.keep_out import KeepOutField
from routecut.geometry.sheets import Sheets
from routecut.model.job import (
    Box,
    Cable,
    CableClass,
    CableType,
    Device,
    KeepOut,
    Port,
    Position,
    Reason,
    Vec3,
)
from routecut.roadmap.build import build_roadmap
from routecut.routes.explain import why_no_route
from routecut.routes.harness import Harness
from routecut.survey.faults import Collector
from routecut.survey.unseen import check_seen
from tests.drilling.scenes import OBSTACLE, PANEL, body_of, job_of, plate, space

BATTERY = KeepOut(
    name="battery", shape=Box(low_m=(-2, -2, 0.02), high_m=(2, 2, 0.05)), clearance_m=0.01, reason=Reason.HOT
)


@dataclass(frozen=True)
class Said:
    port_terminal_sees: int
    planned: str
    checked: list[str]


def said(z: float, *, tray: bool = False, kept: tuple[KeepOut, ...] = (), leaves: Vec3 | None = None) -> Said:
    """What plan and check say of a cable from straight above the middle of a floor."""
    parts = {"floor": (plate(0.0), PANEL)}
    if tray:
        parts["drip tray"] = (plate(0.04, (-2.0, -2.0), (2.0, 2.0)), OBSTACLE)
    ends = [
        Device(
            name=name,
            position=Position(at_m=at),
            space="above",
            ports=(Port(device=name, name="p", position=Position(at_m=at), leaves=leaves),),
        )
        for name, at in (("lamp", (0.0, 0.0, z)), ("switch", (0.3, 0.0, z)))
    ]
    kind = CableType(name="thin", cable_class=CableClass.CONTROL, diameter_m=0.004, min_bend_radius_m=0.02)
    cable = Cable(
        name="L1", from_port="lamp.p", to_port="switch.p", cable_class=CableClass.CONTROL, type=kind
    )
    job = job_of(
        spaces=(space("above", (-0.6, -0.6, -0.01), (0.6, 0.6, 1.5)),),
        devices=tuple(ends),
        cables=(cable,),
        keep_outs=kept,
    )
    body = body_of(parts)
    harness = Harness.of(build_roadmap(job, body))
    collector = Collector()
    check_seen(
        job,
        body,
        [KeepOutField(k, body) for k in kept],
        [ends[0].ports[0]],
        collector,
        sheets=Sheets(body.routing_triangles_m),
    )
    return Said(
        len(harness.port_terminal(cable, "lamp.p").nodes),
        why_no_route(harness, cable).message,
        [f.message for f in collector.findings],
    )


@pytest.mark.parametrize(
    ("found", "sentence"),
    [
        (
            lambda: said(0.1, tray=True),
            "The nearest panel, 'floor', is 100 mm off, behind the part 'drip tray'.",
        ),
        (
            lambda: said(0.1, kept=(BATTERY,)),
            "The nearest panel, 'floor', is 100 mm off, within the clearance of the keep-out 'battery' or behind it.",
        ),
        (
            lambda: said(0.5),
            "The nearest panel, 'floor', is 500 mm off, further than the 337 mm it may hang free to its first clip.",
        ),
        (
            lambda: said(0.33, leaves=(0.0, 0.0, 1.0)),
            (
                "The nearest panel, 'floor', is 350 mm off once the cable has gone 20 mm straight out, further "
                "than the 317 mm it may hang free to its first clip."
            ),
        ),
        (
            lambda: said(0.5, tray=True),
            (
                "The nearest panel, 'floor', is 500 mm off, further than the 337 mm it may hang free to its first clip "
                "and behind the part 'drip tray'."
            ),
        ),
    ],
    ids=["a part", "a keep-out", "too far", "led out", "too far and a part"],
)
def test_plan_and_check_name_the_panel_how_far_it_is_and_what_is_between(
    found: Callable[[], Said], sentence: str
) -> None:
    words = found()
    assert words.port_terminal_sees == 0
    assert sentence in words.planned
    (checked,) = words.checked
    assert sentence in checked


@pytest.mark.parametrize("z", [0.015, 0.1, 0.2])
def test_a_port_that_sees_the_floor_is_not_spoken_of(z: float) -> None:
    words = said(z)
    assert words.port_terminal_sees > 0
    assert words.checked == []


def test_a_mesh_without_panels_is_told_so() -> None:
    body = body_of({"tray": (plate(0.0), OBSTACLE)})
    job = job_of()
    port = Port(device="lamp", name="p", position=Position(at_m=(0.0, 0.0, 0.1)))
    sheets = build_roadmap(job, body).sheets
    outlook = Outlook.of(port, body, sheets, job.routing, (), radius_m=0.002, bend_m=0.02)
    assert not outlook.sees_panel()
    assert "[[surface]]" in outlook.nearest("mm")


def test_where_nothing_is_between_the_room_or_the_space_is_to_blame() -> None:
    body, job = body_of({"floor": (plate(0.0), PANEL)}), job_of()
    port = Port(device="lamp", name="p", position=Position(at_m=(0.0, 0.0, 0.1)))
    sheets = build_roadmap(job, body).sheets
    outlook = Outlook.of(port, body, sheets, job.routing, (), radius_m=0.002, bend_m=0.02)
    assert outlook.nearest("mm") == (
        "The nearest panel, 'floor', is 100 mm off, with nothing between: it has no room for a cable there, or lies "
        "in another space."
    )
