"""What a user says about a foreign table: which column is which, in which unit, in which words."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.faults import nearest_word
from planner.intake.stations.columns import COLUMNS, REQUIRED_COLUMNS, SERVICES
from planner.intake.stations.companions import PATTERN_COLUMNS
from planner.rules import tv_raster

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

DIRECTIONAL = "directional"
"""Column of no table of ours: says which rows have a pattern (DA, yes) and which none (ND, no)."""
UNITS = {
    "erp_kw": ("kW", "W", "dBk"),
    "haat_m": ("m", "ft"),
    "antenna_amsl_m": ("m", "ft"),
    "height_agl_m": ("m", "ft"),
    "site_amsl_m": ("m", "ft"),
    "low_mhz": ("MHz", "kHz", "Hz"),
    "high_mhz": ("MHz", "kHz", "Hz"),
    "lat_deg": ("deg", "DDMMSS"),
    "lon_deg": ("deg", "DDMMSS"),
}
"""Units that a column may be given in; the first is taken where nothing is said."""
WORD_COLUMNS = (
    *("country", "service", "system", "status", "polarization", "emission_mask"),
    DIRECTIONAL,
)
"""Columns whose words may be translated."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ColumnMapping:
    """A mapping of a foreign table onto a station table.

    Attributes
    ----------
    columns : mapping of str to str
        Our column to theirs, or to ``"=text"`` for one text on every row.
    units : mapping of str to str
        Our column to a unit of :data:`UNITS`.
    words : mapping of (str, str) to str
        Our column and their word, to our word.
    west_positive : bool
        Whether their longitudes count westwards.
    zero_unknown : bool
        Whether a height of 0 means unknown.
    raster : str
        Country whose channel numbers theirs are; empty for the row's own.
    covers : tuple of str
        Services of which the table claims to hold all; none: no coverage is claimed.
    issued : date or None
        Date of the data.
    missing_note : str
        What the table lacks.
    patterns : Path or None
        Their table of patterns.
    pattern_columns : mapping of str to str
        Our pattern column to theirs.
    """

    columns: Mapping[str, str]
    units: Mapping[str, str] = dataclasses.field(default_factory=dict)
    words: Mapping[tuple[str, str], str] = dataclasses.field(default_factory=dict)
    west_positive: bool = False
    zero_unknown: bool = False
    raster: str = ""
    covers: tuple[str, ...] = ()
    issued: dt.date | None = None
    missing_note: str = ""
    patterns: Path | None = None
    pattern_columns: Mapping[str, str] = dataclasses.field(default_factory=dict)

    def unit(self, column: str) -> str:
        """Return the unit of a column."""
        return self.units.get(column, UNITS[column][0])


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class MappingWords:
    """The same as written on the command line."""

    columns: Sequence[str] = ()
    units: Sequence[str] = ()
    words: Sequence[str] = ()
    west_positive: bool = False
    zero_unknown: bool = False
    raster: str = ""
    covers: Sequence[str] = ()
    issued: str = ""
    missing_note: str = ""
    patterns: Path | None = None
    pattern_columns: Sequence[str] = ()


def mapping_of(format_name: str, words: MappingWords) -> ColumnMapping | None:
    """Return the mapping of a command line, None for a format that takes none.

    Raises
    ------
    InputFaults
        As :func:`parse_mapping`; also when another format is given words of a mapping.
    """
    if format_name == "mapped":
        return parse_mapping(words)
    if words != MappingWords():
        raise InputFaults(
            [_fault("--from", format_name, "mapped, with --map and its kin", "drop one of them")]
        )
    return None


def parse_mapping(words: MappingWords) -> ColumnMapping:
    """Turn the command line's words into a mapping.

    Raises
    ------
    InputFaults
        With every word that says nothing sensible, and what is missing.
    """
    faults: list[Fault] = []
    columns = _pairs(words.columns, "--map", (*COLUMNS, DIRECTIONAL), faults)
    units = _pairs(words.units, "--unit", UNITS, faults)
    for column, unit in units.items():
        if unit not in UNITS[column]:
            faults.append(_fault("--unit", f"{column}={unit}", " / ".join(UNITS[column])))
    translated = {}
    for text in words.words:
        column, colon, rest = text.partition(":")
        theirs, equals, ours = rest.rpartition("=")
        if colon and equals and column in WORD_COLUMNS:
            translated[column, theirs.strip()] = ours.strip()
        else:
            allowed = f"COLUMN:THEIRS=OURS with a column of {', '.join(WORD_COLUMNS)}"
            faults.append(_fault("--word", text, allowed))
    pattern_columns = _pairs(words.pattern_columns, "--pattern-map", PATTERN_COLUMNS, faults)
    mapping = ColumnMapping(
        columns=columns,
        units=units,
        words=translated,
        west_positive=words.west_positive,
        zero_unknown=words.zero_unknown,
        raster=words.raster,
        covers=tuple(item.strip() for text in words.covers for item in text.split(";")),
        issued=_date(words.issued, faults),
        missing_note=words.missing_note,
        patterns=words.patterns,
        pattern_columns=pattern_columns,
    )
    faults += _missing(mapping)
    if faults:
        raise InputFaults(faults)
    return mapping


def _date(text: str, faults: list[Fault]) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text) if text else None
    except ValueError:
        faults.append(_fault("--issued", text, "a date as YYYY-MM-DD", "e.g. 2026-10-01"))
        return None


def _pairs(
    texts: Sequence[str],
    flag: str,
    known: Sequence[str] | Mapping[str, object],
    faults: list[Fault],
) -> dict[str, str]:
    found: dict[str, str] = {}
    for text in texts:
        ours, equals, theirs = (part.strip() for part in text.partition("="))
        if not equals or not ours or not theirs:
            faults.append(_fault(flag, text, "OURS=THEIRS", "e.g. --map erp_kw=ERP"))
        elif ours not in known:
            near = nearest_word(ours, known)
            advice = f'did you mean "{near}"?' if near else "ours stands before the ="
            faults.append(_fault(flag, text, f"one of {', '.join(known)} before the =", advice))
        elif ours in found:
            faults.append(_fault(flag, text, f"{ours} once", "remove one of the two"))
        else:
            found[ours] = theirs
    return found


def _missing(mapping: ColumnMapping) -> list[Fault]:
    columns = mapping.columns
    found = [
        _fault("--map", f"nothing for {name}", "every required column", f"add --map {name}=THEIRS")
        for name in REQUIRED_COLUMNS
        if name not in columns
    ]
    if "channel" not in columns and not {"low_mhz", "high_mhz"} <= set(columns):
        advice = "add --map channel=THEIRS, or --map low_mhz=... and --map high_mhz=..."
        found.append(_fault("--map", "no channel and no limits", "one or the other", advice))
    if "pattern" in columns and "pattern_rotation_deg" not in columns:
        advice = (
            "add --map pattern_rotation_deg=THEIRS, or --map pattern_rotation_deg==0 when the "
            "patterns are from true north already: a null turned the wrong way frees what is taken"
        )
        found.append(
            _fault("--map", "pattern without pattern_rotation_deg", "both or neither", advice)
        )
    if mapping.patterns is not None and "pattern" not in columns:
        advice = "add --map pattern=THEIRS: the column that names each row's pattern"
        found.append(_fault("--patterns", str(mapping.patterns), "with --map pattern", advice))
    if mapping.raster and not tv_raster(mapping.raster):
        found.append(
            _fault(
                "--raster", mapping.raster, "a country whose channels this version knows, e.g. US"
            )
        )
    found += [
        _fault("--covers", word, " / ".join(SERVICES))
        for word in mapping.covers
        if word not in SERVICES
    ]
    return found


def _fault(flag: str, value: str, allowed: str, advice: str = "use one of these") -> Fault:
    return Fault(file="command line", where=flag, value=value, allowed=allowed, advice=advice)
