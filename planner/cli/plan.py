"""``passband plan``: the main job."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from planner.cli.memory import without_collector
from planner.cli.options import AsJson, Effort, Strict, TourFile


@without_collector()
def plan_command(
    tour: TourFile,
    out: Annotated[Path, typer.Option("--out", help="Folder for plan.json, sheets and tables.")],
    effort: Effort = "normal",
    previous: Annotated[
        Path | None, typer.Option(help="Earlier plan.json to keep; default OUT/plan.json.")
    ] = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="Keep no earlier plan.")] = False,
    strict: Strict = False,
    as_json: AsJson = False,
) -> None:
    """Plan a tour: rank the ranges, set the frequencies, write a sheet per city.

    Example: passband plan tour.toml --out plan
    """
    from planner.cli.bundle import PLAN_FILE, bundle_in
    from planner.cli.earlier import EarlierPlan, plan_in
    from planner.cli.printing import rendered
    from planner.cli.running import (
        EXIT_SHORT,
        checked_effort,
        console,
        print_json,
        run_tour,
        say,
        strict_exit,
    )
    from planner.report.terminal import print_plan_summary

    how_hard = checked_effort(effort)
    if fresh and previous is not None:
        raise typer.BadParameter("--fresh keeps no earlier plan, --previous names one: use one")
    with bundle_in(out) as bundle:
        here = out / PLAN_FILE
        earlier: Path | EarlierPlan | None = None if fresh else previous
        if not fresh and previous is None and here.is_file():
            earlier = plan_in(here)
            if earlier is None:
                typer.echo(
                    f"warning: {here} is no whole plan; it is not kept, but moved aside", err=True
                )
        result, document = run_tour(tour, effort=how_hard, previous=earlier)
        strict_exit(document, strict=strict)
        say("writing sheets")
        bundle.write(document, rendered(document, earlier))
    if as_json:
        print_json(document)
    else:
        screen = console()
        print_plan_summary(screen, document, today=dt.datetime.now(tz=dt.UTC).astimezone().date())
        screen.print(f"Written to {out}: plan.json, sheets, tables", soft_wrap=True, markup=False)
    if result.short_confirmed:
        raise typer.Exit(EXIT_SHORT)
