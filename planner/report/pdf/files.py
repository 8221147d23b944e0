"""Which PDF files a plan gives, and under which names."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.report.anonymous import without_names
from planner.report.files import stems
from planner.report.hookup_page import hookup_pdf
from planner.report.pdf.buying import buying_pages
from planner.report.pdf.crew import crew_pages
from planner.report.pdf.engineer import engineer_pages
from planner.report.pdf.paint import pdf_bytes
from planner.report.pdf.strips import labels, pocket
from planner.report.pictures import carrier_drawing, stop_drawing
from planner.report.reading import Plan, playing_stops, table
from planner.report.route_picture import depth_drawing
from planner.report.views.buying import buying_view
from planner.report.views.crew import changes_of, crew_view
from planner.report.views.deadlines import deadline_views
from planner.report.views.stop import issue_line, paper_of, stop_view
from planner.report.views.transmitters import effects_view
from planner.report.words import clean

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.report.pdf.paint import Document
    from planner.report.views.crew import Order
    from planner.report.views.stop import StopView


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class SheetOptions:
    """What to print.

    Attributes
    ----------
    order : str
        Order of the lines on crew pages: ``"name"``, ``"rack"`` or ``"frequency"``.
    paper : str
        ``"a4"``, ``"letter"``, or empty for the tour's.
    labels, pocket : bool
        Also strip labels for racks, and the list for the pocket.
    anonymous : bool
        Line numbers instead of the names that the tour file gives; file names end in
        ``_numbers``, so that nothing printed with names is replaced.
    """

    order: Order = "name"
    paper: str = ""
    labels: bool = False
    pocket: bool = False
    anonymous: bool = False


def render_pdfs(
    plan: Plan,
    options: SheetOptions | None = None,
    *,
    compared: Plan | None = None,
    say: Callable[[str], None] | None = None,
) -> dict[str, bytes]:
    """Make the PDF sheets of a plan; the same plan and options give the same bytes.

    Parameters
    ----------
    plan : mapping
        A valid plan, as ``json.load`` of plan.json gives it.
    options : SheetOptions, optional
        What to print.
    compared : mapping, optional
        What :func:`planner.plan.compare.compare_plans` tells of the issue before and this one;
        without it nothing is marked as changed since the last issue.
    say : callable, optional
        Told of the progress, stop by stop.

    Returns
    -------
    dict
        Bytes by relative path with forward slashes: ``sheets/<first date>_<stop>_crew.pdf`` and
        ``..._engineer.pdf`` (``..._labels.pdf``, ``..._pocket.pdf``) for every stop that is not
        cancelled, ``sheets/buying.pdf``, and with a hook-up ``sheets/hookup.pdf`` (not when
        ``anonymous``).
    """
    wanted = options or SheetOptions()
    names = stems(plan)
    shown = without_names(plan) if wanted.anonymous else plan
    paper = wanted.paper or paper_of(plan)
    end = "_numbers.pdf" if wanted.anonymous else ".pdf"
    out: dict[str, bytes] = {}
    stops = playing_stops(shown)
    for number, stop in enumerate(stops, 1):
        if say:
            say(f"printing stop {number} of {len(stops)}: {clean(stop['place'])}")
        stem = f"sheets/{names[stop['id']]}"
        told = None if wanted.anonymous else compared
        for part, document in _stop_documents(shown, stop, wanted, paper, told).items():
            out[f"{stem}_{part}{end}"] = pdf_bytes(document)
    summary = buying_pages(buying_view(shown), depth_drawing(shown), paper=paper)
    out[f"sheets/buying{end}"] = pdf_bytes(summary)
    hookup = table(plan, "hookup")
    if "meets" in hookup and not wanted.anonymous:  # its drawings are nothing without names
        title = clean(table(plan, "tour").get("name"))
        out["sheets/hookup.pdf"] = hookup_pdf(
            hookup, title=title, issue=issue_line(plan), paper=paper
        )
    return out


def _stop_documents(
    plan: Plan, stop: Plan, options: SheetOptions, paper: str, compared: Plan | None
) -> dict[str, Document]:
    view = stop_view(plan, stop)
    crew = crew_view(view.carriers, order=options.order, changes=changes_of(plan, stop, compared))
    out = {
        "crew": crew_pages(view, crew, paper=paper),
        "engineer": _engineer(plan, stop, view, paper),
    }
    if options.labels:
        out["labels"] = labels(view, crew, paper=paper)
    if options.pocket:
        out["pocket"] = pocket(view, crew, paper=paper)
    return out


def _engineer(plan: Plan, stop: Plan, view: StopView, paper: str) -> Document:
    return engineer_pages(
        view,
        effects_view(plan, stop, view.unit),
        deadlines=deadline_views(plan, stop["id"]),
        pictures=(stop_drawing(plan, stop), carrier_drawing(plan, stop)),
        paper=paper,
    )
