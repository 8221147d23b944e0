"""Effective heights over the ground that elevation files of the user tell.

Used only where a table gives no height above average terrain: a given one always stands.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.reach.heights import centre_amsl_m
from planner.records.azimuths import AzimuthCurves
from planner.tables.land_mask import sea_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.records import StationTable
    from planner.records.elevation import ElevationGrid

    FloatColumn = npt.NDArray[np.float64]
    IntColumn = npt.NDArray[np.int64]

FCC_WINDOW_KM = (3.2, 16.1)
"""Ground that counts for HAAT (47 CFR 73.684(d), from memory: 2 to 10 miles)."""
P1546_WINDOW_KM = (3.0, 15.0)
"""Ground that counts for the effective height (ITU-R P.1546-6, annex 5, section 3)."""
SHORT_PATH_SHARE = 0.2
"""On a path shorter than 15 km the ground from this share of it on (same section)."""
RADIALS = 72
"""Directions in which the ground is averaged, 5 degrees apart; straight lines between them."""
MOST_MISSING = 0.1
"""Share of the land round a mast that a file may lack; it counts as sea level, the safe side."""
MOST_APART_M = 100.0
"""A mast whose ground in the file is farther than this from the table's is not computed [m]."""
_STEP_KM = 0.1
_SHORT_SAMPLES = 64
_EARTH_KM = 6371.0088
_SITES_AT_ONCE = 64
_PATHS_AT_ONCE = 8192


def with_terrain(stations: StationTable, grids: Sequence[ElevationGrid]) -> StationTable:
    """Return the stations with heights over the ground of elevation files.

    Parameters
    ----------
    stations : StationTable
        n stations.
    grids : sequence of ElevationGrid
        The first one that tells a point counts.

    Returns
    -------
    StationTable
        Stations without a HAAT, of which the files tell the ground, have ``ground_curve`` (mean
        ground 3 to 15 km away by azimuth) and a curve of ``radial_haats`` (over 3.2 to 16.1 km).
        Where only the height above ground is given, ``antenna_amsl_m`` is that above the file's
        ground. All others are as they were: given heights, masts outside the files, masts round
        which more than a tenth of the land is missing, and masts whose ground in the file lies
        more than 100 m from the table's (other units, another datum, a wrong place).
    """
    lacking = np.flatnonzero(np.isnan(stations.haat_m) & (stations.haat_curve < 0))
    if not grids or not lacking.size:
        return dataclasses.replace(stations, grids=tuple(grids))
    places = np.stack([stations.lat_deg[lacking], stations.lon_deg[lacking]], axis=1)
    sites, back = np.unique(places, axis=0, return_inverse=True)
    site = np.ravel(back)
    ground = _ground_m(grids, sites[:, 0], sites[:, 1])
    amsl = stations.antenna_amsl_m.copy()
    above = centre_amsl_m(stations)[lacking]
    agl = stations.height_agl_m[lacking]
    amsl[lacking] = np.where(np.isnan(above), ground[site] + agl, amsl[lacking])
    told = np.where(
        np.isnan(stations.site_amsl_m[lacking]), above - agl, stations.site_amsl_m[lacking]
    )
    plausible = ~(np.abs(told - ground[site]) > MOST_APART_M) & ~np.isnan(ground[site])
    wanted = np.zeros(len(sites), dtype=np.bool_)
    wanted[site[plausible]] = True
    fcc, world = _mean_ground_m(grids, sites, wanted)
    above = np.where(np.isnan(above), amsl[lacking], above)
    used = np.flatnonzero(plausible & ~np.isnan(fcc[site, 0]) & ~np.isnan(above))
    if not used.size:
        return dataclasses.replace(stations, antenna_amsl_m=amsl, grids=tuple(grids))
    known = np.unique(site[used])
    ground_curve = np.full(len(stations), -1, dtype=np.int64)
    ground_curve[lacking[used]] = np.searchsorted(known, site[used])
    haat_curve = stations.haat_curve.copy()
    haat_curve[lacking[used]] = len(stations.radial_haats) + np.arange(len(used))
    return dataclasses.replace(
        stations,
        antenna_amsl_m=amsl,
        grids=tuple(grids),
        grounds=_curves(world[known]),
        ground_curve=ground_curve,
        radial_haats=_joined(stations.radial_haats, above[used, None] - fcc[site[used]]),
        haat_curve=haat_curve,
    )


def terrain_height_m(
    stations: StationTable,
    station: IntColumn,
    azimuth_deg: FloatColumn,
    distance_km: FloatColumn,
    haat_m: FloatColumn,
) -> FloatColumn:
    """Return the effective height of P.1546 over the ground that files tell.

    Parameters
    ----------
    stations : StationTable
        n stations, of :func:`with_terrain`.
    station : (p,) int64
        Which station.
    azimuth_deg, distance_km : (p,) float64
        Toward the receiver [deg], and how far it is [km].
    haat_m : (p,) float64
        Height where no file tells the ground [m].

    Returns
    -------
    (p,) float64
        Radiation centre over the mean ground 3 to 15 km away, from a radial every 5 degrees; on
        a shorter path over that from a fifth of the path to its end, along the path itself [m].
        May be negative.

    References
    ----------
    Recommendation ITU-R P.1546-6 (2019), annex 5, sections 3.1 and 3.2 (numbers from memory).
    """
    found = np.array(haat_m, dtype=np.float64)
    curve = stations.ground_curve[station]
    rows = np.flatnonzero(curve >= 0)
    if not rows.size:
        return found
    amsl = centre_amsl_m(stations)[station]
    found[rows] = amsl[rows] - stations.grounds.at(curve[rows], azimuth_deg[rows])
    short = rows[distance_km[rows] < P1546_WINDOW_KM[1]]
    shares: FloatColumn = np.linspace(SHORT_PATH_SHARE, 1.0, _SHORT_SAMPLES)
    for start in range(0, short.size, _PATHS_AT_ONCE):
        part = short[start : start + _PATHS_AT_ONCE]
        lat, lon = _toward(
            stations.lat_deg[station[part], None],
            stations.lon_deg[station[part], None],
            azimuth_deg[part, None],
            np.asarray(distance_km[part, None] * shares, dtype=np.float64),
        )
        ground = np.nan_to_num(_ground_m(stations.grids, lat, lon), nan=0.0)
        found[part] = amsl[part] - ground.mean(axis=1)
    return found


def _mean_ground_m(
    grids: Sequence[ElevationGrid], sites: FloatColumn, wanted: npt.NDArray[np.bool_]
) -> tuple[FloatColumn, FloatColumn]:
    """Return the mean ground by radial over both windows, (sites, 72); NaN where not told."""
    low, high = min(FCC_WINDOW_KM[0], P1546_WINDOW_KM[0]), max(FCC_WINDOW_KM[1], P1546_WINDOW_KM[1])
    along_km = np.linspace(low, high, round((high - low) / _STEP_KM) + 1)
    inside = [
        np.flatnonzero((along_km >= near - 1e-9) & (along_km <= far + 1e-9))
        for near, far in (FCC_WINDOW_KM, P1546_WINDOW_KM)
    ]
    azimuth: FloatColumn = np.asarray(np.arange(RADIALS) * (360.0 / RADIALS), dtype=np.float64)
    means = np.full((2, len(sites), RADIALS), np.nan)
    which = np.flatnonzero(wanted)
    for start in range(0, which.size, _SITES_AT_ONCE):
        part = which[start : start + _SITES_AT_ONCE]
        lat, lon = _toward(
            sites[part, 0][:, None, None],
            sites[part, 1][:, None, None],
            azimuth[None, :, None],
            along_km[None, None, :],
        )
        ground = _ground_m(grids, lat, lon)
        missing = np.isnan(ground)
        if missing.any():
            missing[missing] = ~sea_at(lat[missing], lon[missing])
        enough = missing.mean(axis=(1, 2)) <= MOST_MISSING
        ground = np.nan_to_num(ground, nan=0.0)
        for k, chosen in enumerate(inside):
            means[k, part[enough]] = ground[enough][:, :, chosen].mean(axis=2)
    return means[0], means[1]


def _ground_m(
    grids: Sequence[ElevationGrid], lat_deg: FloatColumn, lon_deg: FloatColumn
) -> FloatColumn:
    """Return the ground of the first grid that tells it [m], NaN where none does."""
    found = np.full(np.shape(lat_deg), np.nan)
    for grid in grids:
        unknown = np.isnan(found)
        if not unknown.any():
            break
        found[unknown] = grid.at(lat_deg[unknown], lon_deg[unknown])
    return found


def _toward(
    lat_deg: FloatColumn, lon_deg: FloatColumn, azimuth_deg: FloatColumn, distance_km: FloatColumn
) -> tuple[FloatColumn, FloatColumn]:
    """Return points along great circles of the sphere [deg]; within 60 m of the geodesic here."""
    lat, azimuth, arc = np.radians(lat_deg), np.radians(azimuth_deg), distance_km / _EARTH_KM
    sine = np.sin(lat) * np.cos(arc) + np.cos(lat) * np.sin(arc) * np.cos(azimuth)
    turn = np.arctan2(np.sin(azimuth) * np.sin(arc) * np.cos(lat), np.cos(arc) - np.sin(lat) * sine)
    found_lat = np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0)))
    found_lon = (lon_deg + np.degrees(turn) + 180.0) % 360.0 - 180.0
    return found_lat, found_lon


def _curves(values: FloatColumn) -> AzimuthCurves:
    """Return curves of 72 radials each."""
    count = len(values)
    return AzimuthCurves(
        first=np.arange(count + 1, dtype=np.int64) * RADIALS,
        azimuth_deg=np.tile(np.arange(RADIALS) * (360.0 / RADIALS), count),
        values=np.ravel(values).copy(),
    )


def _joined(curves: AzimuthCurves, values: FloatColumn) -> AzimuthCurves:
    """Return curves followed by new ones of 72 radials each."""
    more = _curves(values)
    return AzimuthCurves(
        first=np.concatenate([curves.first, curves.first[-1] + more.first[1:]]),
        azimuth_deg=np.concatenate([curves.azimuth_deg, more.azimuth_deg]),
        values=np.concatenate([curves.values, more.values]),
    )
