"""Limits, shapes and odd corners of the FCC curves."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest

from planner.errors import OutOfModelRange
from planner.field_strength import free_space, r6602
from planner.tables import read_table

UHF_HZ = 600_000_000
BANDS_HZ = (63_000_000, 201_000_000, UHF_HZ)


def field(curve: str, distance_km: float, *, haat_m: float = 150.0, erp_kw: float = 1.0) -> float:
    return r6602.field_dbuv_m(curve, UHF_HZ, haat_m=haat_m, distance_km=distance_km, erp_kw=erp_kw)


def contour(curve: str, level: float, *, haat_m: float = 150.0, erp_kw: float = 1.0) -> float:
    return r6602.contour_distance_km(
        curve, UHF_HZ, haat_m=haat_m, field_dbuv_m=level, erp_kw=erp_kw
    )


@pytest.mark.parametrize(
    ("frequency_hz", "band"),
    [
        (54_000_000, "vhf-low"),
        (87_999_999, "vhf-low"),
        (174_000_000, "vhf-high"),
        (216_000_000, "vhf-high"),
        (470_000_000, "uhf"),
        (890_000_000, "uhf"),
    ],
)
def test_band(frequency_hz: int, band: str) -> None:
    assert r6602.band(frequency_hz) == band
    assert r6602.band(np.array([[frequency_hz]])).tolist() == [[band]]


@pytest.mark.parametrize("frequency_hz", [0, 53_999_999, 890_000_001, math.nan])
def test_frequencies_without_curves(frequency_hz: float) -> None:
    with pytest.raises(OutOfModelRange, match=r"frequency_hz .* range 5\.4e\+07 to 8\.9e\+08"):
        r6602.band(frequency_hz)
    with pytest.raises(OutOfModelRange, match="frequency_hz"):
        r6602.field_dbuv_m("F(50,50)", frequency_hz, haat_m=1, distance_km=1, erp_kw=1)


@pytest.mark.parametrize("curve", ["F(50,99)", "f(50,50)", ""])
def test_unknown_curve(curve: str) -> None:
    with pytest.raises(ValueError, match=r"is not known; use one of F\(50,50\), F\(50,10\)"):
        field(curve, 10.0)
    with pytest.raises(ValueError, match=r"is not known; use one of F\(50,50\), F\(50,10\)"):
        contour(curve, 10.0)


def test_every_tabulated_point_is_met() -> None:
    table = read_table("fcc_r6602_curves")
    centres = {"vhf-low": BANDS_HZ[0], "vhf-high": BANDS_HZ[1], "uhf": BANDS_HZ[2]}
    for curve in ("F(50,50)", "F(50,10)"):
        rows = [
            row
            for row, name in enumerate(table["curve"])
            if name == curve and float(table["distance_km"][row]) <= r6602.FAR_LIMIT_KM[curve]
        ]
        figures = {
            name: np.array([float(table[name][row]) for row in rows])
            for name in ("haat_m", "distance_km", "field_dbuv_m")
        }
        got = r6602.field_dbuv_m(
            curve,
            np.array([centres[table["band"][row]] for row in rows]),
            haat_m=figures["haat_m"],
            distance_km=figures["distance_km"],
            erp_kw=1.0,
        )
        assert np.abs(got - figures["field_dbuv_m"]).max() <= 1e-9  # rounding


def test_free_space_below_one_and_a_half_kilometres() -> None:
    for curve in r6602.CURVES:
        assert field(curve, 1.499) == free_space.field_dbuv_m(1.499, 1.0)
        assert field(curve, 1.5) < free_space.field_dbuv_m(1.5, 1.0)


def test_at_the_foot_of_the_mast() -> None:
    at_foot = field("F(50,50)", 0.0)
    assert at_foot == field("F(50,50)", 0.01)
    assert abs(at_foot - 146.92) <= 1e-9  # 106.92 dB and two decades
    assert at_foot > field("F(50,50)", 0.011)


def test_median_curve_stands_in_below_fifteen_kilometres() -> None:
    below = math.nextafter(15.0, 0.0)
    assert field("F(50,10)", below) == field("F(50,50)", below) == field("F(50,90)", below)
    assert field("F(50,10)", 15.0) != field("F(50,50)", 15.0)


def test_far_limits() -> None:
    for curve, far_km in (("F(50,50)", 300.0), ("F(50,90)", 300.0), ("F(50,10)", 500.0)):
        assert math.isfinite(field(curve, far_km))
        assert math.isnan(field(curve, math.nextafter(far_km, 1e3)))
        assert math.isnan(field(curve, math.inf))


def test_heights_are_held_at_30_and_1600_m() -> None:
    for curve in r6602.CURVES:
        assert field(curve, 40.0, haat_m=-20.0) == field(curve, 40.0, haat_m=30.0)
        assert field(curve, 40.0, haat_m=30.0) < field(curve, 40.0, haat_m=30.48)
        assert field(curve, 40.0, haat_m=3000.0) == field(curve, 40.0, haat_m=1600.0)


def test_unknown_and_impossible_values() -> None:
    assert math.isnan(field("F(50,50)", math.nan))
    assert math.isnan(field("F(50,50)", -1.0))
    assert math.isnan(field("F(50,50)", 20.0, haat_m=math.nan))
    assert math.isnan(field("F(50,50)", 1.0, haat_m=math.nan))
    assert math.isnan(field("F(50,50)", 20.0, erp_kw=-1.0))
    assert field("F(50,50)", 20.0, erp_kw=0.0) == -math.inf
    assert math.isnan(contour("F(50,50)", math.nan))
    assert math.isnan(contour("F(50,50)", 41.0, haat_m=math.nan))
    assert math.isnan(contour("F(50,50)", 41.0, erp_kw=-1.0))
    assert contour("F(50,50)", 41.0, erp_kw=0.0) == 0.0
    assert contour("F(50,50)", -1e9) == 300.0
    assert contour("F(50,50)", 1e9) == 0.0


def test_power_counts_in_decibels() -> None:
    assert abs(field("F(50,50)", 40.0, erp_kw=1000.0) - field("F(50,50)", 40.0) - 30.0) <= 1e-12


def test_contour_inside_free_space() -> None:
    assert abs(contour("F(50,90)", 106.92) - 1.0) <= 1e-12
    assert abs(contour("F(50,90)", 112.94060) - 0.5) <= 1e-6  # 6.0206 dB to half a kilometre


def test_contour_where_the_field_drops_at_one_and_a_half_kilometres() -> None:
    low, high = field("F(50,90)", 1.5, haat_m=30.0), free_space.field_dbuv_m(1.5, 1.0)
    assert high - low > 7.0
    assert contour("F(50,90)", (low + high) / 2, haat_m=30.0) == 1.5


def test_contour_at_the_step_of_fifteen_kilometres() -> None:
    below = math.nextafter(15.0, 0.0)
    down = field("F(50,90)", below), field("F(50,90)", 15.0)
    assert down[0] > down[1]
    assert contour("F(50,90)", sum(down) / 2) == 15.0
    up = field("F(50,10)", below), field("F(50,10)", 15.0)
    assert up[0] < up[1]
    # Both just before and again beyond 15 km the field has this level: the outer one counts.
    assert contour("F(50,10)", sum(up) / 2) > 15.0


def test_contour_beyond_the_curve_is_its_end() -> None:
    assert contour("F(50,50)", -60.0) == 300.0
    assert contour("F(50,10)", -60.0) == 500.0


@pytest.mark.parametrize(
    ("frequency_hz", "level_dbuv_m"), [(57_000_000, 28.0), (177_000_000, 36.0), (473_000_000, 38.7)]
)
def test_no_protected_contour_reaches_the_end_of_its_curve(
    frequency_hz: int, level_dbuv_m: float
) -> None:
    """1000 kW at 1600 m, more than any rule allows, at the lowest protected level of the band."""
    reach = r6602.contour_distance_km(
        "F(50,90)", frequency_hz, haat_m=1600.0, field_dbuv_m=level_dbuv_m, erp_kw=1000.0
    )
    assert reach < 290.0


def test_numbers_give_numbers_and_arrays_broadcast() -> None:
    assert type(field("F(50,50)", 20)) is float
    assert type(contour("F(50,50)", 41)) is float
    frequency = np.array(BANDS_HZ)
    haat = np.array([[50.0], [400.0]])
    for curve in r6602.CURVES:
        fields = r6602.field_dbuv_m(curve, frequency, haat_m=haat, distance_km=33.3, erp_kw=2.0)
        reaches = r6602.contour_distance_km(
            curve, frequency, haat_m=haat, field_dbuv_m=50.0, erp_kw=2.0
        )
        assert fields.shape == reaches.shape == (2, 3)
        assert fields.dtype == reaches.dtype == np.float64
        for row in range(2):
            for column in range(3):
                one = {"haat_m": float(haat[row, 0]), "erp_kw": 2.0}
                hertz = int(frequency[column])
                assert fields[row, column] == r6602.field_dbuv_m(
                    curve, hertz, distance_km=33.3, **one
                )
                assert reaches[row, column] == r6602.contour_distance_km(
                    curve, hertz, field_dbuv_m=50.0, **one
                )


def test_nothing_in_nothing_out() -> None:
    none = np.array([])
    assert r6602.field_dbuv_m("F(50,50)", none, haat_m=1, distance_km=1, erp_kw=1).shape == (0,)
    assert r6602.contour_distance_km(
        "F(50,50)", none, haat_m=1, field_dbuv_m=1, erp_kw=1
    ).shape == (0,)


def test_arguments_are_left_as_they_came() -> None:
    distance = np.array([1.0, 20.0, 400.0])
    haat = np.array([10.0, 100.0, 2000.0])
    r6602.field_dbuv_m("F(50,50)", UHF_HZ, haat_m=haat, distance_km=distance, erp_kw=1.0)
    r6602.contour_distance_km("F(50,50)", UHF_HZ, haat_m=haat, field_dbuv_m=40.0, erp_kw=1.0)
    assert distance.tolist() == [1.0, 20.0, 400.0]
    assert haat.tolist() == [10.0, 100.0, 2000.0]


@pytest.mark.parametrize("curve", r6602.CURVES)
@pytest.mark.parametrize("frequency_hz", BANDS_HZ)
def test_field_falls_with_distance_but_for_fifteen_kilometres(
    curve: str, frequency_hz: int
) -> None:
    """The inversion rests on this: one crossing in a cell."""
    distance = np.concatenate(
        [np.arange(0.1, 15.0, 0.05), np.arange(15.0, r6602.FAR_LIMIT_KM[curve], 0.4)]
    )
    haat = np.concatenate([np.arange(30.0, 1600.0, 7.0), [1600.0]])
    fields = r6602.field_dbuv_m(
        curve, frequency_hz, haat_m=haat[:, None], distance_km=distance[None, :], erp_kw=1.0
    )
    steps = np.diff(fields, axis=1)
    at_fifteen = int(np.searchsorted(distance, 15.0)) - 1
    others = np.delete(steps, at_fifteen, axis=1)
    assert others.max() < 0.0
    assert np.abs(steps[:, at_fifteen]).max() < 1.0


def test_speed() -> None:
    """20,000 paths on two curves, and 2,100 contours at two levels, each well under half a second.

    The best of three runs, against a bound five times what one core of a small machine takes.
    """
    generator = np.random.default_rng(2)
    frequency = generator.choice(np.array(BANDS_HZ), 20_000)
    haat = generator.uniform(20.0, 900.0, 20_000)
    distance = generator.uniform(1.0, 290.0, 20_000)
    fields, contours = [], []
    for _ in range(3):
        start = time.perf_counter()
        for curve in ("F(50,50)", "F(50,10)"):
            r6602.field_dbuv_m(curve, frequency, haat_m=haat, distance_km=distance, erp_kw=9.0)
        fields.append(time.perf_counter() - start)
        start = time.perf_counter()
        for level in (41.0, 39.0):
            r6602.contour_distance_km(
                "F(50,90)",
                frequency[:2100],
                haat_m=haat[:2100],
                field_dbuv_m=level,
                erp_kw=9.0,
            )
        contours.append(time.perf_counter() - start)
    assert min(fields) < 0.5
    assert min(contours) < 0.5
