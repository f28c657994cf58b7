"""What was built, read back from the plan it was laid again for.

Stage      planning; the counterpart of `documents.as_built_json`
Units      m, as in the file
Safe side  only what was laid with the lines that still stand counts; what was recorded since is said
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from routecut.documents.built import as_fitted
from routecut.documents.record_text import line_json
from routecut.model.as_built import AsBuilt, Relaid
from routecut.model.plan import Plan
from routecut.model.record import Record
from routecut.model.whatif import Moved
from routecut.planning.as_built import joined, lays_anew
from routecut.planning.stored import cable_from_json, plan_text
from routecut.planning.stored_service import bundles_from_json, service_from_json
from routecut.planning.stored_sizing import built_sizing_from_json
from routecut.records.deviations import rows
from routecut.tables import cable_types

_SINCE = (
    "the record has cables laid anew, and the plan in {folder} was made before that: what follows is of routes as they "
    "were planned, or as they were laid again then. Plan again for those as built: routecut plan {job}"
)


def with_record(plan: Plan, record: Record, job: Path, folder: Path) -> tuple[Plan, str]:
    """A kept plan as it was built: with its record, and with the routes that were laid again for it.

    Parameters
    ----------
    plan : Plan
        Read back from `folder`.
    record : Record
        As it stands now.
    job, folder : Path
        The job folder and the plan folder.

    Returns
    -------
    Plan, str
        A warning where routes were laid again for another record than this one; else nothing.
    """
    if not record.lines:
        return plan, ""
    kept = _kept(plan, record, folder)
    built, for_all = (AsBuilt(record=record), False) if kept is None else kept
    built = joined(plan, replace(built, rows=rows(plan, built)))
    since = not for_all and any(lays_anew(line.fact) for line in record.standing)
    told = _SINCE.format(folder=folder, job=job) if since else ""
    return as_fitted(replace(plan, as_built=built)), told


def _kept(plan: Plan, record: Record, folder: Path) -> tuple[AsBuilt, bool] | None:
    """What was laid again, and whether for all that stands; None where nothing was, or for what stands no more."""
    try:
        document: dict[str, Any] = json.loads(plan_text(folder))
        built = document["as_built"]
        now = {line.number: line for line in record.lines}
        stood = [(x, now.get(x["line"])) for x in built["lines"] if x["stands"]]
        # Of what was laid by then, nothing may be gone: a device that was swapped laid no cable anew.
        if built["fitted"] is None or any(
            line is None or (lays_anew(line.fact) and line_json(line) != x) for x, line in stood
        ):
            return None
        for_all = all(line_json(x) in built["lines"] for x in record.standing if lays_anew(x.fact))
        return _read(plan, record, document), for_all
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None  # an older plan has none of it: its routes are told as planned


def _read(plan: Plan, record: Record, document: dict[str, Any]) -> AsBuilt:
    built, fitted = document["as_built"], document["as_built"]["fitted"]
    cables = {c.cable.name: c.cable for c in plan.cables}
    types = {**cable_types(), **{kind.name: kind for kind in plan.job.cable_types}}
    why = {c["name"]: c["why"] for c in built["cables"]}
    relaid = {name: Relaid(why=text) for name, text in why.items()}
    named = {name: cable.type.name for name, cable in cables.items()}
    for found in fitted["cables"]:
        name = found["name"]
        laid = cable_from_json(found, cables[name], types)
        named[name] = laid.cable.type.name
        relaid[name] = Relaid(
            why=why[name],
            route=laid.route,
            cut=laid.cut,
            verified=laid.verified,
            cable=laid.cable,
            covered=laid.covered,
        )
    return AsBuilt(
        record=record,
        moved=tuple(
            Moved(name=m["name"], kind=m["kind"], from_m=tuple(m["from_m"]), to_m=tuple(m["to_m"]))
            for m in built["moved"]
        ),
        relaid=relaid,
        bundles=bundles_from_json(fitted["bundles"]),
        sizing=built_sizing_from_json(document, named),
        service=service_from_json(fitted["service"]),
        fills=dict(built["fills"]),
    )
