"""The application: its commands, and the one place where an error is caught."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import sys
from collections.abc import Iterator
from typing import Annotated, NoReturn

import typer

from routecut.cli import (
    add,
    catalogue,
    check,
    compare,
    demo,
    drill,
    learn,
    new,
    order,
    plan,
    record,
    service,
    survey,
    view,
)
from routecut.cli.exits import ExitCode
from routecut.cli.failures import report
from routecut.cli.printing import note, result
from routecut.errors import RoutecutError

_STDOUT = 1

app = typer.Typer(
    name="routecut",
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,  # plain help: the same on every terminal and in docs/cli.md
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _print_version(wanted: bool) -> None:
    if wanted:
        from routecut import __version__

        result(f"routecut {__version__}")
        raise typer.Exit(ExitCode.DONE)


@app.callback()
def routecut(
    version: Annotated[
        bool,
        typer.Option("--version", help="Print the version and exit.", callback=_print_version, is_eager=True),
    ] = False,
) -> None:
    """Plan the cables of a two-way radio fit-out: routes, cut lengths, pictures, job pack.

    A JOB is a folder with a job.toml and the mesh of the vehicle.

    Example: routecut demo
    """


demo.add_to(app)
new.add_to(app)
add.add_to(app)
check.add_to(app)
plan.add_to(app)
drill.add_to(app)
order.add_to(app)
survey.add_to(app)
service.add_to(app)
view.add_to(app)
record.add_to(app)
catalogue.add_to(app)
learn.add_to(app)
compare.add_to(app)


def keep_results_apart() -> None:
    """Give standard output to results alone: what compiled libraries write there goes to standard error.

    A solver that says something of its own on the first file descriptor would spoil ``--json``.
    """
    said = sys.__stdout__
    if said is None or sys.stdout is not said or said.fileno() != _STDOUT:
        return  # closed, or caught by whoever runs this
    results = os.dup(_STDOUT)
    os.dup2(sys.stderr.fileno(), _STDOUT)
    # for as long as the program runs
    sys.stdout = os.fdopen(results, "w", buffering=1, encoding=said.encoding, errors=said.errors)


@contextlib.contextmanager
def _ended_in_order() -> Iterator[None]:
    """SIGTERM ends the program as Ctrl-C does: what is begun is tidied up, the last good plan stays."""

    def end(*_: object) -> NoReturn:
        raise SystemExit(ExitCode.ENDED)

    try:
        before = signal.signal(signal.SIGTERM, end)
    except ValueError:  # not the main thread: whoever runs this sees to it
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def main() -> None:
    """Run the command line and exit with an `ExitCode`."""
    keep_results_apart()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that can't show a letter must not end a job.
            stream.reconfigure(errors="backslashreplace")
    try:
        with _ended_in_order():
            app(prog_name="routecut")
    except (RoutecutError, OSError) as error:
        code = report(error)
    except SystemExit as stop:
        if stop.code in (ExitCode.STOPPED, ExitCode.ENDED):
            note("stopped")
        raise
    raise SystemExit(code)
