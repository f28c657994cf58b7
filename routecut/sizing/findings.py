"""What sizing has to say about a cable."""

from __future__ import annotations

from routecut.model.finding import Finding, Severity


def cable_finding(code: str, severity: Severity, cable: str, message: str, **parts: str) -> Finding:
    """A finding about a cable; `parts` are `found` and `allowed`."""
    return Finding(
        code=code,
        severity=severity,
        where=f"cable {cable}",
        message=message,
        table="cable",
        key=cable,
        **parts,
    )
