"""Field strength over land and sea by Recommendation ITU-R P.1546-6, without terrain data.

Every function is columnar: numbers and arrays broadcast, numbers alone give a number.

References
----------
Recommendation ITU-R P.1546-6 (2019), annex 5. Left out, because they need terrain or the lie of
the streets: the terrain clearance angle (section 11), the short urban path (section 10) and
scatter from the troposphere (section 13). The slope path (section 14) enters below 1 km only, as in
the values computed with the reference code of ITU-R Study Group 3.
"""

from __future__ import annotations

import dataclasses
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import OutOfModelRange
from planner.field_strength import p1546_curves as curves
from planner.field_strength._numbers import columns, same_kind

if TYPE_CHECKING:
    import numpy.typing as npt

    from planner.field_strength._numbers import FloatArray, Numbers

LOWEST_HZ, HIGHEST_HZ = 30_000_000, 4_000_000_000
LEAST_DISTANCE_KM = 0.001
"""A shorter path is taken as this long [km]: at the mast itself the model has no figure."""
GREATEST_HEIGHT_M = 3000.0
CURVE_HEIGHT_M = 10.0
"""Receiving height of the curves in open surroundings [m]."""
SURROUNDINGS = MappingProxyType({"rural": 12.0, "suburban": 10.0, "urban": 8.0, "dense urban": 8.0})
"""Kinds of surroundings and their spread over places without terrain data [dB] (section 12, as in
the reference code)."""
_FREE_SPACE_TO_KM = 0.04
_CHUNK = 32_768


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Paths:
    """From transmitters to receivers; the fields broadcast against each other.

    Attributes
    ----------
    distance_km : float or array
        0 to 1000; less than 0.001 counts as 0.001.
    effective_height_m : float or array
        Of the transmitting antenna, -3000 to 3000 [m]; may be negative. Over the sea less than
        1 m counts as 1 m.
    cold_sea_share, warm_sea_share : float or array
        Shares of the path over cold and warm sea, each 0 to 1, together at most 1; the rest is
        land.
    """

    distance_km: Numbers
    effective_height_m: Numbers
    cold_sea_share: Numbers = 0.0
    warm_sea_share: Numbers = 0.0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Receiver:
    """Where the field is wanted; the fields broadcast.

    Attributes
    ----------
    height_m : float or array
        Above ground, 1 to 3000 [m].
    surroundings : str or array of str
        A key of :data:`SURROUNDINGS`.
    clutter_height_m : float or array
        Height of what stands around, 1 to 100 [m]; not used in rural surroundings.
    location_percent : float or array
        Percentage of places at which the field is exceeded, 1 to 99.
    """

    height_m: Numbers = CURVE_HEIGHT_M
    surroundings: str | npt.NDArray[np.str_] = "rural"
    clutter_height_m: Numbers = CURVE_HEIGHT_M
    location_percent: Numbers = 50.0


_OPEN = Receiver()


def field_dbuv_m(
    frequency_hz: Numbers,
    paths: Paths,
    *,
    time_percent: Numbers = 50.0,
    erp_kw: Numbers = 1.0,
    receiver: Receiver = _OPEN,
) -> float | FloatArray:
    """Return the field at the receiver.

    Parameters
    ----------
    frequency_hz : float or array
        30 MHz to 4 GHz [Hz].
    paths : Paths
        Distance, height, land and sea.
    time_percent : float or array
        Percentage of time exceeded, 1 to 50.
    erp_kw : float or array
        ERP toward the receiver, more than 0 [kW].
    receiver : Receiver
        Height, surroundings, percentage of places.

    Returns
    -------
    float or array
        Field [dB(uV/m)] in the common shape.

    Raises
    ------
    OutOfModelRange
        For a figure outside its range or not a number.

    References
    ----------
    Recommendation ITU-R P.1546-6 (2019), annex 5.
    """
    surroundings = np.asarray(receiver.surroundings)
    unknown = ~np.isin(surroundings, list(SURROUNDINGS))
    if unknown.any():
        raise OutOfModelRange("surroundings", np.nan, 0, len(SURROUNDINGS) - 1)
    sigma = np.select([surroundings == name for name in SURROUNDINGS], list(SURROUNDINGS.values()))
    given = columns(
        np.asarray(frequency_hz, dtype=np.float64) / 1e6,
        paths.distance_km,
        paths.effective_height_m,
        paths.cold_sea_share,
        paths.warm_sea_share,
        time_percent,
        receiver.height_m,
        np.where(surroundings == "rural", np.nan, receiver.clutter_height_m),
        receiver.location_percent,
        sigma,
        erp_kw,
    )
    flat = [np.ravel(column) for column in given]
    _check(flat)
    field = np.empty(flat[0].size)
    for start in range(0, field.size, _CHUNK):
        part = slice(start, start + _CHUNK)
        field[part] = _field(_Rows(*(column[part] for column in flat[:-1])))
    field += 10.0 * np.log10(flat[-1])
    return same_kind(field.reshape(given[0].shape))


@dataclasses.dataclass(frozen=True, slots=True)
class _Rows:
    """Flat columns of one length; ``clutter_m`` is NaN in rural surroundings."""

    frequency_mhz: FloatArray
    distance_km: FloatArray
    height_m: FloatArray
    cold: FloatArray
    warm: FloatArray
    time_percent: FloatArray
    receiver_m: FloatArray
    clutter_m: FloatArray
    location_percent: FloatArray
    sigma_db: FloatArray

    def at(self, which: npt.NDArray[np.intp]) -> _Rows:
        """Return some of the rows."""
        return _Rows(*(getattr(self, field.name)[which] for field in dataclasses.fields(self)))


def _check(flat: list[FloatArray]) -> None:
    limits = (
        ("frequency_mhz", LOWEST_HZ / 1e6, HIGHEST_HZ / 1e6),
        ("distance_km", 0.0, curves.FARTHEST_KM),
        ("effective_height_m", -GREATEST_HEIGHT_M, GREATEST_HEIGHT_M),
        ("cold_sea_share", 0.0, 1.0),
        ("warm_sea_share", 0.0, 1.0),
        ("time_percent", 1.0, 50.0),
        ("height_m", 1.0, GREATEST_HEIGHT_M),
        ("clutter_height_m", 1.0, 100.0),
        ("location_percent", 1.0, 99.0),
    )
    for (name, low, high), column in zip(limits, flat, strict=False):
        bad = ~((column >= low) & (column <= high))
        if name == "clutter_height_m":
            bad &= ~np.isnan(column)
        if bad.any():
            raise OutOfModelRange(name, float(column[bad][0]), low, high)
    share, erp_kw = flat[3] + flat[4], flat[-1]
    if (share > 1.0 + 1e-9).any():
        raise OutOfModelRange("sea_share", float(share.max()), 0.0, 1.0)
    if not (erp_kw > 0.0).all():
        raise OutOfModelRange("erp_kw", float(erp_kw[~(erp_kw > 0.0)][0]), 0.0, np.inf)


def _field(rows: _Rows) -> FloatArray:
    """Return the field for 1 kW, whole."""
    field = _beyond_1_km(rows)
    sea = rows.cold + rows.warm
    mixed = np.flatnonzero((sea > 0.0) & (sea < 1.0))
    if mixed.size:
        field[mixed] = _between_pure(rows.at(mixed), field[mixed])
    near = np.flatnonzero(rows.distance_km < curves.NEAREST_CURVE_KM)
    if near.size:
        field[near] = _near(
            rows.distance_km[near], field[near], rows.height_m[near] - rows.receiver_m[near]
        )
    return field


def _beyond_1_km(rows: _Rows) -> FloatArray:
    """Return the field for 1 kW; for shorter paths that at 1 km."""
    distance = np.maximum(rows.distance_km, curves.NEAREST_CURVE_KM)
    sea = np.minimum(rows.cold + rows.warm, 1.0)
    ceiling = curves.ceiling_dbuv_m(distance, rows.time_percent, sea)
    field = _mixed(rows, distance, sea, ceiling)
    field += _receiver_db(rows, distance)
    deviate = curves.normal_deviate(rows.location_percent / 100.0)
    elsewhere = rows.location_percent != 50.0
    field += np.where(elsewhere, deviate, 0.0) * rows.sigma_db
    return np.asarray(np.minimum(field, ceiling))


def _between_pure(rows: _Rows, field: FloatArray) -> FloatArray:
    """Keep the field of mixed paths between those of the same path over each of its zones.

    The ceiling of a mixed path lies above that of land, and the interpolations use it for every
    zone: without this the mixed field would leave the range by up to 0.7 dB, on high masts below
    100 MHz.
    """
    none, whole = np.zeros(len(field)), np.ones(len(field))
    land = _beyond_1_km(dataclasses.replace(rows, cold=none, warm=none))
    least, most = land, land
    for share, cold, warm in ((rows.cold, whole, none), (rows.warm, none, whole)):
        sea = _beyond_1_km(dataclasses.replace(rows, cold=cold, warm=warm))
        least = np.where(share > 0.0, np.minimum(least, sea), least)
        most = np.where(share > 0.0, np.maximum(most, sea), most)
    return np.asarray(np.clip(field, least, most))


def _mixed(
    rows: _Rows, distance_km: FloatArray, sea: FloatArray, ceiling: FloatArray
) -> FloatArray:
    """Return the field of a path of land and sea (section 8)."""
    over = []
    shares = ((curves.LAND, 1.0 - sea), (curves.COLD_SEA, rows.cold), (curves.WARM_SEA, rows.warm))
    for zone, share in shares:
        field = np.zeros(len(distance_km))
        crossed = np.flatnonzero(share > 0.0)
        if crossed.size:
            field[crossed] = _over(zone, rows, distance_km, ceiling, crossed)
        over.append(field)
    land, cold, warm = over
    wet = np.where(sea > 0.0, rows.cold + rows.warm, 1.0)
    over_sea = (cold * rows.cold + warm * rows.warm) / wet
    power = np.maximum(1.0, 1.0 + (over_sea - land) / 40.0)
    weight = (1.0 - (1.0 - sea) ** (2.0 / 3.0)) ** power
    both = (1.0 - weight) * land + weight * over_sea
    return np.where(sea >= 1.0, over_sea, np.where(sea > 0.0, both, land))


def _over(
    zone: int,
    rows: _Rows,
    distance_km: FloatArray,
    ceiling: FloatArray,
    which: npt.NDArray[np.intp],
) -> FloatArray:
    """Return the field over one zone: sections 6 (frequency) and 7 (time)."""
    distance, height, limit = distance_km[which], rows.height_m[which], ceiling[which]
    frequency, time = rows.frequency_mhz[which], rows.time_percent[which]
    band = (frequency >= curves.FREQUENCIES_MHZ[1]).astype(np.intp)
    first = (time >= curves.TIMES_PERCENT[1]).astype(np.intp)
    low_mhz, high_mhz = curves.FREQUENCIES_MHZ[band], curves.FREQUENCIES_MHZ[band + 1]
    share = np.log(frequency / low_mhz) / np.log(high_mhz / low_mhz)

    def at(moment: npt.NDArray[np.intp], away: FloatArray, most: FloatArray) -> FloatArray:
        low, high = (
            curves.curve_field_dbuv_m(
                zone, (moment, step), distance_km=away, height_m=height, ceiling=most
            )
            for step in (band, band + 1)
        )
        return np.asarray(np.minimum(low + (high - low) * share, most))

    fields = [at(moment, distance, limit) for moment in (first, first + 1)]
    if zone != curves.LAND and (frequency < curves.FREQUENCIES_MHZ[0]).any():
        rim = _LowFrequencyRim(frequency, height, distance, limit)
        fields = [
            rim.between(field, at(moment, rim.far_km, rim.far_limit))
            for moment, field in zip((first, first + 1), fields, strict=True)
        ]
    seldom, often, wanted = (
        curves.normal_deviate(percent / 100.0)
        for percent in (curves.TIMES_PERCENT[first], curves.TIMES_PERCENT[first + 1], time)
    )
    weight = (seldom - wanted) / (seldom - often)
    return np.asarray(fields[1] * weight + fields[0] * (1.0 - weight))


class _LowFrequencyRim:
    """Where a sea path below 100 MHz leaves the ceiling and where its curves begin (section 6)."""

    def __init__(
        self, frequency: FloatArray, height: FloatArray, distance: FloatArray, limit: FloatArray
    ) -> None:
        self._low = frequency < curves.FREQUENCIES_MHZ[0]
        above = np.maximum(height, 1.0)
        reference = np.full_like(frequency, curves.FREQUENCIES_MHZ[1])
        self._distance, self._limit = distance, limit
        self._near_km = curves.clear_distance_km(frequency, above, curves.CURVE_RECEIVER_M)
        far_km = curves.clear_distance_km(reference, above, curves.CURVE_RECEIVER_M)
        self.far_km = np.clip(far_km, curves.NEAREST_CURVE_KM, curves.FARTHEST_KM)
        self.far_limit = limit + 20.0 * np.log10(distance / self.far_km)

    def between(self, beyond: FloatArray, at_far: FloatArray) -> FloatArray:
        """Return the field with the part before the curves filled in."""
        near_km = np.minimum(self._near_km, 0.999 * self.far_km)
        at_near = self._limit + 20.0 * np.log10(self._distance / near_km)
        way = np.log(np.maximum(self._distance, near_km) / near_km) / np.log(self.far_km / near_km)
        before = np.where(way <= 0.0, self._limit, at_near + (at_far - at_near) * way)
        return np.where(self._low & (self._distance < self.far_km), before, beyond)


def _receiver_db(rows: _Rows, distance_km: FloatArray) -> FloatArray:
    """Return the correction for the receiver's height and surroundings (section 9)."""
    slope = 3.2 + 6.2 * np.log10(rows.frequency_mhz)
    height = rows.receiver_m
    found = slope * np.log10(height / CURVE_HEIGHT_M)
    built = np.flatnonzero(~np.isnan(rows.clutter_m))
    if not built.size:
        return np.asarray(found)
    slope, height, clutter = slope[built], height[built], rows.clutter_m[built]
    metres = 1000.0 * distance_km[built]
    mean = np.maximum((metres * clutter - 15.0 * rows.height_m[built]) / (metres - 15.0), 1.0)
    gap_m = np.maximum(mean - height, 0.0)
    angle_deg = np.degrees(np.arctan(gap_m / 27.0))
    factor = 0.0108 * np.sqrt(rows.frequency_mhz[built])
    below = 6.03 - curves.knife_edge_db(factor * np.sqrt(gap_m * angle_deg))
    part = np.where(height >= mean, slope * np.log10(height / mean), below)
    low = mean < CURVE_HEIGHT_M
    part -= np.where(low, slope * np.log10(CURVE_HEIGHT_M / mean), 0.0)
    found[built] = part
    return np.asarray(found)


def _near(distance_km: FloatArray, at_one_km: FloatArray, climb_m: FloatArray) -> FloatArray:
    """Return the field nearer than 1 km (sections 14 and 15).

    Between 40 m and 1 km linear in the logarithm of the slope path, nearer that of free space.
    Never below the field at 1 km, so that coming nearer cannot lower it: with a mast of several
    hundred metres the free-space field over the slope would.
    """
    squared = 1e-6 * climb_m**2
    slope = np.sqrt(np.maximum(distance_km, LEAST_DISTANCE_KM) ** 2 + squared)
    inner, outer = np.sqrt(_FREE_SPACE_TO_KM**2 + squared), np.sqrt(1.0 + squared)
    at_inner = np.maximum(curves.FREE_SPACE_DBUV_M - 20.0 * np.log10(inner), at_one_km)
    way = np.clip(np.log(slope / inner) / np.log(outer / inner), 0.0, 1.0)
    between = at_inner + (at_one_km - at_inner) * way
    free = np.maximum(curves.FREE_SPACE_DBUV_M - 20.0 * np.log10(slope), at_one_km)
    return np.where(distance_km <= _FREE_SPACE_TO_KM, free, between)
