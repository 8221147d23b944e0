"""Places: names to coordinates and back, offline, from the gazetteer package."""

from planner.places.around import (
    CountryHere,
    countries_within,
    country_at,
    distance_km,
    distance_to_country_km,
    nearest_place,
    people_near,
)
from planner.places.names import name_key, slug
from planner.places.records import City, PlaceAmbiguous, PlaceNotFound
from planner.places.regions import named_country
from planner.places.resolve import find_place, known_near, parse_query, places_named

__all__ = [
    "City",
    "CountryHere",
    "PlaceAmbiguous",
    "PlaceNotFound",
    "countries_within",
    "country_at",
    "distance_km",
    "distance_to_country_km",
    "find_place",
    "known_near",
    "name_key",
    "named_country",
    "nearest_place",
    "parse_query",
    "people_near",
    "places_named",
    "slug",
]
