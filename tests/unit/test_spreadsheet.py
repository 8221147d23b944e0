"""Cells that a spreadsheet would run, stopped in one place for every table that is written."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.intake.stations.columns import station_table_text
from planner.report.tables import cell
from planner.spreadsheet import spreadsheet_safe

STARTS = ["=1+1", "@x", "+cmd", "-cmd", "\t=1", "\r=1", "\n=1+1", "\uff1d1+1", "\uff0bx", "\ufe6bx"]


@pytest.mark.parametrize("keep_numbers", [False, True])
@pytest.mark.parametrize("text", STARTS)
def test_formulas_are_neutralised(text: str, keep_numbers: bool) -> None:  # noqa: FBT001
    assert spreadsheet_safe(text, keep_numbers=keep_numbers) == f"'{text}"


@pytest.mark.parametrize("text", ["-95.9", "+3", "-.5", "-1.5e-3"])
def test_plain_numbers_are_left_alone_only_when_asked(text: str) -> None:
    assert spreadsheet_safe(text, keep_numbers=True) == text
    assert spreadsheet_safe(text) == f"'{text}"


@pytest.mark.parametrize("text", ["1e3", "", "plain", "a=b", "'=1", " -"])
def test_other_texts_are_left_alone(text: str) -> None:
    assert spreadsheet_safe(text) == text


@pytest.mark.parametrize("text", ["-inf", "-nan", "-1_0", "-1\n", "-\u0661"])
def test_what_only_looks_like_a_number_is_none(text: str) -> None:
    assert spreadsheet_safe(text, keep_numbers=True) == f"'{text}"


def test_a_tab_that_tidying_took_away_still_counts() -> None:
    assert spreadsheet_safe("1+1", came="\t1+1") == "'1+1"


@given(text=st.text(), keep_numbers=st.booleans())
def test_a_cell_made_safe_stays_as_it_is(text: str, *, keep_numbers: bool) -> None:
    safe = spreadsheet_safe(text, keep_numbers=keep_numbers)
    assert spreadsheet_safe(safe, keep_numbers=keep_numbers) == safe
    assert safe in {text, f"'{text}"}


@pytest.mark.parametrize("text", ["\n=1+1", "\uff1d1+1"])
def test_station_tables_and_reports_stop_the_same_cells(text: str) -> None:
    """Station tables once let a line break and the full-width equals sign through."""
    assert cell(text).startswith("'")
    written = list(csv.reader(io.StringIO(station_table_text([{"station_id": "a", "name": text}]))))
    assert written[1][written[0].index("name")] == f"'{text}"
