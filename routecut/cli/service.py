"""``routecut service``: how to get at something again, and what that touches."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from routecut.cli.arguments import JobArgument, JsonOption
from routecut.cli.plan import PLAN_FOLDER
from routecut.cli.printing import data, note, print_findings, result

if TYPE_CHECKING:
    from routecut.model.plan import Plan


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(service)


def service(
    job: JobArgument,
    name: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="NAME",
            help="A device, connector, joint, fuse, cable, hole, piece of trim or space, or a question about one, "
            "in your own words, quoted or not. Without it everything that can be asked about is listed.",
            show_default=False,
        ),
    ] = None,
    strip: Annotated[
        bool, typer.Option("--strip", help="Everything out: order of removal and holes to plug.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Say how to get at something again: what comes off, which fuse, what else lies there.

    Answers from the plan in JOB/plan and from the as-built record, and plans nothing. The trim that comes off
    is the least, by the minutes the job gives. Trim may be called as one says it, left sill trim, or as the
    mesh has it. Asked which fuse, or what is spare, it tells that alone, of everything where nothing is named.
    What is only like a name is taken to be it, and that is said.

    Exit code 2 when nothing has that name; the nearest names are told.

    Example: routecut service routecut-demo "replace the voice radio"
    """
    from routecut.planning import service as asked

    if name and strip:
        raise typer.BadParameter("NAME and --strip are two questions; ask one")
    kept = asked.kept_plan(job, PLAN_FOLDER)
    if kept.warning:
        note(f"warning: {kept.warning}")
    with asked.asking(job, PLAN_FOLDER, stale=bool(kept.stale)):
        _tell(kept.plan, " ".join(name) if name else None, strip=strip, as_json=as_json)
    print_findings(kept.findings)


def _tell(plan: Plan, name: str | None, *, strip: bool, as_json: bool) -> None:
    """Answer the question, or list what can be asked."""
    from routecut import documents
    from routecut.model.record import NO_RECORD
    from routecut.planning import service as asked
    from routecut.service import names

    if name is None and not strip:
        known = names(plan)
        if as_json:
            data(documents.names_json(known))
        else:
            result(documents.names_text(plan, known).rstrip())
        return
    question = None if strip else asked.question(plan, name or "")
    if question is not None and question.listed is not None:
        known = {question.listed: names(plan)[question.listed]}
        if as_json:
            data(documents.names_json(known))
        else:
            result(documents.names_text(plan, known).rstrip())
        return
    if question is not None and question.taken:
        note(question.taken)
    found = asked.strip(plan) if question is None else asked.answers(plan, question)
    record = NO_RECORD if plan.as_built is None else plan.as_built.record
    if as_json:
        data(documents.answers_json(found, record))
    else:
        result(documents.service_text(plan, found, record).rstrip())
