"""Looking only at places near a point gives what looking at all of them gives."""

from __future__ import annotations

import math

import pytest

from planner.places import countries_within, country_at, distance_km, known_near
from planner.places.around import places_within
from planner.places.city_list import TOWNS_PEOPLE, city_list
from planner.places.names import name_key

POINTS = [
    (41.26, -95.93),
    (48.2, 16.37),
    (0.0, 180.0),
    (0.0, -180.0),
    (-17.8, 177.4),
    (90.0, 0.0),
    (-90.0, 12.0),
    (-45.0, -120.0),
]
"""Towns on two continents, both sides of the 180-degree meridian, the poles, an empty ocean."""


@pytest.mark.parametrize(
    "name",
    ["Omaha", "New York", "St. Louis", "Saint Louis", "Vienna", "Bombay", "Québec", "Nowhere"],
)
def test_a_name_among_all_places_is_found_as_in_the_whole_list(name: str) -> None:
    towns = city_list(TOWNS_PEOPLE)
    key = name_key(name)
    grown = [
        city
        for city in towns.with_own_name(f"{key}city")
        if any(name_key(other) == key for other in city.other_names)
    ]
    whole = (*towns.with_own_name(key), *grown, *towns.with_other_name(name))
    assert towns.called_among(range(len(towns)), name) == whole


@pytest.mark.parametrize("point", POINTS)
@pytest.mark.parametrize("radius_km", [0.0, 40.0, 450.0, 9_000.0, 20_100.0, math.inf])
def test_places_within_a_distance_are_all_of_them(
    point: tuple[float, float], radius_km: float
) -> None:
    """Against every tenth place, one by one; the rough choice must lose none at the edge."""
    towns = city_list(TOWNS_PEOPLE)
    near, away_km = places_within(*point, radius_km)
    found = dict(zip(near.tolist(), away_km.tolist(), strict=True))
    assert near.tolist() == sorted(found)
    for index in range(0, len(towns), 611):
        city = towns.city(index)
        away = distance_km(*point, city.lat_deg, city.lon_deg)
        assert (index in found) == (away <= radius_km)
        if index in found:
            # the same arithmetic on the same coordinates
            assert found[index] == away


@pytest.mark.parametrize("point", POINTS)
def test_the_country_of_a_point_is_that_of_the_nearest_of_all_places(
    point: tuple[float, float],
) -> None:
    near, away_km = places_within(*point, math.inf)
    here = country_at(*point)
    nearest = city_list(TOWNS_PEOPLE).city(int(near[away_km.argmin()]))
    assert (here.nearest, here.nearest_km) == (nearest, away_km.min())
    within = countries_within(*point, radius_km=here.nearest_km + 1.0)
    assert next(iter(within.values())) == here.nearest_km


@pytest.mark.parametrize(("radius_km", "inside"), [(60.0, True), (5.0, False)])
def test_a_named_place_is_found_inside_the_radius_and_beyond(
    radius_km: float, *, inside: bool
) -> None:
    found = known_near("Omaha", 41.55, -95.93, country="US", radius_km=radius_km)
    assert found is not None
    assert found[0].label == "Omaha, NE, US"
    assert (found[1] <= radius_km) is inside
