"""``passband assign``: the answer of a coordinator or a licensing office."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.memory import without_collector
from planner.cli.options import AsJson, Effort


@without_collector()
def assign_command(
    stop: Annotated[str, typer.Argument(metavar="STOP", help="The stop's id, e.g. omaha-1.")],
    answer: Annotated[
        Path, typer.Argument(metavar="ANSWER", help="What came back: CSV, text or XLSX.")
    ],
    *,
    tour: Annotated[Path, typer.Option("--tour", metavar="TOUR", help="The tour file (TOML).")],
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Folder for the plan made with it.")
    ],
    previous: Annotated[
        Path | None,
        typer.Option(help="Plan that the request was made of; default OUT/plan.json."),
    ] = None,
    need: Annotated[
        str, typer.Option("--need", metavar="NEED", help="The need of rows that name none.")
    ] = "",
    unit: Annotated[
        str, typer.Option("--unit", help="MHz, kHz or Hz; else as header or cell say, then MHz.")
    ] = "",
    mapping: Annotated[
        list[str] | None,
        typer.Option("--map", metavar="OURS=THEIRS", help='E.g. --map "frequency=Column 3".'),
    ] = None,
    reference: Annotated[
        str, typer.Option("--reference", help="Licence number or message of all rows.")
    ] = "",
    effort: Effort = "normal",
    as_json: AsJson = False,
) -> None:
    """Read assigned frequencies, plan with them, and list what must go back and why.

    Any table or list of frequencies is read, with or without names. Each is checked against step,
    tuning limits, law, spans that you or others close, spacing and intermodulation with all others.
    DIR gets the plan, STOP_assigned.toml to paste into the tour file, and STOP_reply_clashes.csv.

    Example: passband assign omaha-1 answer.xlsx --tour tour.toml --out plan
    """
    from planner.cli.answers import AnswerFile, plan_with
    from planner.cli.bundle import PLAN_FILE, bundle_in
    from planner.cli.earlier import plan_in, read_previous
    from planner.cli.loose_files import refuse_changed, write_loose_files
    from planner.cli.printing import rendered
    from planner.cli.running import EXIT_SHORT, checked_effort, console, print_json, say
    from planner.intake.reply import read_reply
    from planner.report.files import stems
    from planner.report.reply import assigned_toml, clashes_csv, print_reply

    how_hard = checked_effort(effort)
    came = AnswerFile(
        path=answer,
        reply=read_reply(answer, stop=stop, unit=unit, mapping=mapping or ()),
        stop=stop,
        need=need,
        reference=reference,
    )
    with bundle_in(out) as bundle:
        before = read_previous(previous) if previous else plan_in(out / PLAN_FILE)
        found = plan_with(tour, came, effort=how_hard, before=before)
        stem = stems(found.document)[stop]
        loose = {
            f"{stem}_assigned.toml": assigned_toml(found.answer),
            f"{stem}_reply_clashes.csv": clashes_csv(found.answer),
        }
        refuse_changed(out, loose)
        say("writing sheets")
        bundle.write(found.document, rendered(found.document, before))
        write_loose_files(out, loose)
    if as_json:
        print_json(found.answer)
    else:
        screen = console()
        print_reply(screen, found.answer)
        screen.print(f"Written to {out}: the plan and", soft_wrap=True, markup=False)
        for name in loose:
            screen.print(f"  {name}", soft_wrap=True, markup=False)
        if found.answer["assigned"]:
            typer.echo("Paste the first into the tour file: the next plan obeys it only then.")
    if found.result.short_confirmed:
        raise typer.Exit(EXIT_SHORT)
