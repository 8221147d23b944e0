"""Stations across the border, by the regulators' tables of October 2015 of both countries.

Needs ``shared/open-tv/us`` and ``ca``; skips without them. The tables are older than 24 months
before any tour of today, which must be said.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import passband

FOLDER = Path(__file__).resolve().parents[3] / "shared/open-tv"
COLUMNS = ("lat_deg", "lon_deg", "country", "channel", "haat_m", "erp_kw")
MAPS = (
    "station_id=facility_id",
    "name=call",
    "antenna_amsl_m=rcamsl_m",
    "service==full",
    *(f"{name}={name}" for name in COLUMNS),
)
TOUR = """\
[tour]
name = "Invented Border"
station_table = ["us.csv", "ca.csv"]
gear = "gear.csv"

[[need]]
name = "vocals"
role = "mic"
count = 1
"""
GEAR = """\
family,role,low_mhz,high_mhz,step_khz,bandwidth_khz,spacing_khz,powers_mw,power_kind
Alder,mic,470.1,607.9,25,200,350,10,EIRP
"""
CITIES = ("Seattle, WA, US", "Vancouver, BC, CA", "Toronto, ON, CA", "Buffalo, NY, US")
Answer = dict[str, Any]


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> Answer:
    """Return what ``reach`` says of all cities."""
    base = tmp_path_factory.mktemp("border")
    maps = [word for row in MAPS for word in ("--map", row)]
    for country in ("us", "ca"):
        source = FOLDER / country / "stations_2015.csv"
        if not source.is_file():
            pytest.skip("needs the folder shared/ beside the checkout")
        made = passband(
            "stations",
            source,
            *("--from", "mapped", "--out", base / f"{country}.csv", *maps, "--zero-unknown"),
            *("--raster", "US", "--covers", "full", "--issued", "2015-10-01"),
        )
        assert made.returncode == 0, made.stderr
    stops = "".join(
        f'\n[[stop]]\nplace = "{city}"\ndate = 2027-03-{day:02}\nsetting = "indoor"\n'
        for day, city in enumerate(CITIES, start=4)
    )
    (base / "gear.csv").write_text(GEAR, encoding="utf-8")
    (base / "tour.toml").write_text(TOUR + stops, encoding="utf-8")
    run = passband("reach", base / "tour.toml", "--json")
    assert run.returncode in {0, 3}, run.stderr  # without a licence Canada has nothing lawful
    found: Answer = json.loads(run.stdout)
    return found


@pytest.mark.parametrize(("stop_id", "foreign"), [("vancouver-1", "US"), ("buffalo-1", "CA")])
def test_stations_across_the_border_hold_channels(
    answer: Answer, stop_id: str, foreign: str
) -> None:
    stop = next(row for row in answer["stops"] if row["id"] == stop_id)
    said = [
        reason["text"]
        for channel in stop["channels"]
        for reason in channel["reasons"]
        if reason["code"].startswith("contour")
        and answer["transmitters"][reason["station_id"]]["country"] == foreign
    ]
    assert said
    assert all(f"(station of {foreign}: not stated in the rule)" in text for text in said)
    at_home = {answer["transmitters"][row]["country"] for row in _held_by(stop)}
    assert stop["country"] in at_home


def _held_by(stop: Answer) -> set[str]:
    return {
        reason["station_id"]
        for channel in stop["channels"]
        for reason in channel["reasons"]
        if reason["code"].startswith("contour")
    }


def test_the_age_of_both_tables_is_a_warning(answer: Answer) -> None:
    old = {row["where"] for row in answer["warnings"] if row["code"] == "table-old"}
    assert old == {"us.csv", "ca.csv"}
