"""A larger place error never frees spectrum; without one the point decides."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.occupancy import (
    CoverageMap,
    compute_occupancy,
    compute_windows,
    place_points,
    place_reach,
)
from planner.occupancy.records import AIR_ORDER
from planner.reach import compute_reach
from planner.records import Licence, Settings
from planner.rules import country_rules
from planner.spectrum import IntervalSet
from tests.properties.test_occupancy_properties import HOME, ROOF, SEARCHED, rows
from tests.unit.builders import FULL_US, gear, station, stations, stop

if TYPE_CHECKING:
    from planner.occupancy import Occupancy
    from planner.records import Stop

US = country_rules("US")
CHICAGO_NORTH = {"lat_deg": 43.0389, "lon_deg": -87.9065}
PART_74 = Licence(country="US", kind="part-74")
SMALL = station(20, lat_deg=39.09, lon_deg=-98.95, erp_kw=0.001, haat_m=30.0, service="low-power")
"""Some 11 km from the stop, its contour so small that it fits between the points of a ring."""


def judged(table_rows: list[dict[str, Any]], where: Stop, *, place: bool = True) -> Occupancy:
    table = stations(
        [{**row, "station_id": f"s{i}"} for i, row in enumerate([HOME, *table_rows])], (FULL_US,)
    )
    reach = compute_reach([where], table, [US])
    return compute_occupancy(
        where,
        reach=reach,
        stop_index=0,
        stations=table,
        rules=US,
        neighbours=(),
        coverage=CoverageMap(table),
        licences=(PART_74,),
        settings=Settings(),
        searched=SEARCHED,
        place=place_reach([where], table, [US], reach) if place else None,
    )


def windows(found: Occupancy) -> tuple[IntervalSet, IntervalSet]:
    """Return what lines may use, and that together with what spares may."""
    mine = compute_windows(gear(), found, rules=US, settings=Settings(), excluded=IntervalSet())
    return IntervalSet(mine.clear_hz), IntervalSet((*mine.clear_hz, *mine.faint_hz))


PLACES = st.sampled_from((ROOF, stop(), stop(**CHICAGO_NORTH)))


@settings(max_examples=150, deadline=None)
@given(st.lists(rows(), max_size=5), PLACES, st.floats(0, 30), st.floats(0, 30))
@example([SMALL], ROOF, 11.0, 25.0)
@example([{**SMALL, "service": "land-mobile"}], ROOF, 11.0, 25.0)
@example([{**SMALL, "erp_kw": 300.0}], stop(), 5.0, 30.0)
@example([], stop(**CHICAGO_NORTH), 1.0, 2.4)
def test_a_larger_place_error_never_frees_spectrum(
    table_rows: list[dict[str, Any]], where: Stop, a_km: float, b_km: float
) -> None:
    small, large = (
        windows(judged(table_rows, dataclasses.replace(where, location_error_km=km)))
        for km in sorted((a_km, b_km))
    )
    for less, more in zip(large, small, strict=True):
        assert not less - more


@settings(max_examples=60, deadline=None)
@given(st.lists(rows(), max_size=5), PLACES)
def test_without_a_place_error_the_point_decides(
    table_rows: list[dict[str, Any]], where: Stop
) -> None:
    here = dataclasses.replace(where, location_error_km=0.0)
    assert judged(table_rows, here) == judged(table_rows, here, place=False)


@settings(max_examples=60, deadline=None)
@given(st.lists(rows(), max_size=5), PLACES, st.floats(0.1, 30), st.integers(0, 7))
def test_no_verdict_is_better_than_at_a_point_of_the_ring(
    table_rows: list[dict[str, Any]], where: Stop, error_km: float, number: int
) -> None:
    here = dataclasses.replace(where, location_error_km=error_km)
    points = place_points(here)
    worst = judged(table_rows, here)
    there = dataclasses.replace(points[number + 1], location_error_km=0.0)
    at_point = judged(table_rows, there, place=False)
    for mine, other in zip(worst.channels, at_point.channels, strict=True):
        assert AIR_ORDER.index(mine.air) <= AIR_ORDER.index(other.air)
    assert set(at_point.facts.protected) <= set(worst.facts.protected)


@settings(max_examples=60, deadline=None)
@given(st.lists(rows(), max_size=4), rows(), PLACES, st.floats(0, 30))
def test_adding_a_transmitter_never_frees_spectrum_within_a_place_error(
    table_rows: list[dict[str, Any]], more: dict[str, Any], where: Stop, error_km: float
) -> None:
    here = dataclasses.replace(where, location_error_km=error_km)
    before = windows(judged(table_rows, here))
    after = windows(judged([*table_rows, more], here))
    for less, known in zip(after, before, strict=True):
        assert not less - known
