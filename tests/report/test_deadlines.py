"""Deadlines in words: overdue first, what stays lawful without them, on every kind of sheet."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

import pytest
from rich.console import Console

from planner.report import render_all
from planner.report.pdf.files import render_pdfs
from planner.report.terminal import print_plan_summary
from planner.report.views.deadlines import deadline_views, told_on
from tests.report.pdf_reading import pages_of, squeezed
from tests.report.sample_plan import sample_plan

TODAY = dt.date(2027, 2, 20)


def row(stop: str, by: str | None, **more: Any) -> dict[str, Any]:
    return {"stop": stop, "licence_kind": "event", "apply_by": by, "apply_to": None, **more}


@pytest.fixture
def plan() -> dict[str, Any]:
    found: dict[str, Any] = sample_plan()
    stop = found["stops"][0]["id"]
    found["deadlines"] = [
        row(stop, "2027-02-08", apply_to="an <office>", lawful_without_mhz=[[863.01, 864.99]]),
        row(stop, "2027-02-20", lawful_without_mhz=[]),
        row(stop, "2027-03-01"),
        row(stop, None, lawful_without_mhz=[[470.0, 534.0], [863.0, 865.0]]),
    ]
    return found


def test_each_is_told_as_it_stands_on_the_day(plan: dict[str, Any]) -> None:
    views = deadline_views(plan)
    licence = f"Licence of kind event, {views[0].place}"
    first, today, later, unknown = told_on(tuple(reversed(views)), TODAY)
    assert first == (
        f"{licence}: OVERDUE by 12 days (apply by Mon 2027-02-08), ask an <office>; "
        "without it 863.01\u2013864.99 MHz stays lawful there."
    )
    assert today == (
        f"{licence}: apply today (Sat 2027-02-20), ask not known; "
        "without it nothing of the catalogue stays lawful there."
    )
    assert later == f"{licence}: apply by Mon 2027-03-01, in 9 days, ask not known."
    assert unknown == (
        f"{licence}: apply in time, no lead time is known, ask not known; "
        "without it 470\u2013534, 863\u2013865 MHz stays lawful there."
    )


def test_a_stop_has_its_own(plan: dict[str, Any]) -> None:
    other = plan["stops"][1]["id"]
    assert deadline_views(plan, other) == ()
    assert len(deadline_views(plan, plan["stops"][0]["id"])) == 4
    plan["deadlines"] = None
    assert deadline_views(plan) == ()


def test_the_terminal_says_overdue_and_the_sheets_never_read_a_clock(plan: dict[str, Any]) -> None:
    out = io.StringIO()
    print_plan_summary(Console(file=out, width=80), plan, today=TODAY)
    told = " ".join(out.getvalue().split())
    assert "OVERDUE by 12 days" in told
    assert told.index("OVERDUE") < told.index("apply today") < told.index("in 9 days")
    quiet = io.StringIO()
    print_plan_summary(Console(file=quiet, width=80), plan)
    assert "apply" not in quiet.getvalue()
    page = render_all(plan)["sheets/buying.html"]
    assert isinstance(page, str)
    assert "Mon 2027-02-08" in page
    assert "an &lt;office&gt;" in page
    assert "Without it: as far as the rules held here say." in page
    assert "863.01\u2013864.99 MHz" in page
    assert "OVERDUE" not in page


def test_the_pdfs_say_what_stays_lawful(plan: dict[str, Any]) -> None:
    sheets = render_pdfs(plan)
    engineer = next(name for name in sheets if name.endswith("_engineer.pdf"))
    for name in (engineer, "sheets/buying.pdf"):
        text = "".join(pages_of(sheets[name]))
        assert squeezed("863.01\u2013864.99 MHz") in text
        assert squeezed("nothing of the catalogue") in text
        assert squeezed("Mon 2027-02-08") in text
