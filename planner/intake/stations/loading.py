"""Several station tables and their coverage sidecars into one columnar record."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.errors import Fault, InputFaults
from planner.intake.stations.companions import Companions, assemble_curves, read_companions
from planner.intake.stations.coverage import find_coverage, read_coverage
from planner.intake.stations.passband import StationRow, read_station_rows
from planner.intake.table import read_table
from planner.records import Coverage, StationTable

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    import numpy.typing as npt

_TEXTS = (
    "station_id",
    "name",
    "country",
    "service",
    "system",
    "status",
    "polarization",
    "emission_mask",
    "channel",
    "pattern",
    "group_id",
    "shared_with",
)
_FLOATS = (
    "lat_deg",
    "lon_deg",
    "erp_kw",
    "haat_m",
    "antenna_amsl_m",
    "height_agl_m",
    "site_amsl_m",
    "pattern_rotation_deg",
)
_INTEGERS = ("low_hz", "high_hz")


def load_station_tables(
    paths: Sequence[Path], *, names: Mapping[Path, str] | None = None
) -> StationTable:
    """Read station tables, their coverage sidecars and their companion tables.

    Parameters
    ----------
    paths : sequence of Path
        One or more tables, in the order in which they are numbered.
    names : mapping of Path to str, optional
        Names to use in messages and in ``files``; the path as given otherwise.

    Returns
    -------
    StationTable
        All rows, table after table; a table without a sidecar has
        ``Coverage(partial=True)``.

    Raises
    ------
    InputFaults
        With every fault of every table, sidecar and companion, each once.
    """
    names = names or {}
    faults: list[Fault] = []
    coverages: list[Coverage] = []
    companions: list[Companions] = []
    rows: list[StationRow] = []
    tables: list[int] = []
    for index, path in enumerate(paths):
        name = names.get(path, str(path))
        try:
            text_table = read_table(path, name=name, what="station table")
            read = read_station_rows(text_table)
            faults.extend(text_table.faults.faults)
            rows.extend(read)
            tables.extend([index] * len(read))
        except InputFaults as error:
            faults.extend(error.faults)
        try:
            directional = any(row.pattern for row in rows[len(tables) - tables.count(index) :])
            companions.append(read_companions(path, name=name, directional=directional))
        except InputFaults as error:
            faults.extend(error.faults)
        try:
            coverages.append(_coverage(path, name))
        except InputFaults as error:
            faults.extend(error.faults)
    files = tuple(names.get(path, str(path)) for path in paths)
    faults.extend(_faults_between_rows(rows, tables, files))
    if faults:
        raise InputFaults(list(dict.fromkeys(faults)))
    columns = _columns(rows, np.array(tables, dtype=np.int64), files, tuple(coverages))
    return dataclasses.replace(columns, **assemble_curves(columns, companions))


def _coverage(path: Path, name: str) -> Coverage:
    sidecar = find_coverage(path)
    if sidecar is None:
        return Coverage(partial=True)
    shown = name.removesuffix(path.name) + sidecar.name if name.endswith(path.name) else ""
    return read_coverage(sidecar, name=shown)


def _faults_between_rows(
    rows: Sequence[StationRow], tables: Sequence[int], files: Sequence[str]
) -> list[Fault]:
    """Return ids used by two tables, and guests whose host is not on the air."""
    faults = []
    first: dict[str, int] = {}
    for place, row in enumerate(rows):
        if not row.station_id:
            continue
        other = first.setdefault(row.station_id, place)
        if tables[other] != tables[place]:
            faults.append(
                Fault(
                    file=files[tables[place]],
                    where=f"row {row.row_number}, column station_id",
                    value=row.station_id,
                    allowed="an id that no other table has; "
                    f"{files[tables[other]]} row {rows[other].row_number} has it",
                    advice="give each transmitting antenna its own id",
                )
            )
    for place, row in enumerate(rows):
        if not row.shared_with or row.status == "off":
            continue
        host = rows[first[row.shared_with]] if row.shared_with in first else None
        wrong = _host_fault(row, host)
        if wrong:
            faults.append(
                Fault(
                    file=files[tables[place]],
                    where=f"row {row.row_number}, column shared_with",
                    value=row.shared_with,
                    allowed="the station_id of the host, on the air on the same channel",
                    advice=f"{wrong}; a guest is not counted, its host is",
                )
            )
    return faults


def _host_fault(guest: StationRow, host: StationRow | None) -> str:
    if host is None:
        return "no row has that id"
    if host is guest:
        return "a station cannot be its own guest"
    if host.shared_with:
        return f"row {host.row_number} is a guest itself"
    if host.status not in {"on-air", guest.status}:
        return f"row {host.row_number} is {host.status}"
    if (host.low_hz, host.high_hz) != (guest.low_hz, guest.high_hz):
        return f"row {host.row_number} is on another channel"
    return ""


def _columns(
    rows: Sequence[StationRow],
    tables: npt.NDArray[np.int64],
    files: tuple[str, ...],
    coverages: tuple[Coverage, ...],
) -> StationTable:
    kinds: tuple[tuple[tuple[str, ...], type], ...] = (
        (_TEXTS, np.str_),
        (_FLOATS, np.float64),
        (_INTEGERS, np.int64),
    )
    columns: dict[str, Any] = {
        name: np.array([getattr(row, name) for row in rows], dtype=kind)
        for names, kind in kinds
        for name in names
    }
    return StationTable(
        **columns,
        valid_from=_dates([row.valid_from for row in rows]),
        valid_to=_dates([row.valid_to for row in rows]),
        table=tables,
        files=files,
        coverages=coverages,
    )


def _dates(values: Sequence[dt.date | None]) -> npt.NDArray[np.datetime64]:
    return np.array(
        ["NaT" if value is None else value.isoformat() for value in values], dtype="datetime64[D]"
    )
