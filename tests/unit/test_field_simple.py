"""Free space, height, building and noise: limits, shapes and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.errors import OutOfModelRange
from planner.field_strength import free_space, noise
from planner.field_strength.building import building_types, entry_loss_db
from planner.field_strength.height import FCC_CURVE_HEIGHT_M, height_correction_db


def test_free_space_halves_with_twice_the_distance() -> None:
    step = free_space.field_dbuv_m(10.0, 1.0) - free_space.field_dbuv_m(20.0, 1.0)
    assert abs(step - 20 * math.log10(2)) <= 1e-12


def test_free_space_at_and_behind_the_antenna() -> None:
    assert free_space.field_dbuv_m(0.0, 1.0) == free_space.field_dbuv_m(0.01, 1.0)
    assert math.isnan(free_space.field_dbuv_m(-1.0, 1.0))
    assert math.isnan(free_space.field_dbuv_m(math.nan, 1.0))
    assert free_space.field_dbuv_m(1.0, 0.0) == -math.inf
    assert math.isnan(free_space.field_dbuv_m(1.0, -2.0))
    assert free_space.path_loss_db(0.0, 6e8) == -math.inf


def test_field_and_loss_tell_the_same_power() -> None:
    """ERP to field to power must be ERP + 2.15 - loss, at any distance and frequency."""
    for distance_km, frequency_hz in ((1.0, 6e7), (17.0, 6e8), (120.0, 2e9)):
        by_field = noise.received_power_dbm(free_space.field_dbuv_m(distance_km, 1.0), frequency_hz)
        by_loss = 60.0 + 2.15 - free_space.path_loss_db(distance_km, frequency_hz)
        # 106.92 dB and 2.15 dB are rounded to 0.01 dB.
        assert abs(by_field - by_loss) <= 0.01


def test_height_correction_vanishes_at_the_curve_s_height() -> None:
    assert height_correction_db(6e8, FCC_CURVE_HEIGHT_M, FCC_CURVE_HEIGHT_M) == 0.0


def test_height_correction_at_600_mhz_is_twenty_decibels_a_decade() -> None:
    assert abs(height_correction_db(6e8, 1.0, 10.0) - -20.4) <= 0.05  # 3.2 + 6.2 log10 600


def test_lower_antennas_get_less() -> None:
    heights = np.array([1.0, 1.5, 3.0, 9.0, 20.0])
    corrections = height_correction_db(6e8, heights, FCC_CURVE_HEIGHT_M)
    assert (np.diff(corrections) > 0).all()
    assert corrections[3] == 0.0


@pytest.mark.parametrize("height_m", [0.99, 0.0, -3.0, math.nan])
def test_heights_below_one_metre_are_refused(height_m: float) -> None:
    with pytest.raises(OutOfModelRange, match=r"height_m .* is outside the model's range 1 to inf"):
        height_correction_db(6e8, np.array([3.0, height_m]), FCC_CURVE_HEIGHT_M)


def test_building_types() -> None:
    assert building_types() == ("traditional", "thermally-efficient")
    with pytest.raises(ValueError, match="'stone' is not known; use one of traditional, thermally"):
        entry_loss_db(6e8, probability_percent=50, building="stone")


@pytest.mark.parametrize(
    ("quantity", "arguments"),
    [
        ("frequency_hz -1 ", {"frequency_hz": -1.0}),
        ("frequency_hz 0 ", {"frequency_hz": 0.0}),
        (r"frequency_hz 1\.1e\+11 ", {"frequency_hz": 1.1e11}),
        ("frequency_hz nan ", {"frequency_hz": math.nan}),
        ("probability_percent 0 ", {"probability_percent": 0.0}),
        ("probability_percent 100 ", {"probability_percent": 100.0}),
        ("elevation_deg 91 ", {"elevation_deg": 91.0}),
    ],
)
def test_building_loss_outside_the_model(quantity: str, arguments: dict[str, float]) -> None:
    usual = {"frequency_hz": 6e8, "probability_percent": 50.0, "elevation_deg": 0.0}
    frequency_hz = (usual | arguments)["frequency_hz"]
    rest = {name: value for name, value in (usual | arguments).items() if name != "frequency_hz"}
    with pytest.raises(OutOfModelRange, match=quantity):
        entry_loss_db(frequency_hz, building="traditional", **rest)


def test_building_loss_below_80_mhz_is_that_of_80_mhz() -> None:
    at_80 = entry_loss_db(80e6, probability_percent=50, building="traditional")
    assert entry_loss_db(57e6, probability_percent=50, building="traditional") == at_80
    assert entry_loss_db(90e6, probability_percent=50, building="traditional") != at_80


def test_building_loss_grows_with_probability() -> None:
    percents = np.array([0.1, 1.0, 10.0, 50.0, 90.0, 99.0, 99.9])
    for building in building_types():
        losses = entry_loss_db(6e8, probability_percent=percents, building=building)
        assert (np.diff(losses) > 0).all()


def test_thermal_noise_scales() -> None:
    assert abs(noise.thermal_noise_dbm(2e5, 6.0) - noise.thermal_noise_dbm(2e4, 0.0) - 16) <= 1e-12


def test_noise_rise_limits() -> None:
    assert noise.noise_rise_db(-math.inf, -115.0) == 0.0
    assert abs(noise.noise_rise_db(-115.0, -115.0) - 10 * math.log10(2)) <= 1e-12
    assert math.isnan(noise.noise_rise_db(math.nan, -115.0))
    assert abs(noise.noise_rise_db(2000.0, -115.0) - 2115.0) <= 1e-9  # no overflow


def test_power_sums() -> None:
    powers = np.array([[-90.0, -90.0], [-100.0, -math.inf], [-math.inf, -math.inf]])
    sums = np.asarray(noise.power_sum_dbm(powers))
    assert abs(sums[0] - (-90.0 + 10 * math.log10(2))) <= 1e-12
    assert abs(sums[1] - -100.0) <= 1e-12
    assert sums[2] == -math.inf
    across = np.asarray(noise.power_sum_dbm(powers, axis=0))
    assert across.shape == (2,)
    assert noise.power_sum_dbm(np.array([])) == -math.inf
    assert math.isnan(noise.power_sum_dbm(np.array([-90.0, math.nan])))


def test_share_of_a_wide_emission() -> None:
    inside = noise.in_bandwidth_dbm(-80.0, emission_hz=5.38e6, receiver_hz=2e5)
    assert abs(inside - (-80.0 + 10 * math.log10(2e5 / 5.38e6))) <= 1e-12
    assert noise.in_bandwidth_dbm(-80.0, emission_hz=2e5, receiver_hz=5.38e6) == -80.0


COLUMN = np.array([1.0, 2.0, 3.0])


@pytest.mark.parametrize(
    ("with_numbers", "with_arrays"),
    [
        (free_space.field_dbuv_m(2, 1), free_space.field_dbuv_m(COLUMN, 1)),
        (free_space.path_loss_db(2, 6e8), free_space.path_loss_db(COLUMN, 6e8)),
        (height_correction_db(6e8, 2, 9), height_correction_db(6e8, COLUMN, 9)),
        (
            entry_loss_db(6e8, probability_percent=2, building="traditional"),
            entry_loss_db(6e8, probability_percent=COLUMN, building="traditional"),
        ),
        (noise.thermal_noise_dbm(2e5, 2), noise.thermal_noise_dbm(2e5, COLUMN)),
        (noise.received_power_dbm(2, 6e8), noise.received_power_dbm(COLUMN, 6e8)),
        (noise.noise_rise_db(2, 0), noise.noise_rise_db(COLUMN, 0)),
        (
            noise.in_bandwidth_dbm(2, emission_hz=3, receiver_hz=1),
            noise.in_bandwidth_dbm(COLUMN, emission_hz=3, receiver_hz=1),
        ),
    ],
)
def test_numbers_give_numbers_and_arrays_broadcast(
    with_numbers: float, with_arrays: np.ndarray
) -> None:
    assert type(with_numbers) is float
    assert with_arrays.shape == (3,)
    assert with_arrays.dtype == np.float64
    assert with_arrays[1] == with_numbers
