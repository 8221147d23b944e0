"""What people state in a tour file: others on the air, assignments, owned gear, cleared spans."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.intake.cells import FREQUENCY_MHZ, NumberRange
from planner.intake.faults import nearest_word
from planner.intake.tour_checks import some
from planner.intake.tour_zones import read_active, read_zone
from planner.records import Assigned, Cleared, Other, Owned
from planner.records.statements import BASES
from planner.units import shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from planner.intake.tour_fields import TomlFields
    from planner.records import GearRange, Need

OTHER_KEYS = (
    "owner",
    "frequency_mhz",
    "low_mhz",
    "high_mhz",
    "bandwidth_khz",
    "stops",
    "active",
    "protect",
    "zone",
)
ASSIGNED_KEYS = ("stop", "need", "frequencies_mhz", "power_mw", "reference")
OWNED_KEYS = ("gear", "receivers", "transmitters")
CLEARED_KEYS = ("stop", "low_mhz", "high_mhz", "basis", "level_dbm", "date", "by")
DEFAULT_BANDWIDTH_HZ = 200_000
"""Taken for somebody else's carrier of which no bandwidth is given [Hz]."""

_BANDWIDTH_KHZ = NumberRange(low=0.0, high=100_000.0, unit="kHz", above=True)
_POWER_MW = NumberRange(low=0.0, high=100_000.0, unit="mW", above=True)
_LEVEL_DBM = NumberRange(low=-200.0, high=50.0, unit="dBm")
_PIECES = NumberRange(low=0, high=10_000)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Statements:
    """The four kinds of statement, each with the table it was read from."""

    others: Sequence[tuple[TomlFields, Other]] = ()
    assigned: Sequence[tuple[TomlFields, Assigned]] = ()
    owned: Sequence[tuple[TomlFields, Owned]] = ()
    cleared: Sequence[tuple[TomlFields, Cleared]] = ()


def read_other(fields: TomlFields) -> Other:
    """Read an ``[[other]]``: a carrier with its bandwidth, or a block by its edges."""
    owner = _required(fields, "owner")
    edges = [key for key in ("low_mhz", "high_mhz") if fields.has(key)]
    frequency_hz = fields.mhz("frequency_mhz")
    low_hz, high_hz = fields.mhz("low_mhz"), fields.mhz("high_mhz")
    bandwidth_hz = fields.khz("bandwidth_khz", _BANDWIDTH_KHZ)
    if fields.has("frequency_mhz"):
        _check_one_way(fields, edges)
        half_hz = ((bandwidth_hz or DEFAULT_BANDWIDTH_HZ) + 1) // 2
        low_hz, high_hz = max(0, (frequency_hz or 0) - half_hz), (frequency_hz or 0) + half_hz
    elif not edges:
        fields.fault(
            "",
            value="no frequency",
            allowed="frequency_mhz, or low_mhz and high_mhz for a block",
            advice="say what is occupied",
        )
    else:
        _check_span(fields, low_hz, high_hz)
        if fields.has("bandwidth_khz"):
            fields.fault(
                "bandwidth_khz",
                value="the bandwidth of a block",
                allowed="bandwidth_khz only beside frequency_mhz",
                advice="remove it: a block is as wide as its edges",
            )
    return Other(
        owner=owner,
        frequency_hz=frequency_hz,
        low_hz=low_hz or 0,
        high_hz=high_hz or 0,
        stops=fields.texts("stops"),
        active=read_active(fields),
        protect=fields.flag("protect", default=False),
        zone=read_zone(fields),
    )


def read_assigned(fields: TomlFields) -> Assigned:
    """Read an ``[[assigned]]``: the only frequencies that a need may have at a stop."""
    stop, need = (_required(fields, key) for key in ("stop", "need"))
    found: tuple[int, ...] = ()
    if fields.require("frequencies_mhz", "a list of frequencies in MHz"):
        found = fields.mhz_list("frequencies_mhz")
    for frequency_hz in dict.fromkeys(found):
        if found.count(frequency_hz) > 1:
            _fault_twice(fields, frequency_hz)
    return Assigned(
        stop=stop,
        need=need,
        frequencies_hz=tuple(dict.fromkeys(found)),
        power_mw=fields.number("power_mw", _POWER_MW),
        reference=fields.text("reference"),
    )


def read_owned(fields: TomlFields) -> Owned:
    """Read an ``[[owned]]``: how many pieces of a range are there already."""
    key = _required(fields, "gear")
    receivers = fields.integer("receivers", _PIECES)
    transmitters = fields.integer("transmitters", _PIECES)
    faulty = any(
        fields.has(name) and value is None
        for name, value in (("receivers", receivers), ("transmitters", transmitters))
    )
    if not faulty and not receivers and not transmitters:
        fields.fault(
            "",
            value="nothing owned",
            allowed="receivers or transmitters above 0",
            advice="say how many there are, or take the table out",
        )
    return Owned(range_key=key, receivers=receivers or 0, transmitters=transmitters or 0)


def read_cleared(fields: TomlFields) -> Cleared:
    """Read a ``[[cleared]]``: a span that somebody answers for."""
    stop = _required(fields, "stop")
    low_hz, high_hz = fields.mhz("low_mhz"), fields.mhz("high_mhz")
    _check_span(fields, low_hz, high_hz)
    fields.require("basis", " / ".join(BASES))
    return Cleared(
        stop=stop,
        low_hz=low_hz or 0,
        high_hz=high_hz or 0,
        basis=fields.word("basis", BASES, default=BASES[0]),
        level_dbm=fields.number("level_dbm", _LEVEL_DBM),
        date=fields.day("date"),
        by=fields.text("by"),
    )


def check_statement_names(
    parts: Statements, ids: Collection[str], needs: Sequence[tuple[TomlFields, Need]]
) -> None:
    """Fault stops and needs that do not exist, and needs assigned where they are not wanted.

    Parameters
    ----------
    parts : Statements
        Assignments and clearances.
    ids : collection of str
        Ids of the route; empty leaves the stops unchecked.
    needs : sequence of (TomlFields, Need)
        The needs as read.
    """
    rows: list[tuple[TomlFields, Assigned | Cleared]] = [*parts.assigned, *parts.cleared]
    known = {need.name: need for _, need in needs if need.name}
    if ids:
        for fields, row in rows:
            if row.stop:
                _check_known(fields, "stop", row.stop, ids, "the id of a stop")
    for fields, given in parts.assigned:
        if not given.need:
            continue
        need = known.get(given.need)
        if need is None:
            _check_known(fields, "need", given.need, known, "the name of a need")
        elif need.stops and given.stop and given.stop not in need.stops:
            fields.fault(
                "need",
                value=f'"{given.need}", not wanted at {given.stop}',
                allowed=f"a need of that stop; {given.need} has stops {some(need.stops)}",
                advice="correct the stop, or add it to the need",
            )
    _check_assigned_once(parts.assigned)


def check_owned_against_gear(
    owned: Sequence[tuple[TomlFields, Owned]], gear: Sequence[GearRange]
) -> None:
    """Fault ranges that the catalogue does not have, and a range owned twice.

    Two tables for one range are a fault as two catalogue rows of one key are: a line copied by
    mistake would otherwise take pieces off the list of what to buy.
    """
    keys = [row.key for row in gear]
    seen: set[str] = set()
    for fields, row in owned:
        if not row.range_key:
            continue
        _check_known(fields, "gear", row.range_key, keys, "a range of the gear catalogue")
        if row.range_key in seen:
            fields.fault(
                "gear",
                value=f'"{row.range_key}" again',
                allowed="each range once",
                advice="write one table with the sum of the pieces",
            )
        seen.add(row.range_key)


def _required(fields: TomlFields, key: str) -> str:
    return fields.filled_text(key) if fields.require(key, "a text in quotes") else ""


def _check_one_way(fields: TomlFields, edges: Sequence[str]) -> None:
    if edges:
        fields.fault(
            "frequency_mhz",
            value=f"frequency_mhz and {' and '.join(edges)}",
            allowed="frequency_mhz, or low_mhz and high_mhz, not both",
            advice="keep the frequency for a carrier, the edges for a block",
        )


def _check_span(fields: TomlFields, low_hz: int | None, high_hz: int | None) -> None:
    both = [fields.require(key, "a frequency in MHz") for key in ("low_mhz", "high_mhz")]
    if all(both) and low_hz is not None and high_hz is not None and low_hz >= high_hz:
        fields.fault(
            "low_mhz",
            value=f"{shortest_mhz(low_hz)}, high_mhz {shortest_mhz(high_hz)}",
            allowed=f"low_mhz below high_mhz, {FREQUENCY_MHZ.text()}",
            advice="swap or correct them",
        )


def _check_known(
    fields: TomlFields, key: str, name: str, known: Collection[str], what: str
) -> None:
    if name in known:
        return
    near = nearest_word(name, known)
    fields.fault(
        key,
        value=f'"{name}"',
        allowed=f"{what}: {some(known)}",
        advice=f'did you mean "{near}"?' if near else "correct it or take it out",
    )


def _check_assigned_once(assigned: Sequence[tuple[TomlFields, Assigned]]) -> None:
    """Fault a frequency that two tables give to one need at one stop."""
    seen: set[tuple[str, str, int]] = set()
    for fields, row in assigned:
        here = {(row.stop, row.need, frequency_hz) for frequency_hz in row.frequencies_hz}
        for _, _, frequency_hz in sorted(here & seen):
            _fault_twice(fields, frequency_hz)
        seen |= here


def _fault_twice(fields: TomlFields, frequency_hz: int) -> None:
    fields.fault(
        "frequencies_mhz",
        value=f"{shortest_mhz(frequency_hz)} twice",
        allowed="each frequency once for a need at a stop",
        advice="remove one",
    )


def cleared_warnings(
    cleared: Sequence[tuple[TomlFields, Cleared]],
) -> Iterator[tuple[str, str, str]]:
    """Yield a warning for each cleared span that nobody or no day stands for."""
    for fields, row in cleared:
        lacking = [word for word, value in (("by", row.by), ("date", row.date)) if not value]
        if lacking:
            span = f"{shortest_mhz(row.low_hz)}-{shortest_mhz(row.high_hz)} MHz at {row.stop}"
            text = (
                f"{span}: no {' and no '.join(lacking)}; a cleared span is printed with who "
                "states it and when"
            )
            yield "cleared-unsigned", fields.where, text
