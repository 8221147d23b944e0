"""Frequencies kept free for people who turn up: compatible, after all needs, never a failure."""

from __future__ import annotations

import itertools
from typing import Any

from planner.coordination import GuardSet, PlacedCarrier, violations
from planner.plan.reserves import reserve_rows
from planner.records import Reserve
from tests.unit.builders import gear, need, stop
from tests.unit.planning import carriers, document, moved, planned

MICS = (
    gear(),
    gear(family="Birch", spacing_hz=500_000, guard_a_b_c_hz=150_000, bandwidth_hz=180_000),
)
WIDEST = GuardSet(spacing_hz=500_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=150_000)
TWO = Reserve(role="mic", count=2)
SMALL = gear(low_hz=506_100_000, high_hz=507_300_000, tuning_origin_hz=506_100_000)
"""Room for three carriers of these guards."""


def plan(**more: Any) -> dict[str, Any]:
    return document(planned(**{"ranges": list(MICS), "reserves": (TWO,), **more}))


def hz(mhz: float) -> int:
    return round(mhz * 1e6)


def test_they_are_compatible_with_everything_at_the_widest_guards_of_the_role() -> None:
    record = plan()["stops"][0]
    kept = [hz(row["frequency_mhz"]) for row in record["reserves"]]
    assert len(kept) == 2
    mine = [hz(row["frequency_mhz"]) for row in carriers(record).values()]
    guards = GuardSet(spacing_hz=350_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=100_000)
    on_air = [
        *(PlacedCarrier(frequency_hz=one, guards=guards) for one in mine),
        *(PlacedCarrier(frequency_hz=one, guards=WIDEST) for one in kept),
    ]
    assert violations(on_air) == ()
    assert min(abs(a - b) for a, b in itertools.combinations(kept, 2)) >= 500_000
    assert [row["name"] for row in record["reserves"]] == ["reserve mic 1", "reserve mic 2"]
    assert all(row["role"] == "mic" and row["bandwidth_khz"] == 200.0 for row in record["reserves"])


def test_the_ranges_are_those_that_can_be_tuned_there() -> None:
    low = gear(low_hz=506_100_000, high_hz=506_900_000, tuning_origin_hz=506_100_000)
    odd = gear(family="Birch", tuning_origin_hz=470_112_500, low_hz=470_112_500, step_hz=25_000)
    record = plan(ranges=[gear(), low, odd], needs=[need(lines=("A",), count=1, spares=0)])
    ranges = [row["ranges"] for row in record["stops"][0]["reserves"]]
    assert ranges
    assert all(gear().key in found and odd.key not in found for found in ranges)


def test_they_never_take_a_carrier_from_a_need_and_never_change_one() -> None:
    three = need(lines=("A", "B", "C"), count=3, spares=0)
    with_them = plan(ranges=[SMALL], needs=[three])
    without = plan(ranges=[SMALL], needs=[three], reserves=())
    assert with_them["stops"][0]["carriers"] == without["stops"][0]["carriers"]
    assert with_them["stops"][0]["short"] == []
    assert with_them["stops"][0]["reserves"] == []
    (warning,) = [row for row in with_them["warnings"] if row["code"] == "reserve-short"]
    assert (warning["where"], warning["text"][:7]) == ("here", "2 of 2 ")
    assert not planned(ranges=[SMALL], needs=[three], reserves=(TWO,)).short_confirmed


def test_they_stay_from_stop_to_stop_and_from_plan_to_plan() -> None:
    stops = [stop(), stop(id="there", **moved(300))]
    first = plan(stops=stops)
    here, there = first["stops"]
    assert here["reserves"] == there["reserves"]
    again = plan(stops=stops, previous=first)
    assert again["stops"] == first["stops"]
    # another line moves in beside them: what was promised stays
    more = plan(
        stops=stops,
        needs=[need(), need(name="more", lines=("X",), count=1, spares=0)],
        previous=first,
    )
    kept = [row["frequency_mhz"] for row in more["stops"][0]["reserves"]]
    used = [row["frequency_mhz"] for row in more["stops"][0]["carriers"] if row["need"] == "more"]
    before = [row["frequency_mhz"] for row in here["reserves"]]
    assert sum(mhz in kept for mhz in before) >= 1
    assert not set(kept) & set(used)


def test_a_wider_visitor_keeps_off_the_edges() -> None:
    wide = Reserve(role="mic", count=1, bandwidth_hz=5_000_000)
    (row,) = plan(reserves=(wide,))["stops"][0]["reserves"]
    inside = (row["frequency_mhz"] - 470.0) % 6.0
    assert 2.5 <= inside <= 3.5  # the whole of it in one 6 MHz channel


def test_names_count_on_and_stops_are_heeded() -> None:
    stops = [stop(), stop(id="there", **moved(300))]
    only = Reserve(role="mic", count=1, stops=("there",))
    here, there = plan(stops=stops, reserves=(TWO, only))["stops"]
    assert [row["name"] for row in here["reserves"]] == ["reserve mic 1", "reserve mic 2"]
    assert [row["name"] for row in there["reserves"]] == [
        *("reserve mic 1", "reserve mic 2", "reserve mic 3"),
    ]


def test_blocks_and_duplex_rows_are_not_for_visitors() -> None:
    rows = [
        gear(),
        gear(family="Fir", links_per_block=4),
        gear(family="Hazel", duplex_low_hz=560_000_000, duplex_high_hz=564_000_000),
        gear(family="Elm", role="in-ear"),
    ]
    assert [row.family for row in reserve_rows(TWO, rows)] == ["Alder"]
