"""Directional antennas, heights by radial, groups: what reach makes of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from planner.field_strength import r6602
from planner.geodesy import direct, outside_distance_km
from planner.reach import ReachTable, compute_reach
from planner.reach.patterns import LEAST_RELATIVE_FIELD, relative_field
from planner.records.azimuths import AzimuthCurves
from planner.rules import country_rules
from tests.unit.builders import station, stations, stop

if TYPE_CHECKING:
    from planner.records import StationTable

US = country_rules("US")
MARGIN_KM = US.margin_km
ONES = [(0.0, 1.0), (90.0, 1.0), (180.0, 1.0), (270.0, 1.0)]
NOTCH = [(0.0, 1.0), (85.0, 1.0), (90.0, 0.01), (95.0, 1.0), (180.0, 1.0)]
"""Full power all round but for a narrow null due east."""


def seen_at(km: float, azimuth_deg: float, table: StationTable) -> ReachTable:
    """Return the reach of a stop at a distance and azimuth from the station."""
    lat, lon = direct(39.0, -99.0, azimuth_deg, km)
    return compute_reach([stop(lat_deg=float(lat), lon_deg=float(lon))], table, [US])


def shaped(points: list[tuple[float, float]], **more: Any) -> StationTable:
    return stations([station(20, pattern="p", **more)], patterns={"p": points})


def test_the_field_runs_straight_between_points_and_over_north() -> None:
    curves = AzimuthCurves.of([[(350.0, 0.4), (10.0, 0.8)], [(0.0, 0.0), (90.0, 1.0)]])
    got = curves.at(np.array([0, 0, 0, 0, 1, 1]), np.array([0.0, 355.0, 360.0, 180.0, 45.0, 225.0]))
    # by hand; 1e-12: rounding only
    assert got == pytest.approx([0.6, 0.5, 0.6, 0.6, 0.5, 0.5], abs=1e-12)


def test_a_rotation_turns_the_pattern_clockwise() -> None:
    table = shaped(NOTCH, pattern_rotation_deg=30.0)
    got = relative_field(table, np.array([0, 0]), np.array([90.0, 120.0]))
    assert got == pytest.approx([1.0, 0.01], abs=1e-12)  # rounding only


def test_power_toward_the_stop_is_erp_times_the_square_of_the_field() -> None:
    row = seen_at(50.0, 90.0, shaped([(0.0, 1.0), (90.0, 0.5), (180.0, 1.0)], erp_kw=100.0))
    assert row.erp_toward_stop_kw[0] == pytest.approx(25.0, rel=1e-9)  # azimuth to 1e-9 deg
    full = seen_at(50.0, 90.0, stations([station(20)]))
    # 20 log10(0.5); 1e-6 dB: the azimuth there and back
    assert row.field_50_10_dbuv_m[0] - full.field_50_10_dbuv_m[0] == pytest.approx(
        -6.0206, abs=1e-4
    )


def test_a_pattern_of_ones_is_non_directional() -> None:
    plain = seen_at(95.0, 37.0, stations([station(20)]))
    ones = seen_at(95.0, 37.0, shaped(ONES))
    assert plain.polygon[0] == -1
    assert ones.polygon[0] == 0
    for name in ("erp_toward_stop_kw", "field_50_50_dbuv_m", "contour_law_km"):
        assert getattr(ones, name)[0] == pytest.approx(getattr(plain, name)[0], rel=1e-9)
    # a polygon of 360 sides lies at most r (1 - cos 0.5 deg) = 0.004 km inside its circle
    assert ones.outside_law_km[0] == pytest.approx(plain.outside_law_km[0], abs=0.005)


def test_a_pattern_that_no_table_holds_counts_as_non_directional() -> None:
    table = stations([station(20, pattern="lost")])
    assert table.lacks_pattern.tolist() == [True]
    assert seen_at(50.0, 10.0, table).erp_toward_stop_kw[0] == 100.0


def test_beside_a_null_the_polygon_protects_what_the_radial_would_free() -> None:
    """The stop lies 9 km outside the contour along its own azimuth, but beside a lobe."""
    table = shaped(NOTCH)
    toward = seen_at(50.0, 90.0, table)
    radial_km = float(toward.contour_law_km[0])
    lobe_km = float(seen_at(50.0, 0.0, table).contour_law_km[0])
    assert radial_km + MARGIN_KM < 50.0 < lobe_km, "the radial test would free the channel"
    assert toward.outside_law_km[0] <= MARGIN_KM, "the polygon test does not"
    assert toward.outside_cautious_km[0] <= MARGIN_KM
    # by brute force over the sides of the polygon in the plane
    radii = toward.law_radii_km[toward.polygon[0]]
    expected = outside_distance_km(np.array([50.0]), np.array([90.0]), radii[None, :])
    assert toward.outside_law_km[0] == pytest.approx(float(expected[0]), abs=1e-6)  # rounding


def test_a_null_to_zero_breaks_nothing() -> None:
    row = seen_at(50.0, 90.0, shaped([(0.0, 1.0), (90.0, 0.0), (180.0, 1.0)]))
    assert row.erp_toward_stop_kw[0] == pytest.approx(100 * LEAST_RELATIVE_FIELD**2, rel=1e-6)
    for name in ("field_50_50_dbuv_m", "contour_law_km", "outside_law_km", "sigma_db"):
        assert np.isfinite(getattr(row, name)[0]), name


def test_far_from_a_directional_contour_the_distance_is_a_lower_bound() -> None:
    near_north = shaped([(0.0, 1.0), (180.0, 0.1)])
    row = seen_at(250.0, 180.0, near_north)
    assert row.polygon[0] == -1
    assert 60.0 < row.outside_law_km[0] < 250.0 - row.contour_law_km[0]


def test_height_by_radial_moves_field_and_contour() -> None:
    rows = [station(20, haat_m=300.0)]
    haats = {"x-20": [(0.0, 100.0), (180.0, 500.0)]}
    for azimuth_deg, haat_m in ((0.0, 100.0), (90.0, 300.0), (180.0, 500.0)):
        row = seen_at(70.0, azimuth_deg, stations(rows, haats=haats))
        same = seen_at(70.0, azimuth_deg, stations([station(20, haat_m=haat_m)]))
        assert row.haat_m[0] == pytest.approx(haat_m, abs=1e-6)  # m; azimuth there and back
        assert row.field_50_10_dbuv_m[0] == pytest.approx(same.field_50_10_dbuv_m[0], abs=1e-6)
        assert row.contour_law_km[0] == pytest.approx(same.contour_law_km[0], abs=1e-4)
    unknown = stations([station(20, haat_m=None)], haats=haats)
    assert not seen_at(70.0, 0.0, unknown).haat_assumed[0]


def test_sites_of_one_group_are_united() -> None:
    lat, lon = direct(39.0, -99.0, 90.0, 150.0)
    sites = [
        station(20, station_id="west", group_id="g"),
        station(20, station_id="east", group_id="g", lat_deg=float(lat), lon_deg=float(lon)),
    ]
    united = seen_at(60.0, 90.0, stations(sites))
    alone = seen_at(60.0, 90.0, stations([{**row, "group_id": ""} for row in sites]))
    assert alone.outside_law_km[0] < 0 < alone.outside_law_km[1]
    assert united.outside_law_km.tolist() == [alone.outside_law_km[0]] * 2
    on_two_channels = [sites[0], {**sites[1], "low_hz": 512_000_000, "high_hz": 518_000_000}]
    apart = seen_at(60.0, 90.0, stations(on_two_channels))
    assert apart.outside_law_km[0] < 0 < apart.outside_law_km[1]


def test_radii_in_bulk_agree_with_one_by_one() -> None:
    random = np.random.default_rng(20261125)
    frequency_hz = np.array([60e6, 200e6, 500e6, 605e6] * 5)
    haat_m = random.uniform(-50, 1800, 20)
    level = random.uniform(-60, 110, (20, 50))
    for curve in r6602.CURVES:
        bulk = r6602.contour_radii_km(curve, frequency_hz, haat_m=haat_m, field_dbuv_m=level)
        one = r6602.contour_distance_km(
            curve,
            frequency_hz[:, None],
            haat_m=haat_m[:, None],
            field_dbuv_m=level,
            erp_kw=1.0,
        )
        # 0.1 m; three Newton steps came within 2 mm on a million levels
        assert np.abs(bulk - one).max() < 1e-4


def test_several_points_may_share_a_contour() -> None:
    radii = np.vstack([np.full(360, 40.0), np.full(360, 60.0)])
    got = outside_distance_km(
        np.array([50.0, 50.0, 70.0]),
        np.array([10.0, 20.0, 30.5]),
        radii,
        contour=np.array([1, 0, 1]),
    )
    # a side lies at most 60 (1 - cos 0.5 deg) = 0.0023 km inside its circle
    assert got == pytest.approx([-10.0, 10.0, 10.0], abs=0.0024)
