"""Where everything came to lie, as a table: tapes, what was moved, and ports that go with their device."""

from __future__ import annotations

from dataclasses import replace

from routecut.documents import places_json, places_text
from routecut.model.job import Device, Port, Position
from tests.documents.sample import job


def test_a_tape_its_rest_and_what_was_moved_are_said_once() -> None:
    taped = Position(at_m=(1.2, -0.4006, 0.9), taped=True, residual_m=0.0031)
    ports = (
        Port(
            name="power",
            device="radio",
            position=replace(taped, at_m=(1.3, -0.4, 0.9)),
            offset_m=(0.1, 0.0, 0.0),
        ),
        Port(
            name="lead", device="radio", position=Position(at_m=(1.0, 0.0, 0.5), snap=True, snapped_m=0.012)
        ),
    )
    device = Device(name="radio", position=taped, space="cab", ports=ports)
    fits = Device(name="head", position=replace(taped, residual_m=1e-9), space="cab", ports=())
    fitted = replace(job(), devices=(device, fits), pass_throughs=())
    lines = places_text(fitted).splitlines()
    assert [" ".join(line.split()) for line in lines[3:]] == [
        "radio 1200 -401 900 cab by tape, 4 mm left unexplained",
        "radio.power 1300 -400 900 cab",
        "radio.lead 1000 0 500 cab moved 12 mm onto the surface",
        "head 1200 -401 900 cab by tape",
    ]
    told = places_json(fitted)
    assert told[0] == {
        "name": "radio",
        "at_m": [1.2, -0.4006, 0.9],
        "space": "cab",
        "taped": True,
        "residual_m": 0.0031,
        "snapped_m": 0.0,
    }
    assert places_text(replace(fitted, length_unit="in")).startswith("places in in")
