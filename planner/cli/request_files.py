"""The plan that a request is made of, and the faults of asking for what it does not hold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from planner.errors import Fault, InputFaults
from planner.intake.faults import nearest_word
from planner.report.reading import playing_stops
from planner.report.views.frequency_request import (
    FrequencyRequest,
    UnknownRangeError,
    considered_ranges,
    frequency_request,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from pathlib import Path

COMMAND_LINE = "command line"


def document_of(plan: Path | None, tour: Path | None) -> dict[str, Any]:
    """Return the plan to ask from: one that was written, or that of a tour, planned now.

    Raises
    ------
    typer.BadParameter
        When none or both are named.
    InputFaults
        When the plan or the tour cannot be read, or the plan does not hold its catalogue.
    """
    from planner.cli.earlier import read_to_compare
    from planner.cli.running import run_tour

    if (plan is None) == (tour is None):
        raise typer.BadParameter("name --plan PLAN or --tour TOUR, one of the two")
    if tour is not None:
        return run_tour(tour, effort="normal")[1]
    if plan is None:  # said above
        return {}
    document = read_to_compare(plan).document
    if not isinstance(document.get("gear"), dict):
        raise InputFaults(
            [
                Fault(
                    file=str(plan),
                    value="a plan without the ranges of its catalogue",
                    allowed="a plan of this version",
                    advice="run passband plan again: an earlier version made this one",
                )
            ]
        )
    return document


def request_of(
    document: Mapping[str, Any], stop: str, *, ranges: Sequence[str], numbers: bool
) -> FrequencyRequest:
    """Return the view of a request.

    Raises
    ------
    InputFaults
        When the plan has no such stop, or no need there considers a range.
    """
    stops = [row["id"] for row in playing_stops(document)]
    if stop not in stops:
        raise InputFaults([unknown("STOP", stop, stops)])
    try:
        return frequency_request(document, stop, ranges=ranges, numbers=numbers)
    except UnknownRangeError as error:
        known = [
            key
            for need in document.get("needs") or ()
            for key in considered_ranges(document, need["name"])
        ]
        fault = unknown("--range", str(error.args[0]), list(dict.fromkeys(known)))
        raise InputFaults([fault]) from None


def unknown(where: str, came: str, known: Collection[str]) -> Fault:
    """Return the fault of a name that is none of those known."""
    near = nearest_word(came, known)
    return Fault(
        file=COMMAND_LINE,
        where=where,
        value=f'"{came}"',
        allowed=", ".join(known) or "none here",
        advice=f'did you mean "{near}"?' if near else "name one of them",
    )
