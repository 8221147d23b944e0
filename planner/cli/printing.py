"""What commands share that print sheets: what the issue before said, progress, two processes."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import TYPE_CHECKING, Any

from planner.threads import cores

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from planner.cli.earlier import EarlierPlan
    from planner.report.pdf.files import SheetOptions

WORTH_A_PROCESS = 12
"""Stops from which the PDFs are made in a process of their own: it takes about 0.6 s to start, and
a stop's PDFs 0.08 s."""


def rendered(
    document: Mapping[str, Any], before: Path | EarlierPlan | None
) -> dict[str, str | bytes]:
    """Return all that stands beside plan.json: pages, tables and PDFs, by relative path.

    A long tour's PDFs are made beside the rest in a second process, where the machine has a core
    for it and lets it start; the files are the same.

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

    stops = len(playing_stops(document))
    if stops >= WORTH_A_PROCESS and cores() > 1:
        say(f"printing {stops} stops")
        compared = _compared(document, before)
        try:
            with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
                pdfs = pool.submit(render_pdfs, document, compared=compared)
                return {**render_all(document), **pdfs.result()}
        except (OSError, BrokenProcessPool):
            pass  # no second process here: this one does it all
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
