"""Neighbour channels through their emission limits: a curve over frequency, windows cut by it."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.field_strength import r6602
from planner.field_strength.building import entry_loss_db
from planner.field_strength.height import FCC_CURVE_HEIGHT_M, height_correction_db
from planner.field_strength.noise import received_power_dbm, thermal_noise_dbm
from planner.occupancy import Occupancy, compute_windows
from planner.records import Settings
from planner.rules import country_rules
from planner.spectrum import IntervalSet
from tests.unit.builders import US_CHANNELS, gear, station, stop
from tests.unit.test_occupancy import FAR, at_km, occupancy

US = country_rules("US")
MAST = station(20, erp_kw=1000.0, **at_km(5.0))
LOW_HZ, HIGH_HZ = US_CHANNELS[20], US_CHANNELS[20] + 6_000_000


def curve_rise_db(found: Occupancy, frequency_hz: float) -> float:
    assert found.curve is not None
    cells = found.curve.cells(int(frequency_hz), int(frequency_hz) + 1)
    return float(found.curve.rise_db[cells][0])


def spans_of(found: Occupancy, channel: int) -> list[tuple[int, int, str]]:
    low = US_CHANNELS[channel]
    return [
        (span.low_hz - low, span.high_hz - low, span.air)
        for span in found.spans
        if low <= span.low_hz < low + 6_000_000
    ]


def total_dbm(*, erp_kw: float = 1000.0, km: float = 5.0) -> float:
    """Return the power of the whole emission at the antenna indoors, put together by hand."""
    centre = float(LOW_HZ + 3_000_000)
    field = r6602.field_dbuv_m("F(50,10)", centre, haat_m=300.0, distance_km=km, erp_kw=erp_kw)
    field += height_correction_db(centre, 3.0, FCC_CURVE_HEIGHT_M)
    field -= entry_loss_db(centre, probability_percent=50.0, building="traditional")
    return float(received_power_dbm(field, centre))


@pytest.mark.parametrize("beside_hz", [0.25e6, 0.75e6, 1.55e6, 2.35e6, 3.05e6, 4.45e6, 5.95e6])
def test_a_mast_of_1_mw_at_5_km_raises_the_noise_as_its_limit_says(beside_hz: float) -> None:
    """47 CFR 73.622(h) by hand, at the nearer edge of each cell of 100 kHz, above and below."""
    found = occupancy([MAST])
    nearest_mhz = math.floor(beside_hz / 1e5) / 10
    below_db = 47.0 if nearest_mhz < 0.5 else 11.5 * (nearest_mhz + 3.6)
    in_200_khz = total_dbm() - min(below_db, 110.0) - 10 * math.log10(500 / 200)
    noise = thermal_noise_dbm(200e3, 6.0)
    expected = 10 * math.log10(1 + 10 ** ((in_200_khz - noise) / 10))
    for hz in (HIGH_HZ + beside_hz, LOW_HZ - beside_hz):
        # The table's chord from 47.0 at 0.5 to 110 at 6 MHz leaves the line by 0.4 dB at most.
        assert abs(curve_rise_db(found, hz) - expected) <= 0.5


def test_the_near_half_is_faint_and_the_far_edge_clean() -> None:
    found = occupancy([MAST])
    up, down = spans_of(found, 21), spans_of(found, 19)
    assert [air for _, _, air in up] == ["faint", "quiet"]
    assert [air for _, _, air in down] == ["quiet", "faint"]
    assert up[0][1] == 6_000_000 - down[0][1]  # the same to both sides
    # Where 10 log10(10**0.6 - 1) over the noise is met, by hand, rounded outward to 100 kHz.
    over_db = total_dbm() - 10 * math.log10(500 / 200) - thermal_noise_dbm(200e3, 6.0)
    over_db -= 10 * math.log10(10**0.595 - 1)  # 5.95 dB is written 6.0
    crossing_mhz = over_db / 11.5 - 3.6
    assert crossing_mhz > 1.0
    assert (
        abs(up[0][1] / 1e6 - crossing_mhz) <= 0.15
    )  # a cell, and the chord's 0.4 dB of 11.5 a MHz
    near = next(span for span in found.spans if span.low_hz == HIGH_HZ)
    assert near.reasons[0].code == "neighbour"
    assert "Invented 20 (506-512 MHz)" in near.reasons[0].text
    channel = next(row for row in found.channels if row.label == "21")
    assert channel.air == "quiet"
    assert channel.noise_rise_least_db == 0.0
    assert channel.noise_rise_most_db == near.noise_rise_db
    assert (channel.noise_rise_most_db or 0.0) > 20.0


def test_windows_are_cut_and_hold_the_whole_bandwidth() -> None:
    alone, beside = (
        compute_windows(
            gear(),
            occupancy(rows),
            rules=US,
            settings=Settings(use_faint="never"),
            excluded=IntervalSet(()),
        ).clear_hz
        for rows in ([FAR], [FAR, MAST])
    )
    assert (HIGH_HZ, HIGH_HZ + 6_000_000) in alone
    cut = next(span for span in beside if span[1] == HIGH_HZ + 6_000_000)
    assert HIGH_HZ + 1_000_000 < cut[0] < HIGH_HZ + 6_000_000


def test_a_laxer_mask_reaches_farther_and_the_service_chooses_it() -> None:
    edges = {}
    for name, more in {
        "full": {},
        "simple": {"emission_mask": "simple"},
        "translator": {"service": "translator"},
        "stringent": {"emission_mask": "stringent"},
    }.items():
        row = station(20, erp_kw=5.0, haat_m=100.0, **at_km(5.0), **more)
        found = occupancy([row], where=stop(setting="outdoor"))
        edges[name] = sum(hi - lo for lo, hi, air in spans_of(found, 21) if air == "faint")
    assert edges["simple"] == edges["translator"] > edges["stringent"] >= edges["full"] > 0


def test_nothing_is_followed_beyond_three_channels() -> None:
    found = occupancy([station(20, erp_kw=1000.0, **at_km(1.0))])
    assert found.curve is not None
    far = found.curve.cells(HIGH_HZ + 18_000_000, HIGH_HZ + 30_000_000)
    assert not found.curve.beside_mw[far].any()
    near = found.curve.cells(HIGH_HZ, HIGH_HZ + 18_000_000)
    assert (found.curve.beside_mw[near] > 0).all()


def test_powers_of_two_neighbours_are_added() -> None:
    other = station(22, erp_kw=1000.0, **at_km(5.0))
    both, first, second = (occupancy(rows) for rows in ([MAST, other], [MAST], [other]))
    for curve in (both.curve, first.curve, second.curve):
        assert curve is not None
    cells = both.curve.cells(HIGH_HZ, HIGH_HZ + 6_000_000)  # type: ignore[union-attr]
    total = first.curve.beside_mw[cells] + second.curve.beside_mw[cells]  # type: ignore[union-attr]
    assert np.abs(both.curve.beside_mw[cells] / total - 1).max() <= 1e-12  # type: ignore[union-attr]
    assert [air for _, _, air in spans_of(both, 21)] == ["faint", "quiet", "faint"]


def test_what_is_not_television_is_not_followed() -> None:
    rows = [FAR, station(20, service="land-mobile", system="", erp_kw=1000.0, **at_km(5.0))]
    found = occupancy(rows)
    assert {air for _, _, air in spans_of(found, 21)} == {"quiet"}


def test_a_carrier_s_own_bandwidth_is_averaged() -> None:
    curve = occupancy([MAST]).curve
    assert curve is not None
    cells = curve.cells(HIGH_HZ, HIGH_HZ + 200_000)
    expected = float(curve.beside_mw[cells].mean()) * 200_000 / curve.bandwidth_hz
    found = curve.power_dbm(HIGH_HZ, HIGH_HZ + 200_000)
    assert found is not None
    assert abs(found - 10 * math.log10(expected)) <= 1e-9
    assert curve.power_dbm(400_000_000, 400_200_000) is None  # outside the searched span


@settings(max_examples=60, deadline=None)
@given(
    shift_hz=st.integers(-3_000_000, 3_000_000),
    erp_kw=st.sampled_from((1.0, 50.0, 1000.0)),
    km=st.floats(1.0, 120.0),
    mask=st.sampled_from(("", "full", "simple", "stringent")),
)
def test_a_neighbour_added_frees_nothing_wherever_its_channel_lies(
    shift_hz: int, erp_kw: float, km: float, mask: str
) -> None:
    """Off the raster too, where its edges cut cells in two."""
    more: dict[str, Any] = {"low_hz": LOW_HZ + shift_hz, "high_hz": HIGH_HZ + shift_hz}
    added = station(20, erp_kw=erp_kw, emission_mask=mask, station_id="b", **at_km(km), **more)
    other = station(23, erp_kw=300.0, station_id="a", **at_km(20.0))
    before, after = occupancy([FAR, other]), occupancy([FAR, other, added])
    quiet = [
        IntervalSet((s.low_hz, s.high_hz) for s in found.spans if s.air == "quiet")
        for found in (before, after)
    ]
    assert not (quiet[1] - quiet[0]).spans
    assert all(a.high_hz == b.low_hz for a, b in itertools.pairwise(after.spans))
