"""Duplex gear: two carriers a line, chosen and verified together, or none."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import pytest

from planner.coordination.names import Use
from planner.coordination.tasks import NeedTask, RoutePlan, StopCarriers, StopTask
from planner.coordination.two_ways import both_or_none
from planner.plan.duplex import both_ways, return_row, single_range, with_returns
from planner.ranking import RangeCount, fold_counts
from tests.unit.builders import gear, need, stop
from tests.unit.planning import document, moved, planned

if TYPE_CHECKING:
    from planner.records import GearRange

HAZEL = gear(
    family="Hazel",
    role="intercom",
    low_hz=490_100_000,
    high_hz=493_900_000,
    tuning_origin_hz=490_100_000,
    duplex_low_hz=560_100_000,
    duplex_high_hz=561_300_000,
)
"""Room for more on the way out than for the three of the way back."""
COMMS = need(name="comms", role="intercom", lines=("A", "B"), count=2, spares=1)
BACK = "comms (return)"


def plan(**more: Any) -> dict[str, Any]:
    return document(planned(**{"ranges": [HAZEL], "needs": [COMMS], **more}))


def rows_of(record: dict[str, Any], way: str) -> dict[str, float]:
    return {
        row["name"]: row["frequency_mhz"]
        for row in record["carriers"]
        if row.get("direction") == way
    }


def test_the_way_back_is_a_range_of_its_own() -> None:
    back = return_row(HAZEL)
    assert back is not None
    assert (back.low_hz, back.high_hz) == (560_100_000, 561_300_000)
    assert back.tuning_origin_hz == 560_100_000
    assert back.key == "Hazel 490.1-493.9 (return)"
    assert back.return_of == HAZEL.key
    assert return_row(gear()) is None
    assert return_row(back) is None
    assert with_returns([gear(), HAZEL]) == (gear(), HAZEL, back)
    shared = dataclasses.replace(HAZEL, tuning_origin_hz=490_000_000)
    other = return_row(shared)
    assert other is not None
    assert other.tuning_origin_hz == 490_000_000


def test_every_line_and_spare_has_both_ways_in_their_spans() -> None:
    record = plan()["stops"][0]
    there, back = rows_of(record, "send"), rows_of(record, "return")
    assert set(there) == set(back) == {"A", "B", "comms spare 1"}
    assert all(490.1 <= mhz <= 493.9 for mhz in there.values())
    assert all(560.1 <= mhz <= 561.3 for mhz in back.values())
    assert len(record["carriers"]) == 6
    assert {row["range"] for row in record["carriers"]} == {HAZEL.key}
    assert record["short"] == []
    places = [(row["name"], row["direction"]) for row in record["carriers"]]
    assert places[:2] == [("A", "send"), ("A", "return")]


def test_simplex_gear_has_no_direction() -> None:
    record = document(planned())["stops"][0]
    assert not any("direction" in row for row in record["carriers"])


def test_the_way_that_holds_less_decides_everywhere() -> None:
    six = dataclasses.replace(COMMS, lines=tuple("ABCDEF"), count=6, spares=0)
    result = planned(ranges=[HAZEL], needs=[six])
    record = document(result)["stops"][0]
    there, back = rows_of(record, "send"), rows_of(record, "return")
    assert set(there) == set(back)
    assert 0 < len(there) < 6
    (short,) = record["short"]
    assert (short["need"], short["missing"]) == ("comms", 6 - len(there))
    count = record["ranges"][HAZEL.key]["carriers_found"]
    assert count < 6
    assert result.short_confirmed
    (row,) = document(result)["ranking"]
    assert row["worst_headroom"] == count - 6
    headrooms = document(result)["combinations"][0]["headrooms"]["here"]
    assert set(headrooms) == {"comms"}


def test_a_duplex_range_over_two_stops_and_again() -> None:
    stops = [stop(), stop(id="there", **moved(300))]
    first = plan(stops=stops)
    assert rows_of(first["stops"][0], "return") == rows_of(first["stops"][1], "return")
    assert not any(row["retuned"] for row in first["stops"][1]["carriers"])
    assert plan(stops=stops, previous=first)["stops"] == first["stops"]
    closed = [stop(), stop(id="there", exclude_hz=((560_000_000, 560_300_000),), **moved(300))]
    changed = plan(stops=closed, previous=first)
    before = rows_of(first["stops"][0], "return")
    assert rows_of(changed["stops"][0], "return") == before
    lost = {name for name, mhz in before.items() if mhz < 560.4}
    retuned = {row["name"] for row in changed["stops"][1]["carriers"] if row["retuned"]}
    assert lost
    assert lost <= retuned


def test_pieces_are_bought_once_a_line() -> None:
    (bought,) = plan()["buying"]["needs"]
    (row,) = bought["ranges"]
    assert (row["lines"], row["spare_frequencies"]) == (2, 1)
    assert row["channels"]["get"] == row["carried"]["get"] == 2
    assert 490.1 <= row["used_low_mhz"] <= row["used_high_mhz"] <= 493.9


def use(mhz: float, *, main: bool = True) -> Use:
    return Use(range_key="r", frequency_hz=round(mhz * 1e6), power_mw=None, main=main)


def folded(carriers: dict[tuple[str, str], Use], missing: dict[str, int]) -> StopCarriers:
    there = NeedTask(name="comms", choices=(), lines=("A", "B"), spares=("S",))
    tasks = [
        StopTask(
            stop_id="x", rig="A", needs=(there, dataclasses.replace(there, name=BACK)), fixed=()
        )
    ]
    stops = (StopCarriers(stop_id="x", carriers=carriers, missing=missing),)
    return both_or_none(tasks, RoutePlan(stops=stops, legs=(), steps=0)).stops[0]


def test_half_a_line_is_none() -> None:
    found = folded(
        {("comms", "A"): use(490), ("comms", "B"): use(491), (BACK, "A"): use(560)},
        {"comms": 1, BACK: 2},
    )
    assert set(found.carriers) == {("comms", "A"), (BACK, "A")}
    assert found.missing == {"comms": 2}


def test_two_halves_become_one_line() -> None:
    found = folded({("comms", "A"): use(490), (BACK, "B"): use(560)}, {"comms": 2, BACK: 2})
    assert set(found.carriers) == {("comms", "A"), (BACK, "A")}
    assert found.missing == {"comms": 2}


def test_a_spares_centre_never_serves_a_line() -> None:
    found = folded({("comms", "A"): use(490), (BACK, "S"): use(560, main=False)}, {})
    assert found.carriers == {}
    assert found.missing == {"comms": 3}


def test_counts_of_both_ways_never_promise_more_than_either() -> None:
    there = RangeCount(clear_hz=(1, 2, 3), faint_hz=(4,), clear_limit=5, faint_limit=2)
    back = RangeCount(clear_hz=(7,), faint_hz=(8, 9), clear_limit=2, faint_limit=4)
    found = both_ways({("r", "x"): there, ("r (return)", "x"): back, ("q", "x"): there})
    assert set(found) == {("r", "x"), ("q", "x")}
    both = found["r", "x"]
    assert (len(both.clear_hz), both.clear_limit) == (1, 2)
    for spares in range(5):
        most = min(
            len(there.clear_hz) + len(there.faint_hz), len(back.clear_hz) + len(back.faint_hz)
        )
        assert both.found(spares) == min(most, 1 + spares)
        assert both.found(spares) <= both.limit(spares)
    assert found["q", "x"] is there


def test_figures_of_both_ways_become_one() -> None:
    assert fold_counts({"a": 2, "a (return)": -1, "b": 0}) == {"a": -1, "b": 0}
    assert fold_counts({"a": 1, "a (return)": 3}, worst="most") == {"a": 3}


@pytest.mark.parametrize(("rows", "most"), [([HAZEL, gear()], 1), ([gear()], 3)])
def test_a_line_never_has_its_two_ways_in_two_ranges(rows: list[GearRange], most: int) -> None:
    assert single_range(need(ranges_max=3), rows).ranges_max == most
