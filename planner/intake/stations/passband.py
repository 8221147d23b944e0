"""Strict reader of the planner's own station table: every fault of every row in one go."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from planner.intake.cells import NumberRange, Row
from planner.intake.countries import ALLOWED, COUNTRY_CODES, country_advice
from planner.intake.stations.columns import (
    COLUMNS,
    EMISSION_MASKS,
    POLARIZATIONS,
    REQUIRED_COLUMNS,
    SERVICES,
    STATUSES,
    SYSTEMS,
    TV_SERVICES,
    TV_SYSTEMS,
)
from planner.rules import has_own_module, rule_country, tv_raster
from planner.units import shortest_mhz

if TYPE_CHECKING:
    import datetime as dt

    from planner.intake.table import TextTable
    from planner.rules import TvChannel

LATITUDE = NumberRange(low=-90, high=90, unit="deg")
LONGITUDE = NumberRange(low=-180, high=180, unit="deg")
ERP_KW = NumberRange(low=0, high=5000, unit="kW", above=True)
HAAT_M = NumberRange(low=-1500, high=5000, unit="m")
AMSL_M = NumberRange(low=-430, high=9500, unit="m")
HEIGHT_AGL_M = NumberRange(low=0, high=1000, unit="m", above=True)
LOCATION_ERROR_M = NumberRange(low=0, high=200_000, unit="m")
ROTATION_DEG = NumberRange(low=0, high=360, unit="deg")
_OTHER_FILE = "a regulator's table goes through passband stations --from FORMAT first"
_TV_WIDTH_HZ = (5_000_000, 9_000_000)
"""Narrowest and widest channel that is taken for TV when no service is named [Hz]."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StationRow:
    """One row, read; every figure at fault stands as unknown and the fault is in the table."""

    row_number: int
    station_id: str
    name: str
    country: str
    service: str
    system: str
    status: str
    polarization: str
    emission_mask: str
    channel: str
    low_hz: int
    high_hz: int
    lat_deg: float
    lon_deg: float
    erp_kw: float
    haat_m: float
    antenna_amsl_m: float
    height_agl_m: float
    site_amsl_m: float
    pattern: str
    pattern_rotation_deg: float
    group_id: str
    shared_with: str
    valid_from: dt.date | None
    valid_to: dt.date | None


def read_station_rows(table: TextTable) -> list[StationRow]:
    """Turn the cells of a station table into rows; the faults wait in ``table.faults``.

    An empty ``status`` is ``on-air``. An empty ``service`` is ``full`` where the row is a
    television station as far as the table tells (a channel of a raster, a television system, or
    limits 5 to 9 MHz apart), so that what is not said is protected; ``other`` elsewhere.

    Returns
    -------
    list of StationRow
        In the file's order.
    """
    table.require_columns(REQUIRED_COLUMNS, COLUMNS, what="station table", hint=_OTHER_FILE)
    if not len(table) and table.faults:
        return []
    if "channel" not in table.positions and not {"low_mhz", "high_mhz"} <= set(table.positions):
        table.faults.add(
            "row 1",
            value="no column channel and no columns low_mhz and high_mhz",
            allowed="a column channel, or both low_mhz and high_mhz",
            advice="add one or the other",
        )
    if not len(table) and not len(table.faults):
        table.faults.add(
            value="a header and no row",
            allowed="a station table with at least one station",
            advice="a station table without a station is a fault",
        )
    rows = [_read_row(row) for row in table.rows()]
    _unique_ids(table, rows)
    _one_channel_a_group(table, rows)
    return rows


def _read_row(row: Row) -> StationRow:
    country = _country(row)
    service = row.word("service", SERVICES)
    system = row.word("system", SYSTEMS)
    status = row.word("status", STATUSES, default="on-air")
    low_hz, high_hz = _limits(row, country)
    if not service:
        service = _service(row, system, high_hz - low_hz)
    if not row.text("channel") and service in TV_SERVICES and status != "off":
        _not_closed(row, country, low_hz, high_hz)
    row.number("location_error_m", LOCATION_ERROR_M)
    valid_from, valid_to = row.date("valid_from"), row.date("valid_to")
    if valid_from and valid_to and valid_from > valid_to:
        row.fault("valid_from", allowed=f"not after valid_to {valid_to}", advice="correct one")
    return StationRow(
        row_number=row.number_in_file,
        station_id=row.text("station_id", required=True),
        name=row.text("name"),
        country=rule_country(country),
        service=service,
        system=system,
        status=status,
        polarization=row.word("polarization", POLARIZATIONS),
        emission_mask=row.word("emission_mask", EMISSION_MASKS),
        channel=row.text("channel"),
        low_hz=low_hz,
        high_hz=high_hz,
        lat_deg=_or_unknown(row.number("lat_deg", LATITUDE, required=True)),
        lon_deg=_or_unknown(row.number("lon_deg", LONGITUDE, required=True)),
        erp_kw=_or_unknown(row.number("erp_kw", ERP_KW, required=True)),
        haat_m=_height(row, "haat_m", HAAT_M),
        antenna_amsl_m=_height(row, "antenna_amsl_m", AMSL_M),
        height_agl_m=_height(row, "height_agl_m", HEIGHT_AGL_M),
        site_amsl_m=_or_unknown(row.number("site_amsl_m", AMSL_M)),
        pattern=row.text("pattern"),
        pattern_rotation_deg=row.number("pattern_rotation_deg", ROTATION_DEG) or 0.0,
        group_id=row.text("group_id"),
        shared_with=row.text("shared_with"),
        valid_from=valid_from,
        valid_to=valid_to,
    )


def _or_unknown(value: float | None) -> float:
    return math.nan if value is None else value


def _height(row: Row, column: str, allowed: NumberRange) -> float:
    """Return a height in which 0 is a fault: registers write it for "unknown"."""
    value = _or_unknown(row.number(column, allowed))
    if value == 0:
        row.fault(
            column,
            allowed=f"{allowed.text()}, but not 0",
            advice="leave it empty when it is unknown",
        )
        return math.nan
    return value


def _country(row: Row) -> str:
    country = row.text("country", required=True)
    if country and country not in COUNTRY_CODES:
        row.fault("country", allowed=ALLOWED, advice=country_advice(country))
        return ""
    return country


def _service(row: Row, system: str, width_hz: int) -> str:
    least, most = _TV_WIDTH_HZ
    wide = bool(row.text("channel")) or least <= width_hz <= most
    television = system in TV_SYSTEMS or (not system and wide)
    return "full" if television else "other"


def _limits(row: Row, country: str) -> tuple[int, int]:
    """Return the channel's limits [Hz], zeros when they are at fault."""
    label, low_text, high_text = (row.text(name) for name in ("channel", "low_mhz", "high_mhz"))
    if label:
        return _channel_limits(row, country)
    if not row.has("channel") and not (row.has("low_mhz") and row.has("high_mhz")):
        return 0, 0
    if not low_text and not high_text:
        row.fault(
            "channel" if row.has("channel") else "low_mhz",
            value="no channel and no limits",
            allowed="a channel of the country's raster, or both low_mhz and high_mhz",
            advice="fill in one or the other",
        )
        return 0, 0
    return _written_limits(row)


def _written_limits(row: Row) -> tuple[int, int]:
    low_hz = row.mhz("low_mhz", required=True)
    high_hz = row.mhz("high_mhz", required=True)
    if low_hz is None or high_hz is None:
        return 0, 0
    if low_hz >= high_hz:
        row.fault(
            "low_mhz",
            value=f"{shortest_mhz(low_hz)}, high_mhz {shortest_mhz(high_hz)}",
            allowed="low_mhz below high_mhz",
            advice="swap or correct them",
        )
        return 0, 0
    return low_hz, high_hz


def _channel_limits(row: Row, country: str) -> tuple[int, int]:
    label = row.text("channel")
    written = row.text("low_mhz") or row.text("high_mhz")
    if not country:
        return 0, 0
    if written and not has_own_module(country):
        return _written_limits(row)
    raster = tv_raster(country)
    if not raster:
        row.fault(
            "channel",
            allowed="low_mhz and high_mhz",
            advice=f"this version has no channel raster of {country}: fill in both limits in MHz",
        )
        return 0, 0
    found = next((channel for channel in raster if channel.label == label), None)
    if found is None or found.closed:
        advice = "write the number of the channel, not its name or the number on the screen"
        if found is not None:
            limits = f"{shortest_mhz(found.low_hz)}-{shortest_mhz(found.high_hz)} MHz"
            advice = f"{limits} is {found.note}"
        row.fault("channel", allowed=_raster_text(raster, country), advice=advice)
        return 0, 0
    if not written:
        return found.low_hz, found.high_hz
    low_hz, high_hz = _written_limits(row)
    if low_hz and (low_hz, high_hz) != (found.low_hz, found.high_hz):
        row.fault(
            "channel",
            value=f"{label} with {shortest_mhz(low_hz)} to {shortest_mhz(high_hz)} MHz",
            allowed=f"{shortest_mhz(found.low_hz)} to {shortest_mhz(found.high_hz)} MHz for it",
            advice="correct the channel or leave the limits empty",
        )
    return found.low_hz, found.high_hz


def _raster_text(raster: tuple[TvChannel, ...], country: str) -> str:
    labels = [channel.label for channel in raster if not channel.closed]
    return f"channels {labels[0]} to {labels[-1]} of {country}"


def _not_closed(row: Row, country: str, low_hz: int, high_hz: int) -> None:
    """Record a television station in a channel that is closed to all television."""
    for channel in tv_raster(country):
        if channel.closed and channel.low_hz < high_hz and low_hz < channel.high_hz:
            row.fault(
                "low_mhz",
                value=f"{shortest_mhz(low_hz)} to {shortest_mhz(high_hz)} MHz",
                allowed=f"outside channel {channel.label}",
                advice=f"{shortest_mhz(channel.low_hz)}-{shortest_mhz(channel.high_hz)} MHz is "
                f"{channel.note}",
            )


def _unique_ids(table: TextTable, rows: list[StationRow]) -> None:
    first: dict[str, int] = {}
    for row in rows:
        if not row.station_id:
            continue
        if row.station_id in first:
            table.faults.cell(
                row.row_number,
                "station_id",
                value=row.station_id,
                allowed=f"an id that no other row has; row {first[row.station_id]} has it",
                advice="give each transmitting antenna its own id",
            )
        first.setdefault(row.station_id, row.row_number)


def _one_channel_a_group(table: TextTable, rows: list[StationRow]) -> None:
    """Record sites of one group that are not on the channel of its first site."""
    first: dict[str, StationRow] = {}
    for row in rows:
        if not row.group_id or row.status == "off" or not row.low_hz:
            continue
        head = first.setdefault(row.group_id, row)
        if (row.low_hz, row.high_hz) != (head.low_hz, head.high_hz):
            table.faults.cell(
                row.row_number,
                "group_id",
                value=f"{row.group_id} on {shortest_mhz(row.low_hz)} MHz",
                allowed=f"one channel a group; row {head.row_number} is on "
                f"{shortest_mhz(head.low_hz)} to {shortest_mhz(head.high_hz)} MHz",
                advice="sites of one group send one programme on one channel",
            )
