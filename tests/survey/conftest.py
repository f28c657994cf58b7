"""A small vehicle for the survey's tests: a closed shell with a bulkhead, and a job that uses every key."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import trimesh

from routecut.model.finding import Finding, Severity

FULL_JOB = """
title = "Station van"
length_unit = "mm"

[vehicle]
mesh = "body.ply"
mesh_unit = "m"
axes = "+x rear, +y right, +z up"
scan_error_percent = 0.5
point_error = 5
[[vehicle.tape_check]]
from = "left striker"
to = "dash corner"
distance = 1000

[[surface]]
part = "*"
kind = "panel"
material = "steel"
thickness = 0.8
drill = true
removal_minutes = 0

[[space]]
name = "engine bay"
box = [[0, -800, 0], [1000, 800, 1500]]
exposure = ["wet", "hot"]
access = "open"
[[space]]
name = "cab"
boxes = [[[1000, -800, 0], [2000, 800, 1500]], [[2000, -800, 0], [4000, 800, 1500]]]
seed = [1500, 0, 700]
exposure = ["dry"]
access = "trim"
open_to = ["outside"]
[[space]]
name = "outside"
box = [[-1000, -2000, -1000], [5000, 2000, 3000]]
seed = [-500, 0, 500]

[[keep_out]]
name = "exhaust"
capsule = { from = [800, 300, -100], to = [4200, 300, -100], radius = 40 }
clearance = 150
reason = "hot"
sweep = [0, 0, 10]
applies_to = ["*"]
[[keep_out]]
name = "pedals"
sphere = { at = [1100, -300, 200], radius = 100 }
reason = "moving"
[[keep_out]]
name = "tank"
box = [[3000, -300, -200], [3500, 300, -50]]
reason = "fuel"
[[keep_out]]
name = "column"
part = "bod*"
clearance = 0

[[noise_source]]
name = "injector loom"
line = [[300, -400, 600], [700, -400, 650], [800, -400, 650]]
separation = 100
applies_to = ["coax", "audio"]

[[hinge]]
name = "rear door"
line = [[3990, -700, 400], [3990, -700, 1400]]

[[opening]]
name = "quarter window"
at = [1500, -800, 1000]

[[landmark]]
name = "left striker"
at = [1000, -800, 700]
[[landmark]]
name = "dash corner"
at = [2000, -800, 700]
[[landmark]]
name = "seat bolt"
at = [1500, 0, 0]

[[pass_through]]
name = "bulkhead grommet left"
at = [1004, -550, 520]
axis = [2, 0, 0]
diameter = 30
depth = 0
state = "existing"
joins = ["engine bay", "cab"]
classes = ["power", "coax"]
in_use = 12

[[device]]
name = "voice radio"
kind = "transceiver"
at = [3900, 500, 20]
space = "cab"
serviceable = true
[[device.port]]
name = "power"
offset = [60, 0, 0]
leaves = [0, 3, 4]
service_loop = 300
termination = "ring M6"
length_used_by_termination = 10
connector_diameter = 12
made_up = "bench"
[[device.port]]
name = "aerial"
at = [3900, 560, 20]

[[device]]
name = "battery"
at = [300, -400, 30]
space = "engine bay"
[[device.port]]
name = "positive"

[[cable]]
name = "P1"
from = "battery.positive"
to = "voice radio.power"
type = "wire-10awg-red"
class = "power"
load = { amps = 12, peak_amps = 20, max_drop_percent = 3 }
through = ["bulkhead grommet left"]
avoid = []
ready_made = true
measured = [{ from = "bulkhead grommet left", to = "voice radio.power", length = 2480 }]
surplus = "coil"
[[cable]]
name = "A1"
from = "battery.positive"
to = "voice radio.aerial"
class = "coax"
signal = { mhz = 155, max_loss_db = 1.5 }

[[cable_type]]
name = "control-8"
class = "control"
diameter = 6.5
min_bend_radius = 30
max_length = 6000

[[stock]]
type = "control-8"
lengths = [5000, 3000]
[[stock]]
type = "wire-10awg-red"
reel = 15000
price = 21.0
quantity = 2

[routing]
stand_off = 10
bridge = 400
node_spacing = 50

[rules]
profile = "common practice"
fuse_load_percent = 135

[lengths]
lay_percent = 4
confidence = 0.9
round_up_to = 20
drip_loop = 80
hinge_loop = 160

[drilling]
hole_cost = 1500
edge_distance = 2.5
behind = 50
"""


def shell(holes: bool = False) -> trimesh.Trimesh:
    """A 4 x 1.6 x 1.5 m box with a bulkhead at x = 1, in m; `holes`: open at the grommet."""
    box = trimesh.creation.box(bounds=[[0, -0.8, 0], [4, 0.8, 1.5]])
    # four rectangles round the grommet's 30 x 30 mm opening, and a fifth that closes it
    y0, y1, z0, z1 = -0.565, -0.535, 0.505, 0.535
    areas = [(-0.8, y0, 0, 1.5), (y1, 0.8, 0, 1.5), (y0, y1, 0, z0), (y0, y1, z1, 1.5)]
    points: list[list[float]] = []
    faces: list[list[int]] = []
    for a, b, c, d in areas if holes else [*areas, (y0, y1, z0, z1)]:
        k = len(points)
        points += [[1.0, a, c], [1.0, b, c], [1.0, b, d], [1.0, a, d]]
        faces += [[k, k + 1, k + 2], [k, k + 2, k + 3]]
    wall = trimesh.Trimesh(points, faces, process=False)
    return trimesh.util.concatenate([box, wall])


@pytest.fixture
def write_job(tmp_path: Path) -> Callable[..., Path]:
    """Writes a job folder: FULL_JOB with texts replaced, and its mesh."""

    def write(*replacements: tuple[str, str], text: str = FULL_JOB, holes: bool = False) -> Path:
        for old, new in replacements:
            assert text.count(old) >= 1, f"{old!r} is not in the job"
            text = text.replace(old, new, 1)
        folder = tmp_path / "job"
        folder.mkdir(exist_ok=True)
        (folder / "job.toml").write_text(text, encoding="utf-8")
        shell(holes).export(folder / "body.ply")
        return folder

    return write


def errors(findings: tuple[Finding, ...]) -> list[Finding]:
    return [f for f in findings if f.severity is Severity.ERROR]
