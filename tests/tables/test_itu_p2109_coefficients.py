"""The coefficients of building entry loss: types, signs, and a figure known from elsewhere."""

from __future__ import annotations

from planner.field_strength.building import entry_loss_db
from planner.tables import read_table


def test_two_building_types_with_nine_numbers_each() -> None:
    table = read_table("itu_p2109_coefficients")
    assert list(table) == ["building", "r", "s", "t", "u", "v", "w", "x", "y", "z"]
    assert table["building"] == ("traditional", "thermally-efficient")
    assert all(float(cell) for name in list(table)[1:] for cell in table[name])


def test_spreads_are_positive_over_the_planner_s_frequencies() -> None:
    table = read_table("itu_p2109_coefficients")
    for row in range(2):
        for log_f in (-1.1, 0.0, 0.4):  # 80 MHz to 2.5 GHz
            assert float(table["u"][row]) + float(table["v"][row]) * log_f > 0
            assert float(table["y"][row]) + float(table["z"][row]) * log_f > 0


def test_efficient_walls_hold_back_more() -> None:
    for frequency_hz in (80e6, 200e6, 600e6, 2e9):
        losses = [
            entry_loss_db(frequency_hz, probability_percent=50, building=building)
            for building in ("traditional", "thermally-efficient")
        ]
        assert losses[1] > losses[0] + 10.0


def test_median_of_a_traditional_building_at_600_mhz() -> None:
    """By hand: A = 11.862 dB, B = 9.766 dB, C = -3 dB, added in power."""
    loss = entry_loss_db(600e6, probability_percent=50, building="traditional")
    assert abs(loss - 14.036) <= 5e-4  # half the last digit worked out
