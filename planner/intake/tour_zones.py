"""Zones, times of day and reserves of a tour file."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from planner.intake.cells import NumberRange
from planner.intake.faults import nearest_word
from planner.intake.tour_checks import some
from planner.intake.tour_fields import described
from planner.records import Reserve, ZonePair

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.intake.tour_fields import TomlFields
    from planner.records import GearRange

RESERVE_KEYS = ("role", "count", "bandwidth_khz", "stops", "zone")
ZONE_PAIR_KEYS = ("a", "b", "distance_m", "isolation_db")
STAGE = "stage"
"""Zone of whatever names none."""
DEFAULT_BANDWIDTH_HZ = 200_000
"""Taken for people who turn up where no bandwidth is given [Hz]."""

_COUNT = NumberRange(low=1, high=100)
_BANDWIDTH_KHZ = NumberRange(low=0.0, high=100_000.0, unit="kHz", above=True)
_DISTANCE_M = NumberRange(low=1.0, high=100_000.0, unit="m")
_ISOLATION_DB = NumberRange(low=0.0, high=250.0, unit="dB")
_CLOCK = re.compile(r"(?:[01]\d|2[0-3]):[0-5]\d")
_FROM_AND_TO = 2


def read_zone(fields: TomlFields) -> str:
    """Read the zone word of a need, a fixed carrier, somebody else's use or a reserve."""
    return fields.text("zone", default=STAGE) or STAGE


def read_active(fields: TomlFields) -> tuple[str, ...]:
    """Read ``active``: local times from and to, past midnight where the second is earlier."""
    times = fields.texts("active")
    advice = 'write e.g. active = ["14:00", "20:30"]'
    for text in times:
        if not _CLOCK.fullmatch(text):
            fields.fault(
                "active",
                value=described(text),
                allowed='"HH:MM", 00:00 to 23:59',
                advice=advice,
            )
    if times and len(times) != _FROM_AND_TO:
        fields.fault(
            "active",
            value=f"a list of {len(times)}",
            allowed="two times, from and to",
            advice=f"{advice}, or leave the key out",
        )
    elif times and times[0] == times[1]:
        fields.fault(
            "active",
            value=f'"{times[0]}" twice',
            allowed="two different times, from and to",
            advice=f"{advice}; leave the key out for the whole day",
        )
    return times


def read_reserve(fields: TomlFields) -> Reserve:
    """Read a ``[[reserve]]``: frequencies kept free for people who turn up."""
    role = fields.filled_text("role") if fields.require("role", "a text in quotes") else ""
    count = fields.integer("count", _COUNT)
    fields.require("count", _COUNT.text("a whole number"))
    bandwidth_hz = fields.khz("bandwidth_khz", _BANDWIDTH_KHZ)
    return Reserve(
        role=role,
        count=count or 1,
        bandwidth_hz=bandwidth_hz or DEFAULT_BANDWIDTH_HZ,
        stops=fields.texts("stops"),
        zone=read_zone(fields),
    )


def read_zone_pair(fields: TomlFields) -> ZonePair:
    """Read a ``[[zone_pair]]``: a distance or a loss between two zones, exactly one of them."""
    a, b = (
        fields.filled_text(key) if fields.require(key, "a zone in quotes") else ""
        for key in ("a", "b")
    )
    if a and a == b:
        fields.fault(
            "b",
            value=f'"{b}", which a is too',
            allowed="two different zones",
            advice="correct one of them: within a zone everything counts as near",
        )
    keys = [key for key in ("distance_m", "isolation_db") if fields.has(key)]
    if len(keys) != 1:
        fields.fault(
            "",
            value=" and ".join(keys) or "neither distance_m nor isolation_db",
            allowed="distance_m or isolation_db, exactly one",
            advice="keep isolation_db where the loss was measured, else distance_m",
        )
    return ZonePair(
        a=a,
        b=b,
        distance_m=fields.number("distance_m", _DISTANCE_M),
        isolation_db=fields.number("isolation_db", _ISOLATION_DB),
    )


def check_zone_pairs(pairs: Sequence[tuple[TomlFields, ZonePair]], zones: Iterable[str]) -> None:
    """Fault zones that nothing stands in, and a pair that is told twice.

    Parameters
    ----------
    pairs : sequence of (TomlFields, ZonePair)
        The pairs as read.
    zones : iterable of str
        Zone words of needs, fixed carriers, other uses and reserves.
    """
    known = tuple(dict.fromkeys(zones))
    seen: set[frozenset[str]] = set()
    for fields, pair in pairs:
        for key, zone in (("a", pair.a), ("b", pair.b)):
            if not zone or zone in known:
                continue
            near = nearest_word(zone, known)
            fields.fault(
                key,
                value=f'"{zone}"',
                allowed=f"a zone of a need, fixed carrier, other use or reserve: {some(known)}",
                advice=f'did you mean "{near}"?' if near else "correct it or take the pair out",
            )
        both = frozenset((pair.a, pair.b))
        if pair.a and pair.b and both in seen:
            fields.fault(
                "",
                value=f'"{pair.a}" and "{pair.b}" again',
                allowed="each pair of zones once",
                advice="keep one of the two",
            )
        seen.add(both)


def check_reserves_against_gear(
    reserves: Sequence[tuple[TomlFields, Reserve]], gear: Sequence[GearRange]
) -> None:
    """Fault a reserve for a role that no single-carrier row of the catalogue has."""
    roles = sorted({row.role for row in gear if not row.links_per_block})
    for fields, reserve in reserves:
        if not reserve.role or reserve.role in roles:
            continue
        near = nearest_word(reserve.role, roles)
        fields.fault(
            "role",
            value=f'"{reserve.role}"',
            allowed=f"a role of the gear catalogue, blocks apart: {some(roles)}",
            advice=f'did you mean "{near}"?' if near else "add gear of this role",
        )
