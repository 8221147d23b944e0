"""Tables for other programs: typed workbooks, hostile cells that stay text, requests as pages."""

from __future__ import annotations

import csv
import io
import tomllib
import zipfile
from typing import Any

import openpyxl
import pytest

from planner.report.files import stems
from planner.report.pdf.paint import pdf_bytes
from planner.report.reach_table import REACH_COLUMNS
from planner.report.reply import assigned_toml, clashes_csv
from planner.report.request_pdf import request_pages
from planner.report.request_tables import request_csv, request_xlsx
from planner.report.tables import CARRIER_COLUMNS, Table, table_csv
from planner.report.tables_out import render_tables
from planner.report.views.frequency_request import UnknownRangeError, frequency_request
from planner.report.workbook import header, workbook
from tests.report.pdf_reading import pages_of, squeezed

Plan = dict[str, Any]
HOSTILE = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "a\nb", "\u202etxt", "\uff1d1+1", "\x07")
RANGE = {
    "family": "Alder",
    "role": "mic",
    "form": "",
    "low_mhz": 470.1,
    "high_mhz": 513.9,
    "pieces_mhz": [],
    "tuning_origin_mhz": 470.1,
    "step_khz": 25.0,
    "bandwidth_khz": 200.0,
    "spacing_khz": 350.0,
    "modulation": "fm",
    "powers_mw": [10.0, 50.0],
    "power_kind": "EIRP",
    "links_per_block": 0,
}


@pytest.fixture
def asked(plan: Plan) -> Plan:
    """Return the plan with a catalogue and with needs that name the carriers of its first stop."""
    first = plan["stops"][0]
    for need in plan["needs"]:
        rows = [row for row in first["carriers"] if row["need"] == need["name"]]
        need["lines"] = [row["name"] for row in rows if not row["spare"]]
        need["count"] = max(need["count"], len(need["lines"]))
        plan["choice"] = plan.get("choice") or {}
        plan["choice"][need["name"]] = list(dict.fromkeys(row["range"] for row in rows))
    keys = {row["range"] for stop in plan["stops"] for row in stop["carriers"] if row["range"]}
    keys |= {row["range"] for row in plan["ranking"]}
    plan["gear"] = {key: dict(RANGE) for key in sorted(keys)}
    return plan


def _sheet(raw: bytes, name: str) -> Any:
    return openpyxl.load_workbook(io.BytesIO(raw))[name]


def test_carriers_and_reach_hold_the_same_rows_in_both_forms(plan: Plan) -> None:
    files = render_tables(plan, stems(plan))
    for name, columns in (("carriers", CARRIER_COLUMNS), ("reach", REACH_COLUMNS)):
        text, raw = files[f"tables/{name}.csv"], files[f"tables/{name}.xlsx"]
        assert isinstance(text, str)
        assert isinstance(raw, bytes)
        lines = list(csv.reader(io.StringIO(text)))
        sheet = _sheet(raw, name)
        assert sheet.freeze_panes == "A2"
        assert [cell.value for cell in sheet[1]] == [header(column) for column in columns]
        assert tuple(lines[0]) == columns
        assert sheet.max_row == len(lines) > 2
        for line, row in zip(lines[1:], sheet.iter_rows(min_row=2), strict=True):
            for cell, found in zip(line, row, strict=True):
                if isinstance(found.value, int | float):
                    assert float(cell) == found.value
                else:
                    assert (found.value or "") == cell.removeprefix("'")


def test_numbers_are_numbers_and_units_stand_in_headers() -> None:
    assert header("frequency_mhz") == "frequency [MHz]"
    table = Table(name="t", columns=("frequency_mhz", "spare"), lines=((518.1, True),))
    sheet = _sheet(workbook([table], title="t"), "t")
    assert sheet["A2"].data_type == "n"
    assert sheet["A2"].number_format == "0.000###"
    assert sheet["B2"].value == "yes"
    assert table_csv(table).splitlines()[1] == "518.100,yes"


@pytest.mark.parametrize("text", HOSTILE)
def test_no_cell_runs(text: str) -> None:
    table = Table(name="t", columns=("name",), lines=((text,),))
    cell = _sheet(workbook([table], title=text), "t")["A2"]
    assert cell.data_type == "s"
    assert cell.quotePrefix
    assert "\x07" not in cell.value
    lines = list(csv.reader(io.StringIO(table_csv(table))))
    assert len(lines) == 2
    assert lines[1][0][0] not in "=+-@\t\r\uff1d"


def test_the_same_table_gives_the_same_bytes_without_a_time() -> None:
    table = Table(name="t", columns=("name",), lines=(("a",),))
    raw = workbook([table], title="t")
    assert raw == workbook([table], title="t")
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        assert {row.date_time for row in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert b"1980-01-01T00:00:00Z" in archive.read("docProps/core.xml")


def test_a_request_stands_in_all_three_forms(asked: Plan) -> None:
    view = frequency_request(asked, "omaha-1")
    rows = list(csv.DictReader(io.StringIO(request_csv(view))))
    sheet = _sheet(request_xlsx(view), "lines")
    pages = "".join(pages_of(pdf_bytes(request_pages(view))))
    assert sheet.max_row == len(rows) + 1
    ours = [row for row in asked["stops"][0]["carriers"] if row["need"] and not row["other"]]
    planned = {float(row["planned_mhz"]) for row in rows if row["planned_mhz"]}
    assert {row["frequency_mhz"] for row in ours} <= planned
    for row in rows:
        assert squeezed(row["planned_mhz"]) in pages
    assert all(not row["assigned_mhz"] and not row["contact_name"] for row in rows)


def test_line_numbers_leave_names_of_people_out(asked: Plan) -> None:
    named = request_csv(frequency_request(asked, "omaha-1"))
    numbered = frequency_request(asked, "omaha-1", numbers=True)
    assert "Gitarre Süd" in named
    assert "Gitarre Süd" not in request_csv(numbered)
    assert squeezed("Gitarre Süd") not in "".join(pages_of(pdf_bytes(request_pages(numbered))))


def test_a_range_that_nobody_considers_is_no_range_to_ask_in(asked: Plan) -> None:
    with pytest.raises(UnknownRangeError, match="Nowhere 1-2"):
        frequency_request(asked, "omaha-1", ranges=["Nowhere 1-2"])


def test_hostile_words_of_an_answer_stay_text() -> None:
    answer = {
        "stop": "omaha-1",
        "place": "Omaha, NE, US",
        "file": 'a"b\n[[stop]]\n.csv',
        "clashes": [
            {
                "need": "vocals",
                "name": "=1+1",
                "where": "row 2",
                "assigned_mhz": 518.1,
                "kind": "cannot be used",
                "reason": "line one\nline = two",
                "remedy": "",
                "try_mhz": None,
                "reference": "",
            }
        ],
        "assigned": [
            {
                "stop": "omaha-1",
                "need": 'vo"c\\als\n\x7f',
                "frequencies_mhz": [518.1],
                "power_mw": 50.0,
                "reference": "\x1b[0m ü",
            }
        ],
    }
    tables = tomllib.loads(assigned_toml(answer))
    assert tables == {
        "assigned": [
            {
                "stop": "omaha-1",
                "need": 'vo"c\\als\n\x7f',
                "frequencies_mhz": [518.1],
                "power_mw": 50.0,
                "reference": "\x1b[0m ü",
            }
        ]
    }
    row = next(csv.DictReader(io.StringIO(clashes_csv(answer))))
    assert (row["name"], row["assigned_mhz"]) == ("'=1+1", "518.100")
