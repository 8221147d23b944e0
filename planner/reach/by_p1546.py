"""What reaches stops outside the FCC countries: fields and contours by ITU-R P.1546-6."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength import p1546
from planner.reach.heights import path_height_m
from planner.reach.sea_paths import sea_shares
from planner.rules.television import held_level_dbuv_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.records import StationTable, Stop
    from planner.rules import CountryRules

    FloatColumn = npt.NDArray[np.float64]
    IntColumn = npt.NDArray[np.int64]

__all__ = [
    "FCC_COUNTRIES",
    "FIELD_HEIGHT_M",
    "WorldPaths",
    "held_level_dbuv_m",
    "stops_by_p1546",
    "world_paths",
]

FCC_COUNTRIES = frozenset({"US", "CA", "MX"})
"""Countries whose rules, or whose agreements with the United States, stand on the FCC's curves."""
FIELD_HEIGHT_M = p1546.CURVE_HEIGHT_M
_FARTHEST_KM = 500.0
_HALVINGS = 34
"""Halvings of 500 km: below a tenth of a millimetre."""


def stops_by_p1546(
    rules: Sequence[CountryRules], field_model: str = "auto"
) -> npt.NDArray[np.bool_]:
    """Say at which stops P.1546 gives the fields.

    Parameters
    ----------
    rules : sequence of CountryRules
        One a stop.
    field_model : str
        As in :class:`~planner.records.Settings`: ``"auto"`` asks whether the country's rules use
        the FCC's curves, the others are the same everywhere.
    """
    if field_model != "auto":
        return np.full(len(rules), field_model == "p1546")
    return np.array([country.code not in FCC_COUNTRIES for country in rules], dtype=np.bool_)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class WorldPaths:
    """Paths from stations to stops, in columns of one length.

    Attributes
    ----------
    frequency_hz, height_m, erp_kw, distance_km : (p,) float64
        Channel centre [Hz], effective height held inside the model [m], ERP toward the stop [kW],
        length [km].
    cold, warm : (p,) float64
        Shares over cold and warm sea.
    """

    frequency_hz: FloatColumn
    height_m: FloatColumn
    erp_kw: FloatColumn
    distance_km: FloatColumn
    cold: FloatColumn
    warm: FloatColumn

    def field_dbuv_m(
        self, *, time_percent: float, distance_km: FloatColumn | None = None
    ) -> FloatColumn:
        """Return the field at 10 m, 50 % of places; NaN outside 30 MHz to 4 GHz.

        Parameters
        ----------
        time_percent : float
            1 to 50.
        distance_km : (p,) float64, optional
            Instead of each path's own, its shares of sea kept [km].
        """
        inside = (self.frequency_hz >= p1546.LOWEST_HZ) & (self.frequency_hz <= p1546.HIGHEST_HZ)
        inside &= self.erp_kw > 0.0
        field = np.full(len(self.frequency_hz), np.nan)
        distance = self.distance_km if distance_km is None else distance_km
        field[inside] = p1546.field_dbuv_m(
            self.frequency_hz[inside],
            p1546.Paths(
                distance_km=distance[inside],
                effective_height_m=self.height_m[inside],
                cold_sea_share=self.cold[inside],
                warm_sea_share=self.warm[inside],
            ),
            time_percent=time_percent,
            erp_kw=self.erp_kw[inside],
        )
        return field

    def at(self, which: npt.NDArray[np.bool_]) -> WorldPaths:
        """Return some of the paths."""
        return WorldPaths(
            **{field.name: getattr(self, field.name)[which] for field in dataclasses.fields(self)}
        )

    def radius_km(self, level_dbuv_m: FloatColumn, *, halvings: int = _HALVINGS) -> FloatColumn:
        """Return where the median field falls to a level, the shares of sea kept [km].

        Parameters
        ----------
        level_dbuv_m : (p,) float64
            NaN gives NaN.
        halvings : int
            Of 500 km.

        Returns
        -------
        (p,) float64
            0 where even at the mast it stays below, 500 where it is still above.
        """
        low = np.zeros(len(self.distance_km))
        high = np.full(len(self.distance_km), _FARTHEST_KM)
        for _ in range(halvings):
            middle = 0.5 * (low + high)
            above = self.field_dbuv_m(time_percent=50.0, distance_km=middle) >= level_dbuv_m
            low, high = np.where(above, middle, low), np.where(above, high, middle)
        return np.where(np.isnan(level_dbuv_m), np.nan, low)


def world_paths(  # noqa: PLR0913 - columns of the pairs, all named
    stops: Sequence[Stop],
    stations: StationTable,
    pairs: tuple[IntColumn, IntColumn],
    *,
    distance_km: FloatColumn,
    haat_m: FloatColumn,
    erp_kw: FloatColumn,
    level_ground: bool = False,
) -> WorldPaths:
    """Return the paths of pairs of stop and station, land and sea told apart.

    Parameters
    ----------
    stops : sequence of Stop
        m stops.
    stations : StationTable
        n stations.
    pairs : two (p,) int64 arrays
        Indices of stop and station.
    distance_km, haat_m, erp_kw : (p,) float64
        Of each pair.
    level_ground : bool
        Which bound of heights, see :func:`~planner.reach.heights.assumed_haat_m`.
    """
    stop, station = pairs
    lat = np.array([place.lat_deg for place in stops])
    lon = np.array([place.lon_deg for place in stops])
    cold, warm = sea_shares(
        stations.lat_deg[station], stations.lon_deg[station], lat[stop], lon[stop]
    )
    height = path_height_m(stations, station, haat_m, cold + warm, level_ground=level_ground)
    return WorldPaths(
        frequency_hz=((stations.low_hz[station] + stations.high_hz[station]) // 2).astype(float),
        height_m=np.clip(height, -p1546.GREATEST_HEIGHT_M, p1546.GREATEST_HEIGHT_M),
        erp_kw=erp_kw,
        distance_km=distance_km,
        cold=cold,
        warm=warm,
    )
