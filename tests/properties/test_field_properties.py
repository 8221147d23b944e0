"""What must hold for any field, contour and pair of points."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner import geodesy
from planner.field_strength import free_space, r6602

unhurried = settings(deadline=None)  # the first example of all reads the tables
curves = st.sampled_from(r6602.CURVES)
frequencies = st.sampled_from(
    [57_000_000, 79_000_000, 177_000_000, 213_000_000, 473_000_000, 605_000_000]
)
heights = st.floats(20.0, 1700.0)
powers = st.floats(1e-4, 2e3)
levels = st.floats(0.0, 120.0)
latitudes = st.one_of(st.floats(-90.0, 90.0), st.sampled_from([-90.0, 90.0, 0.0, 89.9999]))
longitudes = st.one_of(st.floats(-180.0, 180.0), st.sampled_from([-180.0, 180.0, 179.9999, 0.0]))
points = st.tuples(latitudes, longitudes)


@unhurried
@given(curves, frequencies, heights, st.floats(0.01, 500.0), st.floats(0.01, 500.0), powers)
def test_farther_is_never_stronger(
    curve: str, frequency_hz: int, haat_m: float, d_1_km: float, d_2_km: float, erp_kw: float
) -> None:
    near_km, far_km = sorted((d_1_km, d_2_km))
    assume(far_km <= r6602.FAR_LIMIT_KM[curve])
    assume(near_km >= 15.0 or far_km < 15.0)  # F(50,10) may step up there
    near, far = (
        r6602.field_dbuv_m(
            curve, frequency_hz, haat_m=haat_m, distance_km=distance_km, erp_kw=erp_kw
        )
        for distance_km in (near_km, far_km)
    )
    assert far <= near + 1e-9  # rounding


@unhurried
@given(curves, frequencies, heights, st.floats(0.01, 300.0), powers)
def test_never_stronger_than_free_space(
    curve: str, frequency_hz: int, haat_m: float, distance_km: float, erp_kw: float
) -> None:
    field = r6602.field_dbuv_m(
        curve, frequency_hz, haat_m=haat_m, distance_km=distance_km, erp_kw=erp_kw
    )
    assert field <= free_space.field_dbuv_m(distance_km, erp_kw) + 1e-9  # rounding


@unhurried
@given(frequencies, heights, st.floats(15.0, 300.0), powers)
def test_time_percentages_mirror_each_other(
    frequency_hz: int, haat_m: float, distance_km: float, erp_kw: float
) -> None:
    tenth, median, ninety = (
        r6602.field_dbuv_m(
            curve, frequency_hz, haat_m=haat_m, distance_km=distance_km, erp_kw=erp_kw
        )
        for curve in ("F(50,10)", "F(50,50)", "F(50,90)")
    )
    assert abs((tenth - median) - (median - ninety)) <= 1e-9  # rounding
    # Beside 15 km the two digitised sheets cross by up to a quarter of a decibel.
    assert tenth >= median - (0.25 if distance_km < 40.0 else 0.0)


@unhurried
@given(curves, frequencies, heights, levels, powers)
def test_contour_and_back(
    curve: str, frequency_hz: int, haat_m: float, level: float, erp_kw: float
) -> None:
    reach_km = r6602.contour_distance_km(
        curve, frequency_hz, haat_m=haat_m, field_dbuv_m=level, erp_kw=erp_kw
    )
    assume(0.01 < reach_km < r6602.FAR_LIMIT_KM[curve])

    def field(distance_km: float) -> float:
        return r6602.field_dbuv_m(
            curve, frequency_hz, haat_m=haat_m, distance_km=distance_km, erp_kw=erp_kw
        )

    if reach_km in {r6602.NEAR_LIMIT_KM, r6602.TIME_LIMIT_KM}:
        assert field(math.nextafter(reach_km, 0.0)) >= level - 1e-9 >= field(reach_km) - 2e-9
    else:
        # 4 micrometres on a slope of at most 90 dB a metre at the foot of a mast, less elsewhere.
        assert abs(field(reach_km) - level) <= 1e-5
    beyond = np.linspace(reach_km + 1e-3, r6602.FAR_LIMIT_KM[curve], 200)
    assert (np.array([field(float(distance)) for distance in beyond[:5]]) < level).all()
    assert (
        r6602.field_dbuv_m(curve, frequency_hz, haat_m=haat_m, distance_km=beyond, erp_kw=erp_kw)
        < level
    ).all()


stations = st.tuples(curves, frequencies, heights, powers)


@unhurried
@given(stations, levels, st.floats(0.0, 20.0), st.floats(1.0, 50.0))
def test_weaker_level_or_more_power_never_shrinks_a_contour(
    station: tuple[str, int, float, float], level: float, lower_by: float, times: float
) -> None:
    curve, frequency_hz, haat_m, erp_kw = station

    def reach(field_dbuv_m: float, power_kw: float) -> float:
        return r6602.contour_distance_km(
            curve, frequency_hz, haat_m=haat_m, field_dbuv_m=field_dbuv_m, erp_kw=power_kw
        )

    here = reach(level, erp_kw)
    # 4 micrometres is what the inversion resolves.
    assert reach(level - lower_by, erp_kw) >= here - 1e-8
    assert reach(level, erp_kw * times) >= here - 1e-8


@unhurried
@given(points, st.floats(0.0, 360.0), st.floats(0.001, 1000.0))
def test_there_and_back(start: tuple[float, float], azimuth_deg: float, distance_km: float) -> None:
    end = geodesy.direct(*start, azimuth_deg, distance_km)
    back_km, _, toward_start_deg = geodesy.inverse(*start, *end)
    assert abs(back_km - distance_km) <= 1e-8  # 10 micrometres: coordinates end at 1e-14 rad
    again = geodesy.direct(*end, toward_start_deg, back_km)
    assert geodesy.inverse(*start, *again)[0] <= 1e-7


@unhurried
@given(points, points)
def test_inverse_is_the_same_from_either_end(
    a: tuple[float, float], b: tuple[float, float]
) -> None:
    there, back = geodesy.inverse(*a, *b), geodesy.inverse(*b, *a)
    assert abs(there[0] - back[0]) <= 1e-9  # a micrometre
    assert all(0.0 <= azimuth_deg < 360.0 for azimuth_deg in (*there[1:], *back[1:]))


@unhurried
@given(
    st.lists(points, min_size=1, max_size=6),
    st.lists(points, min_size=1, max_size=6),
    st.one_of(st.floats(0.0, 21_000.0), st.floats(0.0, 50.0)),
)
def test_pairs_lose_nothing(
    a: list[tuple[float, float]], b: list[tuple[float, float]], limit_km: float
) -> None:
    lat_a, lon_a = np.array(a).T
    lat_b, lon_b = np.array(b).T
    found = set(
        zip(
            *(
                index.tolist()
                for index in geodesy.pairs_within(lat_a, lon_a, lat_b, lon_b, limit_km)
            ),
            strict=True,
        )
    )
    distance, _, _ = geodesy.inverse(lat_a[:, None], lon_a[:, None], lat_b[None, :], lon_b[None, :])
    wanted = set(zip(*(index.tolist() for index in np.nonzero(distance <= limit_km)), strict=True))
    assert wanted <= found
    # And it is of use: up to 1000 km a chord is at most 0.11 % shorter than the geodesic.
    if limit_km <= 1000.0:
        assert all(distance[pair] <= limit_km * 1.0011 + 1.1e-3 for pair in found)


@unhurried
@given(points, st.floats(0.0, 360.0), st.floats(0.0, 800.0))
def test_a_pair_just_at_the_limit_is_kept_and_one_well_beyond_is_not(
    start: tuple[float, float], azimuth_deg: float, distance_km: float
) -> None:
    end = geodesy.direct(*start, azimuth_deg, distance_km)
    lat_a, lon_a, lat_b, lon_b = (np.array([value]) for value in (*start, *end))
    exact_km, _, _ = geodesy.inverse(*start, *end)
    assert len(geodesy.pairs_within(lat_a, lon_a, lat_b, lon_b, exact_km)[0]) == 1
    # Up to 800 km the chord is at most 0.07 % shorter; a metre is the slack for rounding.
    well_inside_km = exact_km * (1 - 7e-4) - 1.1e-3
    if well_inside_km > 0:
        assert len(geodesy.pairs_within(lat_a, lon_a, lat_b, lon_b, well_inside_km)[0]) == 0


@unhurried
@given(
    st.floats(0.0, 300.0),
    st.floats(0.0, 360.0, exclude_max=True),
    st.floats(1.0, 200.0),
    st.integers(0, 359),
    st.floats(0.0, 50.0),
)
def test_a_larger_contour_is_never_farther(
    distance_km: float, azimuth_deg: float, radius_km: float, radial: int, more_km: float
) -> None:
    small = np.full((1, 360), radius_km)
    large = small.copy()
    large[0, radial] += more_km
    point = np.array([distance_km]), np.array([azimuth_deg])
    assert (
        geodesy.outside_distance_km(*point, large)[0]
        <= geodesy.outside_distance_km(*point, small)[0] + 1e-9
    )


@pytest.mark.parametrize("meridian_deg", [0.0, 180.0, -180.0])
def test_pairs_beside_a_meridian_and_on_the_poles(meridian_deg: float) -> None:
    lat = np.array([-90.0, -89.99, 0.0, 89.99, 90.0])
    index_a, index_b = geodesy.pairs_within(
        lat, np.full(5, meridian_deg - 0.01), lat, np.full(5, -meridian_deg + 0.01), 5.0
    )
    assert set(zip(index_a.tolist(), index_b.tolist(), strict=True)) == {
        (0, 0), (0, 1), (1, 0), (1, 1), (2, 2), (3, 3), (3, 4), (4, 3), (4, 4),
    }  # fmt: skip
