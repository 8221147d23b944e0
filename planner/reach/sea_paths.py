"""How much of a path lies over the sea, cold and warm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.tables.land_mask import sea_at

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatColumn = npt.NDArray[np.float64]

SAMPLES = 64
"""Points a path is judged at, in the middle of as many equal parts: 1 km apart on a path of
64 km, 8 km on one of 500 km."""
_PATHS_AT_ONCE = 4096
_TROPIC_DEG = 30.0
_WARM_SEAS = ((30.0, 46.0, -6.0, 42.0), (41.0, 47.0, 27.0, 42.0), (12.0, 31.0, 32.0, 60.0))
"""South, north, west, east of the Mediterranean, the Black Sea, the Red Sea and the Gulfs [deg]."""


def sea_shares(
    lat_1_deg: FloatColumn, lon_1_deg: FloatColumn, lat_2_deg: FloatColumn, lon_2_deg: FloatColumn
) -> tuple[FloatColumn, FloatColumn]:
    """Return the shares of paths over cold and over warm sea.

    Parameters
    ----------
    lat_1_deg, lon_1_deg, lat_2_deg, lon_2_deg : (n,) float64
        Ends of each path [deg].

    Returns
    -------
    cold, warm : (n,) float64
        0 to 1, in steps of 1/64.

    Notes
    -----
    Points run along the great circle of the sphere, which stays within 0.5 km of the geodesic up
    to 500 km: half a cell of the mask. Warm are the Mediterranean, the Black Sea, the Red Sea and
    the Gulfs, as the Recommendation names them (from memory), and, on the safe side, all seas
    between 30 degrees south and north: warm sea carries farther. Lakes are land.

    References
    ----------
    Recommendation ITU-R P.1546-6, annex 5, section 8; mask: :mod:`planner.tables.land_mask`.
    """
    ends = np.stack([lat_1_deg, lon_1_deg, lat_2_deg, lon_2_deg], axis=1)
    paths, back = np.unique(ends, axis=0, return_inverse=True)
    cold, warm = np.empty(len(paths)), np.empty(len(paths))
    for start in range(0, len(paths), _PATHS_AT_ONCE):
        part = slice(start, start + _PATHS_AT_ONCE)
        lat, lon = _points(paths[part])
        sea = sea_at(lat, lon)
        mild = is_warm(lat, lon)
        cold[part] = (sea & ~mild).mean(axis=1)
        warm[part] = (sea & mild).mean(axis=1)
    where = np.ravel(back)
    return cold[where], warm[where]


def is_warm(lat_deg: FloatColumn, lon_deg: FloatColumn) -> npt.NDArray[np.bool_]:
    """Say where a sea would be warm, in the same shape."""
    warm = np.abs(lat_deg) <= _TROPIC_DEG
    for south, north, west, east in _WARM_SEAS:
        warm |= (lat_deg >= south) & (lat_deg <= north) & (lon_deg >= west) & (lon_deg <= east)
    return np.asarray(warm)


def _points(ends: FloatColumn) -> tuple[FloatColumn, FloatColumn]:
    """Return points along great circles [deg], (n, SAMPLES)."""
    lat_1, lon_1, lat_2, lon_2 = np.radians(ends.T)
    start, stop = _unit(lat_1, lon_1), _unit(lat_2, lon_2)
    angle = np.arctan2(
        np.linalg.norm(np.cross(start, stop), axis=1), np.einsum("ij,ij->i", start, stop)
    )
    way = (np.arange(SAMPLES) + 0.5) / SAMPLES
    wide = np.maximum(angle, 1e-12)[:, None]
    before, after = np.sin((1 - way) * wide) / np.sin(wide), np.sin(way * wide) / np.sin(wide)
    at = before[..., None] * start[:, None, :] + after[..., None] * stop[:, None, :]
    lat = np.arctan2(at[..., 2], np.hypot(at[..., 0], at[..., 1]))
    return np.degrees(lat), np.degrees(np.arctan2(at[..., 1], at[..., 0]))


def _unit(lat: FloatColumn, lon: FloatColumn) -> FloatColumn:
    return np.stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)], axis=1)
