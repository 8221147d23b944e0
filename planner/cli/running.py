"""What several commands share: read a tour, run the stages, print."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

import typer

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from rich.console import Console

    from planner.cli.earlier import EarlierPlan
    from planner.coordination.records import Effort
    from planner.intake.tour import LoadedTour
    from planner.plan import InputFile, PlanResult

EFFORTS: tuple[Effort, ...] = ("quick", "normal", "long")
WORTH_A_PROCESS = 12
"""Stops from which a second process helps: it takes about 0.6 s to start, and a stop's PDFs and
what the loss of its channels asks for 0.15 s."""
EXIT_INPUT = 2
EXIT_SHORT = 3


def checked_effort(effort: str) -> Effort:
    """Return the effort when it is a known word.

    Raises
    ------
    typer.BadParameter
        Otherwise; the message lists what is allowed.
    """
    for word in EFFORTS:
        if word == effort:
            return word
    raise typer.BadParameter(f"{effort} is not one of {', '.join(EFFORTS)}")


def console(*, stderr: bool = False) -> Console:
    """Return a console that is never narrower than 80 columns when it is not a terminal."""
    from rich.console import Console

    stream = sys.stderr if stderr else sys.stdout
    return Console(file=stream, width=None if stream.isatty() else 80, highlight=False)


def run_tour(
    tour: Path, *, effort: Effort, previous: Path | EarlierPlan | None = None
) -> tuple[PlanResult, dict[str, Any]]:
    """Read a tour file, run all stages, and return the result with its document.

    Parameters
    ----------
    tour : Path
        The tour file.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``.
    previous : Path, EarlierPlan or None
        An earlier plan.json to keep, or what was read of it.

    Raises
    ------
    InputFaults
        Every fault of every file.
    """
    from planner.cli.earlier import EarlierPlan, read_previous

    loaded = read_tour(tour)
    before = (
        previous
        if previous is None or isinstance(previous, EarlierPlan)
        else read_previous(previous)
    )
    return run_loaded(loaded, effort=effort, before=before)


def read_tour(tour: Path) -> LoadedTour:
    """Read a tour file with all it names.

    Raises
    ------
    InputFaults
        Every fault of every file; also when nothing is left to plan.
    """
    from planner.errors import Fault, InputFaults
    from planner.intake.tour import load_tour

    say(f"reading {tour.name}")
    loaded = load_tour(tour)
    if all(stop.status == "cancelled" for stop in loaded.tour.stops):
        raise InputFaults(
            [
                Fault(
                    file=tour.name,
                    where="[[stop]]",
                    value="every stop is cancelled",
                    allowed="at least one stop that is confirmed or on hold",
                    advice="nothing is left to plan",
                )
            ]
        )
    return loaded


def run_loaded(
    loaded: LoadedTour,
    *,
    effort: Effort,
    before: EarlierPlan | None = None,
    kept: Mapping[str, Any] | None = None,
    more: Sequence[InputFile] = (),
) -> tuple[PlanResult, dict[str, Any]]:
    """Run all stages on what was read, and return the result with its document.

    Parameters
    ----------
    loaded : LoadedTour
        The tour and its files.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``.
    before : EarlierPlan or None
        The plan that this one replaces.
    kept : mapping or None
        A plan to follow instead of ``before``, as changed by an answer.
    more : sequence of InputFile
        Files beside those of the tour.
    """
    from planner.intake.faults import counted
    from planner.places import countries_within
    from planner.plan import InputFile, Previous, plan_document, run_plan
    from planner.workers import start_helper

    if len(loaded.tour.stops) >= WORTH_A_PROCESS:
        start_helper(("planner.plan", "planner.report.pdf.files"))
    stops = counted(len(loaded.tour.stops), "stop")
    say(f"{stops}, {counted(len(loaded.stations), 'transmitter')}: planning")
    inputs = [
        InputFile(
            file=row.file,
            sha256=row.sha256,
            rows=row.rows,
            issued=row.issued,
            coverage=row.coverage,
        )
        for row in loaded.inputs
    ]
    inputs += more
    follow = None
    if kept is not None:
        follow = Previous(document=kept)
    elif before is not None:
        unchanged = before.made_from(inputs, effort=effort)
        follow = Previous(document=before.document, unchanged=unchanged)
    result = run_plan(
        loaded.tour,
        loaded.stations,
        loaded.gear,
        countries_near=countries_within,
        effort=effort,
        previous=follow,
    )
    if before:
        inputs.append(InputFile(file=before.name, sha256=before.sha256))
    document = plan_document(
        result, inputs, previous=before.document if before else None, parts=loaded.parts
    )
    return result, document


def say(text: str) -> None:
    """Print progress on stderr, only where somebody is looking."""
    if sys.stderr.isatty():
        typer.echo(text, err=True)


def print_json(value: object) -> None:
    """Print a value as JSON on stdout."""
    typer.echo(json.dumps(value, indent=1, ensure_ascii=False))


def strict_exit(document: Mapping[str, Any], *, strict: bool) -> None:
    """Leave with code 2 when warnings are not accepted and there are some."""
    if strict and document["warnings"]:
        from planner.intake.faults import counted

        count = counted(len(document["warnings"]), "warning")
        typer.echo(f"{count} and --strict: stopped", err=True)
        raise typer.Exit(EXIT_INPUT)
