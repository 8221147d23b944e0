"""Places: names of the gazetteer and back, as a person on tour would write them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from planner.errors import PlannerError
from planner.places import (
    City,
    PlaceAmbiguous,
    PlaceNotFound,
    countries_within,
    country_at,
    distance_km,
    distance_to_country_km,
    find_place,
    known_near,
    name_key,
    named_country,
    nearest_place,
    parse_query,
    places_named,
    slug,
)
from planner.places import city_list as city_list_module
from planner.places.city_list import TOWNS_PEOPLE, VILLAGES_PEOPLE, city_list
from planner.places.geocoder import GazetteerGeocoder
from planner.places.names import name_keys
from planner.places.regions import country_code, region_code, region_label

if TYPE_CHECKING:
    from pathlib import Path

PLANNED = ("US", "PR", "VI", "GU", "AS", "MP")

# GeoNames numbers of the places meant, from https://www.geonames.org
SPRINGFIELD_IL = 4250542
ST_LOUIS = 4407066
ZURICH = 2657896
MUNICH = 2867714


@pytest.mark.parametrize(
    ("text", "geoname_id"),
    [
        ("Springfield, IL, US", SPRINGFIELD_IL),
        ("springfield, illinois, usa", SPRINGFIELD_IL),
        ("Springfield, IL", SPRINGFIELD_IL),
        ("Saint Louis", ST_LOUIS),
        ("St. Louis", ST_LOUIS),
        ("ST LOUIS", ST_LOUIS),
        ("St. Louis, MO, US", ST_LOUIS),
        ("Saint-Louis, Missouri, United States", ST_LOUIS),
        ("Zurich", ZURICH),
        ("Zürich", ZURICH),
        ("zürich, Switzerland", ZURICH),
        ("Munich", MUNICH),
        ("München", MUNICH),
        ("Muenchen, DE", MUNICH),
    ],
)
def test_a_name_finds_its_place(text: str, geoname_id: int) -> None:
    assert find_place(text, PLANNED).geoname_id == geoname_id


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("New York", "New York City, NY, US"),
        ("Ft. Worth", "Fort Worth, TX, US"),
        ("Mt Vernon, IL", "Mount Vernon, IL, US"),
        ("Winston Salem", "Winston-Salem, NC, US"),
        ("Coeur d Alene, ID", "Coeur d'Alene, ID, US"),
        ("Atlanta, Georgia", "Atlanta, GA, US"),
        ("Portland, ME", "Portland, ME, US"),
        ("Los Angeles, CA", "Los Angeles, CA, US"),
        ("London", "London, ENG, GB"),
        ("London, ON, CA", "London, ON, CA"),
        ("London, Ontario, Canada", "London, ON, CA"),
        ("Duesseldorf", "Düsseldorf, 07, DE"),
        ("Kansas City, KS", "Kansas City, KS, US"),
        ("Hagåtña, GU", "Hagåtña, AN, GU"),
        ("Москва", "Moscow, 48, RU"),
        ("Galena, IL, US", "Galena, IL, US"),
    ],
)
def test_spellings_states_and_small_towns(text: str, label: str) -> None:
    assert find_place(text, PLANNED).label == label


def test_a_territory_may_be_written_as_a_state() -> None:
    assert find_place("San Juan, PR, US").country == "PR"
    assert find_place("San Juan, PR").country == "PR"


def test_a_place_admits_only_the_country_asked_for() -> None:
    assert find_place("London", country="CA").label == "London, ON, CA"
    with pytest.raises(PlaceNotFound, match="names another country than GB"):
        find_place("Omaha, NE, US", country="GB")


@pytest.mark.parametrize("text", ["Springfield", "Portland", "Columbus", "Springfield, US"])
def test_an_ambiguous_name_lists_state_country_and_people(text: str) -> None:
    with pytest.raises(PlaceAmbiguous, match=r'"\w+, [A-Z]{2}, US" \([\d,]+ people\)') as caught:
        find_place(text, PLANNED)
    candidates = caught.value.candidates
    assert len(candidates) >= 2
    people = [city.population for city in candidates]
    assert people == sorted(people, reverse=True)


def test_a_smaller_place_where_nothing_is_planned_is_no_reason_to_ask() -> None:
    assert find_place("Saint Louis", PLANNED).country == "US"
    with pytest.raises(PlaceAmbiguous, match=r'"St\. Louis, MO, US".*"Saint-Louis, 14, SN"'):
        find_place("Saint Louis")


def test_the_largest_place_is_taken_only_under_its_own_name() -> None:
    """Batavia was Jakarta's name; towns in Illinois and New York are called so today."""
    with pytest.raises(PlaceAmbiguous, match=r'"Jakarta, 04, ID".*"Batavia, IL, US"'):
        find_place("Batavia", PLANNED)
    assert find_place("Batavia, IL, US").label == "Batavia, IL, US"


def test_a_near_spelling_is_offered_with_state_country_and_people() -> None:
    with pytest.raises(PlaceNotFound, match=r'"Omaha, NE, US" \([\d,]+ people\)'):
        find_place("Omahaa")


def test_a_place_of_that_name_elsewhere_is_offered() -> None:
    with pytest.raises(PlaceNotFound, match=r'no such place in NV United States.*"Springfield, MO'):
        find_place("Springfield, NV, US")


@pytest.mark.parametrize("text", ["", " , ", "a, b, c, d", "Omaha,, US", "!!!"])
def test_a_text_of_another_form_says_which_forms_there_are(text: str) -> None:
    with pytest.raises(PlaceNotFound, match='"town, region, country"'):
        find_place(text)


def test_an_unknown_country_or_state_is_named() -> None:
    with pytest.raises(PlaceNotFound, match=r'no country or state "XQ".*"Omaha, NE, US"'):
        find_place("Omaha, XQ")
    with pytest.raises(PlaceNotFound, match='no country "Nowhere"'):
        find_place("Omaha, NE, Nowhere")


def test_entries_that_lie_together_are_one_place() -> None:
    """Lexington, Kentucky stands twice in the gazetteer, as a town and as a merged county."""
    kentucky = [city for city in places_named("Lexington") if city.region == "KY"]
    assert len(kentucky) == 1
    assert find_place("Kansas City", PLANNED).region == "MO"


@pytest.mark.parametrize(
    ("people", "error_km"),
    [(0, 4.0), (100_000, 4.0), (100_001, 8.0), (500_000, 8.0), (500_001, 15.0)],
)
def test_location_error_by_population(people: int, error_km: float) -> None:
    city = City(
        geoname_id=1,
        name="Invented",
        country="US",
        region="",
        lat_deg=0.0,
        lon_deg=0.0,
        population=people,
    )
    assert city.location_error_km == error_km


def test_keys_of_many_names_are_those_of_each() -> None:
    names = ["St. Louis", "Saint-Louis", "Zürich", "Łódź", "O'Fallon", "Ft. Worth", "Straße"]
    assert name_keys("\n".join(names)) == [name_key(name) for name in names]
    assert [name_key(name) for name in names] == [
        "saintlouis",
        "saintlouis",
        "zurich",
        "lodz",
        "ofallon",
        "fortworth",
        "strasse",
    ]


@pytest.mark.parametrize(
    ("name", "expected"),
    [("St. Louis", "st-louis"), ("Coeur d'Alene", "coeur-dalene"), ("Łódź", "lodz"), ("東京", "")],
)
def test_slug(name: str, expected: str) -> None:
    assert slug(name) == expected


def test_both_lists_are_read_whole() -> None:
    """The short list lies inside the long one, and every entry can be decoded."""
    towns, villages = city_list(TOWNS_PEOPLE), city_list(VILLAGES_PEOPLE)
    assert 50_000 < len(towns) < len(villages)
    assert len(towns.points.country) == len(towns)
    for index in (0, len(towns) // 2, len(towns) - 1):
        city = towns.city(index)
        assert city in villages.with_own_name(name_key(city.name))
        assert city.country == towns.points.country[index]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('{"1": {"name": "Invented", "geonameid": 1}}', "in a way this version cannot read"),
        ("{}", "in a way this version cannot read"),
        ('{"1": {"geonameid": 1, "name": "Invented"}}', "entries without coordinates"),
    ],
)
def test_a_list_written_another_way_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, expected: str
) -> None:
    """The package is a floor, not a pin: a later one may write its lists differently."""
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "cities5000.json").write_text(text, encoding="utf-8")
    monkeypatch.setattr(city_list_module.importlib.resources, "files", lambda _: tmp_path)
    with pytest.raises(PlannerError, match=expected):
        _ = city_list_module.CityList(TOWNS_PEOPLE).points


def test_codes_of_provinces_agree_with_the_gazetteer() -> None:
    """The postal codes beside the gazetteer's numbers, checked on cities known to lie there."""
    known = {
        ("CA", "AB"): "Calgary",
        ("CA", "BC"): "Vancouver",
        ("CA", "MB"): "Winnipeg",
        ("CA", "NB"): "Moncton",
        ("CA", "NL"): "St. John's",
        ("CA", "NS"): "Halifax",
        ("CA", "ON"): "Toronto",
        ("CA", "PE"): "Charlottetown",
        ("CA", "QC"): "Montréal",
        ("CA", "SK"): "Saskatoon",
        ("CA", "YT"): "Whitehorse",
        ("CA", "NT"): "Yellowknife",
        ("CA", "NU"): "Iqaluit",
        ("AU", "ACT"): "Canberra",
        ("AU", "NSW"): "Sydney",
        ("AU", "NT"): "Darwin",
        ("AU", "QLD"): "Brisbane",
        ("AU", "SA"): "Adelaide",
        ("AU", "TAS"): "Hobart",
        ("AU", "VIC"): "Melbourne",
        ("AU", "WA"): "Perth",
        ("GB", "ENG"): "Manchester",
        ("GB", "SCT"): "Glasgow",
        ("GB", "WLS"): "Cardiff",
        ("GB", "NIR"): "Belfast",
    }
    for (country, code), town in known.items():
        found = [city for city in places_named(f"{town}, {country}") if city.country == country]
        assert found[0].region == region_code(country, code), (country, code)
        assert region_label(country, found[0].region) == code


def test_countries_by_code_and_name() -> None:
    assert [
        country_code(text) for text in ("us", "USA", "U.S.A.", "UK", "Germany", "DEU", "?")
    ] == [
        "US",
        "US",
        "US",
        "GB",
        "DE",
        "DE",
        "",
    ]
    assert named_country("Omaha, NE, US") == "US"
    assert named_country("Windsor, CA") == ""  # Canada or California
    assert named_country("Omaha") == ""
    assert parse_query("Windsor, CA").within == (("CA", ""), ("US", "CA"))


def test_nearest_place() -> None:
    city, away_km = nearest_place(41.2565, -95.9345)
    assert city.label == "Omaha, NE, US"
    assert 0 < away_km < 2


def test_distance_is_a_great_circle() -> None:
    """A quarter of the equator, over the pole, and across the 180-degree meridian, on a sphere."""
    quarter_km = math.pi / 2 * 6371.0088
    # 1e-6 km = 1 mm: the sphere is the definition, only the arithmetic's rounding is left
    millimetre = 1e-6
    assert distance_km(0, 0, 0, 90) == pytest.approx(quarter_km, abs=millimetre)
    assert distance_km(80, 0, 80, 180) == pytest.approx(20 / 90 * quarter_km, abs=millimetre)
    assert distance_km(0, 179.5, 0, -179.5) == pytest.approx(quarter_km / 90, abs=millimetre)
    assert distance_km(10, 20, 10, 20) == 0


def test_countries_within_a_distance() -> None:
    """Neighbours of cities at a border, from any atlas; Puerto Rico goes with its rules."""
    assert set(countries_within(42.3314, -83.0458)) == {"US", "CA"}  # Detroit
    assert set(countries_within(32.7157, -117.1611)) == {"US", "MX"}  # San Diego
    assert set(countries_within(41.2565, -95.9345)) == {"US"}  # Omaha
    assert set(countries_within(18.4655, -66.1057)) == {"US"}  # San Juan
    near = countries_within(42.3314, -83.0458, 5.0)
    assert list(near) == ["US", "CA"]
    assert near["US"] < near["CA"] < 5.0


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "country", "rival"),
    [
        (42.33, -83.05, "US", "CA"),  # Detroit, the river is the border
        (31.76, -106.48, "US", "MX"),  # El Paso
        (42.886, -78.878, "US", "CA"),  # Buffalo
        (41.2565, -95.9345, "US", ""),  # Omaha
        (47.6062, -122.3321, "US", ""),  # Seattle, 150 km from Canada
        (32.7157, -117.1611, "US", ""),  # San Diego, 24 km from Mexico
    ],
)
def test_country_of_a_point_and_its_doubt(
    lat_deg: float, lon_deg: float, country: str, rival: str
) -> None:
    here = country_at(lat_deg, lon_deg)
    assert (here.country, here.rival) == (country, rival)


def test_an_empty_stretch_near_a_border_is_in_doubt() -> None:
    """20 km south of the border in Montana the nearest town of 5,000 people is in Alberta."""
    here = country_at(48.8, -111.9)
    assert (here.country, here.rival) == ("CA", "US")


def test_distance_to_a_country() -> None:
    assert distance_to_country_km(42.33, -83.05, "CA") < 5
    assert distance_to_country_km(0.0, 0.0, "ZZ") == math.inf


def test_known_near_takes_the_nearest_of_the_name() -> None:
    found = known_near("Springfield", 39.8, -89.6, country="US")
    assert found is not None
    assert found[0].geoname_id == SPRINGFIELD_IL
    assert found[1] < 10
    far = known_near("Omaha, NE, US", 30.0, -97.0, country="US")
    assert far is not None
    assert 1000 < far[1] < 1500
    assert known_near("Copper Lantern Hall", 41.3, -95.9, country="US") is None
    assert known_near("a, b, c, d", 41.3, -95.9, country="US") is None


def test_geocoder_answers_like_any_geopy_geocoder() -> None:
    geocoder = GazetteerGeocoder()
    location = geocoder.geocode("Springfield, IL, US")
    assert location.address == "Springfield, IL, US"
    assert location.raw["geoname_id"] == SPRINGFIELD_IL
    # 0.01 deg, about 1 km: where the middle of a town lies is a convention (point of GeoNames)
    assert location.latitude == pytest.approx(39.80172, abs=0.01)
    assert location.longitude == pytest.approx(-89.64371, abs=0.01)
    several = geocoder.geocode("Springfield", exactly_one=False)
    assert len(several) > 5
    assert geocoder.geocode("Springfield").address == several[0].address
    assert geocoder.geocode("Copperlanternville") is None
    assert geocoder.geocode("a, b, c, d") is None


def test_geocoder_reverse() -> None:
    geocoder = GazetteerGeocoder()
    location = geocoder.reverse((41.2565, -95.9345))
    assert location.address == "Omaha, NE, US"
    assert 0 < location.raw["distance_km"] < 2
    assert geocoder.reverse("41.2565, -95.9345", exactly_one=False)[0].address == "Omaha, NE, US"
