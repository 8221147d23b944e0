"""Where television counts as received outside the FCC countries: radii by ITU-R P.1546-6.

Toward each stop the radius is that at which the median field falls to the level with the path's
own shares of land and sea, so the stop lies inside exactly where the field at the stop meets the
level. The outline round a station is for the picture only: 24 directions, straight between them;
a height that had to be assumed is the cautious one.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength import p1546
from planner.geodesy import RADIALS, direct
from planner.reach.by_p1546 import WorldPaths
from planner.reach.heights import haat_toward_m, path_height_m
from planner.reach.patterns import relative_field
from planner.reach.sea_paths import sea_shares
from planner.reach.terrain import terrain_height_m

if TYPE_CHECKING:
    import numpy.typing as npt

    from planner.records import StationTable

    FloatColumn = npt.NDArray[np.float64]
    IntColumn = npt.NDArray[np.int64]

_DRAWN_KM = 20.0
"""An outline is drawn where the stop lies within this distance of it, or inside [km]."""
_DIRECTIONS = 24
_FAR_KM = 100.0
"""An outline takes the ground of long paths, whatever its radius [km]."""
_DRAWN_HALVINGS = 14
"""500 km halved 14 times: 31 m."""
_TRIES = 2
"""The shares of sea are taken again on the way to the radius found before."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class WorldContours:
    """Law and cautious side by side on the first axis.

    Attributes
    ----------
    radius_km : (2, w) float64
        Toward the stop of each pair; NaN without a level.
    polygon : (w,) int64
        Row of ``radii_km``, -1 where none is drawn.
    radii_km : (2, k, 360) float64
        Outlines at azimuths 0, 1, ... 359 degrees.
    """

    radius_km: FloatColumn
    polygon: IntColumn
    radii_km: FloatColumn


def world_contours(
    paths: WorldPaths,
    station: IntColumn,
    *,
    levels_dbuv_m: FloatColumn,
    stations: StationTable,
    haat_m: FloatColumn,
) -> WorldContours:
    """Return radii toward the stops, and outlines.

    Parameters
    ----------
    paths : WorldPaths
        w paths.
    station : (w,) int64
        Their stations.
    levels_dbuv_m : (2, w) float64
        Law and cautious level; NaN where nothing is protected.
    stations : StationTable
        n stations.
    haat_m : (n,) float64
        Height where no radials are known [m].
    """
    law = paths.radius_km(levels_dbuv_m[0])
    same = np.array_equal(levels_dbuv_m[0], levels_dbuv_m[1], equal_nan=True)
    radius = np.stack([law, law if same else paths.radius_km(levels_dbuv_m[1])])
    near = np.flatnonzero(
        paths.distance_km - np.nan_to_num(radius.max(axis=0), nan=-np.inf) <= _DRAWN_KM
    )
    keys = np.stack([station[near].astype(float), *levels_dbuv_m[:, near]], axis=1)
    kinds, back = np.unique(keys, axis=0, return_inverse=True)
    polygon = np.full(len(station), -1, dtype=np.int64)
    polygon[near] = np.ravel(back)
    used = kinds[:, 0].astype(np.int64)
    outlines = [_outlines(used, kinds[:, 1], stations, haat_m)]
    outlines.append(outlines[0] if same else _outlines(used, kinds[:, 2], stations, haat_m))
    return WorldContours(radius_km=radius, polygon=polygon, radii_km=np.stack(outlines))


def _outlines(
    station: IntColumn, level_dbuv_m: FloatColumn, stations: StationTable, haat_m: FloatColumn
) -> FloatColumn:
    """Return outlines of stations, (k, 360) [km]."""
    if not station.size:
        return np.empty((0, RADIALS))
    azimuth = np.tile(np.arange(_DIRECTIONS) * (360.0 / _DIRECTIONS), len(station))
    which = np.repeat(station, _DIRECTIONS)
    lat, lon = stations.lat_deg[which], stations.lon_deg[which]
    height = haat_toward_m(stations, which, azimuth, haat_m)
    nothing = np.zeros(len(which))
    height = path_height_m(stations, which, height, nothing)
    height = terrain_height_m(stations, which, azimuth, nothing + _FAR_KM, height)
    paths = WorldPaths(
        frequency_hz=((stations.low_hz[which] + stations.high_hz[which]) // 2).astype(float),
        height_m=np.clip(height, -p1546.GREATEST_HEIGHT_M, p1546.GREATEST_HEIGHT_M),
        erp_kw=stations.erp_kw[which] * relative_field(stations, which, azimuth) ** 2,
        distance_km=nothing,
        cold=nothing,
        warm=nothing,
    )
    levels = np.repeat(level_dbuv_m, _DIRECTIONS)
    radius = paths.radius_km(levels, halvings=_DRAWN_HALVINGS)
    for _ in range(_TRIES):
        end_lat, end_lon = direct(lat, lon, azimuth, np.maximum(radius, 0.001))
        cold, warm = sea_shares(lat, lon, end_lat, end_lon)
        if not (cold.any() or warm.any()):
            break
        paths = dataclasses.replace(paths, cold=cold, warm=warm)
        radius = paths.radius_km(levels, halvings=_DRAWN_HALVINGS)
    bearings = np.arange(RADIALS) * (_DIRECTIONS / RADIALS)
    place = bearings.astype(np.int64)
    drawn = radius.reshape(-1, _DIRECTIONS)
    closed = np.concatenate([drawn, drawn[:, :1]], axis=1)
    share = bearings - place
    return np.asarray(closed[:, place] * (1 - share) + closed[:, place + 1] * share)
