"""Transmitters in columns, and what a table covers."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.records.azimuths import AzimuthCurves

if TYPE_CHECKING:
    import datetime as dt

    import numpy.typing as npt

    from planner.records.elevation import ElevationGrid

    FloatColumn = npt.NDArray[np.float64]
    IntColumn = npt.NDArray[np.int64]
    TextColumn = npt.NDArray[np.str_]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Coverage:
    """What one station table claims to hold.

    Attributes
    ----------
    countries, services, systems : tuple of str
        ISO codes; words of the station table; empty means not said.
    low_hz, high_hz : int
        Span covered [Hz].
    issued : date or None
        Date of the data.
    missing_note : str
        What the table lacks, in words, printed on every output.
    partial : bool
        True when no sidecar came with the table.
    """

    countries: tuple[str, ...] = ()
    services: tuple[str, ...] = ()
    systems: tuple[str, ...] = ()
    low_hz: int = 0
    high_hz: int = 0
    issued: dt.date | None = None
    missing_note: str = ""
    partial: bool = False


def _no_curves() -> IntColumn:
    return np.empty(0, dtype=np.int64)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StationTable:
    """Transmitting antennas in columns of one length n; read-only.

    Attributes
    ----------
    station_id, name, country, service, system, status, polarization, emission_mask : (n,) str
        Words of the station table contract; empty where unknown. ``country`` is the code
        written in the table; territories of the United States are written ``US``.
    channel : (n,) str
        Channel label, empty where only limits are given.
    low_hz, high_hz : (n,) int64
        Limits of the emission's channel [Hz].
    lat_deg, lon_deg : (n,) float64
        WGS84 [deg].
    erp_kw : (n,) float64
        Greatest ERP in any direction [kW], above 0.
    haat_m, antenna_amsl_m, height_agl_m, site_amsl_m : (n,) float64
        Heights [m]; NaN where unknown.
    pattern : (n,) str
        Name of a pattern, empty when non-directional.
    pattern_rotation_deg : (n,) float64
        Clockwise rotation [deg], 0 where unknown.
    group_id, shared_with : (n,) str
        Group of a distributed station; host of a guest.
    valid_from, valid_to : (n,) datetime64[D]
        NaT where open.
    table : (n,) int64
        Index into ``files`` and ``coverages``.
    files : tuple of str
        Names of the tables, in the order read.
    coverages : tuple of Coverage
        One a file.
    patterns : AzimuthCurves
        Horizontal patterns, relative field (0 to 1), before rotation.
    pattern_curve : (n,) int64
        Curve of ``patterns``; -1 where the station is non-directional or no companion table
        holds the pattern it names. Left out: -1 all over.
    radial_haats : AzimuthCurves
        Heights above average terrain by radial [m], from true north.
    haat_curve : (n,) int64
        Curve of ``radial_haats``, -1 where only one height is known. Left out: -1 all over.
    grids : tuple of ElevationGrid
        The user's elevation files, see :func:`planner.reach.terrain.with_terrain`.
    grounds : AzimuthCurves
        Mean ground above sea level by azimuth [m], from them.
    ground_curve : (n,) int64
        Curve of ``grounds``, -1 where they were not asked. Left out: -1 all over.
    """

    station_id: TextColumn
    name: TextColumn
    country: TextColumn
    service: TextColumn
    system: TextColumn
    status: TextColumn
    polarization: TextColumn
    emission_mask: TextColumn
    channel: TextColumn
    low_hz: IntColumn
    high_hz: IntColumn
    lat_deg: FloatColumn
    lon_deg: FloatColumn
    erp_kw: FloatColumn
    haat_m: FloatColumn
    antenna_amsl_m: FloatColumn
    height_agl_m: FloatColumn
    site_amsl_m: FloatColumn
    pattern: TextColumn
    pattern_rotation_deg: FloatColumn
    group_id: TextColumn
    shared_with: TextColumn
    valid_from: npt.NDArray[np.datetime64]
    valid_to: npt.NDArray[np.datetime64]
    table: IntColumn
    files: tuple[str, ...] = ()
    coverages: tuple[Coverage, ...] = ()
    patterns: AzimuthCurves = dataclasses.field(default_factory=AzimuthCurves)
    pattern_curve: IntColumn = dataclasses.field(default_factory=_no_curves)
    radial_haats: AzimuthCurves = dataclasses.field(default_factory=AzimuthCurves)
    haat_curve: IntColumn = dataclasses.field(default_factory=_no_curves)
    grids: tuple[ElevationGrid, ...] = ()
    grounds: AzimuthCurves = dataclasses.field(default_factory=AzimuthCurves)
    ground_curve: IntColumn = dataclasses.field(default_factory=_no_curves)

    def __post_init__(self) -> None:
        n = len(self.station_id)
        for name, curves in (
            ("pattern_curve", self.patterns),
            ("haat_curve", self.radial_haats),
            ("ground_curve", self.grounds),
        ):
            if not getattr(self, name).size:
                object.__setattr__(self, name, np.full(n, -1, dtype=np.int64))
            if n and int(getattr(self, name).max()) >= len(curves):
                raise ValueError(f"column {name} names a curve of {len(curves)} that is not there")
        for field in dataclasses.fields(self):
            column = getattr(self, field.name)
            if isinstance(column, np.ndarray):
                if column.shape != (n,):
                    raise ValueError(
                        f"column {field.name} has shape {column.shape}, expected ({n},)"
                    )
                column.setflags(write=False)

    def __len__(self) -> int:
        return len(self.station_id)

    @property
    def lacks_pattern(self) -> npt.NDArray[np.bool_]:
        """Where a station names a pattern that no companion table holds, (n,) bool.

        Such a station counts as non-directional: its greatest ERP in every direction.
        """
        return np.asarray((self.pattern != "") & (self.pattern_curve < 0), dtype=np.bool_)
