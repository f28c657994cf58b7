"""Tape distances taken on the real vehicle against the landmarks of the mesh.

Stage      survey; the scale is found before anything is measured from the landmarks
Units      m; scale as a plain factor
Safe side  a check that can't be explained by the stated errors is a warning, rescaled or not
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from routecut.model.body import Body
from routecut.model.finding import Severity
from routecut.model.job import Position, TapeCheck, Vehicle
from routecut.model.vehicle import WHOLE
from routecut.survey.faults import Collector
from routecut.units import format_length

WIDEST_SCALE: Final = 1.25
"""A mesh further off than this is in the wrong unit, not badly scaled."""

_MANY_SIGMA = 3.0


def scale_from(
    checks: Sequence[TapeCheck], landmarks: Mapping[str, Position | None], collector: Collector
) -> float:
    """The factor that best fits the mesh to the tape; 1 when it can't be had.

    Only checks between two landmarks given by coordinates say anything of the mesh.
    """
    pairs = []
    for check in checks:
        ends = (landmarks.get(check.from_landmark), landmarks.get(check.to_landmark))
        if all(end is not None and not end.taped for end in ends):
            assert ends[0] is not None  # noqa: S101 - for the type checker
            assert ends[1] is not None  # noqa: S101
            pairs.append((math.dist(ends[0].at_m, ends[1].at_m), check.distance_m))
    if not pairs or not any(between for between, _ in pairs):
        return 1.0
    between, taped = np.array(pairs).T
    scale = float(between @ taped / (between @ between))
    if not 1 / WIDEST_SCALE <= scale <= WIDEST_SCALE:
        collector.add(
            "tape-check",
            f"The tape checks would scale the mesh by {scale:.3g}; its unit or a distance is wrong.",
            table="[vehicle]",
            key="tape_check",
            found=f"{scale:.3g}",
            allowed=f"{1 / WIDEST_SCALE:g} to {WIDEST_SCALE:g}",
        )
        return 1.0
    return scale


def report_tape_checks(
    vehicle: Vehicle, landmarks: Mapping[str, Position], body: Body, unit: str, collector: Collector
) -> None:
    """Say which tape checks the landmarks, or the size of the mesh, do not keep to, and what rescaling did."""
    if vehicle.mesh_scale != 1.0:
        collector.add(
            "tape-check",
            f"The mesh, and every point given by coordinates, was scaled by {vehicle.mesh_scale:.5f} to fit "
            f"{len(vehicle.tape_checks)} tape checks.",
            severity=Severity.NOTE,
            table="[vehicle]",
            key="rescale",
            found=f"{vehicle.mesh_scale:.5f}",
        )
    # once fitted, the scale no longer excuses a difference
    scale_error = 0.0 if vehicle.rescale else vehicle.scan_error
    for check in vehicle.tape_checks:
        if check.of:
            corners = np.concatenate([body.vertices_m, body.pictured.reshape(-1, 3)])
            computed = float(np.ptp(corners[:, WHOLE[check.of]])) if len(corners) else 0.0
        elif check.from_landmark in landmarks and check.to_landmark in landmarks:
            computed = math.dist(landmarks[check.from_landmark].at_m, landmarks[check.to_landmark].at_m)
        else:
            continue
        sigma = math.hypot(scale_error * computed, math.sqrt(2) * vehicle.point_error_m)
        off = computed - check.distance_m
        if abs(off) <= _MANY_SIGMA * sigma:
            continue
        allowed = format_length(_MANY_SIGMA * sigma, unit)
        collector.add(
            "tape-check",
            f"{check.words[0].upper()}{check.words[1:]}: the tape says "
            f"{format_length(check.distance_m, unit)}, the mesh {format_length(computed, unit)}: "
            f"{format_length(abs(off), unit)} {'more' if off > 0 else 'less'}, where the stated errors "
            f"explain {allowed}. Measure again"
            + ("." if vehicle.rescale or check.of else ", or set rescale = true."),
            severity=Severity.WARNING,
            table="[[vehicle.tape_check]]",
            key="distance",
            found=format_length(check.distance_m, unit),
            allowed=f"{format_length(computed, unit)} within {allowed}",
        )
