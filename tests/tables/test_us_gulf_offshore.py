"""Offshore radio lines: channels 15 to 18, vertices along the Gulf coast."""

from __future__ import annotations

from planner.tables import read_table


def test_every_channel_has_a_line_along_the_gulf_coast() -> None:
    table = read_table("us_gulf_offshore")
    assert sorted(set(table["channel"])) == ["15", "16", "17", "18"]
    for lat, lon in zip(table["lat_deg"], table["lon_deg"], strict=True):
        assert 28 <= float(lat) <= 32
        assert -99 <= float(lon) <= -86
