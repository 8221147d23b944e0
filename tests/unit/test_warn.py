"""Warnings that concern the whole tour."""

from __future__ import annotations

import dataclasses
import datetime as dt

import pytest

from planner.plan import run_plan
from planner.plan.warn import tour_warnings
from planner.records import Coverage
from tests.unit.builders import FULL_US, gear, need, nobody_near, station, stations, stop, tour


def codes(
    coverages: tuple[Coverage, ...],
    *,
    error_km: float = 0.1,
    lat_deg: float = 39.0,
    lon_deg: float = -99.0,
    **more: object,
) -> dict[str, str]:
    table = stations(
        [station(20, table=i, station_id=f"s{i}") for i in range(len(coverages))], coverages
    )
    result = run_plan(
        tour([stop(location_error_km=error_km, lat_deg=lat_deg, lon_deg=lon_deg)], [need(**more)]),
        table,
        [gear()],
        countries_near=nobody_near,
        effort="quick",
    )
    return {row["code"]: row["text"] for row in tour_warnings(result)}


def dated(year: int, month: int, day: int) -> Coverage:
    return dataclasses.replace(FULL_US, issued=dt.date(year, month, day))


# The stop is on 2027-03-04
@pytest.mark.parametrize(
    ("issued", "told"), [((2025, 3, 5), False), ((2025, 3, 2), True), ((2017, 4, 13), True)]
)
def test_a_table_older_than_24_months_is_told(issued: tuple[int, int, int], *, told: bool) -> None:
    assert ("table-old" in codes((dated(*issued),))) is told


def test_tables_far_apart_are_told_with_both_dates() -> None:
    found = codes((dated(2026, 10, 1), dated(2025, 6, 1)))
    assert "2025-06-01 and 2026-10-01" in found["tables-apart"]
    assert "tables-apart" not in codes((dated(2026, 10, 1), dated(2026, 6, 1)))


def test_a_table_without_a_sidecar_is_told() -> None:
    assert "coverage-unknown" in codes((Coverage(partial=True),))
    assert "coverage-unknown" not in codes((FULL_US,))


def test_a_stop_located_by_its_town_only_is_told_with_what_coordinates_would_free() -> None:
    vague = codes((FULL_US,), error_km=8.0)["place-vague"]
    assert "located only to 8 km" in vague
    assert "at the point given no TV channel has another verdict" in vague
    assert "place-vague" not in codes((FULL_US,))
    # 131 km from Chicago: its land mobile on 14 and 15 ends between the point and the place error
    north = codes((FULL_US,), error_km=15.0, lat_deg=43.0389, lon_deg=-87.9065)["place-vague"]
    assert "its lat and lon would free 2 TV channels (here 2)" in north
    assert "never cost" in north
