"""Bench command ``field``: field strength for a table of paths, by one model."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.running import EXIT_INPUT, print_json

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from planner.intake.faults import FaultList
    from planner.intake.field_table import FieldQuestions, FieldTable

_SHOWN_FAULTS = 20


def field_command(
    table: Annotated[Path, typer.Argument(metavar="IN.csv", help="Table of paths.")],
    model: Annotated[str, typer.Option(help="r6602 (FCC curves), p1546 (ITU-R) or free-space.")],
    out: Annotated[Path, typer.Option(metavar="OUT.csv", help="File to write.")],
    solve: Annotated[
        str, typer.Option(help="field, or distance: how far a given field reaches (r6602).")
    ] = "field",
    keep_going: Annotated[
        bool, typer.Option("--keep-going", help="Write the file even when a row is at fault.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print a summary as JSON.")] = False,
) -> None:
    """Compute the field of each row of a table.

    Columns for r6602: curve ("F(50,50)", "F(50,10)" or "F(50,90)"), channel
    (United States), haat_m (held at 30 and 1600), erp_kw, distance_km;
    p1546 (for 1 kW ERP): frequency_mhz, time_percent, effective_height_m,
    path_km and path_zones (land, cold-sea, warm-sea; parts with ";"), and if
    wanted receiver_height_m, clutter, clutter_height_m, location_percent;
    free-space needs erp_kw and distance_km only. All columns are kept;
    field_dbuvm is added or replaced; fault says what is wrong with a row.
    With --solve distance, field_dbuvm is read and distance_km written.

    Example: passband field paths.csv --model r6602 --out fields.csv
    """
    faulty = _run(table, model=model, out=out, solve=solve, keep_going=keep_going, as_json=as_json)
    if faulty:
        raise typer.Exit(EXIT_INPUT)


def _run(
    source: Path, *, model: str, out: Path, solve: str, keep_going: bool, as_json: bool
) -> bool:
    """Answer the table; return whether a row was at fault."""
    import numpy as np

    from planner.intake import field_table

    _check_options(model, solve)
    field_table.refuse_same_file(source, out, str(source))
    table, questions, faults = field_table.read_field_table(
        source, name=str(source), model=model, solve=solve
    )
    answers = np.full(len(table.rows), np.nan)
    answers[questions.rows] = _answers(table, questions, faults, model=model, solve=solve)
    written = keep_going or not len(faults)
    if written:
        field_table.write_field_table(
            out,
            table,
            column=field_table.ANSWER_COLUMN[solve],
            answers=answers,
            faults=faults,
        )
    _tell(faults, written=written)
    answered = int(np.isfinite(answers).sum())
    if as_json:
        summary = {
            "model": model,
            "solve": solve,
            "rows": len(table.rows),
            "answered": answered,
            "faults": [
                {"row": row, "text": text} for row, text in field_table.fault_texts(faults).items()
            ],
            "out": str(out) if written else None,
        }
        print_json(summary)
    elif written:
        typer.echo(f"{out}: {answered} of {len(table.rows)} rows answered ({model}, {solve})")
    return len(faults) > 0


def _check_options(model: str, solve: str) -> None:
    from planner.errors import Fault, InputFaults
    from planner.intake.field_table import DISTANCE, FIELD, FREE_SPACE, P1546, R6602

    value, allowed = "", ""
    if model not in (R6602, P1546, FREE_SPACE):
        value, allowed = f"--model {model}", f"{R6602}, {P1546} or {FREE_SPACE}"
    elif solve not in (FIELD, DISTANCE):
        value, allowed = f"--solve {solve}", f"{FIELD} or {DISTANCE}"
    elif solve == DISTANCE and model != R6602:
        value, allowed = f"--solve {solve} with --model {model}", f"--solve {solve} with {R6602}"
    if value:
        fault = Fault(file="command line", value=value, allowed=allowed)
        raise InputFaults([fault])


def _answers(
    table: FieldTable, questions: FieldQuestions, faults: FaultList, *, model: str, solve: str
) -> npt.NDArray[np.float64]:
    """Return one answer a question, NaN where the model has none; such rows get their fault."""
    import numpy as np

    from planner.field_strength import free_space, r6602
    from planner.intake.field_paths import path_fields_dbuv_m
    from planner.intake.field_table import FIELD, FREE_SPACE, P1546

    if model == P1546:
        return path_fields_dbuv_m(questions.paths)
    if model == FREE_SPACE:
        return np.asarray(free_space.field_dbuv_m(questions.known, questions.erp_kw))
    answers = np.full(len(questions.rows), np.nan)
    for curve in r6602.CURVES:
        mine = np.flatnonzero(questions.curve == curve)
        station = {"haat_m": questions.haat_m[mine], "erp_kw": questions.erp_kw[mine]}
        known, frequency_hz = questions.known[mine], questions.frequency_hz[mine]
        if solve == FIELD:
            answers[mine] = r6602.field_dbuv_m(curve, frequency_hz, distance_km=known, **station)
            continue
        found = r6602.contour_distance_km(curve, frequency_hz, field_dbuv_m=known, **station)
        far_km = r6602.FAR_LIMIT_KM[curve]
        answers[mine] = np.where(found < far_km, found, np.nan)
        for place in questions.rows[mine[found >= far_km]]:
            faults.cell(
                table.row_numbers[place],
                "field_dbuvm",
                value="a level still met at the end of the curve",
                allowed=f"a level that the field falls below within {far_km:g} km",
                advice="no distance is given",
            )
    return answers


def _tell(faults: FaultList, *, written: bool) -> None:
    """Print the faults of rows, the first of many, on stderr."""
    lines = [fault.line() for fault in faults.faults]
    for line in lines[:_SHOWN_FAULTS]:
        typer.echo(line, err=True)
    if len(lines) > _SHOWN_FAULTS:
        typer.echo(f"and {len(lines) - _SHOWN_FAULTS} more faults", err=True)
    if lines and not written:
        typer.echo("nothing written; --keep-going writes the rows that are right", err=True)
