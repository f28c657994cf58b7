"""A plan read back from the folder it was written into, as far as a view shows it.

Stage      planning; the counterpart of `documents.plan_json`
Units      m, as in the file
Safe side  a plan counts only if it was made by this version, of this very job and mesh, and
           what is read of it comes out of the writer again to the last digit; anything else
           is planned anew
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from routecut import __version__
from routecut.documents import plan_json
from routecut.documents.plan_json import FORMAT
from routecut.documents.reading import job_digest
from routecut.documents.record_text import line_json
from routecut.model.as_built import Difference
from routecut.model.finding import Finding, Severity
from routecut.model.job import Cable, CableType, HoleState, Job, vec3
from routecut.model.plan import (
    Covered,
    CutLength,
    HingeCrossing,
    Lead,
    LeadJoint,
    LeadOption,
    LengthError,
    OrderLine,
    Passage,
    Plan,
    PlannedCable,
    PlannedHole,
    Remedy,
    Route,
    Stretch,
    SumLine,
    Verification,
)
from routecut.model.record import Record
from routecut.planning.stored_service import bundles_from_json, service_from_json
from routecut.planning.stored_sizing import sizing_from_json
from routecut.survey import Survey
from routecut.tables import cable_types

PLAN_FILE: Final = "plan.json"
NOT_READ: Final = ("drilling", "company", "other_ways", "as_built")
"""Drill cards, other ways and what was built stay in the file: no picture shows them, no question is about them."""

LARGEST_BYTES: Final = 200_000_000
"""A larger file is not one of ours."""


def stored_plan(folder: Path, surveyed: Survey) -> Plan | None:
    """The plan in a plan folder, if it is that of a surveyed job.

    Parameters
    ----------
    folder : Path
        The plan folder; it need not exist.
    surveyed : Survey

    Returns
    -------
    Plan or None
        None when there is none, or it is of another job, mesh or version, or it can't be
        read back whole.
    """
    try:
        text = plan_text(folder)
        document = json.loads(text)
        made_of = document["format"], document["routecut"], document["inputs"]
        inputs = {"job_sha256": job_digest(surveyed.job), "mesh_sha256": surveyed.body.digest}
        if made_of != (FORMAT, __version__, inputs):
            return None
        plan = plan_from_json(text, surveyed.job)
        if {c.cable.name for c in plan.cables} != {cable.name for cable in surveyed.job.cables}:
            return None
        return plan if what_is_read(plan_json(plan)) == what_is_read(text) else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None  # whatever is wrong with it, planning again mends it


def plan_text(folder: Path) -> str:
    """The text of the plan in a plan folder.

    Raises
    ------
    OSError
        It is not there or can't be read.
    ValueError
        It is too large to be ours, or no text.
    """
    file = folder / PLAN_FILE
    if not file.is_file():
        raise FileNotFoundError(file)
    if file.stat().st_size > LARGEST_BYTES:
        raise ValueError(f"{file} is larger than {LARGEST_BYTES // 1_000_000} MB")
    return file.read_bytes().decode("utf-8")


def planned_types(folder: Path) -> dict[str, str]:
    """The type of each cable as the plan in a plan folder has it; empty where there is none that can be read."""
    try:
        cables = json.loads(plan_text(folder))["cables"]
        return {str(cable["name"]): str(cable["type"]) for cable in cables}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return {}


def planned_lengths(folder: Path) -> dict[str, tuple[float | None, float | None]]:
    """Run and cut of each cable as the plan in a plan folder has them [m]; empty where there is none to be read."""

    def length(found: Any) -> float | None:
        return None if found is None else float(found["length_m"])

    try:
        cables = json.loads(plan_text(folder))["cables"]
        return {str(c["name"]): (length(c["route"]), length(c["cut"])) for c in cables}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return {}


def stored_rows(folder: Path, record: Record) -> tuple[Difference, ...] | None:
    """Planned beside as built, from the plan in a plan folder that was made with this very record.

    Parameters
    ----------
    folder : Path
    record : Record

    Returns
    -------
    tuple of Difference or None
        None where the plan was made with another record, or can't be read.
    """
    try:
        built = json.loads(plan_text(folder))["as_built"]
        if not record.digest or built["record_sha256"] != record.digest:
            return None
        if built["lines"] != [line_json(line) for line in record.lines]:
            return None  # a line before the last is another: it was changed, or can't be used any more
        return tuple(_row(row) for row in built["differences"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def _row(found: dict[str, Any]) -> Difference:
    before, after = (tuple(v) if isinstance(v, list) else v for v in (found["before"], found["after"]))
    return Difference(
        about=found["about"],
        what=found["what"],
        before=before,
        after=after,
        unit=found["unit"],
        marked=found["marked"],
        why=found["why"],
    )


def what_is_read(text: str) -> Any:
    """A `plan.json` without `NOT_READ`, to be compared."""
    return {key: value for key, value in json.loads(text).items() if key not in NOT_READ}


def plan_from_json(text: str, job: Job) -> Plan:
    """The plan of a job from its `plan.json`.

    Parameters
    ----------
    text : str
        As `documents.plan_json` wrote it.
    job : Job
        The job it was made of, surveyed.

    Returns
    -------
    Plan
        With figures as the file rounds them (0.1 mm, points 0.001 mm). Findings of the
        verification stand with all others in `Plan.findings`.

    Raises
    ------
    ValueError, KeyError, TypeError, AttributeError
        The text is no plan of this job.
    """
    document = json.loads(text)
    cables = {cable.name: cable for cable in job.cables}
    types = {**cable_types(), **{kind.name: kind for kind in job.cable_types}}
    through = {hole.name: hole for hole in job.pass_throughs}
    return Plan(
        version=document["routecut"],
        job=job,
        cables=tuple(cable_from_json(found, cables[found["name"]], types) for found in document["cables"]),
        holes=tuple(
            PlannedHole(
                pass_through=through[found["name"]],
                state=HoleState(found["state"]),
                drill=found["drill"],
                at_m=vec3(found["at_m"]),
                axis=vec3(found["axis"]),
                cables=tuple(found["cables"]),
                behind_m=found["behind_m"],
                refused=found["refused"],
                why=found["why"],
                filled=found["filled"],
                fill_most=found["fill_most"],
            )
            for found in document["holes"]
        ),
        order=tuple(
            OrderLine(
                **{k: v for k, v in found.items() if k not in {"for", "cutting"}},
                for_cables=tuple(found["for"]),
                cutting=tuple(found["cutting"]),
            )
            for found in document["order"]
        ),
        findings=tuple(
            Finding(**(found | {"severity": Severity(found["severity"])})) for found in document["findings"]
        ),
        body_digest=document["inputs"]["mesh_sha256"] or "",
        sizing=sizing_from_json(document),
        bundles=bundles_from_json(document["bundles"]),
        service=service_from_json(document["service"]),
    )


def cable_from_json(found: dict[str, Any], cable: Cable, types: Mapping[str, CableType]) -> PlannedCable:
    """One cable of a plan; `types` are those of the catalogue and of the job."""
    return PlannedCable(
        cable=_typed(cable, found["type"], types),
        route=_route(found["route"]),
        cut=_cut(found["cut"]),
        lead=_lead(found.get("lead")),
        verified=_verified(found["verified"]),
        covered=tuple(
            Covered(trim=c["trim"], from_m=c["from_route_m"], to_m=c["to_route_m"], minutes=c["minutes"])
            for c in found["behind_trim"]
        ),
    )


def _typed(cable: Cable, name: str, types: Mapping[str, CableType]) -> Cable:
    """The cable with the type that was picked for it, where the job left it open."""
    return cable if cable.type.name == name else replace(cable, type=types[name])


def _route(found: dict[str, Any] | None) -> Route | None:
    if found is None:
        return None
    return Route(
        points_m=np.array(found["points_m"], dtype=np.float64).reshape(-1, 3),
        length_m=found["length_m"],
        spaces=tuple(found["spaces"]),
        bend_radius_m=found["bend_radius_m"],
        passages=tuple(
            Passage(
                name=passage["name"],
                at_route_m=passage["at_route_m"],
                from_space=passage["from_space"],
                to_space=passage["to_space"],
            )
            for passage in found["passages"]
        ),
        hinges=tuple(
            HingeCrossing(name=hinge["name"], at_route_m=hinge["at_route_m"]) for hinge in found["hinges"]
        ),
        measured=tuple(
            Stretch(
                from_name=stretch["from"],
                to_name=stretch["to"],
                computed_m=stretch["computed_m"],
                measured_m=stretch["measured_m"],
            )
            for stretch in found["stretches"]
        ),
        parts=tuple((part["part"], part["from_route_m"], part["to_route_m"]) for part in found["parts"]),
    )


def _cut(found: dict[str, Any] | None) -> CutLength | None:
    if found is None:
        return None
    measure = found["measure"]
    return CutLength(
        length_m=found["length_m"],
        probability=found["probability"],
        holds=found["holds"],
        lines=tuple(SumLine(**line) for line in found["sum"]),
        errors=tuple(LengthError(**error) for error in found["errors"]),
        measure=None
        if measure is None
        else Remedy(from_name=measure["from"], to_name=measure["to"], saves_m=measure["saves_m"]),
    )


def _lead(found: dict[str, Any] | None) -> Lead | None:
    if found is None:
        return None
    return Lead(
        lengths_m=tuple(found["lengths_m"]),
        surplus_m=found["surplus_m"] or 0.0,
        joints=_joints(found["joints"]),
        price=found["price"],
        why=found["why"],
        parked=found["parked"],
        others=tuple(
            LeadOption(
                lengths_m=tuple(option["lengths_m"]),
                surplus_m=option["surplus_m"],
                joints=_joints(option["joints"]),
                price=option["price"],
                why_not=option["why_not"],
            )
            for option in found["others"]
        ),
    )


def _joints(found: list[dict[str, Any]]) -> tuple[LeadJoint, ...]:
    return tuple(LeadJoint(**joint) for joint in found)


def _verified(found: dict[str, Any] | None) -> Verification | None:
    if found is None:
        return None
    return Verification(
        ok=found["ok"],
        crossings=found["crossings"],
        least_clearance_m={name: _far(value) for name, value in found["least_clearance_m"].items()},
        least_clearance_at_m=dict(found.get("least_clearance_at_route_m", {})),
        least_sheet_m=_far(found["least_sheet_m"]),
        longest_span_m=_far(found["longest_span_m"]),
        least_bend_radius_m=_far(found["least_bend_radius_m"]),
        length_m=found["length_m"],
        free_spans_m=tuple((span["from_route_m"], span["to_route_m"]) for span in found["free_spans"]),
    )


def _far(value: float | None) -> float:
    """What is written as null has no end: a straight curve's bend radius."""
    return math.inf if value is None else value
