"""``passband request``: what a coordinator or a licensing office asks for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.cli.memory import without_collector
from planner.cli.options import AsJson

if TYPE_CHECKING:
    from planner.report.views.frequency_request import FrequencyRequest


@without_collector()
def request_command(
    stop: Annotated[str, typer.Argument(metavar="STOP", help="The stop's id, e.g. omaha-1.")],
    *,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the request.")],
    plan: Annotated[
        Path | None, typer.Option("--plan", metavar="PLAN", help="plan.json, or its folder.")
    ] = None,
    tour: Annotated[
        Path | None,
        typer.Option("--tour", metavar="TOUR", help="A tour file instead: it is planned first."),
    ] = None,
    ranges: Annotated[
        list[str] | None,
        typer.Option(
            "--range", metavar="RANGE", help="Ask in this range, not in the one the plan chose."
        ),
    ] = None,
    line_numbers: Annotated[
        bool, typer.Option("--line-numbers", help="Leave the names of people out.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Write what a festival coordinator or a licensing office asks for, as CSV, XLSX and PDF.

    One row a line: name, role, tuning limits, step, bandwidth, power, modulation, antenna, days and
    hours, the planned frequency as a proposal, and blank columns for the answer and for a contact.
    A file that somebody filled in is never written over.

    Example: passband request omaha-1 --plan plan --out requests

    In another range than the plan's: --range "Alder 470.1-513.9" (as often as needed).
    """
    from planner.cli.loose_files import write_loose_files
    from planner.cli.request_files import document_of, request_of
    from planner.cli.running import print_json
    from planner.report.files import stems
    from planner.report.pdf.paint import pdf_bytes
    from planner.report.request_pdf import request_pages
    from planner.report.request_tables import request_csv, request_xlsx

    document = document_of(plan, tour)
    view = request_of(document, stop, ranges=ranges or (), numbers=line_numbers)
    stem = f"{stems(document)[stop]}_request"
    write_loose_files(
        out,
        {
            f"{stem}.csv": request_csv(view),
            f"{stem}.xlsx": request_xlsx(view),
            f"{stem}.pdf": pdf_bytes(request_pages(view)),
        },
    )
    if as_json:
        print_json(_answer(view, out / stem))
        return
    fixed = sum(row.fixed for row in view.lines)
    spares = sum(row.spare for row in view.lines)
    lines = len(view.lines) - fixed - spares
    typer.echo(f"{out / stem}.csv, .xlsx, .pdf: {lines} lines, {spares} spares, {fixed} fixed")
    typer.echo("Add your contact; the answer goes into the column of assigned frequencies.")
    typer.echo(f"Then: passband assign {stop} ANSWER --tour TOUR --out DIR")


def _answer(view: FrequencyRequest, stem: Path) -> dict[str, Any]:
    from planner.report.request_tables import LINE_COLUMNS, lines_table

    return {
        "stop": view.stop["id"],
        "files": [f"{stem}.{ending}" for ending in ("csv", "xlsx", "pdf")],
        "lines": [dict(zip(LINE_COLUMNS, line, strict=True)) for line in lines_table(view).lines],
    }
