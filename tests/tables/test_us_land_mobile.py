"""Land mobile areas: channels 14 to 20, centres in the city they name, known pairs."""

from __future__ import annotations

from planner.geodesy import inverse
from planner.tables import read_table

TABLE = read_table("us_land_mobile")

# City centres typed from a map (geography, no source), to 0.1 deg
CENTRES = {
    "Boston": (42.4, -71.1),
    "Chicago": (41.9, -87.6),
    "Cleveland": (41.5, -81.7),
    "Dallas": (32.8, -96.8),
    "Detroit": (42.3, -83.0),
    "Houston": (29.8, -95.4),
    "Los Angeles": (34.1, -118.2),
    "Miami": (25.8, -80.2),
    "New York": (40.7, -74.0),
    "Philadelphia": (40.0, -75.2),
    "Pittsburgh": (40.4, -80.0),
    "San Francisco": (37.8, -122.4),
    "Washington": (38.9, -77.0),
}
# 47 CFR 90.303(b), typed a second time
CHANNELS = {
    "Boston": {14, 16},
    "Chicago": {14, 15},
    "Cleveland": {14, 15},
    "Dallas": {16},
    "Detroit": {15, 16},
    "Houston": {17},
    "Los Angeles": {14, 16, 20},
    "Miami": {14},
    "New York": {14, 15, 16},
    "Philadelphia": {19, 20},
    "Pittsburgh": {14, 18},
    "San Francisco": {16, 17},
    "Washington": {17, 18},
}


def _city(area: str) -> str:
    return next(city for city in CENTRES if area.startswith(city))


def test_channels_by_city() -> None:
    found: dict[str, set[int]] = {}
    for area, channel in zip(TABLE["area"], TABLE["channel"], strict=True):
        found.setdefault(_city(area), set()).add(int(channel))
    assert found == CHANNELS


def test_centres_lie_within_10_km_of_the_city_they_name() -> None:
    for area, lat, lon in zip(
        TABLE["area"], TABLE["center_lat_deg"], TABLE["center_lon_deg"], strict=True
    ):
        distance_km, _, _ = inverse(float(lat), float(lon), *CENTRES[_city(area)])
        assert distance_km < 10, area


def test_radii() -> None:
    assert set(TABLE["radius_km"]) == {"129"}
    assert set(TABLE["caution_km"]) == {"134"}
