"""What the law of a country says about one use of a span; one module a country."""

from planner.rules.records import (
    ChannelNote,
    ContourLevels,
    CountryRules,
    LawSpan,
    Relief,
    ServiceSpan,
    StopFacts,
    TvChannel,
    Use,
    lawful_power_mw,
)
from planner.rules.registry import (
    WHAT_TO_SUPPLY,
    country_rules,
    has_own_module,
    has_rules,
    known_countries,
    rule_country,
    tv_raster,
)

__all__ = [
    "WHAT_TO_SUPPLY",
    "ChannelNote",
    "ContourLevels",
    "CountryRules",
    "LawSpan",
    "Relief",
    "ServiceSpan",
    "StopFacts",
    "TvChannel",
    "Use",
    "country_rules",
    "has_own_module",
    "has_rules",
    "known_countries",
    "lawful_power_mw",
    "rule_country",
    "tv_raster",
]
