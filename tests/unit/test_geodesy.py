"""Closed forms, limits and shapes of the geodesy functions."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner import geodesy


def test_a_degree_of_the_equator() -> None:
    distance_km, azimuth_1_deg, azimuth_2_deg = geodesy.inverse(0.0, 0.0, 0.0, 1.0)
    assert abs(distance_km - math.pi / 180 * 6378.137) <= 1e-9  # a micrometre
    assert (azimuth_1_deg, azimuth_2_deg) == (90.0, 270.0)


def test_zero_distance() -> None:
    distance_km, azimuth_1_deg, azimuth_2_deg = geodesy.inverse(41.0, -96.0, 41.0, -96.0)
    assert distance_km == 0.0
    assert 0.0 <= azimuth_1_deg < 360.0
    assert 0.0 <= azimuth_2_deg < 360.0


def test_across_the_180_degree_meridian() -> None:
    distance_km, azimuth_1_deg, azimuth_2_deg = geodesy.inverse(52.0, 179.9, 52.0, -179.9)
    assert distance_km < 14.0
    # East, and a little north of it, for the geodesic bends toward the pole: half of 0.2 degrees
    # times sin 52, to within 0.01 degrees for the ellipsoid.
    assert abs(azimuth_1_deg - (90.0 - 0.1 * math.sin(math.radians(52.0)))) <= 0.01
    assert abs(azimuth_2_deg - (270.0 + 0.1 * math.sin(math.radians(52.0)))) <= 0.01


def test_from_the_pole_every_way_is_south() -> None:
    distance_km, _, azimuth_2_deg = geodesy.inverse(90.0, 0.0, 60.0, 33.0)
    assert azimuth_2_deg == 0.0
    lat_deg, _ = geodesy.direct(90.0, 0.0, 123.0, distance_km)
    assert abs(lat_deg - 60.0) <= 1e-12


def test_latitudes_outside_the_globe_give_nan() -> None:
    assert math.isnan(geodesy.inverse(95.0, 0.0, 0.0, 0.0)[0])
    assert math.isnan(geodesy.direct(95.0, 0.0, 0.0, 1.0)[0])


def test_numbers_give_numbers_and_arrays_broadcast() -> None:
    assert all(type(part) is float for part in geodesy.inverse(1, 2, 3, 4))
    assert all(type(part) is float for part in geodesy.direct(1, 2, 3, 4))
    lat = np.array([[10.0], [20.0]])
    lon = np.array([1.0, 2.0, 3.0])
    table = geodesy.inverse(lat, 0.0, 0.0, lon)
    assert [part.shape for part in table] == [(2, 3)] * 3
    alone = geodesy.inverse(20.0, 0.0, 0.0, 3.0)
    assert [float(part[1, 2]) for part in table] == list(alone)


def test_outline_corners_lie_at_their_radius_and_azimuth() -> None:
    radii_km = np.linspace(20.0, 120.0, 360)[None, :]
    lat, lon = geodesy.outline(np.array([41.0]), np.array([-96.0]), radii_km)
    assert lat.shape == lon.shape == (1, 360)
    distance, azimuth, _ = geodesy.inverse(41.0, -96.0, lat[0], lon[0])
    assert np.abs(distance - radii_km[0]).max() <= 1e-9  # a micrometre
    turned = np.abs((azimuth - np.arange(360.0) + 180.0) % 360.0 - 180.0)
    assert turned.max() <= 1e-9  # a micrometre at 60 km


def test_outline_of_a_circle_has_all_radials() -> None:
    lat, lon = geodesy.outline(np.array([0.0, 10.0]), np.array([0.0, 179.9]), np.full((2, 1), 50.0))
    assert lat.shape == lon.shape == (2, 360)
    assert (np.abs(lon) <= 180.0).all()


@pytest.mark.parametrize("columns", [2, 72, 359])
def test_other_numbers_of_radials_are_refused(columns: int) -> None:
    with pytest.raises(ValueError, match=f"radii have {columns} columns; give 360 or 1"):
        geodesy.outside_distance_km(np.array([1.0]), np.array([0.0]), np.ones((1, columns)))


def test_rows_of_radii_must_fit_the_points() -> None:
    with pytest.raises(ValueError, match="radii have 2 rows for 3 points"):
        geodesy.outside_distance_km(np.ones(3), np.ones(3), np.ones((2, 360)))


def test_distance_outside_a_circle() -> None:
    got = geodesy.outside_distance_km(
        np.array([0.0, 40.0, 60.0]), np.array([0.0, 10.5, 359.5]), np.full((1, 1), 50.0)
    )
    assert got.tolist() == [-50.0, -10.0, 10.0]


def test_distance_outside_a_polygon_of_equal_radials() -> None:
    radii = np.full((1, 360), 50.0)
    azimuth = np.array([0.0, 10.0, 45.5, 359.5])
    apothem_km = 50.0 * math.cos(math.radians(0.5))
    got = geodesy.outside_distance_km(np.full(4, 60.0), azimuth, radii)
    # At a corner 10 km; over the middle of a side its foot, 1.9 m nearer to the transmitter.
    expected = [10.0, 10.0, 60.0 - apothem_km, 60.0 - apothem_km]
    assert np.abs(got - np.array(expected)).max() <= 1e-9
    centre = geodesy.outside_distance_km(np.array([0.0]), np.array([77.0]), radii)
    assert abs(centre[0] + apothem_km) <= 1e-9


def test_distance_outside_a_notch_is_to_its_rim() -> None:
    """A point in a narrow notch is near the rim at its side, not the contour before it."""
    radii = np.full((1, 360), 100.0)
    radii[0, 90] = 20.0
    got = geodesy.outside_distance_km(np.array([90.0]), np.array([90.0]), radii)
    before_km = 90.0 - 20.0
    rim_km = 90.0 * math.sin(math.radians(1.0))
    assert 0.0 < got[0] < rim_km < before_km


def test_points_on_either_side_of_the_contour_have_their_sign() -> None:
    azimuth = np.arange(0.0, 360.0, 0.25)
    radii = 60.0 + 20.0 * np.cos(np.deg2rad(3 * np.arange(360.0)))[None, :]
    corner = radii[0, (azimuth % 360).astype(int)]
    inside = geodesy.outside_distance_km(np.minimum(corner, 40.0) - 5.0, azimuth, radii)
    outside = geodesy.outside_distance_km(np.full_like(azimuth, 80.01), azimuth, radii)
    assert (inside < 0).all()
    assert (outside > 0).all()


def test_no_contour_at_all() -> None:
    """A transmitter without power has radii of 0: every point lies outside by its distance."""
    got = geodesy.outside_distance_km(np.array([7.0]), np.array([33.3]), np.zeros((1, 360)))
    assert abs(got[0] - 7.0) <= 1e-12


def test_unknown_values_stay_unknown() -> None:
    radii = np.full((3, 360), 50.0)
    radii[2, 7] = np.nan
    got = geodesy.outside_distance_km(
        np.array([1.0, np.nan, 1.0]), np.array([np.nan, 1.0, 1.0]), radii
    )
    assert np.isnan(got).all()


def true_distance_km(
    lat_deg: float, lon_deg: float, radii_km: np.ndarray, point: tuple[float, float]
) -> float:
    """Least geodesic distance to a contour whose sides are geodesics, sampled to 10 m and finer."""
    corner_lat, corner_lon = geodesy.outline(np.array([lat_deg]), np.array([lon_deg]), radii_km)
    corner_lat, corner_lon = corner_lat[0], corner_lon[0]
    to_corner, _, _ = geodesy.inverse(*point, corner_lat, corner_lon)
    near = int(np.argmin(to_corner))
    least = float(to_corner[near])
    for side in range(near - 8, near + 8):
        start, end = side % 360, (side + 1) % 360
        length, azimuth, _ = geodesy.inverse(
            float(corner_lat[start]),
            float(corner_lon[start]),
            float(corner_lat[end]),
            float(corner_lon[end]),
        )
        steps = np.linspace(0.0, length, max(3, int(length / 0.01)))
        lat, lon = geodesy.direct(
            float(corner_lat[start]), float(corner_lon[start]), azimuth, steps
        )
        least = min(least, float(geodesy.inverse(*point, lat, lon)[0].min()))
    return least


@pytest.mark.parametrize("lat_deg", [0.0, 41.0, 70.0])
@pytest.mark.parametrize("scale_km", [50.0, 150.0, 300.0])
def test_plane_distance_against_the_ellipsoid(lat_deg: float, scale_km: float) -> None:
    azimuths = np.deg2rad(np.arange(360.0))
    radii = scale_km * (0.8 + 0.2 * np.cos(3 * azimuths) + 0.05 * np.sin(11 * azimuths))[None, :]
    generator = np.random.default_rng(7)
    distance = generator.uniform(0.2, 1.5, 25) * scale_km
    azimuth = generator.uniform(0.0, 360.0, 25)
    got = geodesy.outside_distance_km(distance, azimuth, radii)
    lat, lon = geodesy.direct(lat_deg, -96.0, azimuth, distance)
    for index in range(25):
        point = (float(lat[index]), float(lon[index]))
        true_km = true_distance_km(lat_deg, -96.0, radii, point)
        stretch = (1.5 * scale_km / 6371.0) ** 2 / 6
        # Never short by more than a metre (straight side against geodesic, sampling); long by the
        # stretch of the projection at the farthest point, and that metre.
        assert -1e-3 <= abs(float(got[index])) - true_km <= stretch * true_km + 1e-3


def test_pairs_refuse_points_that_are_nowhere() -> None:
    one = np.array([0.0])
    with pytest.raises(ValueError, match="a coordinate is not a finite number of degrees"):
        geodesy.pairs_within(np.array([np.nan]), one, one, one, 10.0)


def test_pairs_of_nothing() -> None:
    none, one = np.array([]), np.array([0.0])
    for a, b in ((none, one), (one, none), (none, none)):
        index_a, index_b = geodesy.pairs_within(a, a, b, b, 10.0)
        assert len(index_a) == len(index_b) == 0


def test_pairs_come_in_order() -> None:
    lat = np.array([0.0, 0.0, 50.0])
    lon = np.array([0.0, 0.1, 0.0])
    index_a, index_b = geodesy.pairs_within(lat, lon, lat, lon, 20.0)
    assert index_a.tolist() == [0, 0, 1, 1, 2]
    assert index_b.tolist() == [0, 1, 0, 1, 2]


def test_many_pairs_in_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    generator = np.random.default_rng(3)
    lat_a, lat_b = generator.uniform(-90, 90, 40), generator.uniform(-90, 90, 300)
    lon_a, lon_b = generator.uniform(-180, 180, 40), generator.uniform(-180, 180, 300)
    whole = geodesy.pairs_within(lat_a, lon_a, lat_b, lon_b, 2000.0)
    monkeypatch.setattr(geodesy, "_PAIRS_AT_ONCE", 700)
    pieces = geodesy.pairs_within(lat_a, lon_a, lat_b, lon_b, 2000.0)
    assert len(whole[0]) > 100
    assert [part.tolist() for part in whole] == [part.tolist() for part in pieces]
