"""From a written name to one place of the gazetteer, or to the list of those it might be."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.places.around import distance_km, places_within
from planner.places.city_list import TOWNS_PEOPLE, VILLAGES_PEOPLE, city_list
from planner.places.names import key_without_written_umlauts, name_key
from planner.places.records import City, PlaceAmbiguous, PlaceNotFound
from planner.places.regions import (
    Constraint,
    constraints,
    country_code,
    country_names,
    region_code,
)
from planner.rules import rule_country

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

FORMS = '"town", "town, country" or "town, region, country"'
DOMINANCE = 10
"""A name is taken without asking when its largest place has this many times the people of the
next."""
SAME_PLACE_KM = 25.0
_SURE_PEOPLE = DOMINANCE * TOWNS_PEOPLE
_OWN_NAME_PEOPLE = 100_000
_LEAST_PEOPLE = 500
_SLACK_KM = 1.0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Query:
    """A written place, taken apart.

    Attributes
    ----------
    text, town : str
        The whole and its first part.
    within : tuple of (str, str)
        Countries and regions it may lie in, any of them; empty is anywhere.
    """

    text: str
    town: str
    within: tuple[Constraint, ...] = ()

    def admits(self, city: City) -> bool:
        """Say whether a place lies where the query says."""
        return not self.within or any(
            city.country == country and region in {"", city.region}
            for country, region in self.within
        )


def parse_query(text: str, country: str = "") -> Query:
    """Take "town", "town, country", "town, state" or "town, region, country" apart.

    Country is an ISO 3166 code or a name; region the gazetteer's code or, in the United States,
    Canada, Australia and the United Kingdom, a postal code or a name.

    Parameters
    ----------
    text : str
        The place as written.
    country : str
        ISO 3166 code that the place must have besides, empty for any; territories go with the
        country whose rules they share.

    Raises
    ------
    PlaceNotFound
        When the text has no such form, its country or region is not known, or it names another
        country.
    """
    query = _taken_apart(text)
    if not country:
        return query
    if not query.within:
        return dataclasses.replace(query, within=((country, ""),))
    within = tuple(
        (code, region)
        for code, region in query.within
        if rule_country(code) == rule_country(country)
    )
    if not within:
        raise PlaceNotFound(text, (), f"it names another country than {country}")
    return dataclasses.replace(query, within=within)


def _taken_apart(text: str) -> Query:
    parts = [part.strip() for part in text.split(",")]
    if not 1 <= len(parts) <= 3 or not all(name_key(part) for part in parts):
        raise PlaceNotFound(text, (), f"not written as {FORMS}")
    town = parts[0]
    if len(parts) == 1:
        return Query(text=text, town=town)
    if len(parts) == 2:
        within = constraints(parts[1])
        if not within:
            raise PlaceNotFound(
                text, _known(Query(text=text, town=town)), f'no country or state "{parts[1]}"'
            )
        return Query(text=text, town=town, within=within)
    country = country_code(parts[2])
    if not country:
        raise PlaceNotFound(text, _known(Query(text=text, town=town)), f'no country "{parts[2]}"')
    inside = country_code(parts[1])
    if inside and country == "US" and inside in {"PR", "VI", "GU", "AS", "MP"}:
        return Query(text=text, town=town, within=((inside, ""),))
    return Query(text=text, town=town, within=((country, region_code(country, parts[1])),))


def places_named(text: str) -> tuple[City, ...]:
    """Return every place that a name may mean, largest first; duplicates within 25 km are one.

    Places whose own name it is; and, when none of those is in the region named (or none has
    100,000 people, if no region is named), those that list it among their other names.

    Raises
    ------
    PlaceNotFound
        When the text cannot be taken apart; an unknown name is an empty tuple.
    """
    return _known(parse_query(text))


def find_place(text: str, planned: Collection[str] = (), *, country: str = "") -> City:
    """Return the one place that a name means.

    With several of one name the largest is taken when it has at least ten times the people of
    the next (so "Zurich" or "Paris", never "Springfield" or "Portland"), and when the name is
    its own: a place known by an alternate name only ("Batavia" for Jakarta) is never taken before
    one that is called so. Places under 5,000 people do not contest one above 50,000.

    Parameters
    ----------
    text : str
        "town", "town, country", "town, state" or "town, region, country"; case, accents and
        punctuation do not matter, St./Saint, Ft./Fort, Mt./Mount are the same.
    planned : collection of str
        Countries that can be planned. If the largest place lies in one of them, smaller ones in
        other countries are no reason to ask ("Saint Louis": Missouri, not Senegal).
    country : str
        ISO 3166 code that the place must have, empty for any.

    Raises
    ------
    PlaceAmbiguous
        With the candidates, largest first.
    PlaceNotFound
        With near spellings and places of that name elsewhere.
    """
    query = parse_query(text, country)
    found = _known(query)
    if not found:
        raise PlaceNotFound(text, _near(query), _unknown(query))
    largest, others = found[0], found[1:]
    if planned and largest.country in planned:
        others = tuple(city for city in others if city.country in planned)
    rivals = [
        city
        for city in others
        if largest.population < DOMINANCE * max(city.population, _LEAST_PEOPLE)
    ]
    borrowed = not _own(largest, query.town) and any(_own(city, query.town) for city in others)
    if rivals or borrowed:
        raise PlaceAmbiguous(text, (largest, *others))
    return largest


def known_near(
    text: str, lat_deg: float, lon_deg: float, *, country: str, radius_km: float = 60.0
) -> tuple[City, float] | None:
    """Return the place of a name that lies nearest to a point, and how far it is [km].

    Only places of the country, and of the region when the text names one. The search ends with
    the first list that has one within the radius; None when the name is known in neither list,
    or the text cannot be taken apart.

    Parameters
    ----------
    text : str
        As for :func:`find_place`.
    lat_deg, lon_deg : float
        WGS84 [deg].
    country : str
        ISO 3166 code; territories go with the country whose rules they share.
    radius_km : float
        Distance that ends the search [km].
    """
    try:
        query = parse_query(text, country)
    except PlaceNotFound:
        return None
    point = (lat_deg, lon_deg)
    towns = city_list(TOWNS_PEOPLE)
    around, _ = places_within(lat_deg, lon_deg, radius_km + _SLACK_KM)
    nearest = _nearest(query, towns.called_among(around.tolist(), query.town), point)
    if nearest is not None and nearest[1] <= radius_km:
        return nearest
    key = name_key(query.town)
    named = (*towns.with_own_name(key), *_grown(key), *towns.with_other_name(query.town))
    nearest = _nearest(query, named, point)
    if nearest is not None and nearest[1] <= radius_km:
        return nearest
    villages = city_list(VILLAGES_PEOPLE).with_own_name(key)
    return _nearest(query, ((nearest[0],) if nearest else ()) + villages, point)


def _nearest(
    query: Query, cities: Iterable[City], point: tuple[float, float]
) -> tuple[City, float] | None:
    """Return the nearest to a point of the places that a query admits, the first of equals."""
    found = [
        (city, distance_km(city.lat_deg, city.lon_deg, *point))
        for city in cities
        if query.admits(city)
    ]
    return min(found, key=lambda item: item[1], default=None)


def _known(query: Query) -> tuple[City, ...]:
    """Look in the short list first, in the long one only where that decides nothing."""
    towns = city_list(TOWNS_PEOPLE)
    key = name_key(query.town)
    own = _admitted(query, (*towns.with_own_name(key), *_grown(key)))
    other = () if own else _admitted(query, towns.with_other_name(query.town))
    if other and other[0].population >= _SURE_PEOPLE:
        return other
    if not own or own[0].population < _SURE_PEOPLE:
        villages = city_list(VILLAGES_PEOPLE)
        own = _admitted(query, (*own, *villages.with_own_name(key)))
    if own and (query.within or own[0].population >= _OWN_NAME_PEOPLE):
        return own
    other = other or _admitted(query, towns.with_other_name(query.town))
    if own:
        larger = (city for city in other if city.population > own[0].population)
        return _admitted(query, (*own, *larger))
    if not other:
        villages = city_list(VILLAGES_PEOPLE)
        other = _admitted(query, villages.with_other_name(query.town))
    if not other:
        plain = key_without_written_umlauts(key)
        other = _admitted(query, towns.with_own_name(plain)) if plain != key else ()
    return other


def _grown(key: str) -> tuple[City, ...]:
    """Return places called "<name> City" that also go by "<name>" (New York)."""
    grown = city_list(TOWNS_PEOPLE).with_own_name(f"{key}city")
    return tuple(
        city for city in grown if any(name_key(other) == key for other in city.other_names)
    )


def _own(city: City, town: str) -> bool:
    """Say whether a place is called by the name itself."""
    key = name_key(town)
    return name_key(city.name) in {key, f"{key}city", key_without_written_umlauts(key)}


def _admitted(query: Query, cities: Sequence[City]) -> tuple[City, ...]:
    """Keep places that the query admits, largest first, one of those that lie together."""
    kept: list[City] = []
    key = name_key(query.town)
    ordered = sorted(
        (city for city in cities if query.admits(city)),
        key=lambda city: (name_key(city.name) != key, -city.population, city.geoname_id),
    )
    for city in ordered:
        if not any(_same_place(city, other) for other in kept):
            kept.append(city)
    return tuple(sorted(kept, key=lambda city: (-city.population, city.geoname_id)))


def _same_place(a: City, b: City) -> bool:
    return (
        a.country == b.country
        and distance_km(a.lat_deg, a.lon_deg, b.lat_deg, b.lon_deg) <= SAME_PLACE_KM
    )


def _unknown(query: Query) -> str:
    if not query.within:
        return "not in the gazetteer"
    where = " or ".join(
        " ".join(part for part in (region, country_names().get(country, country)) if part)
        for country, region in query.within
    )
    return f"the gazetteer has no such place in {where}"


def _near(query: Query) -> tuple[City, ...]:
    """Return places of the name elsewhere, then of near spellings where it was looked for."""
    elsewhere = _known(Query(text=query.text, town=query.town)) if query.within else ()
    key = name_key(query.town)
    spelled = dict.fromkeys(
        (
            *city_list(TOWNS_PEOPLE).with_near_name(key),
            *city_list(VILLAGES_PEOPLE).with_near_name(key),
        )
    )
    admitted = [city for city in spelled if query.admits(city)]
    return tuple(dict.fromkeys((*elsewhere[:4], *admitted[:8])))
