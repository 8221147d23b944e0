"""``passband coordinate``: the frequencies of every stop."""

from __future__ import annotations

import typer

from planner.cli.memory import without_collector
from planner.cli.options import AsJson, Effort, Strict, TourFile


@without_collector()
def coordinate_command(
    tour: TourFile,
    effort: Effort = "normal",
    strict: Strict = False,
    as_json: AsJson = False,
) -> None:
    """Choose carriers for every stop, without writing sheets.

    Example: passband coordinate tour.toml
    """
    from planner.cli.running import (
        EXIT_SHORT,
        checked_effort,
        console,
        print_json,
        run_tour,
        strict_exit,
    )
    from planner.report.terminal import print_stop, print_warnings

    result, document = run_tour(tour, effort=checked_effort(effort))
    strict_exit(document, strict=strict)
    if as_json:
        stops = [
            {key: stop[key] for key in ("id", "place", "first_date", "carriers", "short")}
            for stop in document["stops"]
        ]
        print_json({"stops": stops, **{key: document[key] for key in ("warnings", "cautions")}})
    else:
        screen = console()
        for stop in document["stops"]:
            print_stop(screen, document, stop["id"])
        print_warnings(screen, document)
    if result.short_confirmed:
        raise typer.Exit(EXIT_SHORT)
