"""``passband sheets``: a plan printed again, nothing computed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.options import AsJson

_ORDERS = ("name", "rack", "frequency")
_PAPERS = ("a4", "letter")


def _one_of(name: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise typer.BadParameter(f"{name} {value} is not one of {', '.join(allowed)}")


def sheets_command(
    plan: Annotated[
        Path, typer.Argument(metavar="PLAN_DIR", help="Folder of a plan, or its plan.json.")
    ],
    out: Annotated[Path, typer.Option("--out", help="Folder; the PDFs go to its folder sheets.")],
    order: Annotated[
        str, typer.Option("--order", help="Order of the lines: name, rack or frequency.")
    ] = "name",
    labels: Annotated[bool, typer.Option("--labels", help="Also strip labels for racks.")] = False,
    pocket: Annotated[
        bool, typer.Option("--pocket", help="Also a list for the pocket, in one large column.")
    ] = False,
    anonymous: Annotated[
        bool, typer.Option("--anonymous", help="Line numbers instead of names, for third parties.")
    ] = False,
    paper: Annotated[
        str | None, typer.Option("--paper", help="a4 or letter; default as the tour says.")
    ] = None,
    previous: Annotated[
        Path | None,
        typer.Option("--previous", help="plan.json of the issue before, to mark changes."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Print the sheets of a plan again: another order, labels, numbers instead of names.

    Example: passband sheets plan --out print --order frequency --labels
    """
    from planner.cli.bundle import bundle_in
    from planner.cli.earlier import read_to_compare
    from planner.cli.printing import printed
    from planner.cli.running import print_json
    from planner.report.pdf.files import SheetOptions

    _one_of("--order", order, _ORDERS)
    if paper is not None:
        _one_of("--paper", paper, _PAPERS)
    document = read_to_compare(plan).document
    before = read_to_compare(previous) if previous is not None else None
    options = SheetOptions(
        order="rack" if order == "rack" else "frequency" if order == "frequency" else "name",
        paper=paper or "",
        labels=labels,
        pocket=pocket,
        anonymous=anonymous,
    )
    with bundle_in(out) as bundle:
        files = printed(document, before, options)
        bundle.add(files)
    if as_json:
        print_json({"folder": str(out), "files": sorted(files)})
    else:
        typer.echo(f"Written to {out}: {len(files)} PDF files in sheets")
