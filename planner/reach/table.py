"""What arrives at each stop, from where, how strong: columnar over stops x stations."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength import r6602
from planner.field_strength.height import FCC_CURVE_HEIGHT_M
from planner.geodesy import inverse, pairs_within
from planner.reach.by_p1546 import FIELD_HEIGHT_M, stops_by_p1546, world_paths
from planner.reach.contours import Pairs, compute_contours
from planner.reach.heights import assumed_haat_m, haat_toward_m
from planner.reach.patterns import relative_field
from planner.reach.selection import counts_as_transmitting, valid_at
from planner.reach.terrain import terrain_height_m

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
_LOCATION_SIGMA_DB = 5.5
"""Location variability of wideband digital TV [dB] (ITU-R BT.2033-2, GE06)."""
_NORMAL_DEVIATE_10 = 1.28155


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
        ERP on that azimuth [kW]: the greatest, times the square of the pattern's relative field
        (not below :data:`~planner.reach.patterns.LEAST_RELATIVE_FIELD`).
    haat_m : (n,) float64
        Height above average terrain used [m]; of the radial toward the stop where known, the
        effective height of the path where P.1546 serves and it was assumed, or an elevation file
        tells the ground.
    haat_assumed : (n,) bool
        True where the table gives no HAAT and :func:`assumed_haat_m` was used; all columns then
        stand for the cautious bound, unless the other was asked for.
    field_50_50_dbuv_m, field_50_10_dbuv_m : (n,) float64
        At stops of the FCC countries the FCC curves' fields [dB(uV/m)], NaN outside their range of
        distance (300 and 500 km) or frequency (54 to 890 MHz); elsewhere those of ITU-R P.1546-6
        along the path's land and sea, 50 % of places, 50 and 10 % of time.
    field_interference_dbuv_m : (n,) float64
        The field that disturbs [dB(uV/m)]: the second of them, or that of the share of time asked
        for where P.1546 gives it.
    field_height_m : (n,) float64
        Height above ground for which the two fields stand [m]: 9 (FCC) or 10.
    sigma_db : (n,) float64
        One standard deviation over places and time [dB].
    contour_law_km, contour_cautious_km : (n,) float64
        Contour radius on the azimuth to the stop, without the margin; NaN where the service
        has no protected contour.
    outside_law_km, outside_cautious_km : (n,) float64
        Least distance from the stop to the contour polygon, negative inside; NaN likewise. Sites
        of one group count united: each has the least figure of all of them. That is exact outside
        the union and right in sign inside it, where the depth is a lower bound. Beyond 60 km of a
        directional contour it is the distance to the circle round it, a lower bound too.
    polygon : (n,) int64
        Row of the radii below, -1 where the contour is a circle, or a directional one that lies
        more than 60 km away.
    law_radii_km, cautious_radii_km : (k, 360) float64
        Contours of directional stations at azimuths 0, 1, ... 359 degrees [km].
    field_model, interference_time_percent : str, float
        Whose curves and which share of time were asked for, see
        :class:`~planner.records.Settings`.
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
    field_interference_dbuv_m: FloatColumn
    field_height_m: FloatColumn
    sigma_db: FloatColumn
    contour_law_km: FloatColumn
    contour_cautious_km: FloatColumn
    outside_law_km: FloatColumn
    outside_cautious_km: FloatColumn
    polygon: IntColumn
    law_radii_km: FloatColumn
    cautious_radii_km: FloatColumn
    field_model: str = "auto"
    interference_time_percent: float = 10.0

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            column = getattr(self, field.name)
            if isinstance(column, np.ndarray):
                column.setflags(write=False)

    def __len__(self) -> int:
        return len(self.stop)


def compute_reach(
    stops: Sequence[Stop],
    stations: StationTable,
    rules: Sequence[CountryRules],
    *,
    level_ground: bool = False,
    field_model: str = "auto",
    interference_time_percent: float = 10.0,
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
    level_ground : bool
        Which bound of the heights that had to be assumed, see :func:`assumed_haat_m`: the
        cautious one decides, see :func:`planner.reach.bounds.level_ground_reach` for the other.
    field_model, interference_time_percent : str, float
        Of :class:`~planner.records.Settings`; the FCC's curves know 10 % only.

    Returns
    -------
    ReachTable
        Pairs within 500 km. A spatial prefilter compares straight chords, which are never
        longer than geodesics, so no pair within the range is lost.

    References
    ----------
    FCC Report R-6602 curves (47 CFR 73.699); contours by 47 CFR 73.684; power toward an azimuth
    from the relative field of the horizontal pattern (47 CFR 73.685(f)). Outside the FCC
    countries Recommendation ITU-R P.1546-6 (2019), annex 5, unless another model is asked for.
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
    haat_all, assumed_all = assumed_haat_m(stations, level_ground=level_ground)
    haat = haat_toward_m(stations, j, azimuth, haat_all)
    erp = stations.erp_kw[j] * relative_field(stations, j, azimuth) ** 2
    centre_hz = (stations.low_hz[j] + stations.high_hz[j]) // 2
    field_50, field_10 = (
        _field(curve, centre_hz, haat_m=haat, distance_km=distance, erp_kw=erp)
        for curve in ("F(50,50)", "F(50,10)")
    )
    by_world = stops_by_p1546(rules, field_model)[i]
    world = np.flatnonzero(by_world)
    haat[world] = terrain_height_m(stations, j[world], azimuth[world], distance[world], haat[world])
    paths = world_paths(
        stops,
        stations,
        (i[world], j[world]),
        distance_km=distance[world],
        haat_m=haat[world],
        erp_kw=erp[world],
        level_ground=level_ground,
    )
    assumed = assumed_all[j] & (stations.haat_curve[j] < 0)
    haat[world] = np.where(assumed[world], paths.height_m, haat[world])
    field_50[world] = paths.field_dbuv_m(time_percent=50.0)
    field_10[world] = paths.field_dbuv_m(time_percent=10.0)
    disturbing = field_10.copy()
    if interference_time_percent != 10.0:
        disturbing[world] = paths.field_dbuv_m(time_percent=interference_time_percent)
    time_sigma = np.nan_to_num(field_10 - field_50, nan=0.0) / _NORMAL_DEVIATE_10
    planned = by_world & stops_by_p1546(rules)[i]  # no rule of their own defines a contour
    contours = compute_contours(
        Pairs(stop=i, station=j, distance_km=distance, azimuth_deg=azimuth),
        stations=stations,
        rules=rules,
        haat_m=haat_all,
        world=(np.flatnonzero(planned), paths.at(planned[world])),
    )
    return ReachTable(
        stop=i,
        station=j,
        distance_km=distance,
        bearing_from_stop_deg=bearing,
        azimuth_from_transmitter_deg=azimuth,
        erp_toward_stop_kw=erp,
        haat_m=haat,
        haat_assumed=assumed,
        field_50_50_dbuv_m=field_50,
        field_50_10_dbuv_m=field_10,
        field_interference_dbuv_m=disturbing,
        field_height_m=np.where(by_world, FIELD_HEIGHT_M, FCC_CURVE_HEIGHT_M),
        sigma_db=np.hypot(_LOCATION_SIGMA_DB, time_sigma),
        contour_law_km=contours.law.radius_km,
        contour_cautious_km=contours.cautious.radius_km,
        outside_law_km=contours.law.outside_km,
        outside_cautious_km=contours.cautious.outside_km,
        polygon=contours.polygon,
        law_radii_km=contours.law.radii_km,
        cautious_radii_km=contours.cautious.radii_km,
        field_model=field_model,
        interference_time_percent=interference_time_percent,
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
