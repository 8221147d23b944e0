"""P.1546: farther, weaker, lower; mixed paths; one row as many rows; the ends of the range."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from planner.errors import OutOfModelRange
from planner.field_strength import p1546

ROUNDING_DB = 1e-9
frequencies = st.floats(30e6, 4e9)
heights = st.floats(-100, 3000)
times = st.floats(1, 50)
shares = st.floats(0, 1)
distances = st.floats(0, 1000)


def field(
    frequency_hz: float, height_m: float, distance_km: float, time: float, **more: float
) -> float:
    path = p1546.Paths(distance_km=distance_km, effective_height_m=height_m, **more)
    return float(p1546.field_dbuv_m(frequency_hz, path, time_percent=time))


@given(
    frequencies, st.floats(10, 3000), times, st.tuples(distances, distances), st.sampled_from("lcw")
)
def test_farther_is_never_stronger(
    frequency_hz: float, height_m: float, time: float, ends: tuple[float, float], zone: str
) -> None:
    more = {"l": {}, "c": {"cold_sea_share": 1.0}, "w": {"warm_sea_share": 1.0}}[zone]
    near, far = (field(frequency_hz, height_m, km, time, **more) for km in sorted(ends))
    assert far <= near + ROUNDING_DB


@given(frequencies, heights, times, distances, st.floats(1e-6, 1000), st.floats(0.001, 1))
def test_weaker_is_weaker_by_as_much(
    frequency_hz: float, height_m: float, time: float, km: float, erp_kw: float, part: float
) -> None:
    path = p1546.Paths(distance_km=km, effective_height_m=height_m)
    strong, weak = (
        p1546.field_dbuv_m(frequency_hz, path, time_percent=time, erp_kw=power)
        for power in (erp_kw, erp_kw * part)
    )
    assert float(strong) - float(weak) == pytest.approx(-10 * np.log10(part), abs=ROUNDING_DB)


@given(frequencies, times, st.tuples(heights, heights), st.floats(1, 100))
def test_lower_is_never_stronger_beyond_ten_times_the_height(
    frequency_hz: float, time: float, ends: tuple[float, float], times_over: float
) -> None:
    low, high = sorted(ends)
    km = min(max(10 * max(high, 10.0) / 1000 * times_over, 1.0), 1000.0)
    lower, higher = (field(frequency_hz, height, km, time) for height in (low, high))
    assert lower <= higher + ROUNDING_DB


@given(frequencies, heights, times, distances, shares, shares)
@example(551_247_792.0, 1637.0, 41.0, 0.0, 0.5, 0.0)  # the ceiling of the mixed path for every zone
@example(54_093_116.0, 2458.5, 1.1445, 55.703, 0.64357, 0.0944)  # 0.7 dB above land and sea, once
def test_a_mixed_path_lies_between_land_and_sea(
    frequency_hz: float, height_m: float, time: float, km: float, sea: float, cold: float
) -> None:
    mixed = field(
        frequency_hz, height_m, km, time, cold_sea_share=sea * cold, warm_sea_share=sea * (1 - cold)
    )
    pure = [
        field(frequency_hz, height_m, km, time, cold_sea_share=c, warm_sea_share=w)
        for c, w in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))
    ]
    assert min(pure) - ROUNDING_DB <= mixed <= max(pure) + ROUNDING_DB


@given(
    frequencies,
    heights,
    times,
    st.lists(st.tuples(distances, shares, shares), min_size=2, max_size=20),
)
def test_one_row_alone_as_among_others(
    frequency_hz: float,
    height_m: float,
    time: float,
    paths: list[tuple[float, float, float]],
) -> None:
    km, sea, cold = np.array(paths).T
    together = p1546.field_dbuv_m(
        frequency_hz,
        p1546.Paths(
            distance_km=km,
            effective_height_m=height_m,
            cold_sea_share=sea * cold,
            warm_sea_share=sea * (1 - cold),
        ),
        time_percent=time,
    )
    alone = [
        field(frequency_hz, height_m, d, time, cold_sea_share=s * c, warm_sea_share=s * (1 - c))
        for d, s, c in paths
    ]
    assert np.abs(np.asarray(together) - np.array(alone)).max() <= ROUNDING_DB


def test_no_distance_at_all_has_a_finite_field() -> None:
    assert field(600e6, 100.0, 0.0, 50.0) == pytest.approx(106.9 - 20 * np.log10(0.09), abs=0.01), (
        "free space over the climb of 90 m; 0.01 dB for the 1 m taken for nothing"
    )
    assert np.isfinite(field(600e6, 10.0, 0.0, 50.0))


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"distance_km": 20_000.0}, r"distance_km 20000 is outside .* 0 to 1000"),
        ({"distance_km": -1.0}, r"distance_km -1 is outside"),
        ({"effective_height_m": 3001.0}, r"effective_height_m 3001 is outside"),
        ({"effective_height_m": float("nan")}, r"effective_height_m nan is outside"),
        ({"cold_sea_share": 0.6, "warm_sea_share": 0.6}, r"sea_share 1\.2 is outside"),
    ],
)
def test_outside_the_model_is_told(more: dict[str, float], told: str) -> None:
    path = p1546.Paths(**{"distance_km": 10.0, "effective_height_m": 100.0, **more})
    with pytest.raises(OutOfModelRange, match=told):
        p1546.field_dbuv_m(600e6, path)
