"""Tolerant reader of Ofcom's list of digital television transmitters of the United Kingdom.

One row a site with the channel, offset and ERP of each multiplex: a row becomes up to six
transmitters. Positions are references of the British national grid (10 m); rows of Northern
Ireland name an Irish one as well (100 m), which must agree. Heights: ground above sea level and
aerial above ground. Powers in kW. One polarisation a row, or one a multiplex. No antenna
patterns: every transmitter counts with its full power all round. Both sheets of the workbook are
read; a CSV file holds one of them.

Offsets of + or - shift the carrier by 1/6 MHz, less than the 0.195 MHz that a signal of 7.61 MHz
leaves on either side of a channel of 8 MHz; they are kept in ``source``.

References
----------
Ofcom, digital television transmitter details, workbook of the 700 MHz clearance (2023), Open
Government Licence; columns and quirks as observed there. Channel n is 8 MHz wide from
470 + 8 (n - 21) MHz; 21 to 48 are television since the clearance. Which multiplexes use the second
generation system: from memory.
"""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.cells import plain_number
from planner.intake.stations.grid import (
    BRITISH_EPSG,
    IRISH_EPSG,
    british_metres,
    grid_degrees,
    irish_metres,
)
from planner.intake.stations.importers import NOTED, REFUSED, REPAIRED, ImportedTable, Remark
from planner.intake.stations.ofcom_groups import name_groups
from planner.intake.stations.passband import AMSL_M, ERP_KW, HEIGHT_AGL_M
from planner.intake.stations.sheets import read_sheets
from planner.records import Coverage
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator
    from pathlib import Path

    from planner.intake.cells import NumberRange
    from planner.intake.stations.sheets import Sheet

_CHANNEL_COLUMN = re.compile(r"(\S+) Channel")
_SECOND_GENERATION = frozenset({"PSB3", "COM7", "COM8", "NIMux", "GIMux"})
_TELEVISION = range(21, 49)
_ANY_CHANNEL = range(21, 70)
_POLARIZATIONS = {"H": "horizontal", "V": "vertical"}
_UNITED_KINGDOM_DEG = (48.9, 61.0, -8.7, 2.0)
"""South, north, west, east of a box round it and the Channel Islands (geography, no source)."""
_POSITION_ERROR_M = "15"
"""Square of 10 m and datum of 5 m, rounded up [m]."""
_GRIDS_APART_M = 250.0
"""How far two references of one site may lie apart: square of 100 m and two datums [m]."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Site:
    """A row of a sheet."""

    sheet: Sheet
    number: int
    cells: dict[str, str]
    remarks: list[Remark]

    def first(self, *columns: str) -> str:
        """Return the first cell that is filled."""
        return next((self.cells[name] for name in columns if self.cells.get(name)), "")

    def remark(self, action: str, kind: str, column: str, text: str, station_id: str = "") -> None:
        where = f"sheet {self.sheet.name}: " if self.sheet.name else ""
        self.remarks.append(
            Remark(
                action=action,
                kind=kind,
                row_number=self.number,
                station_id=station_id,
                column=column,
                value=self.cells.get(column, ""),
                text=where + text,
            )
        )


def read(path: Path, *, name: str = "") -> ImportedTable:
    """Read the list into station table rows.

    Parameters
    ----------
    path : Path
        The workbook, or one of its sheets as CSV.
    name : str
        Its name in messages; ``path`` when empty.

    Returns
    -------
    ImportedTable
        One row a transmitter; what was repaired, refused or noted.

    Raises
    ------
    InputFaults
        When the file is not of this format or no row is usable.
    """
    name = name or str(path)
    sheets, changed = read_sheets(path, name=name, what="transmitter list")
    known = [sheet for sheet in sheets if "GBNGR" in sheet.header and _multiplexes(sheet)]
    if not known:
        fault = Fault(
            file=name,
            where="row 1",
            value="no columns GBNGR and e.g. PSB1 Channel",
            allowed="a sheet of Ofcom's transmitter list with its header in row 1",
            advice="not such a list: check the file and --from",
        )
        raise InputFaults([fault])
    remarks: list[Remark] = []
    rows: list[dict[str, str]] = []
    notes: list[str] = []
    used: set[str] = set()
    read_rows = 0
    for sheet in known:
        for number, values in sheet.rows:
            read_rows += 1
            cells = dict(zip(reversed(sheet.header), reversed(values), strict=True))
            site = _Site(sheet=sheet, number=number, cells=cells, remarks=remarks)
            for row in _transmitters(site, used):
                rows.append(row)
                notes.append(cells.get("Notes", ""))
    if not rows:
        fault = Fault(file=name, value=f"{read_rows} rows, none usable", advice="check the file")
        raise InputFaults([fault])
    remarks += name_groups(rows, notes)
    return ImportedTable(
        rows=tuple(rows),
        coverage=_coverage(known, changed),
        remarks=tuple(remarks),
        rows_read=read_rows,
    )


def _multiplexes(sheet: Sheet) -> list[str]:
    matches = (_CHANNEL_COLUMN.fullmatch(column) for column in sheet.header)
    return [match[1] for match in matches if match]


def _coverage(sheets: list[Sheet], issued: dt.date | None) -> Coverage:
    found = {multiplex for sheet in sheets for multiplex in _multiplexes(sheet)}
    both = {"PSB1", "LTVMux"} <= found
    missing = "" if both else "Only one of the list's two sheets was read: other multiplexes are "
    return Coverage(
        countries=("GB",),
        services=("full",),
        systems=("dvb-t", "dvb-t2"),
        low_hz=mhz_to_hz(470),
        high_hz=mhz_to_hz(694),
        issued=issued,
        missing_note=(missing + "missing. " if missing else "")
        + "No antenna patterns: full power is taken all round. Nothing of Ireland, France or other "
        "neighbours, and no temporary or trial transmitters.",
    )


def _transmitters(site: _Site, used: set[str]) -> Iterator[dict[str, str]]:
    multiplexes = [mux for mux in _multiplexes(site.sheet) if site.cells.get(f"{mux} Channel")]
    if not multiplexes:
        site.remark(NOTED, "no-channel", "Site Name", "a site without any channel; nothing to use")
        return
    point = _point(site)
    if point is None:
        return
    shared = {
        "name": site.first("Site Name"),
        "country": "GB",
        "service": "full",
        "lat_deg": f"{point[0]:.6f}",
        "lon_deg": f"{point[1]:.6f}",
        "location_error_m": _POSITION_ERROR_M,
        "status": "on-air",
    }
    ground = _height(site, ("Site Height (m)", "Site Height (m AOD)"), AMSL_M, zero=True)
    if ground:
        shared["site_amsl_m"] = ground
    for multiplex in multiplexes:
        row = _transmitter(site, multiplex, dict(shared))
        if row is not None:
            row["station_id"] = _free_id(row["station_id"], used)
            yield row


def _free_id(base: str, used: set[str]) -> str:
    name, number = base, 1
    while name in used:
        number += 1
        name = f"{base}-x{number}"
    used.add(name)
    return name


def _point(site: _Site) -> tuple[float, float] | None:
    metres = british_metres(site.cells["GBNGR"])
    if metres is None:
        site.remark(REFUSED, "bad-GBNGR", "GBNGR", "allowed: two letters and an even run of digits")
        return None
    lat_deg, lon_deg = grid_degrees(BRITISH_EPSG, *metres)
    south, north, west, east = _UNITED_KINGDOM_DEG
    if not (south <= lat_deg <= north and west <= lon_deg <= east):
        text = f"allowed: a point of the United Kingdom; it reads as {lat_deg:.3f}, {lon_deg:.3f}"
        site.remark(REFUSED, "bad-GBNGR", "GBNGR", text)
        return None
    irish = irish_metres(site.cells.get("IrishGR", ""))
    if irish is not None:
        from planner.geodesy import inverse

        other = grid_degrees(IRISH_EPSG, irish[0] + 50, irish[1] + 50)
        apart_m = float(inverse(lat_deg, lon_deg, *other)[0]) * 1000
        if apart_m > _GRIDS_APART_M:
            text = f"the Irish reference lies {apart_m:.0f} m from the British one, which is taken"
            site.remark(REPAIRED, "references-differ", "IrishGR", text)
    return lat_deg, lon_deg


def _height(site: _Site, columns: tuple[str, ...], allowed: NumberRange, *, zero: bool) -> str:
    """Return a height [m] as text, empty when unknown."""
    column = next((name for name in columns if site.cells.get(name)), "")
    if not column:
        return ""
    number = plain_number(site.cells[column])
    if number is None or not allowed.holds(number) or (number == 0 and not zero):
        site.remark(REPAIRED, "height-dropped", column, f"not {allowed.text()}; left empty")
        return ""
    return f"{number:.6g}"


def _transmitter(site: _Site, multiplex: str, row: dict[str, str]) -> dict[str, str] | None:
    channel_column = f"{multiplex} Channel"
    erp_column = next(
        (
            f"{prefix} ERP (kW)"
            for prefix in (multiplex, multiplex.removesuffix("Mux"))
            if f"{prefix} ERP (kW)" in site.cells
        ),
        f"{multiplex} ERP (kW)",
    )
    site_number = site.first("Site Number", "DSO Site Number") or f"row{site.number}"
    row["station_id"] = f"gb-{site_number}-{multiplex.lower()}"
    channel = plain_number(site.cells[channel_column])
    if channel is None or channel not in _ANY_CHANNEL:
        site.remark(REFUSED, "bad-channel", channel_column, "allowed: a channel from 21 to 69")
        return None
    erp_kw = plain_number(site.cells.get(erp_column, ""))
    if erp_kw is None or not ERP_KW.holds(erp_kw):
        text = f"allowed: {ERP_KW.text()}; without a power this transmitter is left out"
        site.remark(REFUSED, "bad-erp", erp_column, text)
        return None
    aerial_columns = (f"{multiplex} Antenna Height (m AGL)", "Average Antenna Height (m)")
    aerial = _height(site, aerial_columns, HEIGHT_AGL_M, zero=False)
    if not aerial:
        site.remark(NOTED, "height-unknown", aerial_columns[1], "a height is assumed for reach")
    offset = site.cells.get(f"{multiplex} Offset", "")
    low_mhz = 470 + 8 * (int(channel) - 21)
    where = f", sheet {site.sheet.name}" if site.sheet.name else ""
    source = [f"Ofcom list{where}, row {site.number}, {multiplex}"]
    if offset:
        source.append(f"offset {offset}1/6 MHz")
    row |= {
        "system": "dvb-t2" if multiplex in _SECOND_GENERATION else "dvb-t",
        "low_mhz": str(low_mhz),
        "high_mhz": str(low_mhz + 8),
        "erp_kw": f"{erp_kw:.6g}",
        "height_agl_m": aerial,
        "polarization": _polarization(site, multiplex),
    }
    if channel in _TELEVISION:
        row["channel"] = str(int(channel))
    off = ""
    if channel not in _TELEVISION:
        off = f"channel {int(channel)} is not a TV channel since the clearance of 2020"
    elif "not currently on-air" in site.cells.get("Notes", "").lower():
        off = "the list says that it is not on the air"
    if off:
        row["status"] = "off"
        source.append(f"off: {off}")
        site.remark(
            REPAIRED, "switched-off", channel_column, f"{off}; kept, marked off", row["station_id"]
        )
    row["source"] = "; ".join(source)
    return row


def _polarization(site: _Site, multiplex: str) -> str:
    word = site.first(f"{multiplex} Polarisation", "Polarisation").upper()
    return _POLARIZATIONS.get(word, "")
