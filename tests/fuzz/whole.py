"""Whole jobs made up by hypothesis: good ones, spoilt ones, and what becomes of them from check to job pack.

A small room with a wall; every kind of table may be in its job, with values that fit and now and then one that
does not. The bytes that a fuzzer makes up decide, by way of hypothesis, so that what is kept is a file.
"""

from __future__ import annotations

import json
import math
import tempfile
from pathlib import Path
from typing import Any, Final

import numpy as np
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from routecut.errors import JobError
from routecut.model.finding import Severity
from routecut.model.plan import Plan
from routecut.planning import make_plan
from tests.properties.rooms import End, Hole, World
from tests.properties.written import toml

SIZE: Final = (0.45, 0.3, 0.25)
WALL: Final = 0.22
ROOM: Final = World(
    size=SIZE,
    start=End(at=(0.06, 0.06, 0.01)),
    end=End(at=(0.39, 0.22, 0.01)),
    wall=WALL,
    holes=(Hole(y=0.15, z=0.12, diameter=0.03),),
)

CLASSES: Final = ("control", "coax", "power", "audio", "data", "bond")
NAMES: Final = ("a", "b", "H0", "left striker", "Ü 7", "=cmd()", "</script>", "x" * 120)
_SPOILT: Final[tuple[Any, ...]] = (
    *(
        -1,
        0,
        1e-9,
        1e9,
        1e308,
        math.inf,
        math.nan,
        2**64,
        "",
        "x",
        "../../x",
        "1 yd",
        "3 ft 2 in",
        True,
        [],
        {},
    ),
    *([0, 0, 0], [[0, 0, 0], [1, 1, 1]], ["*"], "a.p", "front", "\u202e", "\x1b[31m", {"tape": {"a": 1}}),
)

Table = dict[str, Any]


@st.composite
def points(draw: st.DrawFn) -> list[float]:
    """A place in the room, on one of its walls or anywhere."""
    at = [draw(st.integers(20, 980)) / 1000 * s for s in SIZE]
    axis = draw(st.integers(0, 3))
    if axis < 3:
        at[axis] = 0.012 if draw(st.booleans()) else SIZE[axis] - 0.012
    return [round(v, 4) for v in at]


def _mm(low: int, high: int) -> st.SearchStrategy[float]:
    return st.integers(low, high).map(lambda v: v / 1000)


def _some(keys: dict[str, st.SearchStrategy[Any]]) -> st.SearchStrategy[Table]:
    return st.fixed_dictionaries({}, optional=keys)


_DIRECTIONS: Final = st.sampled_from(([1, 0, 0], [0, -1, 0], [0, 0, 1], [1, 1, 0]))
_WHICH: Final = st.lists(st.sampled_from(("*", *CLASSES)), min_size=1, max_size=2, unique=True)


@st.composite
def devices(draw: st.DrawFn, number: int) -> Table:
    at = draw(points())
    ports = [
        {"name": f"p{k}", "at": draw(points())}
        | draw(
            _some(
                {
                    "leaves": _DIRECTIONS,
                    "service_loop": _mm(0, 400),
                    "connector_diameter": _mm(1, 40),
                    "made_up": st.sampled_from(("bench", "in vehicle")),
                    "termination": st.sampled_from(("ring M6", "plug")),
                    "length_used_by_termination": _mm(0, 30),
                }
            )
        )
        for k in range(draw(st.integers(1, 2)))
    ]
    space = "front" if at[0] < WALL else "rear"
    return {"name": f"d{number}", "at": at, "space": space, "port": ports}


@st.composite
def cables(draw: st.DrawFn, number: int, ports: list[str]) -> Table:
    cls = draw(st.sampled_from(CLASSES))
    start, end = draw(st.lists(st.sampled_from(ports), min_size=2, max_size=2, unique=True))
    table: Table = {"name": f"X{number}", "from": start, "to": end}
    table |= {"type": "t"} if draw(st.booleans()) else {"class": cls}
    table |= draw(st.sampled_from(({}, {}, {"through": ["H0"]}, {"avoid": ["H0"]})))
    return table | draw(
        _some(
            {
                "ready_made": st.booleans(),
                "load": st.fixed_dictionaries({"amps": st.integers(1, 60)}),
                "signal": st.fixed_dictionaries({"mhz": st.sampled_from((27, 155, 440))}),
                "surplus": st.sampled_from(("trim", "coil", "fold")),
            }
        )
    )


@st.composite
def jobs(draw: st.DrawFn) -> Table:
    """A whole job as a table."""
    import tomllib

    job: Table = tomllib.loads(ROOM.toml())
    job["routing"]["node_spacing"] = 0.1
    for number in range(draw(st.integers(0, 2))):
        job["device"].append(draw(devices(number)))
    ports = [f"{d['name']}.{p['name']}" for d in job["device"] for p in d["port"]]
    job["cable"] += [draw(cables(k, ports)) for k in range(draw(st.integers(0, 3)))]
    shapes = st.one_of(
        st.fixed_dictionaries({"sphere": st.fixed_dictionaries({"at": points(), "radius": _mm(5, 80)})}),
        st.builds(
            lambda at, size: {"box": [at, [round(a + s, 4) for a, s in zip(at, size, strict=True)]]},
            points(),
            st.tuples(*[_mm(5, 200)] * 3),
        ),
        st.fixed_dictionaries(
            {"capsule": st.fixed_dictionaries({"from": points(), "to": points(), "radius": _mm(5, 40)})}
        ),
        st.just({"part": "wall"}),
    )
    reasons = st.sampled_from(("hot", "moving", "fuel", "airbag", "high-voltage", "sharp", "other"))
    extras: dict[str, st.SearchStrategy[Table]] = {
        "keep_out": st.builds(
            lambda shape, more: shape | more,
            shapes,
            _some({"clearance": _mm(0, 60), "reason": reasons, "sweep": points(), "applies_to": _WHICH}),
        ),
        "noise_source": st.builds(
            lambda line, more: {"line": line} | more,
            st.lists(points(), min_size=2, max_size=3),
            _some({"separation": _mm(0, 150), "applies_to": _WHICH}),
        ),
        "hinge": st.fixed_dictionaries({"line": st.lists(points(), min_size=2, max_size=2)}),
        "landmark": st.fixed_dictionaries({"at": points()}),
        "pass_through": st.builds(
            lambda y, z, more: {"at": [WALL, y, z], "axis": [1, 0, 0], "joins": ["front", "rear"]} | more,
            _mm(40, 260),
            _mm(40, 210),
            st.fixed_dictionaries(
                {"diameter": _mm(5, 60)},
                optional={
                    "state": st.sampled_from(("existing", "candidate")),
                    "in_use": _mm(0, 5),
                    "depth": _mm(0, 40),
                    "classes": _WHICH,
                },
            ),
        ),
    }
    for key, strategy in extras.items():
        tables = draw(st.lists(strategy, max_size=2))
        job.setdefault(key, [])
        job[key] += [
            {"name": f"{draw(st.sampled_from(NAMES[3:]))} {key} {k}"[-110:], **table}
            for k, table in enumerate(tables)
        ]
        if not job[key]:
            del job[key]
    if draw(st.booleans()):
        job["stock"] = [{"type": "t", "lengths": draw(st.lists(_mm(100, 3000), min_size=1, max_size=3))}]
    if draw(st.booleans()):
        job["vehicle"] |= draw(_some({"scan_error_percent": _mm(0, 3000), "point_error": _mm(0, 20)}))
        job["lengths"] = draw(_some({"lay_percent": st.integers(0, 9), "round_up_to": _mm(1, 100)}))
    return job


@st.composite
def spoilt(draw: st.DrawFn, job: Table) -> Table:
    """The job with some of its values taken out, doubled, renamed or replaced."""
    for _ in range(draw(st.sampled_from((0, 0, 0, 1, 1, 2, 5)))):
        holder: Any = job
        while True:
            keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
            if not keys:
                break
            key = draw(st.sampled_from(keys))
            if isinstance(holder[key], dict | list) and draw(st.integers(0, 3)):
                holder = holder[key]
                continue
            match draw(st.integers(0, 4)):
                case 0:
                    del holder[key]
                case 1 if isinstance(holder, list):
                    holder.append(holder[key])
                case 2 if isinstance(holder, dict):
                    holder[f"{key}x"] = holder.pop(key)
                case _:
                    holder[key] = draw(st.sampled_from(_SPOILT))
            break
    return job


whole_jobs = jobs().flatmap(spoilt)


class WrongError(AssertionError):
    """Something came out that never may."""


def told(job: Table, folder: Path) -> str:
    """What becomes of a job, from check to job pack; how it ended."""
    ROOM.write(folder)
    try:
        text = toml(job)
    except (TypeError, AttributeError, IndexError):  # not every mixture can be written as TOML
        return "no job"
    (folder / "job.toml").write_text(text, encoding="utf-8")
    try:
        planned, body = make_plan(folder)
    except JobError as error:
        if not any(f.severity is Severity.ERROR for f in error.findings):
            raise WrongError("refused without a word") from error
        return "refused"
    _judge(planned)
    from routecut.cli.plan import gather

    files = gather(planned, body, {})
    if not all(files.values()):
        raise WrongError("an empty file")
    left = {path.name for path in folder.iterdir()} - {"job.toml", "body.obj"}
    if left:
        raise WrongError(f"wrote {sorted(left)}")
    return "planned" if all(c.route is not None for c in planned.cables) else "planned in part"


def _judge(plan: Plan) -> None:
    from routecut.documents import plan_json

    json.loads(plan_json(plan), parse_constant=_no_constant)
    said = {f.where for f in plan.findings} | {f.message for f in plan.findings}
    for planned in plan.cables:
        route, cut = planned.route, planned.cut
        if route is None:
            if not any(planned.cable.name in text for text in said):
                raise WrongError("no route, and no reason")
            continue
        points_m = np.asarray(route.points_m)
        run = float(np.linalg.norm(np.diff(points_m, axis=0), axis=1).sum())
        if not math.isfinite(route.length_m) or abs(run - route.length_m) > 1e-6 * max(1.0, run):
            raise WrongError(f"{route.length_m} m along points of {run} m")
        if cut is not None and cut.length_m < route.length_m - 1e-9:
            raise WrongError("a cut shorter than its route")
        if planned.verified is None:
            raise WrongError("a route that nobody judged")


def _no_constant(text: str) -> None:
    raise WrongError(f"{text} in plan.json")


_ended: list[str] = []


@settings(
    max_examples=1,
    database=None,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
@given(job=whole_jobs)
def _one(job: Table) -> None:
    with tempfile.TemporaryDirectory() as place:
        _ended.append(told(job, Path(place)))


def whole(raw: bytes) -> str:
    """The job that the bytes stand for, planned whole; how it ended, or "nothing" where they stand for none."""
    _ended.clear()
    _one.hypothesis.fuzz_one_input(raw)  # type: ignore[attr-defined]
    return _ended[-1] if _ended else "nothing"
