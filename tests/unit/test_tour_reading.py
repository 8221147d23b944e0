"""A tour file that is in order: every key becomes what the records say."""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import TYPE_CHECKING

import pytest

from planner.intake.tour import load_tour
from planner.places.city_list import city_list
from tests.unit.tour_files import DENVER, NEED, OMAHA, TOUR_HEAD, write_tour

if TYPE_CHECKING:
    from pathlib import Path

FULL = """\
[tour]
name = "Test Round"
station_table = ["us.csv"]
gear = "gear.csv"
paper = "letter"
distances = "mi"

[settings]
use_faint = "never"
plan_unlisted = true
accept_unconfirmed = ["GB"]
noise_rise_limit_db = 3
pair_separation_mhz = 10.5
interference_time_percent = 10
field_model = "p1546"

[[licence]]
country = "US"
kind = "part-74"
holder = "Rig Hire"
valid_from = 2027-01-01
valid_to = 2027-12-31
stops = ["first"]

[[stop]]
id = "first"
place = "Omaha, NE, US"
lat = 41.2565
lon = -95.9345
country = "US"
venue = "Platte Room"
location_error_km = 0.5
first_date = 2027-03-04
last_date = 2027-03-05
load_in = "08:00"
setting = "indoor"
antenna_height_m = 4
rig = "B"
status = "hold"
exclude_mhz = [[512.0, 513.0], [520, 520.33125]]

[[stop]]
place = "Denver, CO, US"
date = 2027-03-07
setting = "tent"

[[exclude]]
low_mhz = 600.0
high_mhz = 601.0
reason = "house intercom"
stops = ["denver-1"]

[[need]]
name = "vocals"
role = "mic"
form = "hand-held"
lines = ["Lead", "Guitar"]
count = 4
spares = 1
spare_grade = "stand-in"
units_per_line = 2
gear = ["Alder"]
ranges_max = 1
zone = "stage left"
pair_with = "ears"
stops = ["first"]

[[need]]
name = "ears"
role = "in-ear"
lines = ["Lead"]

[[fixed]]
name = "house mic"
role = "mic"
frequency_mhz = 512.350
gear = "Old Oak 500-530"
stops = ["first"]
"""


def test_every_key_is_read(tmp_path: Path) -> None:
    loaded = load_tour(write_tour(tmp_path, FULL))
    tour = loaded.tour
    assert (tour.name, tour.paper, tour.distances) == ("Test Round", "letter", "mi")
    assert (tour.station_tables, tour.gear_file) == (("us.csv",), "gear.csv")
    assert tour.settings.use_faint == "never"
    assert tour.settings.plan_unlisted is True
    assert tour.settings.accept_unconfirmed == ("GB",)
    assert tour.settings.noise_rise_limit_db == 3.0
    assert tour.settings.pair_separation_mhz == 10.5
    assert tour.settings.field_model == "p1546"
    (licence,) = tour.licences
    assert (licence.country, licence.kind, licence.holder) == ("US", "part-74", "Rig Hire")
    assert (licence.valid_from, licence.valid_to) == (dt.date(2027, 1, 1), dt.date(2027, 12, 31))
    assert licence.stops == ("first",)
    first, second = tour.stops
    assert (first.id, first.place, first.venue) == ("first", "Omaha, NE, US", "Platte Room")
    assert (first.country, first.region) == ("US", "NE")
    assert (first.lat_deg, first.lon_deg, first.location_error_km) == (41.2565, -95.9345, 0.5)
    assert (first.first_date, first.last_date) == (dt.date(2027, 3, 4), dt.date(2027, 3, 5))
    assert (first.load_in, first.setting, first.antenna_height_m) == ("08:00", "indoor", 4.0)
    assert (first.rig, first.status) == ("B", "hold")
    assert first.exclude_hz == ((512_000_000, 513_000_000), (520_000_000, 520_331_250))
    assert (second.id, second.setting, second.rig) == ("denver-1", "tent", "A")
    assert second.first_date == second.last_date == dt.date(2027, 3, 7)
    (exclude,) = tour.excludes
    assert (exclude.low_hz, exclude.high_hz) == (600_000_000, 601_000_000)
    assert (exclude.reason, exclude.stops) == ("house intercom", ("denver-1",))
    vocals, ears = tour.needs
    assert vocals.lines == ("Lead", "Guitar", "vocals 3", "vocals 4")
    assert (vocals.count, vocals.spares, vocals.spare_grade) == (4, 1, "stand-in")
    assert (vocals.units_per_line, vocals.gear, vocals.zone) == (2, ("Alder",), "stage left")
    assert (vocals.pair_with, vocals.stops, vocals.form) == ("ears", ("first",), "hand-held")
    assert (ears.count, ears.lines) == (1, ("Lead",))
    (fixed,) = tour.fixed
    assert (fixed.frequency_hz, fixed.range_key) == (512_350_000, "Old Oak 500-530")
    assert tour.warnings == ()


def test_defaults(tmp_path: Path) -> None:
    text = f"""{TOUR_HEAD.replace('name = "Test Round"', "")}
[[stop]]
place = "Denver, CO, US"
date = 2027-03-06
{NEED}
[[fixed]]
name = "house mic"
frequency_mhz = 512.35
gear = "Old Oak 500-530"
"""
    loaded = load_tour(write_tour(tmp_path, text))
    (stop,) = loaded.tour.stops
    assert loaded.tour.name == "tour"
    assert (stop.setting, stop.antenna_height_m, stop.rig) == ("unknown", 3.0, "A")
    assert stop.location_error_km == 15.0  # Denver has more than 500,000 people
    assert loaded.how_found[0].startswith("gazetteer: Denver, CO, US, ")
    assert loaded.tour.fixed[0].role == "mic"
    assert loaded.tour.licences == ()
    assert [warning[:2] for warning in loaded.tour.warnings] == [("setting-unknown", "denver-1")]


def test_inputs_are_hashed_and_counted(tmp_path: Path) -> None:
    path = write_tour(tmp_path, TOUR_HEAD + OMAHA + DENVER + NEED)
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    inputs = load_tour(path).inputs
    assert [(row.file, row.rows) for row in inputs] == [
        ("tour.toml", 2),
        ("us.csv", 2),
        ("us.coverage.toml", None),
        ("gear.csv", 5),
    ]
    assert inputs[1].issued == "2026-10-01"
    assert inputs[1].coverage == (
        "countries US; services full; systems atsc1; 54-608 MHz; invented for tests"
    )
    for row in inputs:
        assert row.sha256 == hashlib.sha256(before[row.file]).hexdigest()
    after = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    assert after == before


def test_no_absolute_path_is_kept(tmp_path: Path) -> None:
    text = (TOUR_HEAD + OMAHA + NEED).replace('"us.csv"', f'"{tmp_path / "us.csv"}"')
    loaded = load_tour(write_tour(tmp_path, text))
    assert [row.file for row in loaded.inputs] == [
        "tour.toml",
        "us.csv",
        "us.coverage.toml",
        "gear.csv",
    ]


def test_paths_are_relative_to_the_tour_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_tour(tmp_path, TOUR_HEAD + OMAHA + NEED)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    assert len(load_tour(path).stations) == 2


def test_a_table_without_sidecar_says_so(tmp_path: Path) -> None:
    path = write_tour(tmp_path, TOUR_HEAD + OMAHA + NEED)
    (tmp_path / "us.coverage.toml").unlink()
    inputs = load_tour(path).inputs
    assert [row.file for row in inputs] == ["tour.toml", "us.csv", "gear.csv"]
    assert str(inputs[1].coverage).startswith("partial")


def test_ids_count_visits(tmp_path: Path) -> None:
    again = DENVER.replace("03-06", "03-08")
    loaded = load_tour(write_tour(tmp_path, TOUR_HEAD + DENVER + OMAHA + again + NEED))
    assert [stop.id for stop in loaded.tour.stops] == ["denver-1", "omaha-1", "denver-2"]


def test_two_towns_of_one_name_get_their_region(tmp_path: Path) -> None:
    stops = "".join(
        f'[[stop]]\nplace = "{place}"\ndate = 2027-03-0{day}\nsetting = "indoor"\n'
        for day, place in enumerate(
            ("Springfield, IL, US", "Springfield, MO, US", "Springfield, IL, US"), start=1
        )
    )
    loaded = load_tour(write_tour(tmp_path, TOUR_HEAD + stops + NEED))
    assert [stop.id for stop in loaded.tour.stops] == [
        "springfield-il-1",
        "springfield-mo-1",
        "springfield-il-2",
    ]


def test_coordinates_win_over_a_name_that_is_near(tmp_path: Path) -> None:
    stop = OMAHA.replace("41.2565", "41.30")
    loaded = load_tour(write_tour(tmp_path, TOUR_HEAD + stop + NEED))
    assert loaded.tour.stops[0].lat_deg == 41.30
    assert loaded.tour.stops[0].location_error_km == 0.1


def test_a_name_that_the_gazetteer_does_not_know_is_fine_with_coordinates(tmp_path: Path) -> None:
    stop = OMAHA.replace("Omaha, NE, US", "Copper Lantern Field")
    loaded = load_tour(write_tour(tmp_path, TOUR_HEAD + stop + NEED))
    assert loaded.tour.stops[0].id == "copper-lantern-field-1"
    assert loaded.tour.stops[0].country == "US"
    assert "nearest place, Omaha, NE, US" in loaded.how_found[0]


def test_coordinates_alone_are_named_after_the_nearest_place(tmp_path: Path) -> None:
    stop = OMAHA.replace('place = "Omaha, NE, US"\n', "")
    loaded = load_tour(write_tour(tmp_path, TOUR_HEAD + stop + NEED))
    assert loaded.tour.stops[0].id == "omaha-1"
    assert loaded.tour.stops[0].place == "Omaha, NE, US"


@pytest.mark.parametrize(
    ("lat", "lon", "place", "stop_id"),
    [
        # The nearest place is in Kamchatka, 1,300 km away and under other rules.
        (51.95, 179.99, "51.950 N, 179.990 E", "51-95n-179-99e-1"),
        # The mouth of the Yukon: the nearest place of 5,000 people is 260 km away.
        (62.7777, -164.5232, "62.778 N, 164.523 W", "62-78n-164-52w-1"),
        # South of the equator: the sea 110 km south of the easternmost of American Samoa.
        (-15.2, -169.5, "15.200 S, 169.500 W", "15-20s-169-50w-1"),
        # Point Roberts, Washington: the nearest place is Canadian, 4 km away.
        (48.985, -123.078, "48.985 N, 123.078 W", "48-98n-123-08w-1"),
    ],
)
def test_coordinates_far_from_a_place_or_near_a_foreign_one_name_the_stop_themselves(
    tmp_path: Path, *, lat: float, lon: float, place: str, stop_id: str
) -> None:
    stop = f'[[stop]]\nlat = {lat}\nlon = {lon}\ncountry = "US"\ndate = 2027-03-04\n'
    (found,) = load_tour(write_tour(tmp_path, TOUR_HEAD + stop + NEED)).tour.stops
    assert (found.place, found.id, found.country) == (place, stop_id, "US")


def test_ids_of_coordinates_are_unique(tmp_path: Path) -> None:
    head = '[[stop]]\nlon = 179.99\ncountry = "US"\nsetting = "outdoor"\n'
    stops = "".join(
        f"{head}lat = {lat}\ndate = 2027-03-0{day}\n"
        for day, lat in enumerate((51.95, 51.951, 51.97), start=1)
    )
    found = load_tour(write_tour(tmp_path, TOUR_HEAD + stops + NEED)).tour.stops
    assert [stop.id for stop in found] == [
        "51-95n-179-99e-1",
        "51-95n-179-99e-2",
        "51-97n-179-99e-1",
    ]


def test_a_name_without_ascii_letters_far_from_any_place_takes_the_coordinates(
    tmp_path: Path,
) -> None:
    stop = (
        '[[stop]]\nplace = "\u5cf6"\nlat = 51.95\nlon = 179.99\ncountry = "US"\ndate = 2027-03-04\n'
    )
    (found,) = load_tour(write_tour(tmp_path, TOUR_HEAD + stop + NEED)).tour.stops
    assert (found.place, found.id) == ("\u5cf6", "51-95n-179-99e-1")


def test_coordinates_of_towns_need_only_the_short_list(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def towns_only(least_people: int) -> object:
        assert least_people == 5_000
        return city_list(least_people)

    monkeypatch.setattr("planner.places.resolve.city_list", towns_only)
    monkeypatch.setattr("planner.places.around.city_list", towns_only)
    assert load_tour(write_tour(tmp_path, TOUR_HEAD + OMAHA + NEED)).tour.stops[0].id == "omaha-1"


def test_a_country_in_doubt_is_a_warning_until_it_is_written(tmp_path: Path) -> None:
    stop = '[[stop]]\nlat = 42.886\nlon = -78.878\ndate = 2027-03-04\nsetting = "indoor"\n'
    (warning,) = load_tour(write_tour(tmp_path, TOUR_HEAD + stop + NEED)).tour.warnings
    assert warning[:2] == ("country-doubtful", "buffalo-1")
    assert "CA is near" in warning[2]
    stop += 'country = "US"\n'
    assert load_tour(write_tour(tmp_path, TOUR_HEAD + stop + NEED)).tour.warnings == ()


def test_a_territory_is_planned_under_its_countrys_rules(tmp_path: Path) -> None:
    stop = '[[stop]]\nplace = "San Juan, PR"\ndate = 2027-03-04\nsetting = "indoor"\n'
    (found,) = load_tour(write_tour(tmp_path, TOUR_HEAD + stop + NEED)).tour.stops
    assert (found.id, found.country) == ("san-juan-1", "US")


def test_dates_that_fall_and_two_stops_on_one_day_are_warnings(tmp_path: Path) -> None:
    text = TOUR_HEAD + OMAHA + DENVER.replace("03-06", "03-02")
    text += DENVER.replace("03-06", "03-02").replace("Denver", "Boulder") + NEED
    warnings = load_tour(write_tour(tmp_path, text)).tour.warnings
    assert [warning[:2] for warning in warnings] == [
        ("dates-fall", "denver-1"),
        ("same-day", "boulder-1"),
    ]


def test_two_rigs_may_play_on_one_day(tmp_path: Path) -> None:
    text = TOUR_HEAD + DENVER + DENVER.replace("Denver", "Boulder") + 'rig = "B"\n' + NEED
    assert load_tour(write_tour(tmp_path, text)).tour.warnings == ()


def test_a_cancelled_stop_is_no_reason_to_warn(tmp_path: Path) -> None:
    text = TOUR_HEAD + DENVER + 'status = "cancelled"\n' + DENVER + NEED
    assert load_tour(write_tour(tmp_path, text)).tour.warnings == ()


def test_other_warnings(tmp_path: Path) -> None:
    text = f"""{TOUR_HEAD}{OMAHA}{NEED}ranges_max = 2
[[licence]]
country = "US"
kind = "part-74"
valid_to = 2026-12-31
[[fixed]]
name = "house mic"
role = "in-ear"
frequency_mhz = 512.36
gear = "Old Oak 500-530"
"""
    warnings = load_tour(write_tour(tmp_path, text)).tour.warnings
    assert [warning[:2] for warning in warnings] == [
        ("fixed-role", "[[fixed]] 1"),
        ("fixed-off-grid", "[[fixed]] 1"),
        ("licence-dates", "omaha-1"),
    ]


def test_a_licence_for_a_country_of_no_stop_is_kept_with_a_warning(tmp_path: Path) -> None:
    text = f"""{TOUR_HEAD}{OMAHA}{NEED}
[[licence]]
country = "GB"
kind = "shared"
"""
    tour = load_tour(write_tour(tmp_path, text)).tour
    assert [(licence.country, licence.kind) for licence in tour.licences] == [("GB", "shared")]
    assert tour.warnings == (("licence-unused", "[[licence]] 1", "no stop of the tour lies in GB"),)


def test_a_licence_for_a_country_of_no_stop_and_no_rules_is_kept_with_a_warning(
    tmp_path: Path,
) -> None:
    text = f"""{TOUR_HEAD}{OMAHA}{NEED}
[[licence]]
country = "MX"
kind = "any"
"""
    tour = load_tour(write_tour(tmp_path, text)).tour
    assert [(licence.country, licence.kind) for licence in tour.licences] == [("MX", "any")]
    assert tour.warnings == (
        (
            "licence-unused",
            "[[licence]] 1",
            (
                "no stop of the tour lies in MX; this version has no rules for MX, so the kind is "
                "not checked"
            ),
        ),
    )


def test_empty_tables_of_later_versions_do_no_harm(tmp_path: Path) -> None:
    text = f"other = []\n{TOUR_HEAD}{OMAHA}{NEED}"
    assert len(load_tour(write_tour(tmp_path, text)).tour.needs) == 1
