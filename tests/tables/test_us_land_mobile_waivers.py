"""Waiver sites: land mobile channels only, inside the contiguous states, known clusters."""

from __future__ import annotations

from collections import Counter

from planner.tables import read_table

TABLE = read_table("us_land_mobile_waivers")


def test_channels_and_places() -> None:
    assert {int(channel) for channel in TABLE["channel"]} <= set(range(14, 21))
    for lat, lon in zip(TABLE["lat_deg"], TABLE["lon_deg"], strict=True):
        assert 24 < float(lat) < 50
        assert -125 < float(lon) < -66


def test_no_row_stands_twice() -> None:
    rows = list(zip(*(TABLE[name] for name in TABLE), strict=True))
    assert len(rows) == len(set(rows))


def test_the_clusters_that_the_rules_notes_name() -> None:
    # FCC study engine data of 2017-06-05: mainly channel 19 in NJ, NY and PA; 15 in Los Angeles
    counts = Counter(zip(TABLE["channel"], (c[-2:] for c in TABLE["county"]), strict=True))
    assert counts.most_common(1)[0][0][0] == "19"
    assert sum(n for (ch, state), n in counts.items() if (ch, state) == ("15", "CA")) >= 20
