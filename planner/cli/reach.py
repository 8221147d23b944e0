"""``passband reach``: what reaches a place, and what fits there."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from planner.cli.memory import without_collector


@without_collector()
def reach_command(
    where: Annotated[
        str, typer.Argument(metavar="TOUR|PLACE", help='A tour file, a place, or "LAT,LON".')
    ],
    stations: Annotated[
        list[Path] | None, typer.Option("--stations", help="Station table(s), for a place.")
    ] = None,
    span: Annotated[
        str | None, typer.Option(metavar="LOW-HIGH", help="Only this span, in MHz.")
    ] = None,
    gear: Annotated[Path | None, typer.Option(help="Gear catalogue, for a place.")] = None,
    setting: Annotated[
        str | None, typer.Option(help="indoor, outdoor, tent or unknown; default unknown.")
    ] = None,
    antenna_height: Annotated[
        float | None,
        typer.Option("--antenna-height", help="Antenna above ground, m, 1 to 30; default 3."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Show which stations reach a place, what is usable, and how many carriers fit.

    Example: passband reach "Omaha, NE, US" --stations us.csv --gear gear.csv --setting indoor
    """
    from planner.cli.running import console, print_json, run_tour
    from planner.report.terminal import print_reach, print_warnings

    if where.endswith(".toml") or _is_file(where):
        own = {
            "--stations": stations,
            "--gear": gear,
            "--span": span,
            "--setting": setting,
            "--antenna-height": antenna_height,
        }
        clash = [name for name, value in own.items() if value]
        if clash:
            raise typer.BadParameter(f"{', '.join(clash)}: a tour file names its own")
        _, document = run_tour(Path(where), effort="normal")
    else:
        document = _place_document(
            where,
            stations or [],
            span,
            gear=gear,
            setting=setting or "unknown",
            antenna_height_m=3.0 if antenna_height is None else antenna_height,
        )
    answer = {
        key: document[key]
        for key in ("schema", "inputs", "transmitters", "stops", "warnings", "cautions")
    }
    if as_json:
        print_json(answer)
        return
    screen = console()
    print_reach(screen, document)
    print_warnings(screen, document)


def _is_file(where: str) -> bool:
    try:
        return Path(where).is_file()
    except OSError:  # a name too long for any file
        return False


def _place_document(
    place: str,
    stations: list[Path],
    span: str | None,
    *,
    gear: Path | None,
    setting: str,
    antenna_height_m: float,
) -> dict[str, Any]:
    from planner.intake.one_place import load_one_place
    from planner.places import countries_within
    from planner.plan import InputFile, plan_document, run_plan

    question = load_one_place(
        place,
        stations=stations,
        gear=gear,
        span=span,
        setting=setting,
        antenna_height_m=antenna_height_m,
    )
    result = run_plan(
        question.tour, question.stations, question.gear, countries_near=countries_within
    )
    return plan_document(
        result,
        [
            InputFile(
                file=row.file,
                sha256=row.sha256,
                rows=row.rows,
                issued=row.issued,
                coverage=row.coverage,
            )
            for row in question.inputs
        ],
    )
