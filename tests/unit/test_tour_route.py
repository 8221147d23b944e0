"""A route as a table: the columns are the keys of a stop."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest

from planner.errors import InputFaults
from planner.intake import route as route_module
from planner.intake.tour import load_tour
from tests.unit.tour_files import NEED, OMAHA, TOUR_HEAD, write_inputs, write_tour

if TYPE_CHECKING:
    from pathlib import Path

WITH_ROUTE = TOUR_HEAD + 'route = "route.csv"\n' + NEED


def write_route(folder: Path, text: str) -> Path:
    """Write a tour whose route is a table."""
    (folder / "route.csv").write_text(text, encoding="utf-8")
    return write_tour(folder, WITH_ROUTE)


def faults_of(path: Path) -> list[str]:
    """Return the lines of all faults."""
    with pytest.raises(InputFaults, match="route") as caught:
        load_tour(path)
    return [fault.line() for fault in caught.value.faults]


def test_a_route_reads_like_stops(tmp_path: Path) -> None:
    path = write_route(
        tmp_path,
        "id,place,lat,lon,country,venue,location_error_km,date,first_date,last_date,load_in,setting,"
        "antenna_height_m,rig,status,exclude_mhz\n"
        'one,"Omaha, NE, US",41.2565,-95.9345,US,"Platte, Room",0.5,,2027-03-04,2027-03-05,08:00,'
        "indoor,4,B,hold,512-513;520-520.33125\n"
        ',"Denver, CO, US",,,,,,2027-03-07,,,,tent,,,,\n',
    )
    loaded = load_tour(path)
    first, second = loaded.tour.stops
    assert (first.id, first.venue, first.location_error_km) == ("one", "Platte, Room", 0.5)
    assert (first.first_date, first.last_date) == (dt.date(2027, 3, 4), dt.date(2027, 3, 5))
    assert (first.load_in, first.setting, first.antenna_height_m) == ("08:00", "indoor", 4.0)
    assert (first.rig, first.status) == ("B", "hold")
    assert first.exclude_hz == ((512_000_000, 513_000_000), (520_000_000, 520_331_250))
    assert (second.id, second.rig, second.setting) == ("denver-1", "A", "tent")
    assert [(row.file, row.rows) for row in loaded.inputs[:2]] == [
        ("tour.toml", None),
        ("route.csv", 2),
    ]


def test_unknown_columns_are_kept_apart_with_a_warning(tmp_path: Path) -> None:
    path = write_route(
        tmp_path, 'place,date,seting,capacity\n"Omaha, NE, US",2027-03-04,indoor,900\n'
    )
    warnings = load_tour(path).tour.warnings
    assert warnings[:2] == (
        ("route-column", "route.csv", 'column "seting" is not used; did you mean "setting"?'),
        ("route-column", "route.csv", 'column "capacity" is not used'),
    )


def test_both_route_and_stops(tmp_path: Path) -> None:
    path = write_route(tmp_path, 'place,date\n"Omaha, NE, US",2027-03-04\n')
    path.write_text(WITH_ROUTE + OMAHA, encoding="utf-8")
    (line,) = faults_of(path)
    assert "[tour], route; got a route and 1 [[stop]]; allowed: one of the two" in line


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("place,date\n", "route.csv; got a header and no row"),
        ("", "route.csv; got an empty file"),
        ("place;date\nOmaha;2027-03-04\n", 'columns separated by ";"'),
        ("place,when\nOmaha,2027-03-04\n", "row 1; got neither a column date"),
        ("venue,date\nHall,2027-03-04\n", "row 1; got neither a column place"),
        ("place,date\nOmaha\n", "row 2; got 1 cell; allowed: 2 cells"),
        ("place,date\nOmaha,4 March\n", "row 2, column date; got 4 March"),
        ("place,date\nOmaha,2027-02-30\n", "no such day in the calendar"),
        ("place,date,lat,lon\nOmaha,2027-03-04,95,-95.9\n", "row 2, column lat; got 95"),
        ("place,date,lat,lon\nOmaha,2027-03-04,nan,-95.9\n", "row 2, column lat; got nan"),
        ("place,date,lat,lon\nOmaha,2027-03-04,41.2,\n", "row 2, column lon; got only lat"),
        ("place,date\nSpringfield,2027-03-04\n", 'row 2, column place; got "Springfield"'),
        ("place,date,exclude_mhz\nOmaha,2027-03-04,512\n", "exclude_mhz; got 512"),
        ("place,date,exclude_mhz\nOmaha,2027-03-04,513-512\n", "got 513 to 512"),
        ("place,date,exclude_mhz\nOmaha,2027-03-04,512-x\n", "exclude_mhz; got x"),
        ("place,date,setting\nOmaha,2027-03-04,indor\n", 'did you mean "indoor"?'),
        ('place,date,venue\nOmaha,2027-03-04,"a\nb"\n', "column venue"),
        ("place,date,id\nOmaha,2027-03-04,o 1\nDenver,2027-03-05,\n", 'column id; got "o 1"'),
        (
            "place,date,id\nOmaha,2027-03-04,x\nDenver,2027-03-05,x\n",
            'row 3, column id; got "x", which stop 1',
        ),
        ("place,date\n,2027-03-04\n", "row 2, column place; got neither a place nor lat and lon"),
    ],
)
def test_a_route_at_fault(tmp_path: Path, text: str, expected: str) -> None:
    lines = faults_of(write_route(tmp_path, text))
    assert any(expected in line for line in lines)
    assert all(line.startswith("route.csv") for line in lines)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("venue,lat\nHall,95\n,\nHall,\n", ["a column place", "a column date"]),
        ("venue,date\nHall,4 March\nHall\n", ["a column place"]),
        ("place,setting\nOmaha,indor\nSpringfield,\n", ["a column date"]),
        ("place,first_date\nSpringfield,2027-03-04,2027-03-05\n", ["a column date"]),
        ("place,place\nSpringfield,Omaha\n", ["a column date", "the column twice"]),
    ],
)
def test_a_header_at_fault_says_nothing_of_the_rows(
    tmp_path: Path, text: str, said: list[str]
) -> None:
    lines = faults_of(write_route(tmp_path, text))
    assert len(lines) == len(said)
    assert all(line.startswith("route.csv: row 1") for line in lines)
    for words in said:
        assert any(words in line for line in lines)


def test_a_header_at_fault_leaves_stops_named_elsewhere_alone(tmp_path: Path) -> None:
    path = write_route(tmp_path, "\n\nplace,when\nOmaha,2027-03-04\n")
    path.write_text(WITH_ROUTE + 'stops = ["omaha-1"]\n', encoding="utf-8")
    (line,) = faults_of(path)
    assert line.startswith("route.csv: row 3; got neither a column date")


def test_a_missing_route(tmp_path: Path) -> None:
    (line,) = faults_of(write_tour(tmp_path, WITH_ROUTE))
    assert line.startswith("route.csv; got no such file")


def test_stops_named_elsewhere_are_not_told_twice_when_the_route_is_missing(
    tmp_path: Path,
) -> None:
    path = write_tour(tmp_path, WITH_ROUTE + 'stops = ["omaha-1"]\n')
    assert len(faults_of(path)) == 1


def write_workbook(folder: Path, rows: list[list[object]]) -> Path:
    """Write a tour whose route is a workbook."""
    openpyxl = pytest.importorskip("openpyxl", reason="workbooks need the package openpyxl")
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    book.save(folder / "route.xlsx")
    return write_tour(folder, WITH_ROUTE.replace("route.csv", "route.xlsx"))


def test_a_workbook_reads_like_a_csv_file(tmp_path: Path) -> None:
    path = write_workbook(
        tmp_path,
        [
            ["place", "lat", "lon", "date", "load_in", "setting", "antenna_height_m"],
            ["Omaha, NE, US", 41.2565, -95.9345, dt.date(2027, 3, 4), dt.time(8), "indoor", 3.0],
            [None, None, None, None, None, None, None],
            ["Denver, CO, US", None, None, dt.datetime(2027, 3, 6), None, "tent", 4],  # noqa: DTZ001
        ],
    )
    first, second = load_tour(path).tour.stops
    assert (first.id, first.lat_deg, first.load_in) == ("omaha-1", 41.2565, "08:00")
    assert first.first_date == dt.date(2027, 3, 4)
    assert (second.id, second.antenna_height_m) == ("denver-1", 4.0)


def test_a_workbook_at_fault_names_the_row_of_the_sheet(tmp_path: Path) -> None:
    path = write_workbook(tmp_path, [["place", "date"], [None, None], ["Omaha, NE, US", "4 March"]])
    (line,) = faults_of(path)
    assert "route.xlsx: row 3, column date; got 4 March" in line


def test_a_broken_workbook(tmp_path: Path) -> None:
    pytest.importorskip("openpyxl", reason="workbooks need the package openpyxl")
    (tmp_path / "route.xlsx").write_bytes(b"PK no workbook")
    (line,) = faults_of(write_tour(tmp_path, WITH_ROUTE.replace("route.csv", "route.xlsx")))
    assert "a workbook that cannot be read" in line
    assert "save it as CSV" in line


def test_without_the_package_a_workbook_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(name: str) -> object:
        raise ImportError(name)

    monkeypatch.setattr(route_module.importlib, "import_module", missing)
    write_inputs(tmp_path)
    (tmp_path / "route.xlsx").write_bytes(b"PK")
    (line,) = faults_of(write_tour(tmp_path, WITH_ROUTE.replace("route.csv", "route.xlsx")))
    assert "openpyxl is not installed" in line
    assert "save it as CSV" in line
