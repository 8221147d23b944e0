"""Tolerant reader of the FCC's table of station parameters after the incentive auction.

One row a transmitter: coordinates as packed ``DDMMSS`` integers, west positive, heights in
metres, ERP in kW. The table does not name the polarisation: ERP is taken as published. It holds
full-power and Class A television only; the class is read from the call sign.

References
----------
FCC, post-auction (repack) table of television stations, 2017. Sign, packing, seconds of 60,
HAAT 0 = unknown and ERP <= 0 = dBk as observed in the published file and in the FCC's own
interference study software.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import re
from collections import Counter
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.cells import NumberRange, Row, plain_number
from planner.intake.faults import counted, shown
from planner.intake.stations.coordinates import in_united_states, packed_degrees
from planner.intake.stations.importers import (
    NOTED,
    REFUSED,
    REPAIRED,
    ImportedTable,
    Remark,
)
from planner.intake.stations.passband import AMSL_M, ERP_KW, HAAT_M
from planner.intake.table import TextTable, read_table
from planner.records import Coverage
from planner.rules import country_rules
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

COLUMNS = (
    "FacID",
    "Site",
    "Call",
    "Ch",
    "PC",
    "City",
    "St",
    "Lat",
    "Lon",
    "RCAMSL",
    "HAAT",
    "ERP",
    "DA",
    "AntID",
    "Az",
)
REQUIRED_COLUMNS = ("FacID", "Site", "Call", "Ch", "Lat", "Lon", "RCAMSL", "HAAT", "ERP", "DA")
ISSUED = dt.date(2017, 4, 13)
"""Closing day of the auction whose outcome the table states (FCC DOC-387027A1)."""
COVERAGE = Coverage(
    countries=("US",),
    services=("full", "class-a"),
    systems=("atsc1",),
    low_hz=mhz_to_hz(54),
    high_hz=mhz_to_hz(608),
    issued=ISSUED,
    missing_note=(
        "Planned allotments of full-power and Class A stations as of the end of the auction "
        "(2017-04-13), not today's licences: stations may have moved, closed or changed to "
        "another system since. No low-power stations, translators or boosters; nothing of "
        "Canada or Mexico."
    ),
)

_CLASS_A_CALL = re.compile(r".*-(?:CD|CA|LP|LD)|[KW]\d\d[A-Z]{2}(?:-[A-Z]{1,2})?")
_UNKNOWN = frozenset({"", "-", "null"})
_FACILITY = NumberRange(low=0, high=99_999_999, above=True)
_CHANNEL = NumberRange(low=2, high=83)
_ERP = NumberRange(low=-50, unit="kW")
_ROTATION_DEG = NumberRange(low=0, high=360, unit="deg")
_DIRECTIONAL = "directional"
"""Stands in ``pattern`` until the station has its id."""
_OLD_UHF = (14, 470, 6)
"""Old raster above channel 36: channel 14 at 470 MHz, 6 MHz each, up to 83."""


@dataclasses.dataclass(slots=True)
class _Draft:
    """A row on its way into the table."""

    row: Row
    cells: dict[str, str]
    remarks: list[Remark]
    source: list[str]

    def remark(self, action: str, kind: str, column: str, text: str) -> None:
        self.remarks.append(
            Remark(
                action=action,
                kind=kind,
                row_number=self.row.number_in_file,
                column=column,
                value=shown(self.row.text(column)),
                text=text,
            )
        )

    def switch_off(self, kind: str, column: str, why: str) -> None:
        self.cells["status"] = "off"
        self.source.append(f"off: {why}")
        self.remark(REPAIRED, kind, column, f"{why}; kept, marked off")


def read(path: Path, *, name: str = "") -> ImportedTable:
    """Read the table into station table rows.

    Parameters
    ----------
    path : Path
        The file: CSV with the published header, UTF-8 or Windows-1252.
    name : str
        Its name in messages; ``path`` when empty.

    Returns
    -------
    ImportedTable
        One row a transmitter, in the file's order; what was repaired, refused or noted.

    Raises
    ------
    InputFaults
        When the file is not of this format or no row is usable.
    """
    table = read_table(path, name=name, what="post-auction table", fallback="cp1252")
    missing = [column for column in REQUIRED_COLUMNS if column not in table.positions]
    if missing:
        fault = Fault(
            file=table.file,
            where="row 1",
            value=f"no column {', '.join(missing)}",
            allowed=",".join(COLUMNS),
            advice="not a post-auction table: check the file and --from",
        )
        raise InputFaults([fault])
    remarks = list(_broken_rows(table))
    rows_read = len(table) + len(remarks)
    drafts = []
    for row in table.rows():
        before = len(table.faults)
        draft = _draft(row)
        if draft is None or len(table.faults) > before:
            remarks.append(_refusal(row, table, before))
        else:
            drafts.append(draft)
    if not drafts:
        raise InputFaults(_nothing_usable(table, rows_read))
    _name_stations(drafts)
    _mark_repeats(drafts)
    for draft in drafts:
        draft.cells["source"] = "; ".join(draft.source)
        remarks.extend(
            dataclasses.replace(remark, station_id=draft.cells["station_id"])
            for remark in draft.remarks
        )
    return ImportedTable(
        rows=tuple(draft.cells for draft in drafts),
        coverage=COVERAGE,
        remarks=tuple(sorted(remarks, key=lambda remark: remark.row_number)),
        rows_read=rows_read,
    )


def _broken_rows(table: TextTable) -> Iterator[Remark]:
    """Turn rows that could not be cut into cells into refusals."""
    for fault in table.faults.faults:
        number = re.match(r"row (\d+)", fault.where)
        yield Remark(
            action=REFUSED,
            kind="broken-row",
            row_number=int(number[1]) if number else 0,
            value=fault.value,
            text=f"allowed: {fault.allowed}",
        )


def _refusal(row: Row, table: TextTable, before: int) -> Remark:
    fault = table.faults.since(before)[0]
    column = fault.where.partition("column ")[2]
    return Remark(
        action=REFUSED,
        kind=f"bad-{column}",
        row_number=row.number_in_file,
        column=column,
        value=fault.value,
        text="; ".join(part for part in (f"allowed: {fault.allowed}", fault.advice) if part),
    )


def _nothing_usable(table: TextTable, rows_read: int) -> list[Fault]:
    head = Fault(
        file=table.file,
        value=f"{counted(rows_read, 'row')}, none usable" if rows_read else "a header and no row",
        allowed="at least one transmitter",
        advice="check the file and --from",
    )
    return [head, *table.faults.faults]


def _draft(row: Row) -> _Draft | None:
    """Return a row's cells; None, with a fault recorded, when it cannot be used."""
    draft = _Draft(
        row=row,
        cells={"country": "US", "system": "atsc1", "status": "on-air"},
        remarks=[],
        source=[f"FCC post-auction table 2017, row {row.number_in_file}"],
    )
    facility = row.integer("FacID", _FACILITY, required=True)
    point = _point(draft)
    channel = row.integer("Ch", _CHANNEL, required=True)
    erp = row.number("ERP", _ERP, required=True)
    if facility is None or point is None or channel is None or erp is None:
        return None
    call = row.text("Call")
    full = _CLASS_A_CALL.fullmatch(call.upper()) is None
    draft.cells |= {
        "name": call,
        "service": "full" if full else "class-a",
        "emission_mask": "full" if full else "",
        "lat_deg": f"{point[0]:.6f}",
        "lon_deg": f"{point[1]:.6f}",
    }
    _channel(draft, channel)
    _erp(draft, erp)
    _heights(draft)
    _antenna(draft)
    return draft


def _point(draft: _Draft) -> tuple[float, float] | None:
    row = draft.row
    lat = packed_degrees(row.text("Lat"))
    west = packed_degrees(row.text("Lon"))
    for column, packed in (("Lat", lat), ("Lon", west)):
        if packed is None:
            row.fault(
                column,
                allowed="degrees, minutes and seconds as one whole number, DDMMSS or DDDMMSS",
                advice="minutes go to 59, seconds to 60",
            )
    if lat is None or west is None:
        return None
    lat_deg, lon_deg = lat.degrees, -west.degrees
    if not in_united_states(lat_deg, lon_deg):
        row.fault(
            "Lat",
            value=f"{row.text('Lat')}, Lon {row.text('Lon')}",
            allowed="a point in the United States or its territories",
            advice=f"it reads as {lat_deg:.4f}, {lon_deg:.4f}; digits may be missing",
        )
        return None
    if lat.full_minute or west.full_minute:
        column = "Lat" if lat.full_minute else "Lon"
        draft.remark(NOTED, "seconds-of-60", column, "read as the next full minute")
    return lat_deg, lon_deg


def _channel(draft: _Draft, channel: int) -> None:
    raster = {row.label: row for row in country_rules("US").raster if not row.closed}
    if str(channel) in raster:
        draft.cells["channel"] = str(channel)
        return
    first, first_mhz, width_mhz = _OLD_UHF
    low_mhz = first_mhz + (channel - first) * width_mhz
    draft.cells["low_mhz"] = str(low_mhz)
    draft.cells["high_mhz"] = str(low_mhz + width_mhz)
    draft.switch_off("off-raster", "Ch", f"channel {channel} is not a TV channel today")


def _erp(draft: _Draft, erp: float) -> None:
    erp_kw = erp
    if erp <= 0:
        erp_kw = 10 ** (erp / 10)
        text = f"ERP {erp:g} taken as dBk = {erp_kw:.6g} kW"
        draft.remark(REPAIRED, "erp-as-dbk", "ERP", text)
        draft.source.append(text)
    elif not ERP_KW.holds(erp):
        erp_kw = ERP_KW.high
        text = f"ERP {erp:g} kW taken as {erp_kw:g} kW, the most a table may hold"
        draft.remark(REPAIRED, "erp-too-high", "ERP", text)
        draft.source.append(text)
    draft.cells["erp_kw"] = f"{erp_kw:.6g}"


def _heights(draft: _Draft) -> None:
    for column, target, allowed in (
        ("HAAT", "haat_m", HAAT_M),
        ("RCAMSL", "antenna_amsl_m", AMSL_M),
    ):
        text = draft.row.text(column)
        number = 0.0 if text.lower() in _UNKNOWN else plain_number(text)
        if number == 0 and column == "HAAT":
            words = "0 means unknown; left empty, a height is assumed when reach is computed"
            draft.remark(NOTED, "haat-unknown", column, words)
            draft.source.append("HAAT unknown")
        elif number == 0:
            draft.remark(NOTED, "rcamsl-unknown", column, "unknown; left empty")
        elif number is None or not allowed.holds(number):
            draft.remark(REPAIRED, "height-dropped", column, f"not {allowed.text()}; left empty")
        else:
            draft.cells[target] = f"{number:.6g}"


def _antenna(draft: _Draft) -> None:
    row = draft.row
    kind, antenna, rotation = row.text("DA").upper(), row.text("AntID"), row.text("Az")
    if kind in {"ND", ""}:
        return
    rotation_deg = 0.0 if rotation.lower() in _UNKNOWN else plain_number(rotation)
    if kind != "DA" or rotation_deg is None or not _ROTATION_DEG.holds(rotation_deg):
        text = "pattern not readable; taken as non-directional, full power all round"
        draft.remark(REPAIRED, "pattern-dropped", "Az" if kind == "DA" else "DA", text)
        draft.source.append(text)
        return
    draft.cells["pattern"] = _DIRECTIONAL
    draft.cells["pattern_rotation_deg"] = f"{rotation_deg:.6g}"
    if antenna:
        draft.source.append(f"antenna {antenna}")


def _name_stations(drafts: list[_Draft]) -> None:
    """Give each row its id, each pattern its name, and the sites of one station their group."""
    sites = Counter(_facility_channel(draft) for draft in drafts if draft.row.text("Site"))
    channels: dict[int, set[str]] = {}
    for facility, channel in sites:
        channels.setdefault(facility, set()).add(channel)
    used: set[str] = set()
    for draft in drafts:
        facility, channel = _facility_channel(draft)
        site = re.sub(r"[^0-9A-Za-z]", "", draft.row.text("Site"))
        base = f"us-{facility}-{site}" if site else f"us-{facility}"
        name, number = base, 1
        while name in used:
            number += 1
            name = f"{base}-x{number}"
        used.add(name)
        draft.cells["station_id"] = name
        if draft.cells.get("pattern"):
            draft.cells["pattern"] = name
        if draft.row.text("Site") and sites[facility, channel] > 1:
            several = len(channels[facility]) > 1
            draft.cells["group_id"] = f"us-{facility}" + (f"-ch{channel}" if several else "")


def _facility_channel(draft: _Draft) -> tuple[int, str]:
    return int(float(draft.row.text("FacID"))), str(int(float(draft.row.text("Ch"))))


def _mark_repeats(drafts: list[_Draft]) -> None:
    """Mark rows that say of one station the same as an earlier row; call and city apart.

    Two sites at one point with different power or pattern are two transmitters and stay.
    """
    first: dict[tuple[str, ...], int] = {}
    for draft in drafts:
        key = tuple(
            draft.cells.get(name, "")
            for name in ("channel", "low_mhz", "lat_deg", "lon_deg", "erp_kw", "haat_m")
        )
        key += tuple(draft.row.text(name) for name in ("FacID", "Site", "RCAMSL", "DA", "AntID"))
        key += (draft.row.text("Az"),)
        earlier = first.setdefault(key, draft.row.number_in_file)
        if earlier != draft.row.number_in_file:
            draft.switch_off("repeated", "FacID", f"repeats row {earlier}")
