"""``passband rank``: which range for which need."""

from __future__ import annotations

import typer

from planner.cli.memory import without_collector
from planner.cli.options import AsJson, Effort, Strict, TourFile


@without_collector()
def rank_command(
    tour: TourFile,
    effort: Effort = "normal",
    strict: Strict = False,
    as_json: AsJson = False,
) -> None:
    """Rank the tuning ranges of each need over the route.

    Example: passband rank tour.toml
    """
    from planner.cli.running import (
        EXIT_SHORT,
        checked_effort,
        console,
        print_json,
        run_tour,
        strict_exit,
    )
    from planner.report.terminal import print_ranking, print_warnings

    result, document = run_tour(tour, effort=checked_effort(effort))
    strict_exit(document, strict=strict)
    if as_json:
        keys = ("ranking", "combinations", "choice", "warnings", "cautions")
        print_json({key: document[key] for key in keys})
    else:
        screen = console()
        print_ranking(screen, document)
        print_warnings(screen, document)
    if result.short_confirmed:
        raise typer.Exit(EXIT_SHORT)
