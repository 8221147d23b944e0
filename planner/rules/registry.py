"""Which countries have rules here, and which code stands for which rules."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from planner.errors import PlannerError
from planner.rules.us import UnitedStatesRules

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.rules.records import CountryRules

_TERRITORIES = {"PR": "US", "VI": "US", "GU": "US", "AS": "US", "MP": "US"}
_COUNTRIES: dict[str, Callable[[], CountryRules]] = {"US": UnitedStatesRules}


def rule_country(country: str) -> str:
    """Return the code of the country whose rules apply (territories to their country)."""
    return _TERRITORIES.get(country, country)


def known_countries() -> tuple[str, ...]:
    """Return the codes of the countries that have rules, territories included, sorted."""
    return tuple(sorted({*_COUNTRIES, *_TERRITORIES}))


def has_rules(country: str) -> bool:
    """Say whether a country's rules are in this version."""
    return rule_country(country) in _COUNTRIES


@functools.cache
def country_rules(country: str) -> CountryRules:
    """Return the rules that apply in a country.

    Parameters
    ----------
    country : str
        ISO 3166 code, two capital letters.

    Raises
    ------
    PlannerError
        When this version has no rules for the country.
    """
    code = rule_country(country)
    if code not in _COUNTRIES:
        known = ", ".join(known_countries())
        raise PlannerError(f"no rules for country {country}; this version knows: {known}")
    return _COUNTRIES[code]()
