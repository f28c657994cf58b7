"""The same job in feet and inches and in millimetres gives the same plan.

Truth      every length of the job is a whole number of eighths of an inch, written once as a person
           writes it (``1 ft 3 3/4 in``) and once as what it is in millimetres, an inch being 25.4
Tolerance  a tenth of a micrometre: the two are told apart by the last bit of a float at most
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import numpy as np
import pytest

from routecut.model.plan import Plan
from routecut.planning import make_plan

WORLD = Path(__file__).parents[1] / "worlds" / "wall-hole"

# <n> is a length of n eighths of an inch
JOB = """
title = "wall with a hole"
length_unit = "UNIT"
[vehicle]
mesh = "body.ply"
mesh_unit = "m"
axes = "+x rear, +y right, +z up"
scan_error_percent = 0.5
point_error = <1>
[routing]
stand_off = <2>
bridge = 0
[lengths]
round_up_to = <16>
cut_loss = <2>
[[surface]]
part = "*"
kind = "panel"
[[space]]
name = "front"
box = [[<-320>, <-640>, <-640>], [0, <640>, <640>]]
exposure = ["wet"]
[[space]]
name = "rear"
box = [[0, <-640>, <-640>], [<320>, <640>, <640>]]
[[pass_through]]
name = "H1"
at = [0, 0, 0]
axis = [1, 0, 0]
diameter = <10>
joins = ["front", "rear"]
[[device]]
name = "a"
at = [<-2>, <94>, <126>]
space = "front"
[[device.port]]
name = "p"
service_loop = <100>
termination = "ring M6"
length_used_by_termination = <3>
[[device]]
name = "b"
at = [<2>, <-157>, <-377>]
space = "rear"
[[device.port]]
name = "p"
[[cable_type]]
name = "thread"
class = "control"
diameter = <1>
min_bend_radius = <2>
[[cable]]
name = "C1"
from = "a.p"
to = "b.p"
type = "thread"
[[cable]]
name = "C2"
from = "a.p"
to = "b.p"
type = "data-lead"
ready_made = true
[[stock]]
type = "thread"
reel = <1200>
price = 9.0
[[stock]]
type = "data-lead"
lengths = [<480>, <960>]
"""


def spoken(eighths: int) -> str:
    """As a person writes it: feet, inches and a fraction."""
    sign = "-" if eighths < 0 else ""
    feet, rest = divmod(abs(eighths), 96)
    inches, part = divmod(rest, 8)
    words = [f"{feet} ft"] if feet else []
    if inches or part or not feet:
        fraction = f"{part}/8" if part else ""
        words.append(f"{f'{inches} {fraction}'.strip() if inches or not part else fraction} in")
    return f'"{sign}{" ".join(words)}"'


def millimetres(eighths: int) -> str:
    return repr(round(eighths * 3.175, 3))


def plan_in(folder: Path, unit: str) -> Plan:
    write = spoken if unit == "ft" else millimetres
    folder.mkdir()
    shutil.copy(WORLD / "body.ply", folder)
    text = re.sub(r"<(-?\d+)>", lambda m: write(int(m[1])), JOB).replace("UNIT", unit)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return make_plan(folder)[0]


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Plan]:
    top = tmp_path_factory.mktemp("units")
    return plan_in(top / "feet", "ft"), plan_in(top / "millimetres", "mm")


def test_the_lengths_are_spoken() -> None:
    assert [spoken(n) for n in (94, 126, -157, 3, 96, 100)] == [
        '"11 6/8 in"', '"1 ft 3 6/8 in"', '"-1 ft 7 5/8 in"', '"3/8 in"', '"1 ft"', '"1 ft 4/8 in"',
    ]  # fmt: skip


def test_the_same_routes_and_cuts(plans: tuple[Plan, Plan]) -> None:
    feet, metric = plans
    assert [c.cable.name for c in feet.cables] == [c.cable.name for c in metric.cables] == ["C1", "C2"]
    for ours, theirs in zip(feet.cables, metric.cables, strict=True):
        assert ours.route is not None
        assert theirs.route is not None
        assert ours.cut is not None
        assert theirs.cut is not None
        assert ours.route.points_m.shape == theirs.route.points_m.shape
        assert np.abs(ours.route.points_m - theirs.route.points_m).max() < 1e-7
        assert [line.what for line in ours.cut.lines] == [line.what for line in theirs.cut.lines]
        assert [line.length_m for line in ours.cut.lines] == pytest.approx(
            [line.length_m for line in theirs.cut.lines], abs=1e-7
        )
        assert ours.cut.length_m == pytest.approx(theirs.cut.length_m, abs=1e-7)
        assert ours.cut.length_m / 0.0508 == pytest.approx(round(ours.cut.length_m / 0.0508), abs=1e-6)
    assert feet.cables[1].lead is not None
    assert metric.cables[1].lead is not None
    assert feet.cables[1].lead.lengths_m == pytest.approx(metric.cables[1].lead.lengths_m, abs=1e-9)


def test_the_same_order_and_findings(plans: tuple[Plan, Plan]) -> None:
    feet, metric = plans
    assert [(o.group, o.unit, o.for_cables) for o in feet.order] == [
        (o.group, o.unit, o.for_cables) for o in metric.order
    ]
    assert [o.quantity for o in feet.order] == pytest.approx([o.quantity for o in metric.order], abs=1e-7)
    assert [o.price for o in feet.order] == [o.price for o in metric.order]
    assert [f.code for f in feet.findings] == [f.code for f in metric.findings]


def test_each_speaks_its_own_unit_to_a_tapes_accuracy(plans: tuple[Plan, Plan]) -> None:
    """No figure finer than an eighth of an inch or a millimetre."""
    feet, metric = plans
    for plan, unit in ((feet, r"\bin\b|\bft\b"), (metric, r"\bmm\b")):
        whys = [line.why for c in plan.cables if c.cut is not None for line in c.cut.lines]
        whys += [o.why for o in plan.order if o.group == "cable"]
        assert sum(bool(re.search(unit, why)) for why in whys) >= 8
    feet_text = " ".join(line.why for c in feet.cables if c.cut is not None for line in c.cut.lines)
    assert not re.search(r"\d\.\d+ (in|ft)\b", feet_text)
    assert not re.search(r"/(16|32|64) in", feet_text)
