"""Emission limits beside a TV channel: against the rules' own formulas, and their order."""

from __future__ import annotations

from math import log10

import numpy as np
import pytest

from planner.field_strength.emission_limits import MASKS, density_below_total_db, mask_of
from planner.tables import read_table


def in_500_khz(offset_mhz: float, mask: str) -> float:
    density = density_below_total_db(np.array([offset_mhz * 1e6]), mask, 6_000_000)[0]
    return float(density) + 10 * log10(500e3)


@pytest.mark.parametrize("offset_mhz", [0.5, 0.8, 1.5, 3.0, 4.7, 6.0])
def test_full_mask_is_the_rule_s_line(offset_mhz: float) -> None:
    """47 CFR 73.622(h): -11.5 (df + 3.6) dB from 0.5 to 6 MHz, -110 dB beyond."""
    # The rule's own two pieces differ by 0.15 dB at 0.5 MHz and by 0.4 dB at 6 MHz.
    assert abs(in_500_khz(offset_mhz, "full") + 11.5 * (offset_mhz + 3.6)) <= 0.41
    assert abs(in_500_khz(6.5, "full") + 110.0) <= 1e-9


@pytest.mark.parametrize("offset_mhz", [0.0, 0.25, 0.5, 1.75, 3.3, 4.75, 6.0])
def test_simple_mask_is_the_rule_s_parabola(offset_mhz: float) -> None:
    """47 CFR 74.794(a)(2): 46 + df**2 / 1.44 dB to 6 MHz, 71 dB beyond."""
    # Chords of the parabola over 0.5 MHz, and the last printed digit.
    assert abs(in_500_khz(offset_mhz, "simple") + 46 + offset_mhz**2 / 1.44) <= 0.05
    assert abs(in_500_khz(11.0, "simple") + 71.0) <= 1e-9


@pytest.mark.parametrize("offset_mhz", [0.5, 1.0, 2.0, 2.9])
def test_stringent_mask_is_the_rule_s_line(offset_mhz: float) -> None:
    """47 CFR 74.794(a)(2): 47 + 11.5 (df - 0.5) dB from 0.5 to 3 MHz, 76 dB beyond."""
    assert abs(in_500_khz(offset_mhz, "stringent") + 47 + 11.5 * (offset_mhz - 0.5)) <= 1e-9
    assert abs(in_500_khz(3.1, "stringent") + 76.0) <= 1e-9


@pytest.mark.parametrize(
    ("width_hz", "mask", "from_centre_mhz", "in_4_khz_db"),
    [
        (8_000_000, "uncritical", 4.2, -73.0),
        (8_000_000, "critical", 6.0, -95.0),
        (8_000_000, "uncritical", 12.0, -110.0),
        (7_000_000, "critical", 3.7, -83.0),
        (7_000_000, "uncritical", 5.25, -85.0),
        (7_000_000, "critical", 10.5, -120.0),
    ],
)
def test_breakpoints_of_dvb_t(
    width_hz: int, mask: str, from_centre_mhz: float, in_4_khz_db: float
) -> None:
    """GE06, chapter 3, by distance from the centre, from memory a second time."""
    offset_hz = np.array([from_centre_mhz * 1e6 - width_hz / 2])
    found = density_below_total_db(offset_hz, mask, width_hz)[0] + 10 * log10(4e3)
    assert abs(found - in_4_khz_db) <= 1e-9


@pytest.mark.parametrize(
    ("mask", "width_hz"), [(mask, width) for width, masks in MASKS.items() for mask in masks]
)
def test_no_mask_rises_with_distance_and_all_end_after_three_channels(
    mask: str, width_hz: int
) -> None:
    offsets_hz = np.arange(0.0, 3.0 * width_hz, 50e3)
    densities = density_below_total_db(offsets_hz, mask, width_hz)
    assert (np.diff(densities) <= 0).all()
    assert np.isfinite(densities).all()
    assert np.isneginf(density_below_total_db(np.array([3.0 * width_hz]), mask, width_hz)[0])
    # Never more than an emission spread evenly over the channel would have: 10 log10 of its width.
    assert densities[0] < -10 * log10(width_hz)


@pytest.mark.parametrize("width_mhz", [7, 8])
def test_the_critical_case_is_never_above_the_other(width_mhz: int) -> None:
    offsets_hz = np.arange(0.0, 24e6, 100e3)
    strict, loose = (
        density_below_total_db(offsets_hz, mask, width_mhz * 1_000_000)
        for mask in ("critical", "uncritical")
    )
    inside = offsets_hz < 3e6 * width_mhz
    assert (strict[inside] <= loose[inside]).all()


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (("", "full", 6_000_000), "full"),
        (("", "translator", 6_000_000), "simple"),
        (("stringent", "low-power", 6_000_000), "stringent"),
        (("critical", "full", 6_000_000), "full"),  # a mask of another raster
        (("", "full", 8_000_000), "uncritical"),
        (("critical", "full", 7_000_000), "critical"),
        (("full", "full", 1_700_000), ""),
    ],
)
def test_the_most_generous_mask_where_none_is_told(
    row: tuple[str, str, int], expected: str
) -> None:
    assert mask_of(*row) == expected


def test_every_mask_word_of_the_table_is_known() -> None:
    words = {mask for masks in MASKS.values() for mask in masks}
    assert set(read_table("tv_emission_limits")["mask"]) == words
