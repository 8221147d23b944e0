"""Where a stop is: lat and lon when given, else the gazetteer; and how sure that is."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.intake.cells import NumberRange
from planner.intake.countries import ALLOWED as COUNTRY_ALLOWED
from planner.intake.countries import COUNTRY_CODES, country_advice
from planner.places import (
    PlaceAmbiguous,
    PlaceNotFound,
    country_at,
    distance_to_country_km,
    find_place,
    known_near,
    named_country,
    slug,
)
from planner.rules import WHAT_TO_SUPPLY, has_rules, known_countries, rule_country

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.intake.tour_fields import StopFields
    from planner.places import CountryHere
    from planner.records import Permission

LATITUDE = NumberRange(low=-90, high=90, unit="deg")
LONGITUDE = NumberRange(low=-180, high=180, unit="deg")
LOCATION_ERROR_KM = NumberRange(low=0, high=100, unit="km", above=True)
POINT_ERROR_KM = 0.1
NAME_RADIUS_KM = 60.0
"""A place of the name within this distance of lat and lon is taken for the one meant."""
FAR_COUNTRY_KM = 300.0
"""A country whose nearest place is farther than another's by this much cannot be meant."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Located:
    """A point for a stop.

    Attributes
    ----------
    place, town : str
        The name for people; the first part of it, or the nearest place or the coordinates, for
        the id.
    country, region : str
        As the gazetteer codes them; territories keep their own code.
    how : str
        How the point was found, in words.
    warnings : tuple of (str, str)
        Code and text.
    """

    place: str
    town: str
    country: str
    region: str
    lat_deg: float
    lon_deg: float
    location_error_km: float
    how: str
    warnings: tuple[tuple[str, str], ...] = ()


def locate(fields: StopFields, own: Sequence[Permission] = ()) -> Located | None:
    """Locate a stop from its keys; None when it cannot be, with the fault recorded.

    Parameters
    ----------
    fields : StopFields
        The keys.
    own : sequence of Permission
        The user's own rules: their countries can be planned too.
    """
    place = fields.text("place")
    lat_deg, lon_deg = fields.number("lat", LATITUDE), fields.number("lon", LONGITUDE)
    country = _country(fields)
    error_km = fields.number("location_error_km", LOCATION_ERROR_KM)
    given = [key for key in ("lat", "lon") if fields.has(key)]
    if len(given) == 1:
        missing = "lon" if given == ["lat"] else "lat"
        fields.fault(missing, value=f"only {given[0]}", allowed="both", advice=f"add {missing}")
        return None
    if not given:
        found = _by_name(fields, place, country, error_km=error_km, own=own)
        return found if found and _has_rules(fields, found.country, "", own) else None
    if lat_deg is None or lon_deg is None:
        return None
    return _by_point(fields, place, (lat_deg, lon_deg), country=country, error_km=error_km, own=own)


def _country(fields: StopFields) -> str:
    code = fields.text("country")
    if code and code not in COUNTRY_CODES:
        fields.fault(
            "country", value=f'"{code}"', allowed=COUNTRY_ALLOWED, advice=country_advice(code)
        )
        return ""
    return code


def _by_name(
    fields: StopFields,
    place: str,
    country: str,
    *,
    error_km: float | None,
    own: Sequence[Permission],
) -> Located | None:
    if not place:
        fields.fault(
            "place",
            value="neither a place nor lat and lon",
            allowed="place, or lat and lon",
            advice='add e.g. place = "Omaha, NE, US"',
        )
        return None
    try:
        city = find_place(place, known_countries(own), country=country)
    except (PlaceNotFound, PlaceAmbiguous) as error:
        fields.fault(
            "place", value=f'"{place}"', allowed="one place", advice=f"{error.why}; {error.advice}"
        )
        return None
    return Located(
        place=place,
        town=_town(place, city.name),
        country=city.country,
        region=city.region,
        lat_deg=city.lat_deg,
        lon_deg=city.lon_deg,
        location_error_km=city.location_error_km if error_km is None else error_km,
        how=f"gazetteer: {city.label}, {city.population:,} people",
    )


def _by_point(
    fields: StopFields,
    place: str,
    point: tuple[float, float],
    *,
    country: str,
    error_km: float | None,
    own: Sequence[Permission],
) -> Located | None:
    here = country_at(*point)
    warnings: list[tuple[str, str]] = []
    named = named_country(place)
    if country and named and rule_country(named) != rule_country(country):
        fields.fault(
            "country",
            value=f'"{country}" for the place "{place}"',
            allowed="the country that the place names",
            advice="correct one of them",
        )
        return None
    stated = country or named
    if stated:
        if not _country_is_near(fields, stated, point, here):
            return None
        how = "lat and lon given"
        if rule_country(stated) != rule_country(here.country) and not here.rival:
            text = f"planned in {stated}, but the nearest place is {here.nearest.label}"
            warnings.append(("country-unlikely", text))
    else:
        stated = here.country
        how = f"lat and lon given; country of the nearest place, {here.nearest.label}"
        if here.rival:
            warnings.append(("country-doubtful", _doubt(here)))
    near = known_near(place, *point, country=stated) if place else None
    if near is not None and near[1] > NAME_RADIUS_KM:
        fields.fault(
            "place",
            value=f'"{place}" at lat {point[0]:g}, lon {point[1]:g}',
            allowed=f"lat and lon within {NAME_RADIUS_KM:g} km of a place of that name",
            advice=f"the nearest is {near[0].described}, {near[1]:,.0f} km away; correct the "
            "name or the coordinates",
        )
        return None
    if not _has_rules(fields, stated, _doubt(here) if here.rival else "", own):
        return None
    reference = near[0] if near is not None else here.nearest
    same = rule_country(reference.country) == rule_country(stated)
    label, town = _point_names(point, stated, here)
    return Located(
        place=place or label,
        town=_town(place, town),
        country=stated,
        region=reference.region if same else "",
        lat_deg=point[0],
        lon_deg=point[1],
        location_error_km=POINT_ERROR_KM if error_km is None else error_km,
        how=how,
        warnings=tuple(warnings),
    )


def _point_names(point: tuple[float, float], country: str, here: CountryHere) -> tuple[str, str]:
    """Return a label and a town for a point: its place's, or its coordinates in both.

    A place farther than 60 km, or under the rules of another country, does not name it.
    """
    same = rule_country(here.country) == rule_country(country)
    if same and here.nearest_km <= NAME_RADIUS_KM and slug(here.nearest.name):
        return here.nearest.label, here.nearest.name
    sides = ("N" if point[0] >= 0 else "S", "E" if point[1] >= 0 else "W")
    lat, lon = abs(point[0]), abs(point[1])
    return (
        f"{lat:.3f} {sides[0]}, {lon:.3f} {sides[1]}",
        f"{lat:.2f}{sides[0]} {lon:.2f}{sides[1]}",
    )


def _country_is_near(
    fields: StopFields, country: str, point: tuple[float, float], here: CountryHere
) -> bool:
    """Fault a country that has no place anywhere near the point: a wrong sign, most often."""
    if rule_country(country) == rule_country(here.country):
        return True
    away_km = distance_to_country_km(*point, country)
    if away_km <= here.nearest_km + FAR_COUNTRY_KM:
        return True
    fields.fault(
        "lat",
        value=f"lat {point[0]:g}, lon {point[1]:g} for a stop in {country}",
        allowed=f"a point in {country}; north and east positive, south and west negative",
        advice=f"the nearest place is {here.nearest.label}, {here.nearest_km:,.0f} km away; "
        "correct the signs or the country",
    )
    return False


def _has_rules(fields: StopFields, country: str, doubt: str, own: Sequence[Permission]) -> bool:
    if has_rules(country, own):
        return True
    fields.fault(
        "country" if fields.has("country") else "place",
        value=f"a stop in {country}",
        allowed=f"a country whose rules this version knows: {', '.join(known_countries(own))}",
        advice=doubt or f"this version has no rules for {country}: {WHAT_TO_SUPPLY}",
    )
    return False


def _town(place: str, otherwise: str) -> str:
    """Return the first part of a written place, another name when it has no ASCII letters."""
    first = place.partition(",")[0].strip()
    return first if slug(first) else otherwise


def _doubt(here: CountryHere) -> str:
    return (
        f"country {here.country} taken from {here.nearest.label}, {here.nearest_km:.0f} km away, "
        f"but {here.rival} is near; write country to be sure"
    )
