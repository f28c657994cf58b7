"""A device that names equipment of the catalogue: taken from there, the job's own keys over it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from routecut.model.finding import Severity
from routecut.model.job import Device, MadeUp, ServicePractice
from routecut.survey import load_job
from routecut.tables import equipment, read_rows
from routecut.tables.equipment import FACINGS

Write = Callable[..., Path]
DEVICE = """
[[device]]
name = "second radio"
equipment = "mobile radio, remote head"
at = [3000, 0, 500]
space = "cab"
"""


def read(write_job: Write, more: str) -> Device:
    folder = write_job()
    file = folder / "job.toml"
    file.write_text(file.read_text(encoding="utf-8") + more, encoding="utf-8")
    job, findings = load_job(folder)
    assert job is not None, findings
    assert not [f for f in findings if f.severity is Severity.ERROR], findings
    return next(d for d in job.devices if d.name == "second radio")


def faults(write_job: Write, more: str) -> list[tuple[str, str, str]]:
    folder = write_job()
    file = folder / "job.toml"
    file.write_text(file.read_text(encoding="utf-8") + more, encoding="utf-8")
    _, findings = load_job(folder)
    return [(f.code, f.key, f.nearest) for f in findings if f.severity is Severity.ERROR]


def test_the_ports_come_from_the_catalogue(write_job: Write) -> None:
    device = read(write_job, DEVICE)
    kind = equipment()["mobile radio, remote head"]
    assert (device.kind, device.serviceable, device.equipment) == (kind.kind, True, kind.name)
    assert [p.name for p in device.ports] == [p["name"] for p in kind.ports]
    power = device.ports[0]
    assert power.full_name == "second radio.power"
    assert power.offset_m == pytest.approx((0.1, -0.07, 0.025))
    assert power.position.at_m == pytest.approx((3.1, -0.07, 0.525))
    assert (power.service_loop_m, power.termination, power.leaves) == (0.3, "ring M5", (1.0, 0.0, 0.0))
    control = next(p for p in device.ports if p.name == "control")
    assert (control.made_up, control.connector_diameter_m) == (MadeUp.BENCH, 0.022)


def test_lengths_of_the_catalogue_mean_the_same_in_a_job_in_inches(write_job: Write) -> None:
    folder = write_job()
    file = folder / "job.toml"
    text = file.read_text(encoding="utf-8").replace('length_unit = "mm"', 'length_unit = "in"')
    file.write_text(text + DEVICE.replace("[3000, 0, 500]", "[100, 0, 20]"), encoding="utf-8")
    job, _ = load_job(folder)
    assert job is not None
    device = next(d for d in job.devices if d.name == "second radio")
    assert device.ports[0].offset_m == pytest.approx((0.1, -0.07, 0.025))


def test_what_the_job_writes_counts(write_job: Write) -> None:
    more = """kind = "my radio"
serviceable = false
[[device.port]]
name = "power"
service_loop = 120
[[device.port]]
name = "antenna"
at = [3000, 100, 600]
[[device.port]]
name = "earth"
offset = [0, 0, 60]
"""
    device = read(write_job, DEVICE + more)
    ports = {p.name: p for p in device.ports}
    assert (device.kind, device.serviceable) == ("my radio", False)
    assert (ports["power"].service_loop_m, ports["power"].termination) == (0.12, "ring M5")
    assert ports["antenna"].position.at_m == pytest.approx((3.0, 0.1, 0.6))
    assert ports["earth"].position.at_m == pytest.approx((3.0, 0.0, 0.56))
    assert next(reversed(ports)) == "earth"


@pytest.mark.parametrize(("facing", "way"), FACINGS.items())
def test_a_device_turns_with_its_connectors(write_job: Write, facing: str, way: tuple[int, int, int]) -> None:
    device = read(write_job, f'{DEVICE}facing = "{facing}"\n')
    power = device.ports[0]
    assert power.leaves == pytest.approx(way)
    assert power.offset_m is not None
    along = sum(a * b for a, b in zip(power.offset_m, way, strict=True))
    assert along == pytest.approx(0.1)
    size = sum(v * v for v in power.offset_m)
    assert size == pytest.approx(0.1**2 + 0.07**2 + 0.025**2)  # a turn, nothing else


def test_turning_keeps_the_hand_of_a_device(write_job: Write) -> None:
    """Seen along the connectors, with up up, power stays on the same side of the antenna socket."""
    for facing, (x, y) in {"front": (-1, 0), "rear": (1, 0), "left": (0, -1), "right": (0, 1)}.items():
        ports = {p.name: p.offset_m for p in read(write_job, f'{DEVICE}facing = "{facing}"\n').ports}
        power, antenna = ports["power"], ports["antenna"]
        assert power is not None
        assert antenna is not None
        apart = (antenna[0] - power[0], antenna[1] - power[1])
        assert x * apart[1] - y * apart[0] == pytest.approx(0.14)


def test_faults_are_told(write_job: Write) -> None:
    wrong = DEVICE.replace("remote head", "remot head")
    assert faults(write_job, wrong) == [("unknown-name", "equipment", "mobile radio, remote head")]
    assert faults(write_job, f'{DEVICE}facing = "reer"\n') == [("not-allowed", "facing", "rear")]
    plain = DEVICE.replace('equipment = "mobile radio, remote head"', 'facing = "rear"')
    assert faults(write_job, plain) == [("not-allowed", "facing", "")]


def test_ends_agree_with_the_tables_of_ends() -> None:
    """What a termination uses up and what a plug measures are said in two places: they say the same."""
    import fnmatch

    used = {row["termination"]: float(row["length_used_mm"]) for row in read_rows("terminations")}
    for kind in equipment().values():
        for port in kind.ports:
            given = port.get("length_used_by_termination")
            rows = [v for pattern, v in used.items() if fnmatch.fnmatch(port.get("termination", ""), pattern)]
            if given is not None and rows:
                assert abs(given - rows[0]) <= 5, (kind.name, port["name"])


def test_a_serviceable_device_has_the_loop_that_is_wanted_by_itself_and_its_return_an_end() -> None:
    """Else a job that takes it as it is would be warned of the catalogue's own figures."""
    wanted, plugged_in_front = 1000 * ServicePractice().loop_m, {"microphone"}
    for kind in equipment().values():
        for port in kind.ports:
            if kind.serviceable and port["name"] not in plugged_in_front:
                assert port.get("service_loop", 0) >= wanted, (kind.name, port["name"])
            if "return" in port["name"]:
                assert port.get("termination"), (kind.name, port["name"])


def test_every_entry_is_whole() -> None:
    assert len(equipment()) >= 15
    for kind in equipment().values():
        assert kind.ports
        assert kind.faces in FACINGS
        assert kind.provenance == "invented"
        names = [port["name"] for port in kind.ports]
        assert len(names) == len(set(names))
        for port in kind.ports:
            # a port lies on the box or close to it, and points away from its middle
            assert all(
                abs(o) <= s / 2 + 60 for o, s in zip(port["offset"], (max(kind.size_mm),) * 3, strict=True)
            )
