"""Arguments that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routecut.cli import failures


def job_folder(path: Path) -> Path:
    """The job folder, also when its job.toml was named instead."""
    return path.parent if path.name == "job.toml" and path.is_file() else path


JobArgument = Annotated[
    Path,
    typer.Argument(
        metavar="JOB", help="The job folder, or its job.toml.", callback=job_folder, show_default=False
    ),
]
JsonOption = Annotated[
    bool, typer.Option("--json", help="Print JSON for programs.", callback=failures.answer_in_json)
]
