"""A tour through five countries with an invented table of one of them, end to end."""

from __future__ import annotations

import html
import json
import re
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.cli.running import passband

pytest.importorskip("global_land_mask", reason="the land and sea mask is not installed")

# Invented masts; real channels of the 8 MHz raster.
STATIONS = """\
station_id,name,country,service,system,channel,lat_deg,lon_deg,erp_kw,haat_m,status
GB-1,Invented Hill,GB,full,dvb-t2,23,51.42,-0.08,200,300,on-air
GB-2,Invented Hill,GB,full,dvb-t2,26,51.42,-0.08,200,300,on-air
GB-3,Invented Moor,GB,full,dvb-t,32,53.63,-2.52,100,400,on-air
"""
COVERAGE = """\
countries = ["GB"]
services = ["full", "low-power", "class-a", "translator", "booster"]
systems = ["dvb-t", "dvb-t2"]
low_mhz = 470
high_mhz = 694
issued = 2026-10-01
missing_note = "invented for tests"
"""
GEAR = """\
family,mode,role,form,low_mhz,high_mhz,step_khz,bandwidth_khz,spacing_khz,guard_2a_b_khz,guard_a_b_c_khz,modulation,powers_mw,power_kind,countries
Alder,,mic,hand-held,606.6,613.4,25,180,350,100,0,fm,10;30,ERP,
Alder,,mic,hand-held,863.1,864.9,25,180,350,100,0,fm,10,ERP,
Birch,,mic,hand-held,470.1,557.9,25,180,350,100,0,fm,10;30,ERP,
Oak,,mic,hand-held,864.1,864.8,25,180,350,100,0,fm,10,ERP,US
"""
TOUR = """\
[tour]
name = "Invented Five"
station_table = "gb.csv"
gear = "gear.csv"

[settings]
accept_unconfirmed = ["FR"]

[[licence]]
country = "GB"
kind = "shared"
holder = "Invented Hire"

[[licence]]
country = "GB"
kind = "coordinated"
holder = "Invented Hire"

[[need]]
name = "vocals"
role = "mic"
count = 2
gear = ["Alder"]
ranges_max = 2
"""
STOPS = ("London, GB", "Manchester, GB", "Paris, FR", "Amsterdam, NL", "Berlin, DE", "Zurich, CH")
Planned = tuple[Path, dict[str, Any], str]


def channels(stop: dict[str, Any]) -> dict[int, dict[str, Any]]:
    return {row["channel"]: row for row in stop["channels"]}


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    """Return folder, document and what was said."""
    base = tmp_path_factory.mktemp("europe")
    stops = "".join(
        f'\n[[stop]]\nplace = "{place}"\ndate = 2027-03-{day:02}\nsetting = "indoor"\n'
        for day, place in enumerate(STOPS, start=4)
    )
    for name, text in (
        ("gb.csv", STATIONS),
        ("gb.coverage.toml", COVERAGE),
        ("gear.csv", GEAR),
        ("tour.toml", TOUR + stops),
    ):
        (base / name).write_text(text, encoding="utf-8")
    run = passband("plan", base / "tour.toml", "--out", base / "out", "--effort", "quick")
    assert run.returncode == 0, run.stderr
    text = (base / "out" / "plan.json").read_text(encoding="utf-8")
    return base / "out", json.loads(text), run.stdout


def test_the_plan_fulfils_its_schema(planned: Planned) -> None:
    schema = json.loads(
        (resources.files("planner.plan") / "passband-plan-1.schema.json").read_text("utf-8")
    )
    jsonschema.Draft202012Validator(schema).validate(planned[1])


def test_every_stop_gets_its_carriers_in_the_band_that_all_have(planned: Planned) -> None:
    for stop in planned[1]["stops"]:
        assert not stop["short"], stop["id"]
        assert all(863 < row["frequency_mhz"] < 865 for row in stop["carriers"])
        assert all((row["law"], row["power_mw"]) == ("lawful", 10) for row in stop["carriers"])
    assert planned[1]["common"]["full_windows_mhz"] == [[863.01, 864.99]]


def test_on_air_only_the_country_of_the_table_is_listed(planned: Planned) -> None:
    for stop in planned[1]["stops"]:
        words = {row["air"] for row in stop["channels"]}
        if stop["country"] == "GB":
            assert "unlisted" not in words
            continue
        assert words == {"unlisted"}, stop["id"]
        notes = " ".join(stop["coverage_notes"])
        assert f"No loaded table covers {stop['country']}" in notes
        assert "Supply a station table of the television transmitters" in notes


def test_london_and_manchester_differ_by_their_masts(planned: Planned) -> None:
    london, manchester = (channels(stop) for stop in planned[1]["stops"][:2])
    assert [london[n]["air"] for n in (21, 23, 26)] == ["quiet", "held", "held"]
    assert [manchester[n]["air"] for n in (21, 23, 26)] == ["quiet", "quiet", "quiet"]
    assert 38 not in london, "channel 38 is no television in Great Britain"


def test_the_law_of_each_stop_names_source_and_status(planned: Planned) -> None:
    for stop in planned[1]["stops"]:
        for row in stop["ranges"]["Alder 863.1-864.9"]["law_spans"]:
            assert row["law"] == "lawful"
            assert row["rule"].endswith("[permission and limit confirmed]")
    laws = {stop["id"]: channels(stop)[21]["law"] for stop in planned[1]["stops"]}
    assert laws == {
        "london-1": "on-request",
        "manchester-1": "on-request",
        "paris-1": "lawful",
        "amsterdam-1": "lawful",
        "berlin-1": "lawful",
        "zurich-1": "lawful",
    }


def test_what_the_user_took_on_stands_on_every_sheet_of_that_country_only(planned: Planned) -> None:
    said = "accept_unconfirmed names FR: permissions of France that no text seen confirms"
    found = {}
    for sheet in sorted((planned[0] / "sheets").glob("2027*.html")):
        text = re.sub(r"<[^>]+>", " ", sheet.read_text(encoding="utf-8"))
        found[sheet.stem.split("_")[1]] = said in " ".join(html.unescape(text).split())
    assert found == {stop["id"]: stop["id"] == "paris-1" for stop in planned[1]["stops"]}
    assert "unconfirmed-accepted" in {row["code"] for row in planned[1]["warnings"]}


def test_sheets_print_the_source_of_the_law(planned: Planned) -> None:
    (sheet,) = (planned[0] / "sheets").glob("*zurich-1.html")
    text = html.unescape(sheet.read_text(encoding="utf-8"))
    assert "BAKOM table" in text
    assert "[permission and limit confirmed]" in text


def test_deadlines_come_earliest_first_and_say_what_is_left_without(planned: Planned) -> None:
    rows = planned[1]["deadlines"]
    without = [row.pop("lawful_without_mhz") for row in rows]
    texts = [row["text"] for row in planned[1]["warnings"] if row["code"] == "apply-by"]
    for spans, text in zip(without, texts, strict=True):
        for low, high in spans:
            assert f"{low:g}-{high:g}" in text
    assert [863.01, 864.99] in without[1]
    assert rows[0] == {
        "stop": "amsterdam-1",
        "licence_kind": "event",
        "apply_by": "2027-02-21",
        "apply_to": "RDI (Netherlands)",
    }
    assert [(row["stop"], row["licence_kind"], row["apply_by"]) for row in rows[1:]] == [
        ("london-1", "coordinated", None),
        ("manchester-1", "coordinated", None),
    ]
    texts = {
        row["where"]: row["text"] for row in planned[1]["warnings"] if row["code"] == "apply-by"
    }
    assert "MHz of the catalogue's spans stay lawful there" in texts["amsterdam-1"]
    assert "863.01-864.99" in texts["london-1"]


def test_gear_that_is_approved_elsewhere_only_is_barred(planned: Planned) -> None:
    for stop in planned[1]["stops"]:
        for row in stop["ranges"]["Oak 864.1-864.8"]["law_spans"]:
            assert (row["law"], row["text"]) == ("barred", "gear approved for US only")
