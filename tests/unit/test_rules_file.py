"""A user's rules file: a country added row by row, and every fault told at once."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from planner.errors import InputFaults
from planner.intake.rules_file import load_rules
from planner.intake.tour import load_tour
from planner.rules import StopFacts, country_rules
from tests.unit.test_rules_world import at, use
from tests.unit.tour_files import NEED, TOUR_HEAD, write_tour

# The worked example of DEVELOPERS.md, "Add a country": the figures are invented.
EXAMPLE = """\
country,low_mhz,high_mhz,use,form,licence_kind,power_mw,power_kind,bandwidth_khz,area,valid_from,valid_to,lead_time_days,apply_to,names_frequencies,source,status
MX,470,608,audio,any,none,10,EIRP,200,,,2027-12-31,,,no,invented act 12,confirmed
MX,470,608,audio,any,event,50,EIRP,200,,,,21,the invented office,yes,invented act 13,confirmed
MX,500,506,audio,any,barred,,,,circle 19.43 -99.13 30,,,,,no,invented act 14,confirmed
"""
MEXICO_CITY = """
[[stop]]
place = "Mexico City, MX"
lat = 19.43
lon = -99.13
date = 2027-03-04
setting = "indoor"
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "rules.csv"
    path.write_text(text, encoding="utf-8")
    return path


def lines_of(folder: Path, text: str) -> list[str]:
    with pytest.raises(InputFaults, match="rules") as caught:
        load_rules(written(folder, text), name="rules.csv")
    return [fault.line() for fault in caught.value.faults]


def test_the_guide_for_contributors_shows_this_example() -> None:
    guide = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"
    assert f"```csv\n{EXAMPLE}```" in guide.read_text(encoding="utf-8")


def test_a_country_is_added_by_rows(tmp_path: Path) -> None:
    rows = load_rules(written(tmp_path, EXAMPLE))
    rules = country_rules("MX", rows)
    assert rules.licence_kinds == ("event",)
    facts = StopFacts(
        country="MX",
        lat_deg=19.43,
        lon_deg=-99.13,
        protected={},
        first_date=dt.date(2027, 3, 4),
        last_date=dt.date(2027, 3, 4),
    )
    found = [*rules.law_spans(use(470, 620), facts)]
    assert (at(found, 480).law, at(found, 480).limit_mw) == ("lawful", 10)
    assert at(found, 503).law == "barred"
    assert at(found, 610).law == "barred"


def test_a_tour_plans_by_the_rules_file_it_names(tmp_path: Path) -> None:
    written(tmp_path, EXAMPLE)
    head = TOUR_HEAD + 'rules = "rules.csv"\n'
    licence = '[[licence]]\ncountry = "MX"\nkind = "event"\n'
    loaded = load_tour(write_tour(tmp_path, head + MEXICO_CITY + NEED + licence))
    assert loaded.tour.stops[0].country == "MX"
    assert len(loaded.tour.permissions) == 3
    assert [(row.file, row.rows) for row in loaded.inputs][1] == ("rules.csv", 3)


def test_a_kind_of_licence_that_the_file_does_not_name_is_a_fault(tmp_path: Path) -> None:
    written(tmp_path, EXAMPLE)
    head = TOUR_HEAD + 'rules = "rules.csv"\n'
    licence = '[[licence]]\ncountry = "MX"\nkind = "evnt"\n'
    with pytest.raises(InputFaults, match='did you mean "event"'):
        load_tour(write_tour(tmp_path, head + MEXICO_CITY + NEED + licence))


def test_every_fault_is_told_at_once_and_with_those_of_the_tour(tmp_path: Path) -> None:
    written(tmp_path, EXAMPLE.replace("470,608,audio,any,none", "608,470,sound,any,none"))
    head = TOUR_HEAD + 'rules = "rules.csv"\n'
    bad = MEXICO_CITY.replace('"indoor"', '"inside"')
    with pytest.raises(InputFaults, match="608, high_mhz 470") as caught:
        load_tour(write_tour(tmp_path, head + bad + NEED))
    text = "\n".join(fault.line() for fault in caught.value.faults)
    for expected in ("608, high_mhz 470", "got sound; allowed: audio / mic", '"inside"'):
        assert expected in text


ROW_FAULTS = [
    ("MX,470,608,audio,any,none,10,EIRP", "XX,470,608,audio,any,none,10,EIRP", "got XX"),
    ("MX,470,608,audio,any,none,10,EIRP", "US,470,608,audio,any,none,10,EIRP", "are built in"),
    ("audio,any,none,10,EIRP", "audio,any,none,10,", "column power_kind; got an empty cell"),
    ("audio,any,none,10,EIRP", "audio,any,none,0,EIRP", "a number above 0"),
    ("audio,any,none,10,EIRP", "audio,handheld,none,10,EIRP", 'did you mean "hand-held"?'),
    ("circle 19.43 -99.13 30", "circle 19.43 -99.13", "circle LAT LON KM, or polygon"),
    ("circle 19.43 -99.13 30", "circle 99 -99.13 30", "beyond 90 degrees north"),
    ("2027-12-31,,,no", "2027-13-31,,,no", "no such day in the calendar"),
    (",,2027-12-31", ",2028-01-01,2027-12-31", "valid_to on or after valid_from"),
    ("invented act 12,confirmed", ",confirmed", "column source; got an empty cell"),
    ("invented act 12,confirmed", "invented act 12,sure", "got sure; allowed: confirmed"),
    ("21,the invented", "-1,the invented", "a whole number from 0 to 3650 days"),
    (",yes,invented", ",perhaps,invented", "got perhaps; allowed: yes / no"),
]


@pytest.mark.parametrize(("old", "new", "expected"), ROW_FAULTS)
def test_a_row_at_fault(tmp_path: Path, old: str, new: str, expected: str) -> None:
    assert old in EXAMPLE
    lines = lines_of(tmp_path, EXAMPLE.replace(old, new, 1))
    assert any(expected in line for line in lines), lines


def test_two_rasters_of_one_country_and_an_origin_without_a_step_are_faults(tmp_path: Path) -> None:
    head = "country,low_mhz,high_mhz,licence_kind,raster_khz,raster_origin_mhz,source\n"
    rows = "MX,470,480,none,25,470,a\nMX,480,490,none,50,470,b\nMX,490,500,none,,470,c\n"
    lines = "\n".join(lines_of(tmp_path, head + rows))
    assert "one raster of carriers in MX" in lines
    assert "an origin needs its step" in lines


def test_a_missing_column_a_misspelt_one_and_no_row_are_faults(tmp_path: Path) -> None:
    (line,) = lines_of(tmp_path, "country,low_mhz,high_mhz,licence_kind,source\n")
    assert "at least one permission" in line
    lines = lines_of(tmp_path, EXAMPLE.replace(",lead_time_days,", ",lead_time,"))
    assert any('rename it "lead_time_days"?' in line for line in lines)


def test_an_empty_status_is_what_the_user_stands_for(tmp_path: Path) -> None:
    text = "country,low_mhz,high_mhz,licence_kind,source,status\n"
    text += "MX,470,480,none,a,\nMX,480,490,none,b,permission\nMX,490,500,none,c,unconfirmed\n"
    rows = load_rules(written(tmp_path, text))
    assert [(row.permission_confirmed, row.limit_confirmed) for row in rows] == [
        (True, True),
        (True, False),
        (False, False),
    ]
