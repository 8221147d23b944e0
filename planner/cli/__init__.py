"""The command line: one module a command; each parses, calls one function, prints."""

from __future__ import annotations

import os
import sys
from typing import Annotated

import typer

from planner import __version__
from planner.cli.assign import assign_command
from planner.cli.check import check_command
from planner.cli.compare import compare_command
from planner.cli.coordinate import coordinate_command
from planner.cli.demo import demo_command
from planner.cli.field import field_command
from planner.cli.hookup import hookup_command
from planner.cli.memory import leave_at_once
from planner.cli.new import new_command
from planner.cli.pack import pack_command
from planner.cli.plan import plan_command
from planner.cli.rank import rank_command
from planner.cli.reach import reach_command
from planner.cli.request import request_command
from planner.cli.sheets import sheets_command
from planner.cli.stations import stations_command
from planner.errors import InputFaults, PlannerError

app = typer.Typer(
    name="passband",
    help="Tour spectrum planner: which wireless tuning range survives a route of shows, and "
    "which frequencies to set in each city. A prediction is not a permission.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command("demo", short_help="The main job on an invented tour.")(demo_command)
app.command("plan", short_help="The main job: ranges, frequencies, sheets.")(plan_command)
app.command("check", short_help="Read everything, list every fault.")(check_command)
app.command("new", short_help="A folder to start from.")(new_command)
app.command(
    "reach",
    short_help="One city: who reaches it, what fits there.",
    context_settings={"ignore_unknown_options": True},  # a point may begin with a minus
)(reach_command)
app.command("rank", short_help="Which tuning range for which need.")(rank_command)
app.command("coordinate", short_help="The frequencies of every stop, no sheets.")(
    coordinate_command
)
app.command("request", short_help="What a coordinator asks for, at one stop.")(request_command)
app.command("assign", short_help="The answer: what fits, what goes back, why.")(assign_command)
app.command("hookup", short_help="Antennas, cables, splitters; the level at every receiver.")(
    hookup_command
)
app.command("compare", short_help="What changed between two plans, and why.")(compare_command)
app.command("sheets", short_help="A plan printed again: other order, labels, numbers.")(
    sheets_command
)
app.command("stations", short_help="A regulator's table to a station table.")(stations_command)
app.command("field", short_help="Field strength of each row of a table.")(field_command)
app.command("pack", short_help="How many carriers fit, and which.")(pack_command)


def _print_version(*, value: bool) -> None:
    if value:
        typer.echo(f"passband {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    *,
    version: Annotated[
        bool,
        typer.Option(
            "--version",
            help="Print the version.",
            callback=lambda value: _print_version(value=value),
            is_eager=True,
        ),
    ] = False,
) -> None:
    """Tour spectrum planner."""


def main() -> None:
    """Run the command line; exit 0 done, 2 input at fault, 3 needs not met, 1 our own fault."""
    leave_at_once()
    try:
        app()
    except InputFaults as error:
        for fault in error.faults:
            sys.stderr.write(f"{fault.line()}\n")
        sys.exit(2)
    except PlannerError as error:
        sys.stderr.write(f"passband: {error}\n")
        sys.exit(1)
    except KeyboardInterrupt:
        sys.stderr.write("passband: stopped; nothing was written\n")
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)
    except Exception as error:  # the last net: our own fault is told in a line
        if os.environ.get("PASSBAND_DEBUG"):
            raise
        name = type(error).__name__
        sys.stderr.write(
            f"passband: our own fault, please report it: {name}: {error} "
            "(PASSBAND_DEBUG=1 shows where)\n"
        )
        sys.exit(1)
