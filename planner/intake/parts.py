"""Strict reader of a parts catalogue: antennas, splitters, cables and the rest, one row each."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from planner.hookup.cables import (
    LEAST_DB_100M_AT_100_MHZ,
    MOST_DB_100M_AT_100_MHZ,
    attenuation_db_100m,
    cable_types,
)
from planner.hookup.trees import ideal_split_loss_db
from planner.intake.cells import FREQUENCY_MHZ, NumberRange, Row
from planner.intake.faults import nearest_word
from planner.intake.table import TextTable, read_table
from planner.records.hookup import (
    AMPLIFIER,
    ANTENNA,
    ATTENUATOR,
    CABLE,
    COMBINER,
    FIBRE,
    FILTER,
    LINE_POWERS,
    PART_KINDS,
    POLARIZATIONS,
    SPLITTER,
    Part,
)
from planner.units import shortest_mhz

if TYPE_CHECKING:
    from pathlib import Path

COLUMNS = (
    "part",
    "kind",
    "low_mhz",
    "high_mhz",
    "ways",
    "branches",
    "gain_db",
    "gain_dbi",
    "beam_deg",
    "front_to_back_db",
    "polarization",
    "noise_figure_db",
    "oip3_dbm",
    "p1db_dbm",
    "cascade_ports",
    "cascade_gain_db",
    "rejection_db",
    "skirt_mhz",
    "cable_type",
    "loss_db_100m",
    "loss_mhz",
    "lengths_m",
    "connector",
    "connector_out",
    "impedance_ohm",
    "rack_units",
    "watts",
    "supply_ma",
    "line_power",
    "outlets",
    "available",
    "note",
)
REQUIRED_COLUMNS = ("part", "kind")

_WAYS = NumberRange(low=1, high=64)
_BRANCHES = NumberRange(low=1, high=2)
_GAIN_DB = NumberRange(low=-60, high=60, unit="dB")
_GAIN_DBI = NumberRange(low=-20, high=25, unit="dBi")
_BEAM_DEG = NumberRange(low=5, high=360, unit="deg")
_RATIO_DB = NumberRange(low=0, high=120, unit="dB")
_FIGURE_DB = NumberRange(low=0, high=40, unit="dB")
_POINT_DBM = NumberRange(low=-40, high=80, unit="dBm")
_PORTS = NumberRange(low=0, high=8)
_SKIRT_MHZ = NumberRange(low=0, high=1000, unit="MHz", above=True)
_LOSS_DB = NumberRange(low=0, high=500, unit="dB per 100 m", above=True)
_LENGTH_M = NumberRange(low=0, high=2000, unit="m", above=True)
_OHM = NumberRange(low=25, high=100, unit="ohm")
_UNITS = NumberRange(low=0, high=60)
_WATTS = NumberRange(low=0, high=2000, unit="W")
_MILLIAMPERES = NumberRange(low=0, high=5000, unit="mA")
_PIECES = NumberRange(low=0, high=100_000)
_SPLIT_TOLERANCE_DB = 0.1
"""Splitters are sold with their ideal loss rounded to 0.1 dB."""


def load_parts(path: Path, *, name: str = "") -> tuple[Part, ...]:
    """Read a parts catalogue.

    Parameters
    ----------
    path : Path
        The CSV file.
    name : str
        Its name in messages; ``path`` when empty.

    Returns
    -------
    tuple of Part
        In the catalogue's order; ``order`` counts from 0.

    Raises
    ------
    InputFaults
        With every fault of the file.
    """
    table = read_table(path, name=name, what="parts catalogue")
    table.require_columns(REQUIRED_COLUMNS, COLUMNS, what="parts catalogue")
    if not len(table) and not len(table.faults):
        table.faults.add(
            value="a header and no row",
            allowed="a parts catalogue with at least one part",
            advice="add a row for each part",
        )
    parts = tuple(_part(row, order) for order, row in enumerate(table.rows()))
    _unique_names(table, parts)
    table.faults.raise_if_any()
    return parts


def _part(row: Row, order: int) -> Part:
    kind = row.word("kind", PART_KINDS, required=True)
    low_hz, high_hz = _band(row)
    ways = row.integer("ways", _WAYS) or 1
    read_db = row.number("gain_db", _GAIN_DB)
    gain_db = read_db or 0.0
    own = row.text("cable_type")
    cable_a, cable_b = _cable(row, kind, own)
    if kind == CABLE and own in cable_types() and not high_hz:
        low_hz, high_hz = cable_types()[own].low_hz, cable_types()[own].high_hz
    part = Part(
        name=row.text("part", required=True),
        kind=kind,
        low_hz=low_hz,
        high_hz=high_hz,
        ways=ways,
        branches=row.integer("branches", _BRANCHES) or 1,
        gain_db=gain_db,
        gain_dbi=row.number("gain_dbi", _GAIN_DBI, required=kind == ANTENNA),
        beam_deg=row.number("beam_deg", _BEAM_DEG),
        front_to_back_db=row.number("front_to_back_db", _RATIO_DB),
        polarization=row.word("polarization", POLARIZATIONS, default="linear"),
        noise_figure_db=row.number("noise_figure_db", _FIGURE_DB, required=kind == AMPLIFIER),
        oip3_dbm=row.number("oip3_dbm", _POINT_DBM),
        p1db_dbm=row.number("p1db_dbm", _POINT_DBM),
        cascade_ports=row.integer("cascade_ports", _PORTS) or 0,
        cascade_gain_db=row.number("cascade_gain_db", _GAIN_DB) or 0.0,
        rejection_db=row.number("rejection_db", _RATIO_DB, required=kind == FILTER) or 0.0,
        skirt_hz=row.mhz("skirt_mhz", _SKIRT_MHZ, required=kind == FILTER) or 0,
        cable_a=cable_a,
        cable_b=cable_b,
        lengths_m=tuple(sorted(set(row.numbers("lengths_m", _LENGTH_M)))),
        connector=row.text("connector"),
        connector_out=row.text("connector_out"),
        impedance_ohm=row.number("impedance_ohm", _OHM) or _impedance(own),
        rack_units=row.number("rack_units", _UNITS) or 0.0,
        watts=row.number("watts", _WATTS) or 0.0,
        supply_ma=row.number("supply_ma", _MILLIAMPERES) or 0.0,
        line_power=row.word("line_power", LINE_POWERS),
        outlets=row.integer("outlets", _PORTS) or 0,
        available=row.integer("available", _PIECES),
        note=row.text("note"),
        order=order,
    )
    if read_db is not None or not row.text("gain_db"):  # a cell that was refused is told already
        _possible(row, part)
    return part


def _impedance(cable: str) -> float:
    known = cable_types().get(cable)
    return known.impedance_ohm if known else 50.0


def _band(row: Row) -> tuple[int, int]:
    low_hz, high_hz = row.mhz("low_mhz"), row.mhz("high_mhz")
    if bool(row.text("low_mhz")) != bool(row.text("high_mhz")):
        empty = "high_mhz" if row.text("low_mhz") else "low_mhz"
        row.fault(empty, allowed="both limits or none", advice="fill the other one in")
    elif low_hz is not None and high_hz is not None and low_hz >= high_hz:
        row.fault(
            "low_mhz",
            value=f"{shortest_mhz(low_hz)}, high_mhz {shortest_mhz(high_hz)}",
            allowed="low_mhz below high_mhz",
            advice="swap or correct them",
        )
        return 0, 0
    return low_hz or 0, high_hz or 0


def _cable(row: Row, kind: str, own: str) -> tuple[float, float]:
    """Return the coefficients of a cable: of its general type, or from one printed figure."""
    loss_db = row.number("loss_db_100m", _LOSS_DB)
    at_hz = row.mhz("loss_mhz", FREQUENCY_MHZ)
    if kind != CABLE:
        return 0.0, 0.0
    if own:
        if own in cable_types():
            return cable_types()[own].a, cable_types()[own].b
        near = nearest_word(own, cable_types())
        row.fault(
            "cable_type",
            allowed=", ".join(cable_types()),
            advice=f'did you mean "{near}"?' if near else "or give loss_db_100m and loss_mhz",
        )
        return 0.0, 0.0
    if not row.text("loss_db_100m") or not row.text("loss_mhz"):
        row.fault(
            "cable_type",
            allowed="a general type, or loss_db_100m with loss_mhz",
            advice=f"known types: {', '.join(cable_types())}",
        )
        return 0.0, 0.0
    if loss_db is None or at_hz is None:
        return 0.0, 0.0
    cable_a = loss_db / math.sqrt(at_hz / 1e6)
    at_100_mhz = attenuation_db_100m(cable_a, 0.0, 1e8)
    if not LEAST_DB_100M_AT_100_MHZ <= at_100_mhz <= MOST_DB_100M_AT_100_MHZ:
        row.fault(
            "loss_db_100m",
            value=f"{loss_db:g} dB per 100 m at {at_hz / 1e6:g} MHz",
            allowed=f"{LEAST_DB_100M_AT_100_MHZ:g} to {MOST_DB_100M_AT_100_MHZ:g} dB per 100 m at "
            f"100 MHz; this gives {at_100_mhz:.3g}",
            advice="no cable is like that: check the unit (dB per 100 m, not per 100 ft or per m)",
        )
    return cable_a, 0.0


def _possible(row: Row, part: Part) -> None:
    """Fault figures that no part has."""
    least = ideal_split_loss_db(part.ways)
    if part.kind in {SPLITTER, COMBINER}:
        if part.ways < 2:
            row.fault("ways", allowed="2 or more", advice="say how many ways it has")
        elif not part.active and part.gain_db > _SPLIT_TOLERANCE_DB - least:
            row.fault(
                "gain_db",
                value=row.text("gain_db") or "an empty cell",
                allowed=f"-{least:.1f} dB or less: {part.ways} ways without an amplifier",
                advice="write the loss with a minus, or give the noise figure of an active part",
            )
    elif not part.active and part.gain_db > 0:
        row.fault(
            "gain_db",
            allowed="0 dB or less without a noise figure",
            advice="give the noise figure of an active part, or a minus to a loss",
        )
    if part.kind == AMPLIFIER and part.gain_db <= 0:
        row.fault("gain_db", allowed="more than 0 dB for an amplifier", advice="fill it in")
    if part.kind in {ATTENUATOR, FILTER} and part.active:
        row.fault("noise_figure_db", allowed="none in a passive part", advice="leave it empty")
    if part.kind == FILTER and not part.high_hz:
        row.fault("low_mhz", allowed="the band that a filter passes", advice="fill both limits in")
    if part.kind == FIBRE and not part.active:
        row.fault("noise_figure_db", allowed="a figure for a fibre link", advice="fill it in")
    if part.oip3_dbm is not None and part.p1db_dbm is not None and part.p1db_dbm >= part.oip3_dbm:
        row.fault(
            "oip3_dbm",
            allowed=f"above p1db_dbm {part.p1db_dbm:g} dBm, usually by some 10 dB",
            advice="both stand at the output; correct one",
        )


def _unique_names(table: TextTable, parts: tuple[Part, ...]) -> None:
    first: dict[str, int] = {}
    for number, part in zip(table.row_numbers, parts, strict=True):
        if part.name and part.name in first:
            table.faults.cell(
                number,
                "part",
                value=part.name,
                allowed=f"a name that no other row has; row {first[part.name]} has it",
                advice="rename one of them",
            )
        first.setdefault(part.name, number)
