"""What arrives at each stop, from where, how strong: columnar over stops x stations."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength import r6602
from planner.geodesy import inverse, outside_distance_km, pairs_within

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.records import StationTable, Stop
    from planner.rules import CountryRules

    FloatColumn = npt.NDArray[np.float64]
    IntColumn = npt.NDArray[np.int64]
    BoolColumn = npt.NDArray[np.bool_]

MODEL_LIMIT_KM = 500.0
"""Beyond this F(50,10) gives no figure (FCC practice), so nothing is said to arrive."""
TV_SERVICES = ("full", "class-a", "low-power", "translator", "booster")
"""Services whose contours the microphone rules protect."""
ON_AIR_STATUS = ("on-air", "permit")
"""Statuses that count as transmitting during the tour."""
_LOCATION_SIGMA_DB = 5.5
"""Location variability of wideband digital TV [dB] (ITU-R BT.2033-2, GE06)."""
_NORMAL_DEVIATE_10 = 1.28155
_ASSUMED_HAAT_M = 300.0
"""HAAT taken where nothing better is known [m]; our own choice, see :func:`assumed_haat_m`."""
_GROUND_RADIUS_KM = 80.0
"""How far a neighbour's average terrain is believed [km]; our own choice, see there."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ReachTable:
    """One row for every stop and transmitter within the model's range; read-only columns.

    Attributes
    ----------
    stop, station : (n,) int64
        Indices into the stops and the station table; ascending by stop, then station.
    distance_km, bearing_from_stop_deg, azimuth_from_transmitter_deg : (n,) float64
        WGS84 geodesic.
    erp_toward_stop_kw : (n,) float64
        ERP on that azimuth [kW]; non-directional: the greatest.
    haat_m : (n,) float64
        Height above average terrain used [m].
    haat_assumed : (n,) bool
        True where the table gives no HAAT and :func:`assumed_haat_m` was used.
    field_50_50_dbuv_m, field_50_10_dbuv_m : (n,) float64
        FCC curve fields at 9 m [dB(uV/m)]; NaN outside the curves' range of distance (300 and
        500 km) or frequency (54 to 890 MHz).
    sigma_db : (n,) float64
        One standard deviation over places and time [dB].
    contour_law_km, contour_cautious_km : (n,) float64
        Contour radius on the azimuth to the stop, without the margin; NaN where the service
        has no protected contour.
    outside_law_km, outside_cautious_km : (n,) float64
        Least distance from the stop to the contour polygon, negative inside; NaN likewise.
    """

    stop: IntColumn
    station: IntColumn
    distance_km: FloatColumn
    bearing_from_stop_deg: FloatColumn
    azimuth_from_transmitter_deg: FloatColumn
    erp_toward_stop_kw: FloatColumn
    haat_m: FloatColumn
    haat_assumed: BoolColumn
    field_50_50_dbuv_m: FloatColumn
    field_50_10_dbuv_m: FloatColumn
    sigma_db: FloatColumn
    contour_law_km: FloatColumn
    contour_cautious_km: FloatColumn
    outside_law_km: FloatColumn
    outside_cautious_km: FloatColumn

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            getattr(self, field.name).setflags(write=False)

    def __len__(self) -> int:
        return len(self.stop)


def is_tv(stations: StationTable) -> BoolColumn:
    """Say which stations are TV: a TV service, or an unnamed one on a TV channel."""
    named = np.isin(stations.service, TV_SERVICES)
    unnamed = np.isin(stations.service, ("", "other")) & (stations.channel != "")
    return np.asarray(named | unnamed, dtype=np.bool_)


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
    amsl = np.where(
        np.isnan(stations.antenna_amsl_m),
        stations.site_amsl_m + stations.height_agl_m,
        stations.antenna_amsl_m,
    )
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


def compute_reach(
    stops: Sequence[Stop], stations: StationTable, rules: Sequence[CountryRules]
) -> ReachTable:
    """Return what reaches each stop.

    Parameters
    ----------
    stops : sequence of Stop
        m stops.
    stations : StationTable
        n stations; those off the air and applications are left out.
    rules : sequence of CountryRules
        Rules of each stop's country, which set the contour levels.

    Returns
    -------
    ReachTable
        Pairs within 500 km. A spatial prefilter compares straight chords, which are never
        longer than geodesics, so no pair within the range is lost.

    References
    ----------
    FCC Report R-6602 curves (47 CFR 73.699); contours by 47 CFR 73.684.
    """
    used = np.flatnonzero(counts_as_transmitting(stations))
    stop_lat = np.array([stop.lat_deg for stop in stops])
    stop_lon = np.array([stop.lon_deg for stop in stops])
    near_stop, near_used = pairs_within(
        stop_lat, stop_lon, stations.lat_deg[used], stations.lon_deg[used], MODEL_LIMIT_KM
    )
    order = np.lexsort((used[near_used], near_stop))
    i, j = near_stop[order], used[near_used[order]]
    distance, bearing, azimuth = inverse(
        stop_lat[i], stop_lon[i], stations.lat_deg[j], stations.lon_deg[j]
    )
    keep = (distance <= MODEL_LIMIT_KM) & valid_at(stations, stops)[i, j]
    i, j = i[keep], j[keep]
    distance, bearing, azimuth = distance[keep], bearing[keep], azimuth[keep]
    haat_all, assumed_all = assumed_haat_m(stations)
    haat, erp = haat_all[j], stations.erp_kw[j]
    centre_hz = (stations.low_hz[j] + stations.high_hz[j]) // 2
    field_50, field_10 = (
        _field(curve, centre_hz, haat_m=haat, distance_km=distance, erp_kw=erp)
        for curve in ("F(50,50)", "F(50,10)")
    )
    time_sigma = np.nan_to_num(field_10 - field_50, nan=0.0) / _NORMAL_DEVIATE_10
    contours = _contours(i, j, stations, rules, haat)
    return ReachTable(
        stop=i,
        station=j,
        distance_km=distance,
        bearing_from_stop_deg=bearing,
        azimuth_from_transmitter_deg=azimuth,
        erp_toward_stop_kw=erp,
        haat_m=haat,
        haat_assumed=assumed_all[j],
        field_50_50_dbuv_m=field_50,
        field_50_10_dbuv_m=field_10,
        sigma_db=np.hypot(_LOCATION_SIGMA_DB, time_sigma),
        contour_law_km=contours[0],
        contour_cautious_km=contours[1],
        outside_law_km=_outside(distance, azimuth, contours[0]),
        outside_cautious_km=_outside(distance, azimuth, contours[1]),
    )


def _in_curves(stations: StationTable) -> BoolColumn:
    """Say which stations lie in the frequency range of the FCC curves."""
    centre_hz = (stations.low_hz + stations.high_hz) // 2
    return np.asarray(
        (centre_hz >= r6602.LOWEST_HZ) & (centre_hz <= r6602.HIGHEST_HZ), dtype=np.bool_
    )


def _field(
    curve: str,
    frequency_hz: IntColumn,
    *,
    haat_m: FloatColumn,
    distance_km: FloatColumn,
    erp_kw: FloatColumn,
) -> FloatColumn:
    """Return the field of each pair [dB(uV/m)], NaN where the curves do not reach in frequency."""
    rows = (frequency_hz >= r6602.LOWEST_HZ) & (frequency_hz <= r6602.HIGHEST_HZ)
    field = np.full(len(frequency_hz), np.nan)
    if rows.any():
        field[rows] = r6602.field_dbuv_m(
            curve,
            frequency_hz[rows],
            haat_m=haat_m[rows],
            distance_km=distance_km[rows],
            erp_kw=erp_kw[rows],
        )
    return field


def counts_as_transmitting(stations: StationTable) -> BoolColumn:
    """Say which rows are on the air or have a permit."""
    return np.isin(stations.status, ON_AIR_STATUS)


def valid_at(stations: StationTable, stops: Sequence[Stop]) -> BoolColumn:
    """Say for every stop and station whether the row is valid on a day of the stop, (m, n)."""
    first = np.array([stop.first_date for stop in stops], dtype="datetime64[D]")[:, None]
    last = np.array([stop.last_date for stop in stops], dtype="datetime64[D]")[:, None]
    begun = np.isnat(stations.valid_from) | (stations.valid_from <= last)
    not_over = np.isnat(stations.valid_to) | (first <= stations.valid_to)
    return np.asarray(begun & not_over, dtype=np.bool_)


def _contours(
    stop: IntColumn,
    station: IntColumn,
    stations: StationTable,
    rules: Sequence[CountryRules],
    haat_m: FloatColumn,
) -> tuple[FloatColumn, FloatColumn]:
    """Return law and cautious contour radius of each pair [km], once a station and country."""
    law = np.full(len(stop), np.nan)
    cautious = np.full(len(stop), np.nan)
    tv = is_tv(stations)
    by_country: dict[str, tuple[CountryRules, list[int]]] = {}
    for index, country in enumerate(rules):
        by_country.setdefault(country.code, (country, []))[1].append(index)
    for country, members in by_country.values():
        pairs = np.flatnonzero(np.isin(stop, members) & tv[station] & _in_curves(stations)[station])
        which, first, back = np.unique(station[pairs], return_index=True, return_inverse=True)
        if not which.size:
            continue
        centre_hz = (stations.low_hz[which] + stations.high_hz[which]) // 2
        levels = country.contour_levels(centre_hz, stations.system[which])
        for target, level in ((law, levels.law_dbuv_m), (cautious, levels.cautious_dbuv_m)):
            radius = np.empty(len(which))
            for curve in np.unique(levels.curve):
                rows = levels.curve == curve
                radius[rows] = r6602.contour_distance_km(
                    str(curve),
                    centre_hz[rows],
                    haat_m=haat_m[pairs[first]][rows],
                    field_dbuv_m=level[rows],
                    erp_kw=stations.erp_kw[which][rows],
                )
            target[pairs] = radius[back]
    return law, cautious


def _outside(
    distance_km: FloatColumn, azimuth_deg: FloatColumn, radius_km: FloatColumn
) -> FloatColumn:
    """Return the signed distance to a non-directional contour's polygon, NaN without one."""
    outside = np.full(len(distance_km), np.nan)
    rows = np.flatnonzero(~np.isnan(radius_km))
    if rows.size:
        outside[rows] = outside_distance_km(
            distance_km[rows], azimuth_deg[rows], radius_km[rows][:, None]
        )
    return outside
