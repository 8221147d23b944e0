"""Tolerant reader of any delimited table with a header, by a mapping that the user gives."""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.cells import NumberRange, Row
from planner.intake.countries import COUNTRY_CODES
from planner.intake.faults import counted, nearest_word, shown
from planner.intake.stations.columns import (
    EMISSION_MASKS,
    POLARIZATIONS,
    SERVICES,
    STATUSES,
    SYSTEMS,
)
from planner.intake.stations.coordinates import packed_degrees
from planner.intake.stations.delimited import UNKNOWN, loose_number, read_delimited
from planner.intake.stations.importers import NOTED, REFUSED, REPAIRED, ImportedTable, Remark
from planner.intake.stations.mapped_claims import claimed_coverage, require_west
from planner.intake.stations.mapped_patterns import read_foreign_patterns
from planner.intake.stations.mapping import DIRECTIONAL, ColumnMapping
from planner.intake.stations.passband import (
    AMSL_M,
    ERP_KW,
    HAAT_M,
    HEIGHT_AGL_M,
    LATITUDE,
    LONGITUDE,
    ROTATION_DEG,
)
from planner.rules import has_own_module, rule_country, tv_raster

if TYPE_CHECKING:
    from pathlib import Path

    from planner.intake.stations.companions import Curve
    from planner.intake.table import TextTable

_WORDS = {
    "service": SERVICES,
    "system": SYSTEMS,
    "status": STATUSES,
    "polarization": POLARIZATIONS,
    "emission_mask": EMISSION_MASKS,
}
_HEIGHTS = {
    "haat_m": HAAT_M,
    "antenna_amsl_m": AMSL_M,
    "height_agl_m": HEIGHT_AGL_M,
    "site_amsl_m": AMSL_M,
}
_PLAIN = ("name", "location_error_m", "group_id", "shared_with", "valid_from", "valid_to")
_FACTORS = {"kW": 1.0, "W": 1e-3, "m": 1.0, "ft": 0.3048, "MHz": 1.0, "kHz": 1e-3, "Hz": 1e-6}
_YES, _NO = ("yes", "da", "d", "true", "1", "directional"), ("no", "nd", "od", "false", "0", "")
_OLD_UHF = range(14, 84)
"""Channels of 6 MHz from 470 MHz upwards, before the band was cut."""
_MHZ = NumberRange(low=1, high=10_000, unit="MHz")


@dataclasses.dataclass(slots=True)
class _Draft:
    """A row on its way into the table."""

    row: Row
    mapping: ColumnMapping
    cells: dict[str, str]
    remarks: list[Remark]
    faults: list[Remark]

    def text(self, column: str) -> str:
        """Return their text for our column, or the one text of every row."""
        theirs = self.mapping.columns.get(column, "")
        text = theirs[1:] if theirs.startswith("=") else self.row.text(theirs) if theirs else ""
        text = self.mapping.words.get((column, text), text)
        return "" if text.casefold() in UNKNOWN else text

    def remark(self, action: str, kind: str, column: str, text: str) -> None:
        found = Remark(
            action=action,
            kind=kind,
            row_number=self.row.number_in_file,
            station_id=self.cells.get("station_id", ""),
            column=self.mapping.columns.get(column, column).removeprefix("="),
            value=shown(self.text(column)),
            text=text,
        )
        (self.faults if action == REFUSED else self.remarks).append(found)

    def refuse(self, column: str, allowed: str) -> None:
        self.remark(REFUSED, f"bad-{column}", column, f"allowed: {allowed}")

    def note_source(self, text: str) -> None:
        self.cells["source"] = "; ".join(part for part in (self.cells.get("source"), text) if part)


def read_mapped(path: Path, mapping: ColumnMapping, *, name: str = "") -> ImportedTable:
    """Read a foreign table into station table rows.

    Parameters
    ----------
    path : Path
        Delimited text with a header, UTF-8 or Windows-1252.
    mapping : ColumnMapping
        Columns, units and words.
    name : str
        Its name in messages; ``path`` when empty.

    Returns
    -------
    ImportedTable
        One row a usable transmitter, in the file's order; what was repaired, refused or noted.

    Raises
    ------
    InputFaults
        When a column is not there, no row is usable, or longitudes look west-positive.
    """
    table = read_delimited(path, name=name, what="table of transmitters")
    _columns_there(table, mapping)
    remarks = [
        Remark(action=REFUSED, kind="broken-row", row_number=_number(fault), value=fault.value)
        for fault in table.faults.faults
    ]
    curves: dict[str, Curve] = {}
    about_patterns: list[Remark] = []
    if mapping.patterns is not None:
        curves, about_patterns = read_foreign_patterns(mapping.patterns, mapping.pattern_columns)
    drafts = []
    used: set[str] = set()
    for row in table.rows():
        draft = _draft(row, mapping, path.name, used)
        remarks += draft.remarks + draft.faults
        if not draft.faults:
            drafts.append(draft)
    require_west([draft.cells for draft in drafts], mapping, file=table.file)
    if not drafts:
        raise InputFaults(_nothing_usable(table, remarks))
    named = {draft.cells["pattern"] for draft in drafts if draft.cells.get("pattern")}
    remarks += [remark for remark in about_patterns if remark.value in named]
    remarks += [
        Remark(
            action=NOTED,
            kind="pattern-unknown",
            row_number=draft.row.number_in_file,
            station_id=draft.cells["station_id"],
            column=mapping.columns["pattern"],
            value=draft.cells["pattern"],
            text="no pattern of that name is known; counts as non-directional",
        )
        for draft in drafts
        if draft.cells.get("pattern") and draft.cells["pattern"] not in curves
    ]
    return ImportedTable(
        rows=tuple(draft.cells for draft in drafts),
        coverage=claimed_coverage([draft.cells for draft in drafts], mapping),
        remarks=tuple(sorted(remarks, key=lambda remark: remark.row_number)),
        rows_read=len(table) + len(table.faults),
        patterns={key: curve for key, curve in curves.items() if key in named},
    )


def _number(fault: Fault) -> int:
    match = re.match(r"row (\d+)", fault.where)
    return int(match[1]) if match else 0


def _columns_there(table: TextTable, mapping: ColumnMapping) -> None:
    faults = []
    for ours, theirs in mapping.columns.items():
        if not theirs.startswith("=") and theirs not in table.positions:
            near = nearest_word(theirs, table.positions)
            faults.append(
                Fault(
                    file=table.file,
                    where="row 1",
                    value=f"no column {theirs} for {ours}",
                    allowed=", ".join(table.header),
                    advice=f'did you mean "{near}"?' if near else "correct --map",
                )
            )
    if faults:
        raise InputFaults(faults)


def _nothing_usable(table: TextTable, remarks: list[Remark]) -> list[Fault]:
    head = Fault(
        file=table.file,
        value=f"{counted(len(table), 'row')}, none usable",
        allowed="at least one transmitter",
        advice="check --map, --unit and --word",
    )
    refused = [remark for remark in remarks if remark.action == REFUSED][:10]
    return [
        head,
        *(
            Fault(
                file=table.file,
                where=f"row {remark.row_number}, column {remark.column}",
                value=remark.value,
                advice=remark.text,
            )
            for remark in refused
        ),
    ]


def _draft(row: Row, mapping: ColumnMapping, file: str, used: set[str]) -> _Draft:
    draft = _Draft(row=row, mapping=mapping, cells={}, remarks=[], faults=[])
    _identity(draft, used)
    draft.note_source(draft.text("source") or f"{file}, row {row.number_in_file}")
    for column, words in _WORDS.items():
        word = draft.text(column)
        if word and word not in words:
            allowed = f"not {' / '.join(words)}; left empty: give --word {column}:{word}=OURS"
            draft.remark(REPAIRED, f"word-dropped-{column}", column, allowed)
        elif word:
            draft.cells[column] = word
    draft.cells.setdefault("status", "on-air")
    for column in _PLAIN:
        if draft.text(column):
            draft.cells[column] = draft.text(column)
    _point(draft)
    _channel(draft)
    _erp(draft)
    _heights(draft)
    _antenna(draft)
    if draft.faults:
        used.discard(draft.cells.get("station_id", ""))
    return draft


def _identity(draft: _Draft, used: set[str]) -> None:
    base = draft.text("station_id")
    if not base:
        draft.refuse("station_id", "not empty")
        base = "none"
    name, number = base, 1
    while name in used:
        number += 1
        name = f"{base}-x{number}"
    used.add(name)
    draft.cells["station_id"] = name
    if name != base:
        draft.remark(NOTED, "id-repeated", "station_id", f"another row has it; written {name}")
    country = draft.text("country")
    if country in COUNTRY_CODES:
        draft.cells["country"] = rule_country(country)
    else:
        draft.refuse("country", "an ISO 3166 code of two capitals; --word country:THEIRS=OURS")


def _point(draft: _Draft) -> None:
    for column, allowed in (("lat_deg", LATITUDE), ("lon_deg", LONGITUDE)):
        text = draft.text(column)
        value: float | None
        if draft.mapping.unit(column) == "DDMMSS":
            packed = packed_degrees(text)
            value = None if packed is None else packed.degrees
        else:
            value = loose_number(text, "deg")
        if value is not None and column == "lon_deg" and draft.mapping.west_positive:
            value = -value
        if value is None or not allowed.holds(value):
            draft.refuse(column, allowed.text())
        else:
            draft.cells[column] = f"{value:.6f}"


def _channel(draft: _Draft) -> None:
    """Put the channel or its limits into the cells, or refuse the row."""
    label = draft.text("channel").removesuffix(".0")
    _limits(draft, required=not label)
    if not label or ("low_mhz" in draft.cells and "high_mhz" in draft.cells):
        if not label and "low_mhz" not in draft.mapping.columns:
            draft.refuse("channel", "a channel number")
        return
    country = draft.mapping.raster or draft.cells.get("country", "")
    if not country or not tv_raster(country):
        draft.refuse("channel", "limits low_mhz and high_mhz, or --raster COUNTRY (e.g. US)")
        return
    found = {ch.label: ch for ch in tv_raster(country) if not ch.closed}.get(label)
    if found is not None:
        draft.cells["channel"] = label
        if not has_own_module(draft.cells.get("country", "")):
            draft.cells["low_mhz"] = f"{found.low_hz / 1e6:g}"
            draft.cells["high_mhz"] = f"{found.high_hz / 1e6:g}"
    elif label.isdigit() and int(label) in _OLD_UHF and country == "US":
        low_mhz = 470 + 6 * (int(label) - _OLD_UHF.start)
        draft.cells |= {"low_mhz": str(low_mhz), "high_mhz": str(low_mhz + 6), "status": "off"}
        why = f"channel {label} is not a TV channel today"
        draft.note_source(f"off: {why}")
        draft.remark(REPAIRED, "off-raster", "channel", f"{why}; kept, marked off")
    else:
        draft.refuse("channel", f"a channel of {country}")


def _limits(draft: _Draft, *, required: bool) -> None:
    """Read both limits of the channel, where the mapping names them."""
    for column in ("low_mhz", "high_mhz"):
        if column not in draft.mapping.columns:
            continue
        unit = draft.mapping.unit(column)
        value = loose_number(draft.text(column), unit)
        if value is not None and _MHZ.holds(value * _FACTORS[unit]):
            draft.cells[column] = f"{value * _FACTORS[unit]:.6f}"
        elif value is not None or required:
            draft.refuse(column, _MHZ.text())


def _erp(draft: _Draft) -> None:
    unit = draft.mapping.unit("erp_kw")
    value = loose_number(draft.text("erp_kw"), unit)
    if value is None:
        draft.refuse("erp_kw", f"a number, in {unit}")
        return
    if unit == "dBk":
        erp_kw = 10 ** (value / 10)
    elif value <= 0 and unit == "kW":
        erp_kw = 10 ** (value / 10)
        text = f"ERP {value:g} taken as dBk = {erp_kw:.6g} kW"
        draft.remark(REPAIRED, "erp-as-dbk", "erp_kw", text)
        draft.note_source(text)
    else:
        erp_kw = value * _FACTORS[unit]
    if not ERP_KW.holds(erp_kw):
        draft.refuse("erp_kw", f"{ERP_KW.text()}; is the unit {unit}?")
        return
    draft.cells["erp_kw"] = f"{erp_kw:.6g}"


def _heights(draft: _Draft) -> None:
    for column, allowed in _HEIGHTS.items():
        text = draft.text(column)
        if not text:
            continue
        unit = draft.mapping.unit(column)
        value = loose_number(text, unit)
        height_m = None if value is None else value * _FACTORS[unit]
        if height_m == 0 and column != "site_amsl_m":
            if draft.mapping.zero_unknown:
                draft.remark(NOTED, f"{column}-unknown", column, "0 means unknown; left empty")
            else:
                draft.refuse(column, "not 0: --zero-unknown says that 0 means unknown")
        elif height_m is None or not allowed.holds(height_m):
            draft.remark(REPAIRED, "height-dropped", column, f"not {allowed.text()}; left empty")
        else:
            draft.cells[column] = f"{height_m:.6g}"


def _antenna(draft: _Draft) -> None:
    pattern = draft.text("pattern")
    if DIRECTIONAL in draft.mapping.columns:
        word = draft.text(DIRECTIONAL).casefold()
        if word in _NO:
            return
        if word not in _YES:
            draft.remark(NOTED, "directional-unclear", DIRECTIONAL, "taken as yes")
    if not pattern:
        return
    text = draft.text("pattern_rotation_deg")
    rotation = loose_number(text, "deg") if text else 0.0
    if rotation is None or not ROTATION_DEG.holds(rotation):
        words = "rotation not readable: taken as non-directional, full power all round"
        draft.remark(REPAIRED, "pattern-dropped", "pattern_rotation_deg", words)
        draft.note_source(words)
        return
    draft.cells["pattern"] = pattern
    draft.cells["pattern_rotation_deg"] = f"{rotation:.6g}"
