"""Which countries have rules here, and which code stands for which rules."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from planner.errors import PlannerError
from planner.rules.us import UnitedStatesRules
from planner.rules.world import WorldRules
from planner.rules.world_tables import countries, world_raster

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from planner.records import Permission
    from planner.rules.records import CountryRules, TvChannel

_TERRITORIES = {"PR": "US", "VI": "US", "GU": "US", "AS": "US", "MP": "US"}
_COUNTRIES: dict[str, Callable[[], CountryRules]] = {"US": UnitedStatesRules}
"""Countries whose rules are a module of their own; a rules file cannot take their place."""
WHAT_TO_SUPPLY = (
    'write its rules as rows of a CSV file and name it in [tour], rules = "rules.csv"; the columns '
    "are in README"
)


def rule_country(country: str) -> str:
    """Return the code of the country whose rules apply (territories to their country)."""
    return _TERRITORIES.get(country, country)


def known_countries(own: Sequence[Permission] = ()) -> tuple[str, ...]:
    """Return the codes of the countries that have rules, territories included, sorted.

    Parameters
    ----------
    own : sequence of Permission
        The user's own rows.
    """
    named = {row.country for row in own}
    return tuple(sorted({*_COUNTRIES, *_TERRITORIES, *countries(), *named}))


def has_rules(country: str, own: Sequence[Permission] = ()) -> bool:
    """Say whether a country's rules are in this version, or in the user's own rows."""
    code = rule_country(country)
    return code in _COUNTRIES or code in countries() or any(row.country == code for row in own)


def has_own_module(country: str) -> bool:
    """Say whether a country's rules are a module of this version, which no rows can replace."""
    return rule_country(country) in _COUNTRIES


def tv_raster(country: str) -> tuple[TvChannel, ...]:
    """Return the TV channels of a country, ascending; none where no raster is known.

    A raster may be known of a country without rules.
    """
    code = rule_country(country)
    return country_rules(code).raster if code in _COUNTRIES else world_raster(code)


def country_rules(country: str, own: Sequence[Permission] = ()) -> CountryRules:
    """Return the rules that apply in a country.

    Parameters
    ----------
    country : str
        ISO 3166 code, two capital letters.
    own : sequence of Permission
        The user's own rows; they take the place of all shipped rows of their countries.

    Raises
    ------
    PlannerError
        When there are no rules for the country.
    """
    code = rule_country(country)
    return _rules(code, tuple(row for row in own if row.country == code))


@functools.cache
def _rules(code: str, rows: tuple[Permission, ...]) -> CountryRules:
    if code in _COUNTRIES:
        return _COUNTRIES[code]()
    if not rows and code not in countries():
        known = ", ".join(known_countries())
        raise PlannerError(
            f"no rules for country {code}; this version knows: {known}; {WHAT_TO_SUPPLY}"
        )
    return WorldRules(code, rows)
