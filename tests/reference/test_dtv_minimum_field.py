"""ISED BPR-10 DTV, appendix 8: minimum field of digital television, by our noise and conversion."""

from __future__ import annotations

import pytest

from planner.field_strength import noise
from planner.units import DIPOLE_GAIN_DBI


@pytest.mark.parametrize(
    ("frequency_hz", "gain_dbd", "loss_db", "noise_figure_db", "printed_dbuv_m"),
    [
        (615e6, 10.0, 4.0, 7.0, 40.6),
        (194e6, 6.0, 2.0, 10.0, 35.6),
        (69e6, 4.0, 1.0, 10.0, 27.6),
    ],
)
def test_minimum_field(
    frequency_hz: float,
    gain_dbd: float,
    loss_db: float,
    noise_figure_db: float,
    printed_dbuv_m: float,
) -> None:
    """15 dB above the noise of 6 MHz, at the receiver behind antenna and line."""
    needed_dbm = noise.thermal_noise_dbm(6e6, noise_figure_db) + 15.0
    at_dipole_dbm = needed_dbm - gain_dbd + loss_db
    field = at_dipole_dbm - DIPOLE_GAIN_DBI - noise.received_power_dbm(0.0, frequency_hz)
    # Half the last printed digit of the sum, of the noise (-106.2) and of the dipole's factor.
    assert abs(field - printed_dbuv_m) <= 0.15
