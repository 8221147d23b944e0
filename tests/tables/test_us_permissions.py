"""Permissions: ranges, words, identities between rows, and spot values."""

from __future__ import annotations

import pytest

from planner.tables import read_table

TABLE = read_table("us_permissions")
ROWS = [dict(zip(TABLE, cells, strict=True)) for cells in zip(*TABLE.values(), strict=True)]
NEVER = ((72, 76), (608, 614), (616, 653), (663, 698), (698, 806))


def test_words_and_ranges() -> None:
    for row in ROWS:
        assert float(row["low_mhz"]) < float(row["high_mhz"])
        assert row["licence"] in ("none", "part-74")
        assert row["law"] in ("lawful", "on-request")
        assert row["emission"] in ("narrow", "wideband")
        assert row["limit_kind"] in ("EIRP", "conducted")
        assert 0 < float(row["limit_mw"]) <= 1000
        assert row["status"] in ("confirmed", "secondary", "from memory")
        assert row["section"].startswith("47 CFR")


@pytest.mark.parametrize("span", NEVER)
def test_no_row_opens_a_closed_span(span: tuple[int, int]) -> None:
    for row in ROWS:
        assert float(row["high_mhz"]) <= span[0] or span[1] <= float(row["low_mhz"])


def test_every_edge_lies_on_the_25_khz_raster() -> None:
    for row in ROWS:
        for name in ("low_mhz", "high_mhz"):
            if row["low_mhz"] != "26.1":
                assert round(float(row[name]) * 1000) % 25 == 0, row


@pytest.mark.parametrize(
    ("low", "licence", "limit", "kind"),
    # typed again from 47 CFR 15.236(d), 74.861(e)(1) as quoted in secondary sources
    [
        ("470", "none", "50", "EIRP"),
        ("614", "none", "20", "EIRP"),
        ("657", "none", "20", "EIRP"),
        ("470", "part-74", "250", "conducted"),
        ("174", "part-74", "50", "EIRP"),
        ("653", "part-74", "20", "EIRP"),
        ("1435", "part-74", "250", "conducted"),
    ],
)
def test_spot_values(low: str, licence: str, limit: str, kind: str) -> None:
    (row,) = (
        row
        for row in ROWS
        if (row["low_mhz"], row["licence"], row["emission"]) == (low, licence, "narrow")
    )
    assert (row["limit_mw"], row["limit_kind"]) == (limit, kind)


def test_wideband_never_gets_more_power_than_narrow() -> None:
    for row in ROWS:
        if row["emission"] == "wideband":
            twin = next(
                other
                for other in ROWS
                if other["emission"] == "narrow"
                and other["licence"] == row["licence"]
                and other["low_mhz"] == row["low_mhz"]
            )
            assert float(row["limit_mw"]) <= float(twin["limit_mw"])
