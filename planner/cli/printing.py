"""What commands share that print sheets: what the issue before said, and progress."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from planner.cli.earlier import EarlierPlan
    from planner.report.pdf.files import SheetOptions


def printed(
    document: Mapping[str, Any],
    before: Path | EarlierPlan | None,
    options: SheetOptions | None = None,
) -> dict[str, bytes]:
    """Return the PDF sheets of a plan by relative path, telling the progress on stderr.

    Parameters
    ----------
    document : mapping
        The plan.
    before : Path, EarlierPlan or None
        The issue before, so that changes can be marked; None where it is not at hand.
    options : SheetOptions, optional
        What to print.
    """
    from planner.cli.earlier import EarlierPlan, read_to_compare
    from planner.cli.running import say
    from planner.errors import InputFaults
    from planner.plan.compare import compare_plans
    from planner.report.pdf.files import render_pdfs

    compared = None
    if before is not None and document["made"]["replaces"] is not None:
        try:
            whole = read_to_compare(before) if not isinstance(before, EarlierPlan) else before
            compared = compare_plans(whole.document, document)
        except (InputFaults, KeyError, TypeError):
            compared = (
                None  # kept for planning though not whole: the sheets say that it was missing
            )
    return render_pdfs(document, options, compared=compared, say=say)
