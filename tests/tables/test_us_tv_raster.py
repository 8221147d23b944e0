"""The raster against its construction rule: 47 CFR 73.603(a)."""

from __future__ import annotations

import itertools

from planner.tables import read_table


def test_channels_are_6_mhz_wide_ascending_and_leave_the_known_gaps() -> None:
    table = read_table("us_tv_raster")
    rows = [
        (int(label), float(low), float(high))
        for label, low, high in zip(
            table["channel"], table["low_mhz"], table["high_mhz"], strict=True
        )
    ]
    assert [row[0] for row in rows] == list(range(2, 38))
    assert {high - low for _, low, high in rows} == {6.0}
    gaps = [(left[2], right[1]) for left, right in itertools.pairwise(rows) if left[2] != right[1]]
    assert gaps == [(72.0, 76.0), (88.0, 174.0), (216.0, 470.0)]


def test_centre_of_a_uhf_channel_is_389_plus_6_n() -> None:
    # ISED BPR-10 issue 3 (Nov 2025): centre = 389 + 6 n MHz for channels 14 to 36
    table = read_table("us_tv_raster")
    for label, low in zip(table["channel"], table["low_mhz"], strict=True):
        if int(label) >= 14:
            assert float(low) + 3 == 389 + 6 * int(label)


def test_only_channel_37_is_closed() -> None:
    table = read_table("us_tv_raster")
    closed = [
        label for label, word in zip(table["channel"], table["status"], strict=True) if word != "tv"
    ]
    assert closed == ["37"]
