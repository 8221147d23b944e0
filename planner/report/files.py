"""Which pages and tables a plan gives, and under which names."""

from __future__ import annotations

import unicodedata

from planner.report import words
from planner.report.hookup_page import hookup_files
from planner.report.html import buying_page, stop_page
from planner.report.page import tour_page
from planner.report.reading import Plan, playing_stops, table
from planner.report.tables import carriers_csv
from planner.report.tables_out import render_tables
from planner.report.views.stop import issue_line, paper_of

LONGEST_STEM = 80


def file_stem(first_date: str, stop_id: str) -> str:
    """Return the stem of a stop's files: letters, figures, ``-`` and ``_`` only, date first.

    Everything else becomes ``-``, so that no name leaves its folder; a stem has at most
    :data:`LONGEST_STEM` characters.
    """
    text = unicodedata.normalize("NFC", f"{first_date}_{stop_id}")
    kept = "".join(c if c.isalnum() or c in "-_" else "-" for c in text)
    return kept[:LONGEST_STEM]


def stems(plan: Plan) -> dict[str, str]:
    """Return the stem of every stop that is played, by stop id; no two are alike in any case."""
    out: dict[str, str] = {}
    taken: set[str] = set()
    for stop in playing_stops(plan):
        stem = base = file_stem(str(stop["first_date"]), str(stop["id"]))
        copy = 1
        while stem.casefold() in taken:
            copy += 1
            stem = f"{base}-{copy}"
        taken.add(stem.casefold())
        out[stop["id"]] = stem
    return out


def render_all(plan: Plan) -> dict[str, str | bytes]:
    """Make every page and table of a plan: all that stands beside plan.json, the PDFs apart.

    Parameters
    ----------
    plan : mapping
        A valid plan, as ``json.load`` of plan.json gives it.

    Returns
    -------
    dict
        Text, or the bytes of a workbook, by relative path with forward slashes:
        ``sheets/<first date>_<stop>.html`` and ``tables/<first date>_<stop>_carriers.csv`` for
        every stop that is not cancelled, ``sheets/buying.html`` and ``sheets/tour.html``, what
        :func:`planner.report.tables_out.render_tables` gives, and with a hook-up what
        :func:`planner.report.hookup_page.hookup_files` does. Text is to be written as UTF-8 with
        its line ends unchanged.
    """
    out: dict[str, str | bytes] = {}
    names = stems(plan)
    for stop in playing_stops(plan):
        stem = names[stop["id"]]
        out[f"sheets/{stem}.html"] = stop_page(plan, stop)
        out[f"tables/{stem}_carriers.csv"] = carriers_csv(stop)
    out["sheets/buying.html"] = buying_page(plan)
    pages = {stop: f"{stem}.html" for stop, stem in names.items()}
    out["sheets/tour.html"] = tour_page(plan, pages)
    out |= render_tables(plan, names)
    hookup = table(plan, "hookup")
    if "meets" in hookup:  # as this version writes it
        title = words.clean(table(plan, "tour").get("name"))
        issue, paper = issue_line(plan), paper_of(plan)
        out |= hookup_files(hookup, title=title, issue=issue, paper=paper)
    return out
