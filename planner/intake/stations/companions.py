"""Companion tables of a station table: horizontal patterns, heights by radial.

``us.csv`` has ``us.csv.patterns.csv`` beside it, else ``patterns.csv`` of the same folder;
likewise ``us.csv.haat.csv``, else ``haat.csv``.
"""

from __future__ import annotations

import csv
import dataclasses
import io
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.intake.cells import NumberRange
from planner.intake.table import read_table
from planner.records.azimuths import AzimuthCurves
from planner.spreadsheet import spreadsheet_safe

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from planner.intake.table import TextTable
    from planner.records import StationTable

PATTERNS = "patterns"
HAAT = "haat"
PATTERN_COLUMNS = ("pattern", "azimuth_deg", "relative_field")
HAAT_COLUMNS = ("station_id", "azimuth_deg", "haat_m")
AZIMUTH_DEG = NumberRange(low=0, high=360, unit="deg")
RELATIVE_FIELD = NumberRange(low=0, high=1)
LEAST_MAXIMUM = 0.5
"""A pattern whose greatest point is lower is broken, by the regulator's study practice."""
_HAAT_M = NumberRange(low=-1500, high=5000, unit="m")
_LEAST_POINTS = 2
_FULL_CIRCLE_DEG = 360.0

Curve = tuple[tuple[float, float], ...]
"""(azimuth [deg], value) points, each azimuth once, 0 up to, not including, 360."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Companions:
    """What stands beside one station table.

    Attributes
    ----------
    patterns : mapping of str to Curve
        Relative field by pattern name, before rotation.
    haats : mapping of str to Curve
        Height above average terrain [m] by station id.
    """

    patterns: Mapping[str, Curve] = dataclasses.field(default_factory=dict)
    haats: Mapping[str, Curve] = dataclasses.field(default_factory=dict)


def companion_path(table: Path, kind: str) -> Path:
    """Return where a companion is written: ``us.csv`` has ``us.csv.patterns.csv``."""
    return table.with_name(f"{table.name}.{kind}.csv")


def find_companion(table: Path, kind: str) -> Path | None:
    """Return the companion of a kind that lies beside a table, None without one."""
    for candidate in (companion_path(table, kind), table.with_name(f"{kind}.csv")):
        if candidate.exists() and candidate != table:
            return candidate
    return None


def used_companions(table: Path, *, directional: bool) -> tuple[Path, ...]:
    """Return the companions read with a table; patterns only where a station names one."""
    kinds = (PATTERNS, HAAT) if directional else (HAAT,)
    found = (find_companion(table, kind) for kind in kinds)
    return tuple(path for path in found if path is not None)


def read_companions(table: Path, *, name: str, directional: bool) -> Companions:
    """Read the companions of a station table.

    Parameters
    ----------
    table : Path
        The station table.
    name : str
        Its name in messages; a companion is named beside it.
    directional : bool
        Whether a station names a pattern: the pattern table is read only then.

    Raises
    ------
    InputFaults
        With every fault of each file.
    """
    found: dict[str, Mapping[str, Curve]] = {}
    for path in used_companions(table, directional=directional):
        shown = name.removesuffix(table.name) + path.name if name.endswith(table.name) else ""
        own = companion_path(table, PATTERNS), table.with_name(f"{PATTERNS}.csv")
        if path in own:
            found["patterns"] = read_patterns(path, name=shown)
        else:
            found["haats"] = read_haats(path, name=shown)
    return Companions(**found)


def read_patterns(path: Path, *, name: str = "") -> dict[str, Curve]:
    """Read a pattern table strictly: ``pattern, azimuth_deg, relative_field``.

    Raises
    ------
    InputFaults
        With every fault: an azimuth outside 0 to 360 deg or given twice (360 is 0), a relative
        field outside 0 to 1, fewer than two points, a greatest point below 0.5.
    """
    table = read_table(path, name=name, what="pattern table")
    curves = _curves(table, PATTERN_COLUMNS, RELATIVE_FIELD, what="pattern table")
    for pattern, (row_number, curve) in curves.items():
        greatest = max(value for _, value in curve)
        if greatest < LEAST_MAXIMUM and len(curve) >= _LEAST_POINTS:
            table.faults.cell(
                row_number,
                "relative_field",
                value=f"{pattern}: nowhere more than {greatest:g}",
                allowed=f"a greatest relative field of 1, at least {LEAST_MAXIMUM:g}",
                advice="divide the pattern by its greatest value",
            )
    table.faults.raise_if_any()
    return {key: curve for key, (_, curve) in curves.items()}


def read_haats(path: Path, *, name: str = "") -> dict[str, Curve]:
    """Read heights by radial strictly: ``station_id, azimuth_deg, haat_m``.

    Raises
    ------
    InputFaults
        With every fault.
    """
    table = read_table(path, name=name, what="table of heights by radial")
    curves = _curves(table, HAAT_COLUMNS, _HAAT_M, what="table of heights by radial")
    table.faults.raise_if_any()
    return {key: curve for key, (_, curve) in curves.items()}


def _curves(
    table: TextTable, columns: tuple[str, str, str], allowed: NumberRange, *, what: str
) -> dict[str, tuple[int, Curve]]:
    """Return each curve with the row of its first point; faults go into the table's list."""
    key, _, value = columns
    table.require_columns(columns, columns, what=what, hint="rename it or correct its columns")
    points: dict[str, dict[float, tuple[float, int]]] = {}
    rows: dict[str, int] = {}
    for row in table.rows():
        curve = row.text(key, required=True)
        azimuth_deg = row.number("azimuth_deg", AZIMUTH_DEG, required=True)
        figure = row.number(value, allowed, required=True)
        if not curve or azimuth_deg is None or figure is None:
            continue
        rows.setdefault(curve, row.number_in_file)
        mine = points.setdefault(curve, {})
        before = mine.setdefault(azimuth_deg % _FULL_CIRCLE_DEG, (figure, row.number_in_file))
        closes = azimuth_deg == _FULL_CIRCLE_DEG and before[0] == figure
        if before[1] != row.number_in_file and not closes:
            row.fault(
                "azimuth_deg",
                allowed=f"each azimuth of {curve} once (360 is 0); row {before[1]} has it",
                advice="remove one of the two rows",
            )
    for curve, mine in points.items():
        if len(mine) < _LEAST_POINTS:
            table.faults.cell(
                rows[curve],
                key,
                value=f"{curve} with one point",
                allowed=f"at least {_LEAST_POINTS} azimuths",
                advice="add points, one every 10 deg or closer",
            )
    return {
        curve: (rows[curve], tuple(sorted((az, figure) for az, (figure, _) in mine.items())))
        for curve, mine in points.items()
    }


def companion_text(columns: Sequence[str], curves: Mapping[str, Curve]) -> str:
    """Return a companion table as text, curves in their order."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    for name, curve in curves.items():
        for azimuth_deg, value in curve:
            cells = (name, f"{azimuth_deg:.6g}", f"{value:.6g}")
            writer.writerow([spreadsheet_safe(cell, keep_numbers=True) for cell in cells])
    return stream.getvalue()


def assemble_curves(stations: StationTable, companions: Sequence[Companions]) -> dict[str, Any]:
    """Return the columns of a station table that its companions fill: curves and who has which."""
    found: dict[str, Any] = {}
    for curves, column, keys, kind in (
        ("patterns", "pattern_curve", stations.pattern, "patterns"),
        ("radial_haats", "haat_curve", stations.station_id, "haats"),
    ):
        used: dict[tuple[int, str], int] = {}
        places = np.full(len(stations), -1, dtype=np.int64)
        for row, (table, key) in enumerate(zip(stations.table.tolist(), keys, strict=True)):
            if str(key) in getattr(companions[table], kind):
                places[row] = used.setdefault((table, str(key)), len(used))
        found[column] = places
        found[curves] = AzimuthCurves.of(
            getattr(companions[table], kind)[key] for table, key in used
        )
    return found
