"""Conversions at the borders."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.units import format_mhz, hz_to_mhz, khz_to_hz, mhz_to_hz, shortest_mhz


@given(st.integers(1, 10**10))
def test_hertz_survive_the_way_out_and_back(hertz: int) -> None:
    assert mhz_to_hz(hz_to_mhz(hertz)) == hertz
    assert mhz_to_hz(shortest_mhz(hertz)) == hertz
    assert mhz_to_hz(Decimal(format_mhz(hertz))) == hertz


def test_noise_of_binary_fractions_is_forgiven_a_seventh_decimal_is_not() -> None:
    assert mhz_to_hz(518.2 - 0.05) == 518_150_000
    assert mhz_to_hz("518.1500000000001") == 518_150_000
    with pytest.raises(ValueError, match=r"518\.1500001 MHz is not a whole number of hertz"):
        mhz_to_hz("518.1500001")
    with pytest.raises(ValueError, match=r"0\.0001 kHz is not a whole"):
        khz_to_hz(0.0001)


@pytest.mark.parametrize("value", ["inf", "nan", float("inf")])
def test_what_is_not_finite_is_refused(value: str | float) -> None:
    with pytest.raises(ValueError, match="is not a whole number of hertz"):
        mhz_to_hz(value)


def test_text_is_refused() -> None:
    with pytest.raises(ValueError, match="x is not a number of MHz"):
        mhz_to_hz("x")


@pytest.mark.parametrize(
    ("hertz", "three", "fewest"),
    [
        (512_350_000, "512.350", "512.35"),
        (512_331_250, "512.33125", "512.33125"),
        (470_000_000, "470.000", "470"),
    ],
)
def test_megahertz_are_written_with_three_decimals_or_the_fewest(
    hertz: int, three: str, fewest: str
) -> None:
    assert format_mhz(hertz) == three
    assert shortest_mhz(hertz) == fewest
