"""Strict reader of the gear catalogue: one row a tuning range and mode."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from planner.intake.cells import NumberRange, Row
from planner.intake.countries import ALLOWED, COUNTRY_CODES, country_advice
from planner.intake.table import TextTable, read_table
from planner.records import GearRange
from planner.spectrum import shrink
from planner.units import HZ_PER_KHZ, shortest_mhz

if TYPE_CHECKING:
    from pathlib import Path

COLUMNS = (
    "family",
    "mode",
    "role",
    "form",
    "low_mhz",
    "high_mhz",
    "tuning_origin_mhz",
    "step_khz",
    "pieces_mhz",
    "transmitter_span_mhz",
    "chassis_channels",
    "chassis_span_mhz",
    "bandwidth_khz",
    "spacing_khz",
    "guard_2a_b_khz",
    "guard_a_b_c_khz",
    "guard_3a_2b_khz",
    "modulation",
    "powers_mw",
    "power_kind",
    "links_per_block",
    "duplex_low_mhz",
    "duplex_high_mhz",
    "noise_figure_db",
    "sensitivity_dbm",
    "required_snr_db",
    "countries",
    "available",
    "status",
    "note",
)
REQUIRED_COLUMNS = (
    "family",
    "role",
    "low_mhz",
    "high_mhz",
    "step_khz",
    "bandwidth_khz",
    "spacing_khz",
    "powers_mw",
    "power_kind",
)
FORMS = ("hand-held", "body-worn", "rack")
MODULATIONS = ("fm", "digital-constant", "digital-linear", "wideband")
POWER_KINDS = ("EIRP", "ERP", "conducted")
STATUSES = ("current", "discontinued")

THERMAL_NOISE_DBM_PER_HZ = -174.0
"""Thermal noise density at 290 K [dBm/Hz], rounded (k T0 = -173.98 dBm/Hz)."""
RECEIVER_AGREEMENT_DB = 3.0

_ORIGIN_MHZ = NumberRange(low=0, high=10_000, unit="MHz")
_SPAN_MHZ = NumberRange(low=0, high=10_000, unit="MHz", above=True)
_GUARD_KHZ = NumberRange(low=0, high=1_000_000, unit="kHz")
_POWER_MW = NumberRange(low=0, high=1_000_000, unit="mW", above=True)
_AT_LEAST_ONE = NumberRange(low=1, high=100_000)
_NOT_NEGATIVE = NumberRange(low=0, high=100_000)
_NOISE_FIGURE_DB = NumberRange(low=0, high=15, unit="dB")
_SENSITIVITY_DBM = NumberRange(low=-150, high=0, unit="dBm")
_SNR_DB = NumberRange(low=-20, high=80, unit="dB")
_PIECE = re.compile(r"([^-]+)-([^-]+)")


def load_gear(path: Path, *, name: str = "") -> tuple[GearRange, ...]:
    """Read a gear catalogue.

    Parameters
    ----------
    path : Path
        The CSV file.
    name : str
        Its name in messages; ``path`` when empty.

    Returns
    -------
    tuple of GearRange
        In the catalogue's order; ``order`` counts from 0.

    Raises
    ------
    InputFaults
        With every fault of the file.
    """
    table = read_table(path, name=name, what="gear catalogue")
    table.require_columns(REQUIRED_COLUMNS, COLUMNS, what="gear catalogue")
    if not len(table) and not len(table.faults):
        table.faults.add(
            value="a header and no row",
            allowed="a gear catalogue with at least one range",
            advice="add a row for each tuning range",
        )
    ranges = [_range(row, order) for order, row in enumerate(table.rows())]
    _unique_keys(table, ranges)
    table.faults.raise_if_any()
    return tuple(gear for gear in ranges if gear is not None)


def _range(row: Row, order: int) -> GearRange | None:
    """Return the row's record, None when it has no limits to be named by.

    A width at fault stands as 1 Hz in it: the row is then only looked at for its name.
    """
    low_hz = row.mhz("low_mhz", required=True)
    high_hz = row.mhz("high_mhz", required=True)
    step_hz = row.khz("step_khz", required=True)
    bandwidth_hz = row.khz("bandwidth_khz", required=True)
    spacing_hz = row.khz("spacing_khz", required=True)
    links_per_block = row.integer("links_per_block", _NOT_NEGATIVE) or 0
    origin_hz = row.mhz("tuning_origin_mhz", _ORIGIN_MHZ)
    duplex_low_hz, duplex_high_hz = _duplex(row)
    noise_figure_db, sensitivity_dbm, required_snr_db = _receiver(row, bandwidth_hz)
    fields = {
        "family": row.text("family", required=True),
        "mode": row.text("mode"),
        "role": row.text("role", required=True),
        "form": row.word("form", FORMS),
    }
    transmitter_span_hz = row.mhz("transmitter_span_mhz", _SPAN_MHZ)
    chassis_channels = row.integer("chassis_channels", _AT_LEAST_ONE)
    chassis_span_hz = row.mhz("chassis_span_mhz", _SPAN_MHZ)
    guards_hz = [
        row.khz(column, _GUARD_KHZ) or 0
        for column in ("guard_2a_b_khz", "guard_a_b_c_khz", "guard_3a_2b_khz")
    ]
    modulation = row.word("modulation", MODULATIONS)
    powers_mw = _powers(row)
    power_kind = row.word("power_kind", POWER_KINDS, required=True, default="EIRP")
    countries = _countries(row)
    available = row.integer("available", _NOT_NEGATIVE)
    status = row.word("status", STATUSES, default="current")
    pieces_hz = _pieces(row, low_hz, high_hz)
    _wide_enough(row, bandwidth_hz, spacing_hz, links_per_block=links_per_block)
    if low_hz is None or high_hz is None or not _in_order(row, low_hz, high_hz):
        return None
    gear = GearRange(
        **fields,
        low_hz=low_hz,
        high_hz=high_hz,
        tuning_origin_hz=_lowest_centre_hz(low_hz, bandwidth_hz, links_per_block)
        if origin_hz is None
        else origin_hz,
        step_hz=step_hz or 1,
        pieces_hz=pieces_hz,
        transmitter_span_hz=transmitter_span_hz,
        chassis_channels=chassis_channels,
        chassis_span_hz=chassis_span_hz,
        bandwidth_hz=bandwidth_hz or 1,
        spacing_hz=spacing_hz or 1,
        guard_2a_b_hz=guards_hz[0],
        guard_a_b_c_hz=guards_hz[1],
        guard_3a_2b_hz=guards_hz[2],
        modulation=modulation,
        powers_mw=powers_mw,
        power_kind=power_kind,
        links_per_block=links_per_block,
        duplex_low_hz=duplex_low_hz,
        duplex_high_hz=duplex_high_hz,
        noise_figure_db=noise_figure_db,
        sensitivity_dbm=sensitivity_dbm,
        required_snr_db=required_snr_db,
        countries=countries,
        available=available,
        status=status,
        note=row.text("note"),
        order=order,
    )
    if step_hz and bandwidth_hz:
        _holds_a_carrier(row, gear)
    return gear


def _lowest_centre_hz(low_hz: int, bandwidth_hz: int | None, links_per_block: int) -> int:
    """Return the lowest centre of a range: of a block that fills its lower edge the middle."""
    return low_hz + (bandwidth_hz or 0) // 2 if links_per_block else low_hz


def _in_order(row: Row, low_hz: int, high_hz: int) -> bool:
    """Say whether the limits stand in order; equal ones are gear of a single frequency."""
    if low_hz <= high_hz:
        return True
    row.fault(
        "low_mhz",
        value=f"{shortest_mhz(low_hz)}, high_mhz {shortest_mhz(high_hz)}",
        allowed="low_mhz not above high_mhz",
        advice="swap or correct them",
    )
    return False


def _wide_enough(
    row: Row, bandwidth_hz: int | None, spacing_hz: int | None, *, links_per_block: int
) -> None:
    if bandwidth_hz is None or spacing_hz is None or links_per_block:
        return
    if spacing_hz < bandwidth_hz:
        row.fault(
            "spacing_khz",
            allowed=f"not below bandwidth_khz {bandwidth_hz / HZ_PER_KHZ:g} kHz",
            advice="two carriers closer than their bandwidth overlap",
        )


def _pieces(row: Row, low_hz: int | None, high_hz: int | None) -> tuple[tuple[int, int], ...]:
    pieces: list[tuple[int, int]] = []
    for item in row.items("pieces_mhz"):
        match = _PIECE.fullmatch(item)
        if match is None:
            row.fault(
                "pieces_mhz",
                value=item,
                allowed="spans in MHz, low-high, separated by ;",
                advice="write e.g. 500-512;518-530",
            )
            continue
        low = row.parse_mhz("pieces_mhz", match[1].strip())
        high = row.parse_mhz("pieces_mhz", match[2].strip())
        if low is None or high is None:
            continue
        wrong = ""
        if low > high:
            wrong = "low not above high"
        elif pieces and low <= pieces[-1][1]:
            wrong = "pieces in ascending order that do not touch or overlap"
        elif low_hz is not None and high_hz is not None and not low_hz <= low <= high <= high_hz:
            wrong = f"inside {shortest_mhz(low_hz)} to {shortest_mhz(high_hz)} MHz, the range"
        if wrong:
            row.fault("pieces_mhz", value=item, allowed=wrong, advice="correct the piece")
        else:
            pieces.append((low, high))
    return tuple(pieces)


def _powers(row: Row) -> tuple[float, ...]:
    """Return the settings in ascending order, in whatever order they are written."""
    powers = row.numbers("powers_mw", _POWER_MW, required=True)
    each = sorted(set(powers))
    if len(each) < len(powers):
        row.fault(
            "powers_mw",
            allowed="each setting once",
            advice="take the repeated one out or correct it",
        )
    return tuple(each)


def _duplex(row: Row) -> tuple[int | None, int | None]:
    low_hz, high_hz = row.mhz("duplex_low_mhz"), row.mhz("duplex_high_mhz")
    if bool(row.text("duplex_low_mhz")) != bool(row.text("duplex_high_mhz")):
        empty = "duplex_high_mhz" if row.text("duplex_low_mhz") else "duplex_low_mhz"
        row.fault(empty, allowed="both duplex limits or none", advice="fill the other one in")
    elif low_hz is not None and high_hz is not None and low_hz > high_hz:
        row.fault(
            "duplex_low_mhz",
            value=f"{shortest_mhz(low_hz)}, duplex_high_mhz {shortest_mhz(high_hz)}",
            allowed="duplex_low_mhz not above duplex_high_mhz",
            advice="swap or correct them",
        )
    return low_hz, high_hz


def _receiver(
    row: Row, bandwidth_hz: int | None
) -> tuple[float | None, float | None, float | None]:
    """Return noise figure, sensitivity and SNR; the three must tell the same story."""
    noise_figure_db = row.number("noise_figure_db", _NOISE_FIGURE_DB)
    sensitivity_dbm = row.number("sensitivity_dbm", _SENSITIVITY_DBM)
    snr_db = row.number("required_snr_db", _SNR_DB)
    if row.text("sensitivity_dbm") and not row.text("required_snr_db"):
        row.fault(
            "required_snr_db",
            allowed=f"{_SNR_DB.text()} beside a sensitivity",
            advice="give the SNR for which the sensitivity holds, or leave both empty",
        )
    figures = (noise_figure_db, sensitivity_dbm, snr_db)
    if sensitivity_dbm is not None and snr_db is not None and bandwidth_hz:
        _check_sensitivity(row, sensitivity_dbm - snr_db, bandwidth_hz)
    if noise_figure_db is None or sensitivity_dbm is None or snr_db is None or not bandwidth_hz:
        return figures
    noise_dbm = THERMAL_NOISE_DBM_PER_HZ + 10 * math.log10(bandwidth_hz) + noise_figure_db
    expected_dbm = noise_dbm + snr_db
    if abs(expected_dbm - sensitivity_dbm) > RECEIVER_AGREEMENT_DB:
        row.fault(
            "sensitivity_dbm",
            allowed=f"within {RECEIVER_AGREEMENT_DB:g} dB of {expected_dbm:.1f} dBm, which noise "
            f"figure, SNR and bandwidth give",
            advice="correct one of the three or leave one empty",
        )
    return figures


def _check_sensitivity(row: Row, noise_dbm: float, bandwidth_hz: int) -> None:
    """Refuse a sensitivity that no receiver has: less its SNR it must be a credible noise."""
    least_dbm = THERMAL_NOISE_DBM_PER_HZ + 10 * math.log10(bandwidth_hz)
    own_db = round(noise_dbm - least_dbm, 1)
    if not _NOISE_FIGURE_DB.low <= own_db <= _NOISE_FIGURE_DB.high:
        row.fault(
            "sensitivity_dbm",
            allowed=f"a figure that gives a noise figure of {_NOISE_FIGURE_DB.text()}; with this "
            f"SNR and bandwidth it is {own_db:.1f} dB",
            advice="correct sensitivity_dbm, required_snr_db or bandwidth_khz",
        )


def _countries(row: Row) -> tuple[str, ...]:
    codes = row.items("countries")
    for code in codes:
        if code not in COUNTRY_CODES:
            row.fault("countries", value=code, allowed=ALLOWED, advice=country_advice(code))
    return codes


def _holds_a_carrier(row: Row, gear: GearRange) -> None:
    """Record a row whose tuning grid, or whose block, does not fit its own limits."""
    spans_hz = gear.centre_spans_hz
    if gear.links_per_block and gear.duplex_low_hz is not None:
        row.fault(
            "links_per_block",
            allowed="0 or empty in a duplex row",
            advice="a block carries its links in one span: leave the duplex limits empty",
        )
    if gear.links_per_block:
        spans_hz = shrink(spans_hz, bandwidth_hz=gear.bandwidth_hz)
        if not spans_hz:
            row.fault(
                "bandwidth_khz",
                allowed="not wider than the span the block may fill",
                advice="correct bandwidth_khz, low_mhz or high_mhz",
            )
            return
    for low_hz, high_hz in spans_hz:
        steps = -((gear.tuning_origin_hz - low_hz) // gear.step_hz)
        if gear.tuning_origin_hz + steps * gear.step_hz <= high_hz:
            return
    row.fault(
        "step_khz",
        allowed=f"a grid from {shortest_mhz(gear.tuning_origin_hz)} MHz that meets the range",
        advice="no carrier of the grid lies in the range: correct step_khz or tuning_origin_mhz",
    )


def _unique_keys(table: TextTable, ranges: list[GearRange | None]) -> None:
    first: dict[str, int] = {}
    for number, gear in zip(table.row_numbers, ranges, strict=True):
        if gear is None or not gear.family:
            continue
        if gear.key in first:
            table.faults.cell(
                number,
                "family",
                value=gear.key,
                allowed=f"a range that no other row has; row {first[gear.key]} is the same",
                advice="name the mode, or remove one of the two rows",
            )
        first.setdefault(gear.key, number)
