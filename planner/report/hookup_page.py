"""The hook-up's page, drawings and tables, of a plan or of a question without a tour."""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup

from planner.report import svg
from planner.report.hookup_drawing import rack_drawing
from planner.report.hookup_tables import levels_csv, parts_csv, parts_xlsx
from planner.report.hookup_transmit import transmit_drawing
from planner.report.html import environment
from planner.report.pdf.hookup import hookup_pages
from planner.report.pdf.paint import pdf_bytes
from planner.report.reading import Plan, rows
from planner.report.views.hookup import hookup_view

if TYPE_CHECKING:
    from planner.report.drawing import Picture


def hookup_drawings(hookup: Plan) -> dict[str, Picture]:
    """Return every drawing of a hook-up by a short name: ``rack-1``, ... and ``transmit``.

    Parameters
    ----------
    hookup : mapping
        The ``hookup`` key of a plan.
    """
    found = {}
    number = 0
    for rack in rows(hookup, "racks"):
        for group in rows(rack, "groups"):
            number += 1
            found[f"rack-{number}"] = rack_drawing(rack, group)
    transmit = transmit_drawing(hookup)
    if transmit is not None:
        found["transmit"] = transmit
    return found


def hookup_page(hookup: Plan, *, title: str, issue: str, paper: str) -> str:
    """Return the hook-up's page as one HTML text.

    Parameters
    ----------
    hookup : mapping
        The ``hookup`` key of a plan.
    title, issue, paper : str
        Name of the tour, issue line, ``"a4"`` or ``"letter"``.
    """
    drawings = [
        Markup(svg.picture(drawing, name))  # noqa: S704 - escaped where it is drawn
        for name, drawing in hookup_drawings(hookup).items()
    ]
    template = environment().get_template("hookup.html.j2")
    view = hookup_view(hookup, title=title, issue=issue, paper=paper)
    return template.render(view=view, drawings=drawings)


def hookup_files(hookup: Plan, *, title: str, issue: str, paper: str) -> dict[str, str | bytes]:
    """Return every file of a hook-up by relative path.

    Returns
    -------
    dict
        ``sheets/hookup.html``, ``sheets/hookup-<drawing>.svg``, ``tables/hookup-parts.csv`` and
        ``.xlsx``, ``tables/hookup-levels.csv``.
    """
    files: dict[str, str | bytes] = {
        "sheets/hookup.html": hookup_page(hookup, title=title, issue=issue, paper=paper)
    }
    for name, drawing in hookup_drawings(hookup).items():
        files[f"sheets/hookup-{name}.svg"] = svg.picture(drawing, name) + "\n"
    files["tables/hookup-parts.csv"] = parts_csv(hookup)
    files["tables/hookup-levels.csv"] = levels_csv(hookup)
    files["tables/hookup-parts.xlsx"] = parts_xlsx(hookup)
    return files


def hookup_pdf(hookup: Plan, *, title: str, issue: str, paper: str) -> bytes:
    """Return the hook-up as PDF; parameters as of :func:`hookup_page`."""
    view = hookup_view(hookup, title=title, issue=issue, paper=paper)
    return pdf_bytes(hookup_pages(view, hookup_drawings(hookup), paper=paper))
