"""``passband demo``: the main job on an invented tour."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from planner.cli.memory import without_collector


@without_collector()
def demo_command(
    out: Annotated[
        Path, typer.Option("--out", help="Folder for plan.json, sheets and tables.")
    ] = Path("passband-demo"),
    as_json: Annotated[bool, typer.Option("--json", help="Print the plan as JSON.")] = False,
) -> None:
    """Run the main job on an invented tour of ten cities and write its sheets.

    Example: passband demo --out demo
    """
    from planner.cli.bundle import bundle_in
    from planner.cli.printing import rendered
    from planner.cli.running import console, print_json, run_tour
    from planner.demo import demo_files
    from planner.report.terminal import print_plan_summary

    with bundle_in(out) as bundle:
        with demo_files() as folder:
            _, document = run_tour(folder / "tour.toml", effort="normal")
        bundle.write(document, rendered(document, None))
    if as_json:
        print_json(document)
        return
    screen = console()
    print_plan_summary(screen, document, today=dt.datetime.now(tz=dt.UTC).astimezone().date())
    screen.print(
        f"Invented stations and gear. Written to {out}: open {out}/sheets/buying.html",
        soft_wrap=True,
        markup=False,
    )
