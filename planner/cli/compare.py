"""``passband compare``: what changed between two plans."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.options import AsJson


def compare_command(
    old: Annotated[
        Path, typer.Argument(metavar="OLD", help="The earlier plan.json, or its folder.")
    ],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="The later plan.json, or its folder.")],
    as_json: AsJson = False,
) -> None:
    """Say what changed between two plans, why, and which lines are retuned.

    Example: passband compare plan-march plan
    """
    from planner.cli.earlier import read_to_compare
    from planner.cli.running import console, print_json
    from planner.errors import Fault, InputFaults
    from planner.plan.compare import compare_plans
    from planner.report.comparison import print_comparison

    faults: list[Fault] = []
    plans = []
    for path in (old, new):
        try:
            plans.append(read_to_compare(path))
        except InputFaults as error:
            faults += error.faults
    if faults:
        raise InputFaults(faults)
    document = compare_plans(plans[0].document, plans[1].document)
    if as_json:
        names = ("old", "new")
        files = {
            name: {
                "sha256": plan.sha256,
                "issue": plan.document["made"]["issue"],
                "version": plan.document["made"]["version"],
            }
            for name, plan in zip(names, plans, strict=True)
        }
        print_json({"schema": document["schema"], **files, **document})
    else:
        print_comparison(console(), document)
