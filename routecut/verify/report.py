"""Findings of the judge: what, where along the route, near which part, by how much."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from routecut.model.body import Body
from routecut.model.finding import Finding, Severity
from routecut.model.job import Cable
from routecut.verify.curve import Curve
from routecut.verify.faces import FaceIndex
from routecut.verify.limits import MOST_FINDINGS, mm

_Item = TypeVar("_Item")


@dataclass(slots=True, kw_only=True)
class Report:
    """Collects the findings on one cable."""

    cable: Cable
    body: Body
    faces: FaceIndex
    curve: Curve
    findings: list[Finding] = field(default_factory=list)

    def part_at(self, run_m: float) -> str:
        """Name of the mesh part nearest to the curve there, and how far it is."""
        near = self.faces.nearest(self.curve.at(np.array([run_m])))
        if near.face[0] < 0:
            return "no part of the mesh"
        return f"{self.body.parts[self.body.face_part[near.face[0]]]}, {mm(float(near.any_m[0]))} away"

    def add(self, code: str, run_m: float | None, message: str, found: str = "", allowed: str = "") -> None:
        """One violation; `run_m` is None for what has no single place. [m]"""
        where = f"cable {self.cable.name}"
        if run_m is not None:
            where += f" at {run_m:.2f} m from {self.cable.from_port} (nearest part: {self.part_at(run_m)})"
        self.findings.append(
            Finding(
                code=code,
                severity=Severity.ERROR,
                where=where,
                message=message,
                table="cable",
                key=self.cable.name,
                found=found,
                allowed=allowed,
            )
        )

    def add_some(self, code: str, items: Sequence[_Item], add: Callable[[_Item], None]) -> None:
        """Adds each, but no more than a reader can use; a last line counts the rest."""
        for item in items[:MOST_FINDINGS]:
            add(item)
        if len(items) > MOST_FINDINGS:
            self.add(code, None, f"and {len(items) - MOST_FINDINGS} more places of the same kind")
