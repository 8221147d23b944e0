"""Whether a row's area holds a stop: circles and polygons, with the place error."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.geodesy import direct, inverse

if TYPE_CHECKING:
    from planner.records.permissions import Area, Permission

_BEARINGS_DEG = np.arange(0.0, 360.0, 45.0)


def applies_at(row: Permission, lat_deg: float, lon_deg: float, *, within_km: float) -> bool:
    """Say whether a row holds at a place, on the safe side within the place error.

    Parameters
    ----------
    row : Permission
        A permission must hold at the point and all round it, a prohibition only somewhere.
    lat_deg, lon_deg : float
        WGS84 [deg].
    within_km : float
        Place error [km], 0 or more; polygons are asked at the point and at 8 points round it.
    """
    if not row.areas:
        return True
    if row.closes:
        return any(_inside(area, lat_deg, lon_deg, margin_km=within_km) for area in row.areas)
    return any(_inside(area, lat_deg, lon_deg, margin_km=-within_km) for area in row.areas)


def _inside(area: Area, lat_deg: float, lon_deg: float, *, margin_km: float) -> bool:
    """Say whether a point lies in an area made larger by a margin, smaller by a negative one."""
    if area.radius_km:
        (lat, lon), *_ = area.points_deg
        away_km, _, _ = inverse(lat, lon, lat_deg, lon_deg)
        return away_km <= area.radius_km + margin_km
    answers = [_in_polygon(area, lat_deg, lon_deg)]
    if margin_km:
        lats, lons = direct(lat_deg, lon_deg, _BEARINGS_DEG, abs(margin_km))
        answers += [
            _in_polygon(area, float(lat), float(lon)) for lat, lon in zip(lats, lons, strict=True)
        ]
    return any(answers) if margin_km > 0 else all(answers)


def _in_polygon(area: Area, lat_deg: float, lon_deg: float) -> bool:
    """Count how often a line due east crosses the sides: odd is inside (plane of degrees)."""
    corners = area.points_deg
    inside = False
    for (lat_a, lon_a), (lat_b, lon_b) in zip(corners, (*corners[1:], corners[0]), strict=True):
        if (lat_a > lat_deg) != (lat_b > lat_deg):
            crossing = lon_a + (lat_deg - lat_a) * (lon_b - lon_a) / (lat_b - lat_a)
            inside ^= lon_deg < crossing
    return inside
