"""Free space, height, received power and noise against printed figures; source beside each."""

from __future__ import annotations

from math import log10

import pytest

from planner.field_strength import free_space, height, noise
from planner.units import DIPOLE_GAIN_DBI


@pytest.mark.parametrize(
    ("distance_km", "erp_kw", "expected_dbuv_m", "tolerance_db", "source"),
    [
        (1.0, 1.0, 106.92, 0.005, "FCC contours-api-node, commit b9c92ea, below 1.5 km"),
        (0.5, 1.0, 112.94, 0.005, "same"),
        # P.1546-6 section 2 equation (2) rounds the constant to 106.9.
        (10.0, 1.0, 86.9, 0.025, "P.1546-6 section 2, ITU-R SG3 code, commit 0e42639"),
        (50.0, 1.0, 72.92, 0.025, "same"),
        (100.0, 1.0, 66.9, 0.025, "same"),
        # 173 mV/m at 1 km from 1 kW e.i.r.p., which is 2.15 dB less as ERP.
        (1.0, 10 ** (-DIPOLE_GAIN_DBI / 10), 104.77, 0.02, "P.525-2 section 2.1, eq. 1-2"),
        # About 103 dBu at 1 mile, 221.4 mV/m at 1 km: 47 CFR 73.684(c), 73.313(c).
        (1.609344, 1.0, 103.0, 0.5, "47 CFR 73.684(c)"),
        (1.0, 1.0, 106.903, 0.02, "47 CFR 73.313(c): 221.4 mV/m"),
    ],
)
def test_free_space_field(
    distance_km: float, erp_kw: float, expected_dbuv_m: float, tolerance_db: float, source: str
) -> None:
    field = free_space.field_dbuv_m(distance_km, erp_kw)
    assert abs(field - expected_dbuv_m) <= tolerance_db, source


def test_distance_for_a_field_from_erp() -> None:
    """FCC contours-api-node: d km = 7.014271e-3 sqrt(P W) / (E V/m), sqrt(30 x 1.64)."""
    distance_km = 7.014271e-3 * 1000.0**0.5 / 0.1  # 1 kW, 0.1 V/m = 100 dB(uV/m)
    # The constant 106.92 is printed to 0.01 dB.
    assert abs(free_space.field_dbuv_m(distance_km, 1.0) - 100.0) <= 0.005


@pytest.mark.parametrize(
    ("distance_km", "frequency_hz", "expected_db", "tolerance_db", "source"),
    [
        (1.0, 1e9, 92.44778322188337, 1e-9, "documentation of python package sdr"),
        (2.0, 1e9, 98.468383135163, 1e-9, "same"),
        (1.0, 1e6, 32.4478, 5e-5, "20 log10(4 pi 1e9 / c); P.525-5 prints 32.4"),
        (5.0, 2.4e9, 114.0, 0.05, "airgap-lab-ai rf_link_budget_basics"),
        (0.003, 600e6, 37.55, 0.01, "P.525 formula, recomputed"),
    ],
)
def test_free_space_loss(
    distance_km: float, frequency_hz: float, expected_db: float, tolerance_db: float, source: str
) -> None:
    assert abs(free_space.path_loss_db(distance_km, frequency_hz) - expected_db) <= (
        tolerance_db
    ), source


def test_loss_from_a_field() -> None:
    """P.1546-6 section 17, eq. 40: Lb = 139.3 - E + 20 log f for 1 kW ERP."""
    distance_km, frequency_hz = 37.0, 600e6
    from_field = 139.3 - free_space.field_dbuv_m(distance_km, 1.0) + 20 * log10(600.0)
    # The constant is 139.37 unrounded: one digit of what is printed.
    assert abs(from_field - free_space.path_loss_db(distance_km, frequency_hz)) <= 0.1


@pytest.mark.parametrize(
    ("frequency_hz", "height_m", "expected_db", "tolerance_db"),
    [
        (900e6, 5.0, -6.47705, 5e-6),
        (2.6e9, 1.0, -24.3728, 5e-5),
    ],
)
def test_height_correction(
    frequency_hz: float, height_m: float, expected_db: float, tolerance_db: float
) -> None:
    """ITU-R SG3 reference code of P.1546-6, commit 0e42639, logs of flat_10km and flat_100km."""
    correction = height.height_correction_db(frequency_hz, height_m, 10.0)
    assert abs(correction - expected_db) <= tolerance_db


@pytest.mark.parametrize(
    ("bandwidth_hz", "noise_figure_db", "expected_dbm", "tolerance_db", "source"),
    [
        (1.0, 0.0, -173.975, 5e-4, "k T with CODATA's k and 290 K"),
        (6e6, 0.0, -106.2, 0.05, "ISED BPR-10 DTV, appendix 8"),
        (200e3, 0.0, -120.965, 5e-4, "k T B, recomputed"),
        # Noise figure 3.83 dB, signal to noise -1 dB; the page takes -174 dBm for 1 Hz.
        (10e6, 3.83 - 1.0, -101.2, 0.05 + 0.025, "learning page on noise figure cascades"),
    ],
)
def test_thermal_noise(
    bandwidth_hz: float,
    noise_figure_db: float,
    expected_dbm: float,
    tolerance_db: float,
    source: str,
) -> None:
    power = noise.thermal_noise_dbm(bandwidth_hz, noise_figure_db)
    assert abs(power - expected_dbm) <= tolerance_db, source


@pytest.mark.parametrize(
    ("frequency_hz", "half_wave_dipole_dbm"),
    [(69e6, -111.8), (194e6, -120.8), (615e6, -130.8)],
)
def test_received_power_of_a_dipole(frequency_hz: float, half_wave_dipole_dbm: float) -> None:
    """ISED BPR-10 DTV, appendix 8, table 1: power of a half-wave dipole in 0 dB(uV/m)."""
    power = noise.received_power_dbm(0.0, frequency_hz) + DIPOLE_GAIN_DBI
    assert abs(power - half_wave_dipole_dbm) <= 0.05  # half the last printed digit


def test_received_power_of_an_isotropic_antenna() -> None:
    """E - 20 log f_MHz - 77.216, derived from P.525; its form in dBW and GHz gives 167.216."""
    assert abs(noise.received_power_dbm(0.0, 1e6) - -77.216) <= 5e-4
    # A protected field of 68 dB(uV/m) at 600 MHz on a dipole is -62.6 dBm; recomputed.
    assert abs(noise.received_power_dbm(68.0, 600e6) + DIPOLE_GAIN_DBI - -62.6) <= 0.05


def test_friis_chain() -> None:
    """0.5 W, isotropic both ends, 437 MHz, 10 km: 1.4901e-11 W (toolbox page on friisrxpow)."""
    erp_kw = 0.5e-3 / 10 ** (DIPOLE_GAIN_DBI / 10)
    power_dbm = noise.received_power_dbm(free_space.field_dbuv_m(10.0, erp_kw), 437e6)
    watts = 10 ** (power_dbm / 10) / 1e3
    # 106.92 dB, 2.15 dB and 30 / 376.73 are each rounded at the third decimal of a dB.
    assert abs(watts / 1.4901e-11 - 1.0) <= 0.002


@pytest.mark.parametrize(("field_dbuv_m", "rise_db"), [(41.0, 9.4), (31.0, 2.5), (28.0, 1.4)])
def test_noise_rise_of_a_television_station(field_dbuv_m: float, rise_db: float) -> None:
    """600 MHz, 200 kHz, noise figure 6 dB, isotropic, spread over 5.38 MHz; recomputed figures."""
    whole = noise.received_power_dbm(field_dbuv_m, 600e6)
    inside = noise.in_bandwidth_dbm(whole, emission_hz=5.38e6, receiver_hz=200e3)
    rise = noise.noise_rise_db(inside, noise.thermal_noise_dbm(200e3, 6.0))
    assert abs(rise - rise_db) <= 0.05  # half the last printed digit
