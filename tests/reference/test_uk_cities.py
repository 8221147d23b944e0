"""The air of British cities by the regulator's real table, indoors at one point.

Needs ``shared/open-tv/uk/700-plan-clearance.csv``; skips without it. What is expected: in London,
Norwich and Glasgow at least one UHF channel is quiet; bearings by PROJ's geodesics, not ours.
The table has no antenna patterns, so full power is taken all round: more is held than in truth.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from pyproj import Geod

from tests.cli.running import passband

SOURCE = Path(__file__).resolve().parents[3] / "shared/open-tv/uk/700-plan-clearance.csv"
pytest.importorskip("global_land_mask", reason="the land and sea mask is not installed")

CITIES = {
    "London": (51.5074, -0.1278),
    "Norwich": (52.6309, 1.2974),
    "Glasgow": (55.8642, -4.2518),
    "Manchester": (53.4808, -2.2426),
}
GEAR = """\
family,role,low_mhz,high_mhz,step_khz,bandwidth_khz,spacing_khz,powers_mw,power_kind
Alder,mic,470.1,693.9,25,200,350,10,ERP
"""
TOUR = """\
[tour]
name = "Invented Isles"
station_table = "uk.csv"
gear = "gear.csv"

[[need]]
name = "vocals"
role = "mic"
count = 1
"""
Answer = dict[str, Any]


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> Answer:
    """Return what ``reach`` says of all cities."""
    if not SOURCE.is_file():
        pytest.skip("needs the folder shared/ beside the checkout")
    base = tmp_path_factory.mktemp("uk")
    made = passband("stations", SOURCE, "--from", "ofcom", "--out", base / "uk.csv")
    assert made.returncode == 0, made.stderr
    (base / "gear.csv").write_text(GEAR, encoding="utf-8")
    stops = "".join(
        f'\n[[stop]]\nplace = "{city}, GB"\nlat = {lat_deg}\nlon = {lon_deg}\n'
        f'date = 2027-03-{day:02}\nsetting = "indoor"\n'
        for day, (city, (lat_deg, lon_deg)) in enumerate(CITIES.items(), start=4)
    )
    (base / "tour.toml").write_text(TOUR + stops, encoding="utf-8")
    run = passband("reach", base / "tour.toml", "--json")
    assert run.returncode == 0, run.stderr
    answer: Answer = json.loads(run.stdout)
    return answer


def channels(answer: Answer, city: str, air: str) -> set[int]:
    stop = answer["stops"][list(CITIES).index(city)]
    return {row["channel"] for row in stop["channels"] if row["air"] == air}


@pytest.mark.parametrize("city", ["London", "Norwich", "Glasgow"])
def test_at_least_one_channel_is_quiet(answer: Answer, city: str) -> None:
    assert channels(answer, city, "quiet")
    assert channels(answer, city, "held")


def test_masts_stand_in_their_true_direction(answer: Answer) -> None:
    geod = Geod(ellps="WGS84")
    seen = 0
    for stop, (lat_deg, lon_deg) in zip(answer["stops"], CITIES.values(), strict=True):
        for channel in stop["channels"]:
            for row in channel["transmitters"][:3]:
                mast = answer["transmitters"][row["station_id"]]
                azimuth_deg, _, metres = geod.inv(
                    lon_deg, lat_deg, mast["lon_deg"], mast["lat_deg"]
                )
                # written to 0.1 deg and 0.01 km
                off_deg = (row["bearing_from_stop_deg"] - azimuth_deg + 180.0) % 360.0 - 180.0
                assert abs(off_deg) <= 0.06, mast["name"]
                assert abs(row["distance_km"] - metres / 1000.0) <= 0.006, mast["name"]
                seen += 1
    assert seen > 100


def test_a_relay_beside_the_main_mast_is_named(answer: Answer) -> None:
    stop = answer["stops"][0]
    held = {
        answer["transmitters"][reason["station_id"]]["name"]
        for channel in stop["channels"]
        for reason in channel["reasons"]
        if reason["code"] == "contour"
    }
    weak = {mast["name"] for mast in answer["transmitters"].values() if mast["erp_kw"] < 1.0}
    assert "Crystal Palace" in held
    assert held & weak
