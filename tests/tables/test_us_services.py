"""Services: no overlap, every TV channel decided by a station table, closed spans held."""

from __future__ import annotations

import itertools

from planner.tables import read_table


def _rows() -> list[tuple[float, float, str]]:
    table = read_table("us_services")
    return [
        (float(low), float(high), air)
        for low, high, air in zip(table["low_mhz"], table["high_mhz"], table["air"], strict=True)
    ]


def test_rows_ascend_without_overlap() -> None:
    rows = _rows()
    assert all(low < high for low, high, _ in rows)
    assert all(a[1] <= b[0] for a, b in itertools.pairwise(rows))
    assert {air for *_, air in rows} == {"table", "no-table", "held"}


def test_600_mhz_plan_has_no_gap_from_470_to_806() -> None:
    # 47 CFR 27.5(l): 617-652 and 663-698 MHz; guard band 614-617 and duplex gap 652-663 MHz
    upper = [row for row in _rows() if row[0] >= 470]
    assert upper[0][0] == 470
    assert upper[-1][1] == 806
    assert all(a[1] == b[0] for a, b in itertools.pairwise(upper))
    assert [row[2] for row in upper] == [
        "table",
        "held",
        "no-table",
        "held",
        "no-table",
        "held",
        "held",
    ]


def test_every_tv_channel_lies_in_a_table_span_and_37_in_a_held_one() -> None:
    raster = read_table("us_tv_raster")
    for label, low, high in zip(
        raster["channel"], raster["low_mhz"], raster["high_mhz"], strict=True
    ):
        (air,) = (
            word for left, right, word in _rows() if left <= float(low) and float(high) <= right
        )
        assert air == ("held" if label == "37" else "table")
