"""``routecut plan``: the whole plan of a job, written into its ``plan/`` folder."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Final

import typer

from routecut.cli.arguments import JobArgument, JsonOption
from routecut.cli.exits import ExitCode
from routecut.cli.printing import Progress, count, data, note, print_findings, result
from routecut.errors import OutputError

if TYPE_CHECKING:
    from routecut.model.body import Body
    from routecut.model.finding import Finding
    from routecut.model.plan import Plan
    from routecut.planning.kept import Kept

PLAN_FOLDER: Final = "plan"

_LISTED: Final = 5


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(plan)


def plan(job: JobArgument, as_json: JsonOption = False) -> None:
    """Route and measure every cable; write the job pack.

    Everything goes into the folder JOB/plan, whole or not at all: a plan that is there stays until the
    new one is complete. Files in it that are not the tool's, or that you have changed, are kept.

    Exit code 1 when a cable can't be routed or a rule is broken: the rest is planned all the same.

    Example: routecut plan routecut-demo
    """
    planned = plan_and_write(job, tell=as_json)
    from routecut.documents import plan_json, summary_text

    if as_json:
        data(plan_json(planned))
    else:
        result(summary_text(planned).rstrip())
        result(f"\nwritten: {job / PLAN_FOLDER}")
    exit_incomplete(planned)


def plan_and_write(job: Path, *, tell: bool) -> Plan:
    """Plan a job and write its plan folder.

    Parameters
    ----------
    job : Path
    tell : bool
        Print what is wrong with the plan to stderr: where no summary says it.

    Raises
    ------
    JobError
        The job can't be used.
    OutputError
        The folder could not be written.
    """
    from routecut.planning import make_plan
    from routecut.planning.output import refuse_unwritable, write_plan_folder

    refuse_unwritable(job / PLAN_FOLDER)  # said now, not after a minute of work
    with Progress() as progress:
        planned, body = make_plan(job, progress=progress)
        pictures, trouble = draw(planned, body, progress)
        progress("writing the job pack")
        kept = write_plan_folder(job / PLAN_FOLDER, gather(planned, body, pictures))
    for line in kept_lines(kept):
        note(line)
    if trouble:
        note(trouble)
    if tell and (broken := reasons(planned)):
        print_findings(broken)
    return planned


def kept_lines(kept: Kept) -> list[str]:
    """What is said of files in the plan folder that are not the tool's."""
    lines = [
        f"{PLAN_FOLDER}/{old} was not as it had been written: it is now {PLAN_FOLDER}/{new}"
        for old, new in kept.renamed
    ]
    seen = [name for name in kept.where_it_was if not PurePosixPath(name).name.startswith(".")]
    if seen:
        more = f" and {len(seen) - _LISTED} more" if len(seen) > _LISTED else ""
        lines.append(f"kept in {PLAN_FOLDER}/, not part of the plan: {', '.join(seen[:_LISTED])}{more}")
    return lines


def draw(planned: Plan, body: Body, progress: Callable[[str], None]) -> tuple[dict[str, bytes], str]:
    """The stills by file name, and why there are none: a plan is not lost for want of its pictures."""
    from routecut import preview

    progress("looking for OpenGL")
    if not preview.can_draw():
        return {}, cannot_draw()
    progress("drawing the pictures")
    try:
        return dict(preview.stills(planned, body)), ""
    except OutputError as error:
        return {}, str(error)


def cannot_draw() -> str:
    """One line that says what to install."""
    from routecut.preview import INSTALL_HINT

    return f"no pictures: this machine can't draw; {INSTALL_HINT}"


def gather(planned: Plan, body: Body, pictures: Mapping[str, bytes]) -> dict[str, bytes]:
    """Every file of the plan folder by its path in it."""
    from routecut import documents
    from routecut.service import later

    told = later(documents.as_fitted(planned))
    files = {
        "plan.json": documents.plan_json(planned).encode(),
        "cut-list.csv": documents.cut_list_csv(planned).encode(),
        "order-list.csv": documents.order_list_csv(planned.order, planned.job.length_unit).encode(),
        "order-list.xlsx": documents.order_list_xlsx(planned.order, planned.job.length_unit),
        "tables.xlsx": documents.tables_xlsx(planned),
        "pack.html": documents.pack_html(planned, pictures=pictures, body=body, later=told).encode(),
        "scene.glb": documents.scene_glb(planned, body),
    }
    files["harness.svg"] = documents.harness_svg(planned).encode()
    files.update(documents.label_files(planned))
    if planned.drilling:
        files["drill-schedule.csv"] = documents.drill_schedule_csv(planned).encode()
        files.update(documents.template_files(planned))
    files.update({f"views/{name}": data for name, data in pictures.items()})
    return files


def reasons(planned: Plan) -> list[Finding]:
    """Why a plan is not as asked: each error once."""
    from routecut.documents.reading import all_findings
    from routecut.model.finding import Severity

    return [f for f in all_findings(planned) if f.severity is Severity.ERROR]


def exit_incomplete(planned: Plan) -> None:
    """End with exit code 1 when a cable has no safe route, or a rule is broken: wire, fuse or coax."""
    left = [
        c.cable.name for c in planned.cables if c.route is None or c.verified is None or not c.verified.ok
    ]
    broken = reasons(planned)
    if left:
        note(f"not done: {', '.join(left)}; all other cables are planned")
    elif broken:
        places = list(dict.fromkeys(f.where for f in broken))
        note(f"every cable is planned, but {count(len(broken), 'rule')} broken: {'; '.join(places)}")
    if not planned.cables:
        note("not done: this job has no cable; add a [[cable]] with from and to, each a port as device.port")
    if left or broken or not planned.cables:
        raise typer.Exit(ExitCode.NOT_AS_ASKED)
