"""Strict reader of a user's rules file: one row a permission, the published contract."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.errors import InputFaults
from planner.intake.cells import NumberRange
from planner.intake.countries import ALLOWED, COUNTRY_CODES, country_advice
from planner.intake.table import read_table
from planner.intake.tour_files import InputRecord, sha256_of, written_name
from planner.records.permissions import (
    ALL_AUDIO,
    ANY_FORM,
    CONFIRMED,
    CONSTANT_ENVELOPE,
    LICENCE_EXEMPT,
    LIMIT_CONFIRMED,
    PERMISSION_COLUMNS,
    PERMISSION_CONFIRMED,
    PERMISSION_USES,
    STATUS_WORDS,
    SUCCESSOR_UNSEEN,
    Permission,
)
from planner.rules import has_own_module, rule_country
from planner.rules.world_tables import parse_area
from planner.units import POWER_KINDS, shortest_mhz

if TYPE_CHECKING:
    from pathlib import Path

    from planner.errors import Fault
    from planner.intake.cells import Row
    from planner.intake.table import TextTable
    from planner.records.permissions import Area

COLUMNS = (*PERMISSION_COLUMNS, "note")
REQUIRED_COLUMNS = ("country", "low_mhz", "high_mhz", "licence_kind", "source")
FORMS = (ANY_FORM, "hand-held", "body-worn", "rack")
MODULATIONS = (CONSTANT_ENVELOPE, "fm", "digital-constant", "digital-linear", "wideband")

_POWER_MW = NumberRange(low=0, high=1_000_000, unit="mW", above=True)
_LEAD_DAYS = NumberRange(low=0, high=3650, unit="days")
_ORIGIN_MHZ = NumberRange(low=0, high=10_000, unit="MHz")
_ALL_CONFIRMED = frozenset({PERMISSION_CONFIRMED, LIMIT_CONFIRMED})


def load_rules(path: Path, *, name: str = "") -> tuple[Permission, ...]:
    """Read a user's rules file.

    Parameters
    ----------
    path : Path
        The CSV file.
    name : str
        Its name in messages; ``path`` when empty.

    Returns
    -------
    tuple of Permission
        In the file's order. An empty ``status`` means confirmed: the user stands for it.

    Raises
    ------
    InputFaults
        With every fault of the file.
    """
    table = read_table(path, name=name, what="rules file")
    table.require_columns(REQUIRED_COLUMNS, COLUMNS, what="rules file")
    for column, near in table.unknown_columns(COLUMNS):
        if near:
            table.faults.add(
                "row 1",
                value=f"a column {column}",
                allowed="the columns of the contract",
                advice=f'rename it "{near}"?',
            )
    if not len(table) and not len(table.faults):
        table.faults.add(
            value="a header and no row",
            allowed="a rules file with at least one permission",
            advice="add a row for each permission",
        )
    rows = tuple(_permission(row) for row in table.rows())
    _one_raster(table, rows)
    table.faults.raise_if_any()
    return rows


def _permission(row: Row) -> Permission:
    low_hz, high_hz = row.mhz("low_mhz", required=True), row.mhz("high_mhz", required=True)
    if low_hz is not None and high_hz is not None and low_hz >= high_hz:
        row.fault(
            "low_mhz",
            value=f"{shortest_mhz(low_hz)}, high_mhz {shortest_mhz(high_hz)}",
            allowed="low_mhz below high_mhz",
            advice="swap or correct them",
        )
    first, last = row.date("valid_from"), row.date("valid_to")
    if first is not None and last is not None and first > last:
        row.fault("valid_to", allowed="valid_to on or after valid_from", advice="correct them")
    status = _status(row)
    power_mw = row.number("power_mw", _POWER_MW)
    power_kind = row.word("power_kind", POWER_KINDS, default="EIRP")
    if power_mw is not None and not row.text("power_kind"):
        row.fault("power_kind", allowed=" / ".join(POWER_KINDS), advice="say how it is measured")
    return Permission(
        country=_country(row),
        low_hz=low_hz or 0,
        high_hz=high_hz or 0,
        use=row.word("use", PERMISSION_USES, default=ALL_AUDIO),
        form=row.word("form", FORMS, default=ANY_FORM),
        modulation=row.word("modulation", MODULATIONS),
        licence_kind=row.text("licence_kind", required=True) or LICENCE_EXEMPT,
        eligible=row.text("eligible"),
        power_mw=power_mw,
        power_kind=power_kind,
        antenna_limit=row.text("antenna_limit"),
        bandwidth_hz=row.khz("bandwidth_khz"),
        raster_hz=_raster(row),
        areas=_areas(row),
        valid_from=first,
        valid_to=last,
        lead_time_days=row.integer("lead_time_days", _LEAD_DAYS),
        apply_to=row.text("apply_to"),
        names_frequencies=row.word("names_frequencies", ("yes", "no"), default="no") == "yes",
        source=row.text("source", required=True),
        permission_confirmed=PERMISSION_CONFIRMED in status,
        limit_confirmed=LIMIT_CONFIRMED in status,
        successor_unseen=SUCCESSOR_UNSEEN in status,
        note=row.text("note"),
    )


def _country(row: Row) -> str:
    code = row.text("country", required=True)
    if code and code not in COUNTRY_CODES:
        row.fault("country", allowed=ALLOWED, advice=country_advice(code))
    elif code and has_own_module(code):
        row.fault(
            "country",
            allowed="a country whose rules are rows",
            advice=f"the rules of {rule_country(code)} are built in and cannot be replaced: take "
            "the row out",
        )
    return rule_country(code)


def _status(row: Row) -> frozenset[str]:
    """Return what the user's row confirms; an empty cell confirms all."""
    words = row.items("status")
    for word in words:
        if word not in STATUS_WORDS:
            row.fault("status", value=word, allowed=" / ".join(STATUS_WORDS), advice="use one word")
    status = frozenset(words)
    if CONFIRMED in status or not status - {SUCCESSOR_UNSEEN}:
        return status | _ALL_CONFIRMED
    return status


def _raster(row: Row) -> tuple[int, int] | None:
    step_hz, origin_hz = row.khz("raster_khz"), row.mhz("raster_origin_mhz", _ORIGIN_MHZ)
    if step_hz is not None:
        return origin_hz or 0, step_hz
    if row.text("raster_origin_mhz"):
        row.fault("raster_khz", allowed="a step in kHz", advice="an origin needs its step")
    return None


def _areas(row: Row) -> tuple[Area, ...]:
    found = []
    for text in row.items("area"):
        try:
            found.append(parse_area(text))
        except ValueError as error:
            row.fault(
                "area",
                value=text,
                allowed="circle LAT LON KM, or polygon LAT LON LAT LON LAT LON ...",
                advice=str(error),
            )
    return tuple(found)


def _one_raster(table: TextTable, rows: tuple[Permission, ...]) -> None:
    """Fault a second raster of one country: a carrier is set on one only."""
    first: dict[str, tuple[int, int]] = {}
    for number, row in zip(table.row_numbers, rows, strict=True):
        if row.raster_hz is None:
            continue
        if first.setdefault(row.country, row.raster_hz) != row.raster_hz:
            table.faults.cell(
                number,
                "raster_khz",
                value=f"{row.raster_hz[1] / 1000:g}",
                allowed=f"one raster of carriers in {row.country}",
                advice="write the same raster_khz and raster_origin_mhz in all its rows",
            )


def own_rules(folder: Path, name: str) -> tuple[tuple[Permission, ...], tuple[Fault, ...]]:
    """Return the rules that a tour names, and their faults; nothing for an empty name."""
    if not name:
        return (), ()
    try:
        return load_rules(folder / name, name=name), ()
    except InputFaults as error:
        return (), error.faults


def rule_records(folder: Path, name: str, rows: int) -> tuple[InputRecord, ...]:
    """Return the record of the rules file that a tour names, none for an empty name."""
    if not name:
        return ()
    return (InputRecord(file=written_name(name), sha256=sha256_of(folder / name), rows=rows),)
