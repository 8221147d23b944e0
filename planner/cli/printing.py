"""What commands share that print sheets: what the issue before said, progress, a second process."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.workers import NO_HELPER, dismiss_helper, helper

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from planner.cli.earlier import EarlierPlan
    from planner.report.pdf.files import SheetOptions


def rendered(
    document: Mapping[str, Any], before: Path | EarlierPlan | None
) -> dict[str, str | bytes]:
    """Return all that stands beside plan.json: pages, tables and PDFs, by relative path.

    The PDFs are made beside the rest where a second process was started; the files are the same.

    Parameters
    ----------
    document : mapping
        The plan.
    before : Path, EarlierPlan or None
        As for :func:`printed`.
    """
    from planner.cli.running import say
    from planner.report import render_all
    from planner.report.pdf.files import render_pdfs
    from planner.report.reading import playing_stops

    second = helper()
    if second is not None:
        say(f"printing {len(playing_stops(document))} stops")
        compared = _compared(document, before)
        try:
            pdfs = second.submit(render_pdfs, document, compared=compared)
            return {**render_all(document), **pdfs.result()}
        except NO_HELPER:
            dismiss_helper()  # this process does it all
    return {**render_all(document), **printed(document, before)}


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
    from planner.cli.running import say
    from planner.report.pdf.files import render_pdfs

    return render_pdfs(document, options, compared=_compared(document, before), say=say)


def _compared(
    document: Mapping[str, Any], before: Path | EarlierPlan | None
) -> dict[str, Any] | None:
    """Return what changed since the issue before.

    None where there is none, or where it was kept for planning though it is not whole: the sheets
    say that it was missing.
    """
    from planner.cli.earlier import EarlierPlan, read_to_compare
    from planner.errors import InputFaults
    from planner.plan.compare import compare_plans

    if before is None or document["made"]["replaces"] is None:
        return None
    try:
        whole = read_to_compare(before) if not isinstance(before, EarlierPlan) else before
        return compare_plans(whole.document, document)
    except (InputFaults, KeyError, TypeError):
        return None
