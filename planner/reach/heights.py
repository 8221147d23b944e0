"""The height above average terrain that is taken where a table gives none."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.geodesy import pairs_within

if TYPE_CHECKING:
    import numpy.typing as npt

    from planner.records import StationTable

    FloatColumn = npt.NDArray[np.float64]
    IntColumn = npt.NDArray[np.int64]
    BoolColumn = npt.NDArray[np.bool_]

_ASSUMED_HAAT_M = 300.0
"""HAAT taken where nothing better is known [m]; our own choice, see :func:`assumed_haat_m`."""
_GROUND_RADIUS_KM = 80.0
"""How far a neighbour's average terrain is believed [km]; our own choice, see there."""


def assumed_haat_m(stations: StationTable) -> tuple[FloatColumn, BoolColumn]:
    """Return the HAAT to use for every station, and where it had to be assumed.

    Parameters
    ----------
    stations : StationTable
        n stations.

    Returns
    -------
    haat_m : (n,) float64
        As given; else ``max(min(h, 300 m), h - g)`` with h the radiation centre above sea
        level and g the lowest average terrain (``antenna_amsl_m - haat_m``) among stations of
        the table within 80 km that give both; without h, 300 m or the height above ground
        where that is greater.
    assumed : (n,) bool
        True where it was assumed.

    Notes
    -----
    A planning assumption, meant to lie on the high and therefore safe side. Tried on the 1,698
    rows of the FCC table of 2017 that give a HAAT, with neighbours nearer than 1 km left out: the
    median lies 28 m above the true figure and 92 % are not more than 20 m below it, the worst is
    624 m below (a mountain that stands alone). It is always flagged. Adding a station can only
    raise it, so a fuller table never frees spectrum.
    """
    haat = stations.haat_m.copy()
    assumed = np.isnan(haat)
    if not assumed.any():
        return haat, assumed
    amsl = _centre_amsl_m(stations)
    agl = np.nan_to_num(stations.height_agl_m, nan=0.0)
    base = np.where(np.isnan(amsl), np.maximum(_ASSUMED_HAAT_M, agl), amsl)
    base = np.where(np.isnan(amsl), base, np.minimum(base, _ASSUMED_HAAT_M))
    known = np.flatnonzero(~assumed & ~np.isnan(amsl))
    wanted = np.flatnonzero(assumed & ~np.isnan(amsl))
    estimate = base[wanted].copy()
    if known.size and wanted.size:
        near_wanted, near_known = pairs_within(
            stations.lat_deg[wanted],
            stations.lon_deg[wanted],
            stations.lat_deg[known],
            stations.lon_deg[known],
            _GROUND_RADIUS_KM,
        )
        ground = amsl[known[near_known]] - stations.haat_m[known[near_known]]
        np.maximum.at(estimate, near_wanted, amsl[wanted[near_wanted]] - ground)
    haat[assumed] = base[assumed]
    haat[wanted] = estimate
    return haat, assumed


def haat_toward_m(
    stations: StationTable, station: IntColumn, azimuth_deg: FloatColumn, haat_m: FloatColumn
) -> FloatColumn:
    """Return the height above average terrain along azimuths.

    Parameters
    ----------
    stations : StationTable
        n stations.
    station : int64 array
        Which station; broadcast against the azimuths.
    azimuth_deg : float64 array
        Direction at the transmitter [deg].
    haat_m : (n,) float64
        Height where no radials are known [m].

    Returns
    -------
    float64 array
        Between two radials along a straight line [m], in the common shape.
    """
    which, azimuth = np.broadcast_arrays(station, azimuth_deg)
    found = np.array(haat_m[which], dtype=np.float64)
    curve = stations.haat_curve[which]
    by_radial = curve >= 0
    found[by_radial] = stations.radial_haats.at(curve[by_radial], azimuth[by_radial])
    return found


def path_height_m(
    stations: StationTable, station: IntColumn, haat_m: FloatColumn, sea_share: FloatColumn
) -> FloatColumn:
    """Return the effective height for paths of land and sea, where HAAT had to be assumed.

    Parameters
    ----------
    stations : StationTable
        n stations.
    station : (p,) int64
        Which station.
    haat_m : (p,) float64
        HAAT, given or assumed [m].
    sea_share : (p,) float64
        Share of the path over the sea, 0 to 1.

    Returns
    -------
    (p,) float64
        HAAT as given [m]; an assumed one runs with the share of sea to the height above sea level,
        where that is known and greater: over the sea the ground is sea level. Our own choice.
    """
    amsl = _centre_amsl_m(stations)[station]
    given = ~np.isnan(stations.haat_m[station]) | (stations.haat_curve[station] >= 0)
    above = np.where(given | np.isnan(amsl), haat_m, np.fmax(amsl, haat_m))
    return np.asarray(haat_m + sea_share * (above - haat_m))


def _centre_amsl_m(stations: StationTable) -> FloatColumn:
    """Return the radiation centre above sea level [m], NaN where unknown."""
    return np.where(
        np.isnan(stations.antenna_amsl_m),
        stations.site_amsl_m + stations.height_agl_m,
        stations.antenna_amsl_m,
    )
