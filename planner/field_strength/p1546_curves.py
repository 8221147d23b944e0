"""The tabulated curves of Recommendation ITU-R P.1546-6, read between their points.

Everything here is for 1 kW ERP, 50 % of places and a receiving antenna at the height of its
surroundings. A *node* is one curve: zone, nominal time and nominal frequency.

References
----------
Recommendation ITU-R P.1546-6 (2019), annex 5, sections 2 to 7; figures in
``planner/tables/itu_p1546_curves.csv``.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

import numpy as np

from planner.tables import read_table

if TYPE_CHECKING:
    import numpy.typing as npt

    from planner.field_strength._numbers import FloatArray

    IntArray = npt.NDArray[np.intp]

LAND, COLD_SEA, WARM_SEA = 0, 1, 2
ZONES = ("land", "cold-sea", "warm-sea")
TIMES_PERCENT = np.array([1.0, 10.0, 50.0])
FREQUENCIES_MHZ = np.array([100.0, 600.0, 2000.0])
HEIGHTS_M = np.array([10.0, 20.0, 37.5, 75.0, 150.0, 300.0, 600.0, 1200.0])
NEAREST_CURVE_KM = 1.0
FARTHEST_KM = 1000.0
FREE_SPACE_DBUV_M = 106.9
"""Field of 1 kW ERP at 1 km in free space [dB(uV/m)] (annex 5, section 2)."""
CURVE_RECEIVER_M = 10.0
_KNIFE_EDGE = np.array([1.35, 3.31, 6.00])
"""Factor of the diffraction parameter at each nominal frequency (annex 5, section 4.3)."""
_LOWEST_SEA_M = 1.0


@functools.cache
def _figures() -> tuple[FloatArray, FloatArray]:
    """Return distances (78,) and fields (zone, time, frequency, height, distance)."""
    table = read_table("itu_p1546_curves")
    distances = np.unique(np.array(table["distance_km"], dtype=np.float64))
    shape = (len(ZONES), len(TIMES_PERCENT), len(FREQUENCIES_MHZ), len(HEIGHTS_M), len(distances))
    fields = np.full(shape, np.nan)
    columns = [name for name in table if name.startswith("field_")]
    values = np.array([table[name] for name in columns], dtype=np.float64)
    times = np.searchsorted(TIMES_PERCENT, np.array(table["time_percent"], dtype=np.float64))
    bands = np.searchsorted(FREQUENCIES_MHZ, np.array(table["frequency_mhz"], dtype=np.float64))
    places = np.searchsorted(distances, np.array(table["distance_km"], dtype=np.float64))
    path = np.array(table["path"])
    for zone, name in enumerate(ZONES):
        rows = (path == name) | ((path == "sea") & (zone != LAND))
        fields[zone, times[rows], bands[rows], :, places[rows]] = values[:, rows].T
    distances.setflags(write=False)
    fields.setflags(write=False)
    return distances, fields


def ceiling_dbuv_m(
    distance_km: FloatArray, time_percent: FloatArray, sea_share: FloatArray
) -> FloatArray:
    """Return the greatest field the model allows (annex 5, section 2) [dB(uV/m)]."""
    free = FREE_SPACE_DBUV_M - 20.0 * np.log10(distance_km)
    sea = 2.38 * (1.0 - np.exp(-distance_km / 8.94)) * np.log10(50.0 / time_percent)
    return np.asarray(free + sea_share * sea)


def normal_deviate(share: FloatArray) -> FloatArray:
    """Return the inverse complementary normal distribution, as the Recommendation approximates it.

    Parameters
    ----------
    share : float64 array
        Probability of being exceeded, above 0 and below 1.

    References
    ----------
    Recommendation ITU-R P.1546-6, annex 5, section 16 (error below 0.00045).
    """
    tail = np.minimum(share, 1.0 - share)
    root = np.sqrt(-2.0 * np.log(tail))
    over = (0.010328 * root + 0.802853) * root + 2.515517
    under = ((0.001308 * root + 0.189269) * root + 1.432788) * root + 1.0
    return np.asarray(np.where(share <= 0.5, 1.0, -1.0) * (root - over / under))


def clear_distance_km(
    frequency_mhz: FloatArray, height_m: FloatArray, receiver_m: FloatArray | float
) -> FloatArray:
    """Return where a sea path keeps just 0.6 of the first Fresnel zone clear (section 18) [km]."""
    by_frequency = 0.0000389 * frequency_mhz * height_m * receiver_m
    by_horizon = 4.1 * (np.sqrt(height_m) + np.sqrt(receiver_m))
    return np.asarray(by_frequency * by_horizon / (by_frequency + by_horizon))


def knife_edge_db(parameter: FloatArray) -> FloatArray:
    """Return the approximate loss J of a knife edge (annex 5, section 4.3) [dB]."""
    moved = parameter - 0.1
    return np.asarray(6.9 + 20.0 * np.log10(np.sqrt(moved**2 + 1.0) + moved))


def curve_field_dbuv_m(
    zone: int,
    node: tuple[IntArray, IntArray],
    *,
    distance_km: FloatArray,
    height_m: FloatArray,
    ceiling: FloatArray,
) -> FloatArray:
    """Return the field at nominal time and frequency, interpolated in distance and height.

    Parameters
    ----------
    zone : int
        ``LAND``, ``COLD_SEA`` or ``WARM_SEA``.
    node : two (n,) int arrays
        Places in ``TIMES_PERCENT`` and ``FREQUENCIES_MHZ``.
    distance_km : (n,) float64
        1 to 1000 [km].
    height_m : (n,) float64
        Effective height [m], at most 3000; below 10 m by section 4.2 (land) or 4.3 (sea, where
        less than 1 m counts as 1 m).
    ceiling : (n,) float64
        No field goes above it [dB(uV/m)].

    Returns
    -------
    (n,) float64
        [dB(uV/m)].
    """
    times, bands = node
    upper = np.clip(np.searchsorted(HEIGHTS_M, height_m), 1, len(HEIGHTS_M) - 1)
    reading = _Reading(zone, times, bands, distance_km)
    below, above = reading.at(upper - 1), reading.at(upper)
    low_m, high_m = HEIGHTS_M[upper - 1], HEIGHTS_M[upper]
    share = np.log(np.maximum(height_m, HEIGHTS_M[0]) / low_m) / np.log(high_m / low_m)
    field = below + (above - below) * share
    low = np.flatnonzero(height_m < HEIGHTS_M[0])
    if low.size:
        part = _Reading(zone, times[low], bands[low], distance_km[low])
        field[low] = (
            _low_over_land(part, height_m[low])
            if zone == LAND
            else _low_over_sea(part, np.maximum(height_m[low], _LOWEST_SEA_M), ceiling[low])
        )
    return np.asarray(np.minimum(field, ceiling))


class _Reading:
    """Fields of many curves at many distances, between tabulated distances linear in log d."""

    def __init__(
        self, zone: int, times: IntArray, bands: IntArray, distance_km: FloatArray
    ) -> None:
        distances, fields = _figures()
        place = np.clip(np.searchsorted(distances, distance_km), 1, len(distances) - 1)
        log = np.log(distances)
        share = (np.log(distance_km) - log[place - 1]) / (log[place] - log[place - 1])
        self.zone, self.times, self.bands, self.distance_km = zone, times, bands, distance_km
        self._share = np.clip(share, 0.0, 1.0)
        self._flat = fields[zone].ravel()
        curve = (times * len(FREQUENCIES_MHZ) + bands) * len(HEIGHTS_M)
        self._curve, self._place, self._width = curve, place, len(distances)

    def at(self, step: IntArray | int) -> FloatArray:
        """Return the field for a place in ``HEIGHTS_M``."""
        index = (self._curve + step) * self._width + self._place
        before, after = self._flat[index - 1], self._flat[index]
        return np.asarray(before + (after - before) * self._share)


def _low_over_land(reading: _Reading, height_m: FloatArray) -> FloatArray:
    """Return the field for less than 10 m over land, negative heights included (section 4.2)."""
    ten, twenty = reading.at(0), reading.at(1)
    factor = _KNIFE_EDGE[reading.bands]
    at_zero = ten + 0.5 * ((ten - twenty) + _below_ground_db(-10.0, factor))
    above = at_zero + 0.1 * height_m * (ten - at_zero)
    below = at_zero + _below_ground_db(np.minimum(height_m, 0.0), factor)
    return np.where(height_m >= 0.0, above, below)


def _below_ground_db(height_m: FloatArray | float, factor: FloatArray) -> FloatArray:
    """Return the correction for a negative effective height (section 4.3, no terrain data)."""
    angle_deg = np.degrees(np.arctan(-np.asarray(height_m) / 9000.0))
    return np.asarray(6.03 - knife_edge_db(factor * angle_deg))


def _low_over_sea(reading: _Reading, height_m: FloatArray, ceiling: FloatArray) -> FloatArray:
    """Return the field for 1 to 10 m over sea (section 4.4)."""
    distance_km = reading.distance_km
    frequency = FREQUENCIES_MHZ[reading.bands]
    near = clear_distance_km(frequency, height_m, CURVE_RECEIVER_M)
    far = clear_distance_km(frequency, np.full_like(height_m, HEIGHTS_M[1]), CURVE_RECEIVER_M)
    slope = np.log(height_m / 10.0) / np.log(2.0)
    ten, twenty = reading.at(0), reading.at(1)
    share = np.clip((distance_km - far) / distance_km, 0.0, 1.0)
    extended = ten + (twenty - ten) * slope
    beyond = extended * (1.0 - share) + _low_over_land(reading, height_m) * share
    rim = _Reading(reading.zone, reading.times, reading.bands, np.maximum(far, 1.0))
    at_far = rim.at(1)
    at_near = ceiling + 20.0 * np.log10(distance_km / near)
    way = np.log(np.maximum(distance_km, near) / near) / np.log(far / near)
    between = at_near + (at_far - at_near) * way
    field = np.where(distance_km >= far, beyond, between)
    return np.where(distance_km <= near, ceiling, field)
