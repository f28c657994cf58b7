"""The job file: every key arrives, every fault is found in one run, with its place and its nearest name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from routecut.errors import JobError
from routecut.model.finding import Finding, Severity
from routecut.model.job import (
    Access,
    CableClass,
    Capsule,
    Exposure,
    Load,
    MadeUp,
    Measured,
    PartShape,
    Reason,
    Signal,
    Sphere,
    Stock,
    Surplus,
)
from routecut.survey import load_job, survey_job
from routecut.tables import cable_types

WORLDS = Path(__file__).parents[1] / "worlds"
Write = Callable[..., Path]


def errors(findings: tuple[Finding, ...]) -> list[Finding]:
    return [f for f in findings if f.severity is Severity.ERROR]


@pytest.mark.parametrize("world", sorted(p.parent.name for p in WORLDS.glob("*/job.toml")))
def test_every_world_is_read_without_a_word(world: str) -> None:
    found = survey_job(WORLDS / world)
    assert found.findings == ()
    assert len(found.job.cables) == 1
    # the hand-made holes already sit on their sheets, so seating must not move them
    unseated, _ = load_job(WORLDS / world)
    assert unseated is not None
    for given, seated in zip(unseated.pass_throughs, found.job.pass_throughs, strict=True):
        assert seated.position.at_m == pytest.approx(given.position.at_m, abs=1e-6)
        assert seated.axis == pytest.approx(given.axis, abs=1e-6)


def test_every_key_arrives_converted(write_job: Write) -> None:
    folder = write_job()
    job, findings = load_job(folder)
    assert job is not None
    assert [f.code for f in findings] == ["type-assumed"]
    assert load_job(folder / "job.toml") == (job, findings)
    vehicle = job.vehicle
    assert (vehicle.mesh, vehicle.mesh_unit, vehicle.scan_error, vehicle.point_error_m) == (
        "body.ply", "m", 0.005, 0.005,
    )  # fmt: skip
    assert (vehicle.tape_checks[0].distance_m, vehicle.rescale) == (1.0, False)
    assert (job.surfaces[0].material, job.surfaces[0].thickness_m, job.surfaces[0].drill) == (
        "steel",
        0.0008,
        True,
    )
    bay, cab, outside = job.spaces
    assert (bay.exposure, bay.access) == ((Exposure.WET, Exposure.HOT), Access.OPEN)
    assert (bay.seed_m, bay.seed_given) == ((0.5, 0.0, 0.75), False)
    assert (len(cab.boxes), cab.access, cab.open_to) == (2, Access.TRIM, ("outside",))
    assert (outside.exposure, outside.seed_m, outside.seed_given) == ((Exposure.DRY,), (-0.5, 0.0, 0.5), True)
    exhaust, pedals, tank, column = job.keep_outs
    assert exhaust.shape == Capsule(from_m=(0.8, 0.3, -0.1), to_m=(4.2, 0.3, -0.1), radius_m=0.04)
    assert (exhaust.clearance_m, exhaust.reason, exhaust.sweep_m) == (0.15, Reason.HOT, (0.0, 0.0, 0.01))
    assert pedals.shape == Sphere(at_m=(1.1, -0.3, 0.2), radius_m=0.1)
    # defaults by reason: 75 mm from moving parts, 6 in from fuel (FAA AC 43.13-1B par. 11-96w)
    assert (pedals.clearance_m, tank.clearance_m, column.clearance_m) == (0.075, 0.1524, 0.0)
    assert column.shape == PartShape(part="bod*")
    assert (len(job.noise_sources[0].line_m), job.noise_sources[0].applies_to) == (3, ("coax", "audio"))
    assert [(o.name, o.position.at_m) for o in job.openings] == [("quarter window", (1.5, -0.8, 1.0))]
    assert job.hinges[0].line_m == ((3.99, -0.7, 0.4), (3.99, -0.7, 1.4))
    hole = job.pass_throughs[0]
    assert (hole.axis, hole.diameter_m, hole.in_use_m) == ((1.0, 0.0, 0.0), 0.03, 0.012)
    assert (hole.joins, hole.classes) == (("engine bay", "cab"), ("power", "coax"))
    radio = job.devices[0]
    power, aerial = radio.ports
    assert (radio.kind, radio.serviceable, radio.space) == ("transceiver", True, "cab")
    assert power.position.at_m == pytest.approx((3.96, 0.5, 0.02))
    assert (power.offset_m, aerial.offset_m) == ((0.06, 0.0, 0.0), None)
    assert power.leaves == pytest.approx((0, 0.6, 0.8))
    assert (power.service_loop_m, power.termination, power.made_up) == (0.3, "ring M6", MadeUp.BENCH)
    assert (power.length_used_by_termination_m, power.connector_diameter_m) == (0.01, 0.012)
    p1, a1 = job.cables
    assert p1.type == cable_types()["wire-10awg-red"]
    assert p1.load == Load(amps=12, peak_amps=20, max_drop_percent=3)
    assert (p1.through, p1.avoid, p1.ready_made, p1.surplus) == (
        ("bulkhead grommet left",), (), True, Surplus.COIL,
    )  # fmt: skip
    assert p1.measured == (
        Measured(from_name="bulkhead grommet left", to_name="voice radio.power", length_m=2.48),
    )
    assert a1.signal == Signal(mhz=155, max_loss_db=1.5)
    own = job.cable_types[0]
    assert (own.diameter_m, own.min_bend_radius_m, own.max_length_m) == (0.0065, 0.03, 6.0)
    assert job.stock == (
        Stock(type="control-8", lengths_m=(3.0, 5.0)),
        Stock(type="wire-10awg-red", reel_m=15.0, price=21.0, quantity=2),
    )
    routing, lengths, drilling = job.routing, job.lengths, job.drilling
    assert (routing.stand_off_m, routing.bridge_m, routing.node_spacing_m) == (0.01, 0.4, 0.05)
    assert (lengths.lay, lengths.confidence, lengths.round_up_to_m) == (0.04, 0.9, 0.02)
    assert (lengths.drip_loop_m, lengths.hinge_loop_m) == (0.08, 0.16)
    assert (drilling.hole_cost_m, drilling.edge_distance_diameters, drilling.behind_m) == (1.5, 2.5, 0.05)
    assert job.rules.limits == (("fuse_load_percent", 135.0),)


def test_defaults(write_job: Write) -> None:
    text = """
length_unit = "in"
[vehicle]
mesh = "body.ply"
mesh_unit = "m"
axes = "+x rear, +y right, +z up"
"""
    job, findings = load_job(write_job(text=text))
    assert job is not None
    assert findings == ()
    assert (job.routing.stand_off_m, job.routing.bridge_m, job.routing.node_spacing_m) == (0.012, 0.45, 0.06)
    assert (job.vehicle.scan_error, job.vehicle.point_error_m) == (0.005, 0.005)
    assert job.title == "job"


def test_a_dozen_faults_are_a_dozen_findings_in_one_run(write_job: Write) -> None:
    """The whole promise at once: place, kind, and nearest name of each."""
    folder = write_job(
        ('access = "trim"', 'access = "trimm"'),
        ("removal_minutes = 0", "removel_minutes = 0"),
        ("radius = 40 }", "radius = -40 }"),
        ("separation = 100", 'separation = "100"'),
        ('joins = ["engine bay", "cab"]', 'joins = ["engine bay", "cabin"]'),
        ("leaves = [0, 3, 4]", "leaves = [0, 0, 0]"),
        ('from = "battery.positive"', 'from = "battery.postive"'),
        ("confidence = 0.9", "confidence = nan"),
        ("quantity = 2", "quantity = true"),
        ('name = "dash corner"\nat', 'name = "left striker"\nat'),
        ("stand_off = 10", "standoff = 10"),
    )
    _, findings = load_job(folder)
    assert {(f.code, f.table, f.key, f.nearest) for f in errors(findings)} == {
        ("not-allowed", '[[space]] "cab"', "access", "trim"),
        ("unknown-key", '[[surface]] "*"', "removel_minutes", "removal_minutes"),
        ("out-of-range", '[[keep_out]] "exhaust", capsule', "radius", ""),
        ("wrong-type", '[[noise_source]] "injector loom"', "separation", ""),
        ("unknown-name", '[[pass_through]] "bulkhead grommet left"', "joins", "cab"),
        ("out-of-range", '[[device]] "voice radio", [[device.port]] "power"', "leaves", ""),
        ("unknown-name", '[[cable]] "P1"', "from", "battery.positive"),
        ("out-of-range", "[lengths]", "confidence", ""),
        ("wrong-type", '[[stock]] "wire-10awg-red"', "quantity", ""),
        ("duplicate-name", '[[landmark]] "left striker"', "name", ""),
        # the tape check still names it, so this is a fault of its own
        ("unknown-name", "[[vehicle.tape_check]] number 1", "to", ""),
        ("unknown-key", "[routing]", "standoff", "stand_off"),
    }
    assert len(errors(findings)) == 12
    assert all(f.file == "job.toml" and f.where.startswith("job.toml") and f.message for f in findings)
    with pytest.raises(JobError) as raised:
        survey_job(folder)
    assert set(errors(findings)) <= set(raised.value.findings)


@pytest.mark.parametrize(
    ("old", "new", "code", "key", "nearest"),
    [
        ('length_unit = "mm"', 'length_unit = "cubit"', "not-allowed", "length_unit", ""),
        ('length_unit = "mm"', 'lenght_unit = "mm"', "unknown-key", "lenght_unit", "length_unit"),
        ('mesh_unit = "m"', "", "missing-key", "mesh_unit", ""),
        ('mesh_unit = "m"', 'mesh_uint = "m"', "unknown-key", "mesh_uint", "mesh_unit"),
        ('axes = "+x rear', 'axes = "+x front', "not-allowed", "axes", ""),
        ("+z up", "+z upp", "not-allowed", "axes", "up"),
        ('mesh = "body.ply"', 'mesh = "../body.ply"', "path-outside", "mesh", ""),
        ('mesh = "body.ply"', 'mesh = "sub/../body.ply"', "path-outside", "mesh", ""),
        ('mesh = "body.ply"', 'mesh = "/etc/hosts"', "path-outside", "mesh", ""),
        ('mesh = "body.ply"', "mesh = 'C:\\body.ply'", "path-outside", "mesh", ""),
        ("[drilling]", "[driling]", "unknown-key", "driling", "drilling"),
        ("[[noise_source]]", "[noise_source]", "wrong-type", "noise_source", ""),
        ('kind = "panel"', 'kind = "pannel"', "not-allowed", "kind", "panel"),
        ('kind = "panel"', 'kind = "trim"', "not-allowed", "drill", ""),
        ("[1000, 800, 1500]]", "[1000, -800, 1500]]", "out-of-range", "box", ""),
        ("[1000, 800, 1500]]", "[-1000, 800, 1500]]", "out-of-range", "box", ""),
        ("seed = [1500, 0, 700]", "seed = [1500, 0, 1700]", "out-of-range", "seed", ""),
        ('open_to = ["outside"]', 'open_to = ["outsid"]', "unknown-name", "open_to", "outside"),
        ('open_to = ["outside"]', 'open_to = ["cab"]', "not-allowed", "open_to", ""),
        ('exposure = ["wet", "hot"]', 'exposure = ["wett"]', "not-allowed", "exposure", "wet"),
        ('name = "quarter window"', 'name = "quarter window"\nsnap = true', "not-allowed", "snap", ""),
        ('name = "quarter window"', 'nam = "quarter window"', "unknown-key", "nam", "name"),
        ("clearance = 150", "clearance = false", "wrong-type", "clearance", ""),
        ("clearance = 150", "clearance = inf", "out-of-range", "clearance", ""),
        ("clearance = 150", 'clearance = "150 yd"', "wrong-type", "clearance", ""),
        ('part = "bod*"', 'part = "bod*"\nbox = [[0,0,0],[1,1,1]]', "not-allowed", "part", ""),
        ('joins = ["engine bay", "cab"]', 'joins = ["cab", "cab"]', "duplicate-name", "joins", ""),
        ('joins = ["engine bay", "cab"]', 'joins = ["cab"]', "out-of-range", "joins", ""),
        ("in_use = 12", "in_use = 31", "out-of-range", "in_use", ""),
        ("axis = [2, 0, 0]", "axis = [2, 0]", "wrong-type", "axis", ""),
        ('classes = ["power", "coax"]', 'classes = ["coax"]', "not-allowed", "through", ""),
        ('space = "cab"', 'space = "Cab"', "unknown-name", "space", "cab"),
        ("offset = [60, 0, 0]", "offset = [60, 0, 0]\nat = [1, 2, 3]", "not-allowed", "offset", ""),
        ('name = "positive"', 'name = "positive"\n[[device.port]]\nname = "positive"', "duplicate-name", "name", ""),
        ("avoid = []", 'avoid = ["bulkhead grommet left"]', "not-allowed", "avoid", ""),
        ("avoid = []", 'avoid = ["bulkhead grommet"]', "unknown-name", "avoid", "bulkhead grommet left"),
        ('type = "wire-10awg-red"', 'type = "wire-10awg-rd"', "unknown-name", "type", "wire-10awg-red"),
        ('class = "power"', 'class = "coax"', "not-allowed", "class", ""),
        ('type = "wire-10awg-red"\nclass = "power"', "", "missing-key", "type", ""),
        ("peak_amps = 20", "peak_amps = 2", "out-of-range", "peak_amps", ""),
        ('power", length', 'pwr", length', "unknown-name", "to", "voice radio.power"),
        ('surplus = "coil"', 'surplus = "coils"', "not-allowed", "surplus", "coil"),
        ("min_bend_radius = 30", "min_bend_radius = 3", "out-of-range", "min_bend_radius", ""),
        ('type = "control-8"', 'type = "control-9"', "unknown-name", "type", "control-8"),
        ("reel = 15000", "reel = 15000\nlengths = [1]", "not-allowed", "reel", ""),
        ("at = [300, -400, 30]", "at = [300, -400, 3000000]", "out-of-range", "at", ""),
        ("at = [300, -400, 30]", "at = [300, -400]", "wrong-type", "at", ""),
        ("at = [300, -400, 30]", "", "missing-key", "at", ""),
        ('to = "dash corner"', 'to = "dash crner"', "unknown-name", "to", "dash corner"),
        ("fuse_load_percent = 135", 'fuse_load_percent = "a third"', "wrong-type", "fuse_load_percent", ""),
    ],
)  # fmt: skip
def test_one_slip_is_one_error(
    write_job: Write, *, old: str, new: str, code: str, key: str, nearest: str
) -> None:
    _, findings = load_job(write_job((old, new)))
    assert [(f.code, f.key, f.nearest) for f in errors(findings)] == [(code, key, nearest)]


def test_a_length_below_nothing_is_told_though_the_unit_is_not_known(write_job: Write) -> None:
    _, findings = load_job(
        write_job(('length_unit = "mm"\n', ""), ("diameter = 6.5\nmin_bend_radius = 30", "diameter = -7"))
    )
    told = {(f.code, f.key): f.allowed for f in errors(findings)}
    assert set(told) == {("missing-key", "length_unit"), ("out-of-range", "diameter")}
    assert told["out-of-range", "diameter"] == "a length above 0"


def test_lengths_may_carry_their_own_unit(write_job: Write) -> None:
    job, findings = load_job(
        write_job(
            ("stand_off = 10", 'stand_off = "1/2 in"'), ("[1000, -800, 700]", '["1 m", "-800 mm", 700]')
        )
    )
    assert job is not None
    assert errors(findings) == []
    assert job.routing.stand_off_m == 0.0127
    assert job.landmarks[0].position.at_m == (1.0, -0.8, 0.7)


def test_a_cable_without_type_is_the_thickest_of_its_class(write_job: Write) -> None:
    job, findings = load_job(write_job())
    assert job is not None
    cable = job.cables[1]
    coax = [t for t in cable_types().values() if t.cable_class is CableClass.COAX]
    assert cable.type_assumed
    assert cable.type.diameter_m == max(t.diameter_m for t in coax)
    assert cable.type.min_bend_radius_m == max(t.min_bend_radius_m for t in coax)
    assert [(f.code, f.severity, f.table) for f in findings] == [("type-assumed", "note", '[[cable]] "A1"')]


def test_the_jobs_own_type_wins_over_the_catalogue(write_job: Write) -> None:
    job, _ = load_job(
        write_job(('type = "wire-10awg-red"\nclass = "power"', 'type = "control-8"')),
    )
    assert job is not None
    # classes of the hole keep control cables out, so the cable itself is left out of the job
    assert [c.name for c in job.cables] == ["A1"]
    job, _ = load_job(
        write_job(
            ('type = "wire-10awg-red"\nclass = "power"', 'type = "control-8"'),
            ('classes = ["power", "coax"]', ""),
        )
    )
    assert job is not None
    assert job.cables[0].type.diameter_m == 0.0065
    assert job.cables[0].cable_class is CableClass.CONTROL


def test_an_entry_at_fault_is_left_out_and_the_rest_is_read(write_job: Write) -> None:
    job, findings = load_job(write_job(("diameter = 30", "diameter = -30")))
    assert job is not None
    assert len(errors(findings)) == 1  # and none for P1, which names the pass-through
    assert job.pass_throughs == ()
    assert [d.name for d in job.devices] == ["voice radio", "battery"]


def test_a_seed_in_an_earlier_space_is_a_warning(write_job: Write) -> None:
    _, findings = load_job(write_job(("seed = [-500, 0, 500]", "")))
    assert [(f.code, f.severity, f.table, f.key) for f in findings if f.code == "wrong-space"] == [
        ("wrong-space", "warning", '[[space]] "outside"', "seed")
    ]


def test_a_missing_job(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "nowhere", tmp_path / "job.toml"):
        job, findings = load_job(path)
        assert job is None
        assert [f.code for f in findings] == ["job-unreadable"]


def test_links_that_leave_the_folder_are_refused(write_job: Write, tmp_path: Path) -> None:
    folder = write_job()
    (tmp_path / "elsewhere.ply").write_bytes((folder / "body.ply").read_bytes())
    (folder / "body.ply").unlink()
    (folder / "body.ply").symlink_to(tmp_path / "elsewhere.ply")
    job, findings = load_job(folder)
    assert job is None
    assert [(f.code, f.key) for f in errors(findings)] == [("path-outside", "mesh")]
    (tmp_path / "linked").mkdir()
    (tmp_path / "linked" / "job.toml").symlink_to(folder / "job.toml")
    job, findings = load_job(tmp_path / "linked")
    assert job is None
    assert [f.code for f in findings] == ["path-outside"]
