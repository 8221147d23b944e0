"""Protected contours: radius toward each stop, and how far the stop lies outside the polygon.

Contours are made once a station, not once a pair: 360 radials for a directional station (or one
whose height is known by radial) that can come near a stop, a circle for the others.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength import p1546, r6602
from planner.field_strength.height import FCC_CURVE_HEIGHT_M, height_correction_db
from planner.geodesy import RADIALS, outside_distance_km
from planner.reach.heights import haat_toward_m
from planner.reach.patterns import relative_field
from planner.reach.selection import in_curves, is_tv
from planner.reach.world_contours import world_contours

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.reach.by_p1546 import WorldPaths
    from planner.records import StationTable
    from planner.rules import CountryRules

    FloatColumn = npt.NDArray[np.float64]
    IntColumn = npt.NDArray[np.int64]

_MEDIAN_CURVE = "F(50,50)"
NEAR_KM = 60.0
"""A directional contour is drawn where its circle comes this near to a stop [km]."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Pairs:
    """Stops and stations within reach, in columns of one length p.

    Attributes
    ----------
    stop, station : (p,) int64
        Indices.
    distance_km, azimuth_deg : (p,) float64
        Of the stop as seen from the station.
    """

    stop: IntColumn
    station: IntColumn
    distance_km: FloatColumn
    azimuth_deg: FloatColumn


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Contour:
    """One of the two contours for every pair.

    Attributes
    ----------
    radius_km, outside_km : (p,) float64
        Along the azimuth to the stop; least distance to the polygon; NaN without a contour.
    radii_km : (k, 360) float64
        The polygons.
    """

    radius_km: FloatColumn
    outside_km: FloatColumn
    radii_km: FloatColumn


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Contours:
    """Both contours; ``polygon`` is the row of ``radii_km`` of each pair, -1 for none."""

    law: Contour
    cautious: Contour
    polygon: IntColumn


@dataclasses.dataclass(slots=True)
class _Columns:
    """What is filled in country by country: law and cautious side by side on the first axis."""

    radius_km: FloatColumn
    outside_km: FloatColumn
    polygon: IntColumn
    radii_km: list[FloatColumn]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Sources:
    """Stations of one country's rules: index, centre frequency [Hz], height [m], level, curve."""

    station: IntColumn
    centre_hz: FloatColumn
    haat_m: FloatColumn
    levels_dbuv_m: FloatColumn
    curve: npt.NDArray[np.str_]


def compute_contours(
    pairs: Pairs,
    *,
    stations: StationTable,
    rules: Sequence[CountryRules],
    haat_m: FloatColumn,
    world: tuple[IntColumn, WorldPaths],
) -> Contours:
    """Return law and cautious contours toward each stop.

    Parameters
    ----------
    pairs : Pairs
        p pairs.
    stations : StationTable
        n stations.
    rules : sequence of CountryRules
        Of each stop: they set the levels, for foreign stations too.
    haat_m : (n,) float64
        Height above average terrain where no radials are known [m].
    world : (w,) int64 and WorldPaths
        Pairs at stops outside the FCC countries, and their paths; see
        :mod:`planner.reach.world_contours`.
    """
    count = len(pairs.stop)
    columns = _Columns(
        radius_km=np.full((2, count), np.nan),
        outside_km=np.full((2, count), np.nan),
        polygon=np.full(count, -1, dtype=np.int64),
        radii_km=[np.empty((2, 0, RADIALS))],
    )
    served = np.ones(count, dtype=np.bool_)
    served[world[0]] = False
    television = is_tv(stations) & in_curves(stations)
    by_country: dict[str, tuple[CountryRules, list[int]]] = {}
    for index, country in enumerate(rules):
        by_country.setdefault(country.code, (country, []))[1].append(index)
    for country, members in by_country.values():
        rows = np.flatnonzero(np.isin(pairs.stop, members) & television[pairs.station] & served)
        if rows.size:
            _of_country(columns, rows, pairs, stations=stations, country=country, haat_m=haat_m)
    _of_the_world(columns, pairs, world, stations=stations, rules=rules, haat_m=haat_m)
    for outside in columns.outside_km:
        _unite_groups(outside, pairs, stations)
    radii = np.concatenate(columns.radii_km, axis=1)
    law, cautious = (
        Contour(radius_km=columns.radius_km[k], outside_km=columns.outside_km[k], radii_km=radii[k])
        for k in (0, 1)
    )
    return Contours(law=law, cautious=cautious, polygon=columns.polygon)


def _of_the_world(
    columns: _Columns,
    pairs: Pairs,
    world: tuple[IntColumn, WorldPaths],
    *,
    stations: StationTable,
    rules: Sequence[CountryRules],
    haat_m: FloatColumn,
) -> None:
    """Fill in the pairs of the stops outside the FCC countries."""
    rows, paths = world
    if not rows.size:
        return
    found = world_contours(
        paths,
        pairs.station[rows],
        levels_dbuv_m=_world_levels(pairs, rows, stations, rules),
        stations=stations,
        haat_m=haat_m,
    )
    columns.radius_km[:, rows] = found.radius_km
    columns.outside_km[:, rows] = pairs.distance_km[rows] - found.radius_km
    before = sum(part.shape[1] for part in columns.radii_km)
    columns.polygon[rows] = np.where(found.polygon >= 0, found.polygon + before, -1)
    columns.radii_km.append(found.radii_km)


def _world_levels(
    pairs: Pairs, rows: IntColumn, stations: StationTable, rules: Sequence[CountryRules]
) -> FloatColumn:
    """Return law and cautious level of pairs, (2, w) [dB(uV/m)]; NaN for what is not TV."""
    levels = np.full((2, len(rows)), np.nan)
    television = is_tv(stations)
    for stop in np.unique(pairs.stop[rows]).tolist():
        mine = np.flatnonzero((pairs.stop[rows] == stop) & television[pairs.station[rows]])
        station = pairs.station[rows[mine]]
        centre_hz = (stations.low_hz[station] + stations.high_hz[station]) // 2
        found = rules[stop].contour_levels(centre_hz, stations.system[station])
        levels[:, mine] = found.law_dbuv_m, found.cautious_dbuv_m
    return levels


def _of_country(
    columns: _Columns,
    rows: IntColumn,
    pairs: Pairs,
    *,
    stations: StationTable,
    country: CountryRules,
    haat_m: FloatColumn,
) -> None:
    """Fill in the pairs of the stops of one country."""
    used, back = np.unique(pairs.station[rows], return_inverse=True)
    sources = _sources(used, stations, country, haat_m)
    greatest = _greatest_km(sources, stations)
    distance, azimuth = pairs.distance_km[rows], pairs.azimuth_deg[rows]
    columns.radius_km[:, rows] = greatest[:, back]
    columns.outside_km[:, rows] = distance - greatest[:, back]
    shaped = (stations.pattern_curve[used] >= 0) | (stations.haat_curve[used] >= 0)
    gap_km = distance - greatest.max(axis=0)[back]
    drawn = np.zeros(len(used), dtype=np.bool_)
    drawn[back[gap_km <= NEAR_KM]] = True
    drawn &= shaped
    place = np.cumsum(drawn) - 1 + sum(part.shape[1] for part in columns.radii_km)
    bearings = np.arange(RADIALS, dtype=np.float64)
    radii = _radii_km(
        sources, np.flatnonzero(drawn), np.tile(bearings, (drawn.sum(), 1)), stations, haat_m
    )
    near = np.flatnonzero(drawn[back])
    columns.polygon[rows[near]] = place[back[near]]
    contour = (np.cumsum(drawn) - 1)[back[near]]
    for k in (0, 1):
        if near.size:
            columns.outside_km[k, rows[near]] = outside_distance_km(
                distance[near], azimuth[near], radii[k], contour=contour
            )
    columns.radii_km.append(radii)
    toward = np.flatnonzero(shaped[back])
    if toward.size:
        which, several, (order, row, column) = _by_station(back[toward], azimuth[toward])
        found = _radii_km(sources, which, several, stations, haat_m)
        columns.radius_km[:, rows[toward[order]]] = found[:, row, column]


def _sources(
    used: IntColumn, stations: StationTable, country: CountryRules, haat_m: FloatColumn
) -> _Sources:
    """Return the stations; a planning level at 10 m is brought down to the curves' height."""
    centre_hz = (stations.low_hz[used] + stations.high_hz[used]) // 2
    levels = country.contour_levels(centre_hz, stations.system[used])
    by_fcc = np.char.startswith(levels.curve, "F(")
    lowered_db = height_correction_db(centre_hz, p1546.CURVE_HEIGHT_M, FCC_CURVE_HEIGHT_M)
    return _Sources(
        station=used,
        centre_hz=centre_hz.astype(np.float64),
        haat_m=haat_m[used],
        levels_dbuv_m=np.stack([levels.law_dbuv_m, levels.cautious_dbuv_m])
        - np.where(by_fcc, 0.0, lowered_db),
        curve=np.where(by_fcc, levels.curve, _MEDIAN_CURVE),
    )


def _greatest_km(sources: _Sources, stations: StationTable) -> FloatColumn:
    """Return the contour radius with full power and the greatest height, (2, stations) [km]."""
    haat = sources.haat_m.copy()
    curve = stations.haat_curve[sources.station]
    if (curve >= 0).any():
        highest = np.maximum.reduceat(
            stations.radial_haats.values, stations.radial_haats.first[:-1]
        )
        haat[curve >= 0] = highest[curve[curve >= 0]]
    erp_kw = stations.erp_kw[sources.station]
    radius = np.empty(sources.levels_dbuv_m.shape)
    for name in np.unique(sources.curve):
        rows = sources.curve == name
        radius[:, rows] = r6602.contour_radii_km(
            str(name),
            sources.centre_hz[rows],
            haat_m=haat[rows],
            field_dbuv_m=(sources.levels_dbuv_m[:, rows] - 10 * np.log10(erp_kw[rows])).T,
        ).T
    return radius


def _radii_km(
    sources: _Sources,
    which: IntColumn,
    azimuth_deg: FloatColumn,
    stations: StationTable,
    haat_m: FloatColumn,
) -> FloatColumn:
    """Return contour radii of stations at azimuths, (2, len(which), azimuths) [km]."""
    radii = np.empty((2, *azimuth_deg.shape))
    station = sources.station[which]
    erp_dbk = 10 * np.log10(
        stations.erp_kw[station][:, None]
        * relative_field(stations, station[:, None], azimuth_deg) ** 2
    )
    wanted = sources.levels_dbuv_m[:, which, None] - erp_dbk
    centre_hz = sources.centre_hz[which]
    by_radial = stations.haat_curve[station] >= 0
    for name in np.unique(sources.curve[which]):
        plain = np.flatnonzero((sources.curve[which] == name) & ~by_radial)
        levels = np.concatenate(list(wanted[:, plain]), axis=1)
        found = r6602.contour_radii_km(
            str(name), centre_hz[plain], haat_m=sources.haat_m[which[plain]], field_dbuv_m=levels
        )
        radii[:, plain] = np.stack(np.split(found, 2, axis=1))
        for k in np.flatnonzero((sources.curve[which] == name) & by_radial):
            radii[:, k] = r6602.contour_radii_km(
                str(name),
                np.full(azimuth_deg.shape[1], centre_hz[k]),
                haat_m=haat_toward_m(stations, station[k : k + 1], azimuth_deg[k], haat_m),
                field_dbuv_m=wanted[:, k].T,
            ).T
    return radii


def _by_station(
    station: IntColumn, azimuth_deg: FloatColumn
) -> tuple[IntColumn, FloatColumn, tuple[IntColumn, IntColumn, IntColumn]]:
    """Put pairs into one row a station, padded: stations, azimuths, (pair, row, column)."""
    order = np.argsort(station, kind="stable")
    which, first, count = np.unique(station[order], return_index=True, return_counts=True)
    row = np.repeat(np.arange(len(which)), count)
    column = np.arange(len(order)) - first[row]
    table = np.zeros((len(which), int(count.max())))
    table[row, column] = azimuth_deg[order]
    return which, table, (order, row, column)


def _unite_groups(outside_km: FloatColumn, pairs: Pairs, stations: StationTable) -> None:
    """Give the sites of one group, on one channel of one table, the least distance of them all."""
    rows = np.flatnonzero((stations.group_id[pairs.station] != "") & ~np.isnan(outside_km))
    members: dict[tuple[int, str, int, int, int], list[int]] = {}
    for row in rows.tolist():
        station = int(pairs.station[row])
        key = (
            int(pairs.stop[row]),
            str(stations.group_id[station]),
            int(stations.low_hz[station]),
            int(stations.high_hz[station]),
            int(stations.table[station]),
        )
        members.setdefault(key, []).append(row)
    for group in members.values():
        outside_km[group] = outside_km[group].min()
