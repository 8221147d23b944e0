"""Settings, licences, needs, fixed carriers and exclusions of a tour file."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.field_strength.building import building_types
from planner.field_strength.external_noise import ENVIRONMENTS
from planner.intake.cells import NumberRange
from planner.intake.countries import ALLOWED as COUNTRY_ALLOWED
from planner.intake.countries import COUNTRY_CODES, country_advice
from planner.intake.faults import nearest_word
from planner.intake.gear import FORMS
from planner.intake.tour_zones import read_active, read_zone
from planner.records import Exclude, FixedCarrier, Licence, Need, Settings
from planner.rules import country_rules, has_rules, rule_country

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from planner.intake.tour_fields import TomlFields
    from planner.records import Permission

TOUR_KEYS = (
    "name",
    "station_table",
    "gear",
    "route",
    "rules",
    "elevation",
    "scans",
    "paper",
    "distances",
)
SETTINGS_KEYS = (
    "use_faint",
    "plan_unlisted",
    "accept_unconfirmed",
    "noise_rise_limit_db",
    "pair_separation_mhz",
    "in_ear_separation_mhz",
    "interference_time_percent",
    "building_loss",
    "noise_environment",
    "range_exponent",
    "field_model",
)
LICENCE_KEYS = ("country", "kind", "holder", "valid_from", "valid_to", "stops")
EXCLUDE_KEYS = ("low_mhz", "high_mhz", "reason", "stops")
NEED_KEYS = (
    "name",
    "role",
    "form",
    "lines",
    "count",
    "spares",
    "spare_grade",
    "units_per_line",
    "gear",
    "ranges_max",
    "zone",
    "pair_with",
    "stops",
    "active",
    "block_loss",
    "fallback",
)
FIXED_KEYS = ("name", "role", "frequency_mhz", "gear", "stops", "zone", "active")
NOISE_ENVIRONMENTS = ("auto", *ENVIRONMENTS)
FIELD_MODELS = ("auto", "r6602", "p1546")
USE_FAINT = ("never", "spares", "all")
SPARE_GRADES = ("full", "stand-in")
BLOCK_LOSSES = ("second-block", "fallback", "accept")

_COUNT = NumberRange(low=1, high=500)
_SPARES = NumberRange(low=0, high=500)
_NOISE_RISE_DB = NumberRange(low=0, high=40, unit="dB", above=True)
_SEPARATION_MHZ = NumberRange(low=0, high=500, unit="MHz")
_EXPONENT = NumberRange(low=2, high=6)
_TIME_PERCENT = NumberRange(low=1, high=50, unit="%")


def read_settings(fields: TomlFields) -> Settings:
    """Read ``[settings]``; every assumption has a default."""
    default = Settings()
    codes = fields.texts("accept_unconfirmed")
    for code in codes:
        _known_country(fields, "accept_unconfirmed", code)

    def number(key: str, allowed: NumberRange, otherwise: float) -> float:
        value = fields.number(key, allowed)
        return otherwise if value is None else value

    return dataclasses.replace(
        default,
        use_faint=fields.word("use_faint", USE_FAINT, default=default.use_faint),
        plan_unlisted=fields.flag("plan_unlisted", default=default.plan_unlisted),
        accept_unconfirmed=codes,
        noise_rise_limit_db=number(
            "noise_rise_limit_db", _NOISE_RISE_DB, default.noise_rise_limit_db
        ),
        pair_separation_mhz=number(
            "pair_separation_mhz", _SEPARATION_MHZ, default.pair_separation_mhz
        ),
        in_ear_separation_mhz=number(
            "in_ear_separation_mhz", _SEPARATION_MHZ, default.in_ear_separation_mhz
        ),
        interference_time_percent=number(
            "interference_time_percent", _TIME_PERCENT, default.interference_time_percent
        ),
        building_loss=fields.word("building_loss", building_types(), default=default.building_loss),
        noise_environment=fields.word(
            "noise_environment", NOISE_ENVIRONMENTS, default=default.noise_environment
        ),
        range_exponent=number("range_exponent", _EXPONENT, default.range_exponent),
        field_model=fields.word("field_model", FIELD_MODELS, default=default.field_model),
    )


def read_licence(fields: TomlFields, own: Sequence[Permission] = ()) -> Licence:
    """Read a ``[[licence]]``; its kind must be one that the country's rules name.

    Without rules for the country the kind is taken as it is; see :func:`licence_warnings`.
    """
    country = fields.text("country")
    kind = fields.text("kind")
    fields.require("country", COUNTRY_ALLOWED)
    fields.require("kind", "a kind named by the country's rules")
    if fields.has("country") and _known_country(fields, "country", country):
        _check_kind(fields, country, kind, own)
    valid_from, valid_to = fields.day("valid_from"), fields.day("valid_to")
    _check_days(fields, valid_from, valid_to)
    return Licence(
        country=rule_country(country),
        kind=kind,
        holder=fields.text("holder"),
        valid_from=valid_from,
        valid_to=valid_to,
        stops=fields.texts("stops"),
    )


def read_exclude(fields: TomlFields) -> Exclude:
    """Read an ``[[exclude]]``."""
    low_hz, high_hz = fields.mhz("low_mhz"), fields.mhz("high_mhz")
    both = [fields.require(key, "a frequency in MHz") for key in ("low_mhz", "high_mhz")]
    if all(both) and low_hz is not None and high_hz is not None and low_hz >= high_hz:
        fields.fault(
            "low_mhz",
            value=f"{low_hz / 1e6:g}, high_mhz {high_hz / 1e6:g}",
            allowed="low_mhz below high_mhz",
            advice="swap or correct them",
        )
    return Exclude(
        low_hz=low_hz or 0,
        high_hz=high_hz or 0,
        reason=fields.text("reason"),
        stops=fields.texts("stops"),
    )


def read_need(fields: TomlFields) -> Need:
    """Read a ``[[need]]``; lines that have no name are filled in as "<name> <n>"."""
    name, role = _required_text(fields, "name"), _required_text(fields, "role")
    lines = fields.texts("lines")
    count = fields.integer("count", _COUNT)
    if not fields.has("count"):
        count = len(lines)
        if not lines:
            fields.require("count", _COUNT.text("a whole number"))
    if count is not None and fields.has("count") and len(lines) > count:
        fields.fault(
            "lines",
            value=f"{len(lines)} names for a count of {count}",
            allowed="as many names as count, or fewer",
            advice="raise count or take names out",
        )
    defaults = {"spares": 0, "units_per_line": 1, "ranges_max": 1}
    ranges = {"spares": _SPARES, "units_per_line": _COUNT, "ranges_max": _COUNT}
    numbers = {key: fields.integer(key, ranges[key]) for key in ranges}
    filled = _filled(name, lines, count or 0)
    _check_line_names(fields, filled, _spare_names(name, numbers["spares"] or 0))
    return Need(
        name=name,
        role=role,
        form=fields.word("form", FORMS, default=""),
        lines=filled,
        count=count or 1,
        spare_grade=fields.word("spare_grade", SPARE_GRADES, default="full"),
        gear=fields.texts("gear"),
        zone=read_zone(fields),
        pair_with=fields.text("pair_with"),
        stops=fields.texts("stops"),
        active=read_active(fields),
        block_loss=fields.word("block_loss", BLOCK_LOSSES, default=""),
        fallback=fields.text("fallback"),
        **{key: defaults[key] if value is None else value for key, value in numbers.items()},
    )


def read_fixed(fields: TomlFields) -> FixedCarrier:
    """Read a ``[[fixed]]``: a carrier of our own that cannot be retuned."""
    name, gear = _required_text(fields, "name"), _required_text(fields, "gear")
    frequency_hz = fields.mhz("frequency_mhz")
    fields.require("frequency_mhz", "a frequency in MHz")
    return FixedCarrier(
        name=name,
        role=fields.text("role"),
        frequency_hz=frequency_hz or 0,
        range_key=gear,
        stops=fields.texts("stops"),
        zone=read_zone(fields),
        active=read_active(fields),
    )


def _filled(name: str, lines: tuple[str, ...], count: int) -> tuple[str, ...]:
    rest = (f"{name} {number}" for number in range(len(lines) + 1, count + 1))
    return (*lines, *rest)


def _spare_names(name: str, spares: int) -> frozenset[str]:
    """Return the names that a plan gives to a need's spares."""
    return frozenset(f"{name} spare {number}" for number in range(1, spares + 1))


def _check_line_names(fields: TomlFields, lines: tuple[str, ...], spares: frozenset[str]) -> None:
    """Fault lines of one name, generated names included, and lines named like a spare."""
    for line in dict.fromkeys(lines):
        if lines.count(line) > 1:
            fields.fault(
                "lines",
                value=f'"{line}" {lines.count(line)} times',
                allowed="each name once in a need; missing ones are named after the need",
                advice="rename one of them",
            )
        elif line in spares:
            fields.fault(
                "lines",
                value=f'"{line}", which a spare of this need is named too',
                allowed='a name other than "<need> spare <n>", which names the spares',
                advice="rename the line",
            )


def _required_text(fields: TomlFields, key: str) -> str:
    return fields.filled_text(key) if fields.require(key, "a text in quotes") else ""


def _known_country(fields: TomlFields, key: str, code: str) -> bool:
    if code in COUNTRY_CODES:
        return True
    if fields.has(key) and (code or fields.is_text(key)):
        fields.fault(key, value=f'"{code}"', allowed=COUNTRY_ALLOWED, advice=country_advice(code))
    return False


def _check_kind(fields: TomlFields, country: str, kind: str, own: Sequence[Permission]) -> None:
    if not has_rules(country, own):
        fields.filled_text("kind")
        return
    kinds = country_rules(country, own).licence_kinds
    if kind in kinds or not fields.is_text("kind"):
        return
    near = nearest_word(kind, kinds)
    fields.fault(
        "kind",
        value=f'"{kind}"',
        allowed=f"{' / '.join(kinds) or 'no licence at all'}, the kinds of {country}",
        advice=f'did you mean "{near}"?' if near else _instead(kinds),
    )


def _instead(kinds: Sequence[str]) -> str:
    return "write one of them" if kinds else "take the [[licence]] out"


def _check_days(fields: TomlFields, first: dt.date | None, last: dt.date | None) -> None:
    if first is not None and last is not None and first > last:
        fields.fault(
            "valid_to",
            value=f"{last}, valid_from {first}",
            allowed="valid_to on or after valid_from",
            advice="swap or correct them",
        )
