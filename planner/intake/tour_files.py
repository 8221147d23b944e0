"""The files that a tour names: station tables, sidecars, catalogue; read, counted and hashed."""

from __future__ import annotations

import dataclasses
import hashlib
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import Fault, InputFaults
from planner.intake.elevation import read_elevation
from planner.intake.gear import load_gear
from planner.intake.stations import load_station_tables
from planner.intake.stations.companions import used_companions
from planner.intake.stations.coverage import find_coverage
from planner.reach import with_terrain
from planner.units import shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.records import Coverage, GearRange, StationTable


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class InputRecord:
    """One file that was read.

    Attributes
    ----------
    file : str
        As the user wrote it; never an absolute path.
    sha256 : str
        Of the file's bytes, in hexadecimal.
    rows : int or None
        Rows; of a tour file its stops; None where nothing is counted.
    issued : str or None
        ISO date of the data, of a station table whose sidecar has one.
    coverage : str or None
        What a station table covers, in words.
    """

    file: str
    sha256: str
    rows: int | None = None
    issued: str | None = None
    coverage: str | None = None


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NamedFiles:
    """Files and the names that messages give them.

    Attributes
    ----------
    tables : mapping of Path to str
        Station tables in the order named.
    gear : tuple of (Path, str) or None
        The catalogue.
    elevation : mapping of Path to str
        Elevation files; the first one that tells a point counts.
    """

    tables: Mapping[Path, str]
    gear: tuple[Path, str] | None = None
    elevation: Mapping[Path, str] = dataclasses.field(default_factory=dict)


def load_files(
    files: NamedFiles,
) -> tuple[StationTable | None, tuple[GearRange, ...] | None, list[Fault]]:
    """Read station tables and catalogue; what cannot be read is None, with its faults."""
    faults: list[Fault] = []
    stations = gear = None
    if files.tables:
        try:
            stations = load_station_tables(list(files.tables), names=files.tables)
            faults += _tables_without_stations(stations)
        except InputFaults as error:
            faults += error.faults
    if files.gear is not None:
        try:
            gear = load_gear(files.gear[0], name=files.gear[1])
        except InputFaults as error:
            faults += error.faults
    grids = []
    for path, name in files.elevation.items():
        try:
            grids.append(read_elevation(path, name=name))
        except InputFaults as error:
            faults += error.faults
    if stations is not None and grids:
        stations = with_terrain(stations, grids)
    return stations, gear, faults


def file_records(
    files: NamedFiles, stations: StationTable, gear: Sequence[GearRange]
) -> tuple[InputRecord, ...]:
    """Return a record for each station table with what belongs to it, and every other file."""
    records = []
    for index, (path, name) in enumerate(files.tables.items()):
        coverage = stations.coverages[index]
        records.append(
            InputRecord(
                file=written_name(name),
                sha256=sha256_of(path),
                rows=int(np.count_nonzero(stations.table == index)),
                issued=coverage.issued.isoformat() if coverage.issued else None,
                coverage=coverage_words(coverage),
            )
        )
        sidecar = find_coverage(path)
        if sidecar is not None:
            beside = str(PurePosixPath(written_name(name)).with_name(sidecar.name))
            records.append(InputRecord(file=beside, sha256=sha256_of(sidecar)))
        directional = bool(np.any(stations.pattern[stations.table == index] != ""))
        for companion in used_companions(path, directional=directional):
            beside = str(PurePosixPath(written_name(name)).with_name(companion.name))
            if all(row.file != beside for row in records):
                records.append(InputRecord(file=beside, sha256=sha256_of(companion)))
    if files.gear is not None:
        path, name = files.gear
        records.append(InputRecord(file=written_name(name), sha256=sha256_of(path), rows=len(gear)))
    records += [
        InputRecord(file=written_name(name), sha256=sha256_of(path))
        for path, name in files.elevation.items()
    ]
    return tuple(records)


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file's bytes in hexadecimal."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def written_name(name: str) -> str:
    """Return a file's name as the user wrote it, its last part only when it is absolute."""
    windows = PureWindowsPath(name)
    if windows.drive or windows.root:
        return windows.name
    return name


def coverage_words(coverage: Coverage) -> str:
    """Return what a station table covers, in one line."""
    if coverage.partial:
        return "partial: no coverage sidecar, so what the table lacks is not known"
    parts = [
        f"countries {', '.join(coverage.countries) or 'not said'}",
        f"services {', '.join(coverage.services) or 'not said'}",
    ]
    if coverage.systems:
        parts.append(f"systems {', '.join(coverage.systems)}")
    if coverage.high_hz:
        parts.append(f"{shortest_mhz(coverage.low_hz)}-{shortest_mhz(coverage.high_hz)} MHz")
    if coverage.missing_note:
        parts.append(coverage.missing_note)
    return "; ".join(parts)


def _tables_without_stations(stations: StationTable) -> list[Fault]:
    return [
        Fault(
            file=name,
            value="a table without a station",
            allowed="at least one station",
            advice="name a table with stations, or take this one out",
        )
        for index, name in enumerate(stations.files)
        if not np.any(stations.table == index)
    ]
