"""``routecut learn``: the shop's own allowances, learnt from as-built records."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routecut.cli.arguments import JsonOption, job_folder
from routecut.cli.exits import ExitCode
from routecut.cli.order import JobsArgument, refuse_to_replace
from routecut.cli.plan import PLAN_FOLDER
from routecut.cli.printing import Progress, data, note, print_findings, result


def add_to(app: typer.Typer) -> None:
    """Register the command."""
    app.command()(learn)


def learn(
    jobs: JobsArgument,
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="FILE", help="Write what is proposed as TOML.", show_default=False),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Learn the shop's own allowances from what cables really took.

    Compares what was cut, less what was left over, with the plan: lay and its spread for all cables and by class,
    by kind of stretch, and what loops take, each with the interval it lies in. What it proposes can be
    written to a file; a job uses it only if it names it: [lengths] defaults = "shop.toml". No job is changed.

    Exit code 1 when there are too few cables to propose anything.

    Example: routecut learn van-1 van-2 van-3 --write shop.toml
    """
    from routecut.documents.learn_text import learn_json, learn_text, shop_toml
    from routecut.planning.order import labels_of
    from routecut.planning.output import write_file
    from routecut.planning.recorded import recorded_plans
    from routecut.records.learn import learn as learn_from

    if write is not None:
        refuse_to_replace([write], force=force)
    folders = [job_folder(job) for job in dict.fromkeys(jobs)]
    with Progress() as progress:
        plans, findings = recorded_plans(folders, PLAN_FOLDER, progress=progress, long=note)
    labels = labels_of([plan.job.title for plan in plans])
    learnt = learn_from(list(zip(labels, plans, strict=True)))
    unit = plans[0].job.length_unit
    if as_json:
        data(learn_json(learnt, labels))
    else:
        result(learn_text(learnt, labels, unit))
    if findings:
        print_findings(findings)
    if not learnt.proposals:
        note("too few cables with cut and left-over recorded: nothing is proposed, nothing written")
        raise typer.Exit(ExitCode.NOT_AS_ASKED)
    if write is not None:
        write_file(write, shop_toml(learnt, labels, unit).encode())
        note(f"written: {write}")
