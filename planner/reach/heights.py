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

_LEAST_ASSUMED_M = 300.0
"""Least HAAT assumed where the radiation centre lies that high above the sea [m]; our own."""
_NOTHING_KNOWN_M = 800.0
"""HAAT taken where the height above sea level is not known either [m]; our own choice: 19 of 20
full-power rows of the FCC table of 2017 give less than 818 m."""
_GROUND_RADIUS_KM = 80.0
"""How far a neighbour's average terrain is believed [km]; our own choice, see there."""
_LEVEL_GROUND_M = 30.0
"""Height on level ground where the table gives none above ground [m]: the least of the FCC's
curves."""


def assumed_haat_m(
    stations: StationTable, *, level_ground: bool = False
) -> tuple[FloatColumn, BoolColumn]:
    """Return the HAAT to use for every station, and where it had to be assumed.

    Parameters
    ----------
    stations : StationTable
        n stations.
    level_ground : bool
        False: the cautious bound, which decides. True: the other one, as if every such mast
        stood on level ground.

    Returns
    -------
    haat_m : (n,) float64
        As given; else, cautious, ``max(min(h, 300 m), h - g)`` with h the radiation centre above
        sea level and g the lowest average terrain (``antenna_amsl_m - haat_m``) among stations of
        the table within 80 km that give both; h itself where none does; 800 m without h; the
        height above ground where that is greater. On level ground the height above ground, 30 m
        where it is not given, never more than the cautious bound.
    assumed : (n,) bool
        True where it was assumed.

    Notes
    -----
    The cautious bound is meant to lie on the high and therefore safe side; it is always flagged.
    h is a true bound wherever the ground lies above the sea, and :func:`path_height_m` takes it
    outside the FCC countries. Under the FCC's curves, where nearly every full-power row gives its
    HAAT, h alone would be useless on high plains: there neighbours tell the ground. Tried on the
    1,698 rows of the FCC table of 2017 that give a HAAT, with neighbours nearer than 1 km left
    out: the median lies 35 m above the true figure, 96 % are not more than 20 m below it, the
    worst is 492 m below (a mountain that stands alone). Where neighbours tell the ground already,
    adding a station can only raise it.

    Level ground is no true lower bound: a mast in a valley has a lower effective height yet.
    """
    haat = stations.haat_m.copy()
    assumed = np.isnan(haat)
    if assumed.any():
        cautious = _cautious_m(stations, assumed)
        above = np.where(np.isnan(stations.height_agl_m), _LEVEL_GROUND_M, stations.height_agl_m)
        haat[assumed] = (np.fmin(above, cautious) if level_ground else cautious)[assumed]
    return haat, assumed


def _cautious_m(stations: StationTable, assumed: BoolColumn) -> FloatColumn:
    """Return the cautious bound of every station, of use where ``assumed`` [m]."""
    amsl = centre_amsl_m(stations)
    base = np.fmin(amsl, _LEAST_ASSUMED_M)
    estimate = np.where(np.isnan(amsl), _NOTHING_KNOWN_M, amsl)
    known = np.flatnonzero(~assumed & ~np.isnan(amsl))
    wanted = np.flatnonzero(assumed & ~np.isnan(amsl))
    if known.size and wanted.size:
        near_wanted, near_known = pairs_within(
            stations.lat_deg[wanted],
            stations.lon_deg[wanted],
            stations.lat_deg[known],
            stations.lon_deg[known],
            _GROUND_RADIUS_KM,
        )
        ground = amsl[known[near_known]] - stations.haat_m[known[near_known]]
        told = np.full(len(wanted), -np.inf)
        np.maximum.at(told, near_wanted, amsl[wanted[near_wanted]] - ground)
        by_ground = np.isfinite(told)
        estimate[wanted[by_ground]] = np.maximum(base[wanted], told)[by_ground]
    return np.asarray(np.fmax(estimate, stations.height_agl_m))


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
    stations: StationTable,
    station: IntColumn,
    haat_m: FloatColumn,
    sea_share: FloatColumn,
    *,
    level_ground: bool = False,
) -> FloatColumn:
    """Return the effective height for P.1546 paths, where HAAT had to be assumed.

    Parameters
    ----------
    stations : StationTable
        n stations.
    station : (p,) int64
        Which station.
    haat_m : (p,) float64
        HAAT, given or assumed by :func:`assumed_haat_m` [m].
    sea_share : (p,) float64
        Share of the path over the sea, 0 to 1.
    level_ground : bool
        As in :func:`assumed_haat_m`.

    Returns
    -------
    (p,) float64
        HAAT as given [m]. An assumed one is the height above sea level where that is known, as if
        all ground toward the stop lay at sea level (no ground above the sea makes it greater), or
        the height above ground where the mast stands below the sea. On level ground it runs to
        that height with the share of sea. Our own choice.

    References
    ----------
    Recommendation ITU-R P.1546-6 (2019), annex 5, section 3: effective height over the average
    ground 3 to 15 km away in the direction of the receiver.
    """
    amsl = centre_amsl_m(stations)[station]
    given = ~np.isnan(stations.haat_m[station]) | (stations.haat_curve[station] >= 0)
    above = np.where(given | np.isnan(amsl), haat_m, np.fmax(amsl, stations.height_agl_m[station]))
    if not level_ground:
        return np.asarray(above)
    return np.asarray(haat_m + sea_share * np.fmax(above - haat_m, 0.0))


def centre_amsl_m(stations: StationTable) -> FloatColumn:
    """Return the radiation centre above sea level [m], NaN where unknown, (n,)."""
    return np.where(
        np.isnan(stations.antenna_amsl_m),
        stations.site_amsl_m + stations.height_agl_m,
        stations.antenna_amsl_m,
    )
