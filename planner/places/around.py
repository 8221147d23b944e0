"""What lies around a point: the nearest place, and the countries within a distance."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.places.city_list import TOWNS_PEOPLE, city_list, unit_vectors
from planner.rules import rule_country

if TYPE_CHECKING:
    import numpy.typing as npt

    from planner.places.records import City

EARTH_RADIUS_KM = 6371.0088
"""Mean radius of the earth [km] (IUGG). Distances here are on the sphere, within 0.6 %."""
BORDER_DOUBT_KM = 10.0
_FAR_KM = 150.0
_SLACK_KM = 1.0
"""By how much the rough choice of places near a point is too wide [km]."""
_HALF_ROUND_KM = np.pi * EARTH_RADIUS_KM


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CountryHere:
    """The country of a point, as far as the places around it tell.

    Attributes
    ----------
    country : str
        ISO 3166 code of the nearest place; territories keep their own.
    nearest : City
        That place.
    nearest_km : float
        Distance to it [km].
    rival : str
        Country that it might be instead, empty when there is no doubt.
    border_km : float
        Distance to the line midway between the nearest place and the rival's [km]; infinite
        when no other country has a place near.
    """

    country: str
    nearest: City
    nearest_km: float
    rival: str = ""
    border_km: float = float("inf")


def distance_km(lat_a_deg: float, lon_a_deg: float, lat_b_deg: float, lon_b_deg: float) -> float:
    """Return the great-circle distance between two points [km], on the sphere."""
    ends = unit_vectors(np.array([lat_a_deg, lat_b_deg]), np.array([lon_a_deg, lon_b_deg]))
    return float(_arcs_km(ends[:1], ends[1])[0])


def nearest_place(lat_deg: float, lon_deg: float) -> tuple[City, float]:
    """Return the nearest place of at least 5,000 people and the distance to it [km]."""
    distances = _distances_km(lat_deg, lon_deg)
    index = int(np.argmin(distances))
    return city_list(TOWNS_PEOPLE).city(index), float(distances[index])


def countries_within(lat_deg: float, lon_deg: float, radius_km: float = 100.0) -> dict[str, float]:
    """Return the countries that have a place near a point.

    Places of at least 5,000 people and seats of regions count. With places of 500 people the
    answer would differ, by one country just inside 100 km, at 6 of 1,500 places of the United
    States drawn at random; their list takes a second more to read.

    Parameters
    ----------
    lat_deg, lon_deg : float
        WGS84 [deg].
    radius_km : float
        How far to look [km].

    Returns
    -------
    dict of str to float
        Distance to the nearest place of each country [km], the nearest country first. Codes are
        those of the rules: Puerto Rico is ``"US"``.
    """
    near, distances = places_within(lat_deg, lon_deg, radius_km)
    country = city_list(TOWNS_PEOPLE).points.country[near]
    found: dict[str, float] = {}
    for place in np.argsort(distances, kind="stable"):
        found.setdefault(rule_country(str(country[place])), float(distances[place]))
    return found


def places_within(
    lat_deg: float, lon_deg: float, radius_km: float
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.float64]]:
    """Return the places of at least 5,000 people within a distance of a point.

    Parameters
    ----------
    lat_deg, lon_deg : float
        WGS84 [deg].
    radius_km : float
        How far to look [km]; infinite for all places.

    Returns
    -------
    (n,) int64, (n,) float64
        Their places in the list, ascending, and how far each is [km].
    """
    directions = city_list(TOWNS_PEOPLE).points.direction
    here = unit_vectors(np.array([lat_deg]), np.array([lon_deg]))[0]
    if radius_km + _SLACK_KM >= _HALF_ROUND_KM:
        rough = np.arange(len(directions))
    else:
        least = np.cos((radius_km + _SLACK_KM) / EARTH_RADIUS_KM)
        rough = np.flatnonzero(directions @ here >= least)
    distances = _arcs_km(directions[rough], here)
    near = distances <= radius_km
    return rough[near], distances[near]


def people_near(lat_deg: float, lon_deg: float, radius_km: float = 10.0) -> int:
    """Return the people of the largest place near a point, 0 where there is none.

    Parameters
    ----------
    lat_deg, lon_deg : float
        WGS84 [deg].
    radius_km : float
        How far to look [km]; our own choice: a suburb is as noisy as its city.
    """
    near, _ = places_within(lat_deg, lon_deg, radius_km)
    return max((city_list(TOWNS_PEOPLE).city(int(place)).population for place in near), default=0)


def distance_to_country_km(lat_deg: float, lon_deg: float, country: str) -> float:
    """Return the distance to the nearest place of a country [km], infinite without any."""
    of_country = city_list(TOWNS_PEOPLE).points.country == country
    if not of_country.any():
        return float("inf")
    return float(_distances_km(lat_deg, lon_deg)[of_country].min())


def country_at(lat_deg: float, lon_deg: float) -> CountryHere:
    """Return the country of the nearest place, and which other it might be.

    The gazetteer holds no borders. A border is taken to run midway between the nearest place and
    the places of another country; it is in doubt when that line is within 10 km of the point, or
    when the nearest place is so far that another country's is less than three times as far.

    Parameters
    ----------
    lat_deg, lon_deg : float
        WGS84 [deg].
    """
    points = city_list(TOWNS_PEOPLE).points
    places, distances = places_within(lat_deg, lon_deg, 3.0 * _FAR_KM)
    if not places.size or distances.min() > _FAR_KM:
        places, distances = places_within(lat_deg, lon_deg, float("inf"))
    index = int(places[np.argmin(distances)])
    nearest = city_list(TOWNS_PEOPLE).city(index)
    nearest_km = float(distances.min())
    own = rule_country(nearest.country)
    near = np.flatnonzero(distances <= max(_FAR_KM, 3.0 * nearest_km))
    away = [k for k in near if rule_country(str(points.country[places[k]])) != own]
    if not away:
        return CountryHere(country=nearest.country, nearest=nearest, nearest_km=nearest_km)
    others = places[away]
    apart_km = _arcs_km(points.direction[others], points.direction[index])
    border_km = (distances[away] ** 2 - nearest_km**2) / (2.0 * np.maximum(apart_km, 0.1))
    closest = int(np.argmin(border_km))
    least_km = float(distances[away].min())
    doubtful = border_km[closest] <= BORDER_DOUBT_KM or least_km < 3.0 * nearest_km
    return CountryHere(
        country=nearest.country,
        nearest=nearest,
        nearest_km=nearest_km,
        rival=str(points.country[others[closest]]) if doubtful else "",
        border_km=float(border_km[closest]),
    )


def _distances_km(lat_deg: float, lon_deg: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    here = unit_vectors(np.array([lat_deg]), np.array([lon_deg]))[0]
    return _arcs_km(city_list(TOWNS_PEOPLE).points.direction, here)


def _arcs_km(
    directions: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    other: np.ndarray[tuple[int], np.dtype[np.float64]],
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    chords = np.linalg.norm(directions - other, axis=1)
    arcs: np.ndarray[tuple[int], np.dtype[np.float64]]
    arcs = 2.0 * EARTH_RADIUS_KM * np.arcsin(np.minimum(chords / 2.0, 1.0))
    return arcs
