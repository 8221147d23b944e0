"""Retunes of a route: lines, spares, forced ones and packs, against the last stop of the rig."""

from __future__ import annotations

from typing import Any

import pytest

from planner.coordination.names import LINE_WEIGHT
from planner.records import Assigned
from planner.units import mhz_to_hz
from tests.unit.builders import need, stop
from tests.unit.planning import carriers, document, planned

HIGH, LOW = (540_000_000, 608_000_000), (470_000_000, 540_000_000)
KEYS = ("lines", "spares", "forced", "units", "bound")


def given(at: str, *mhz: float, **more: Any) -> Assigned:
    values: dict[str, Any] = {
        "stop": at,
        "need": "vocals",
        "frequencies_hz": tuple(mhz_to_hz(f) for f in mhz),
    }
    return Assigned(**{**values, **more})


def retunes(*rows: Assigned, wanted: Any = None, rigs: str = "AAA") -> list[tuple[int, ...]]:
    """Return lines, spares, forced, units and bound of each stop that has assignments."""
    ids = list(dict.fromkeys(row.stop for row in rows))
    stops = [
        stop(id=name, rig=rig, lat_deg=39.0 + i)
        for i, (name, rig) in enumerate(zip(ids, rigs, strict=False))
    ]
    result = planned(stops=stops, needs=[wanted or need(spares=0)], assigned=rows)
    assert not any(row.missing for row in result.route.stops)
    found = document(result)["stops"]
    for record in found:
        moved = [row for row in carriers(record).values() if row["retuned"]]
        told = record["retunes"]
        assert told["lines"] == sum(not row["spare"] for row in moved)
        assert told["spares"] == sum(row["spare"] for row in moved)
        assert told["forced"] == sum(row["forced"] for row in moved)
    assert [row["retunes"]["lines"] for row in found] == [row.lines for row in result.retunes]
    (combination,) = document(result)["combinations"]
    assert combination["retunes"] == sum(row.lines for row in result.retunes)
    bound = combination["retunes_bound"]
    assert sum(row.bound for row in result.retunes) <= bound <= combination["retunes"]
    for row in result.retunes:
        assert row.weighted >= LINE_WEIGHT * row.lines + row.spares
    return [tuple(record["retunes"][key] for key in KEYS) for record in found]


@pytest.mark.parametrize(
    ("second", "expected"),
    [
        ((520.1, 521.0), (0, 0, 0, 0, 0)),
        # one frequency goes, so that one line must move, with its two packs
        ((520.1, 531.1), (1, 0, 1, 2, 1)),
        ((531.1, 532.0), (2, 0, 2, 4, 2)),
    ],
)
def test_lines_that_must_move_are_forced_and_the_bound_says_how_many(
    second: tuple[float, ...], expected: tuple[int, ...]
) -> None:
    found = retunes(
        given("a", 520.1, 521.0), given("b", *second), wanted=need(spares=0, units_per_line=2)
    )
    assert found == [(0, 0, 0, 0, 0), expected]


def test_only_the_name_whose_carrier_is_gone_moves() -> None:
    """Three frequencies, one of them gone; two lines can stay, so that the bound is 0."""
    found = retunes(given("a", 520.1, 521.0, 523.0), given("b", 520.1, 523.0, 531.1), wanted=need())
    lines, spares, forced, units, bound = found[1]
    assert lines + spares == forced == 1
    assert (units, bound) == (lines, 0)


def test_another_power_on_the_same_frequency_is_a_retune() -> None:
    """10 mW after 50 mW: every line is set anew, though no frequency changes."""
    same = given("b", 520.1, 521.0, power_mw=10.0)
    assert retunes(given("a", 520.1, 521.0), same)[1] == (2, 0, 2, 2, 0)


def test_the_last_stop_of_the_same_rig_counts_and_a_line_that_rested_keeps_its_last() -> None:
    rows = (given("a", 520.1, 521.0), given("b", 540.1, 541.0), given("c", 520.1, 521.0))
    assert [row[0] for row in retunes(*rows, rigs="ABA")] == [0, 0, 0]
    assert [row[0] for row in retunes(*rows, rigs="AAA")] == [0, 2, 2]
    # the vocals rest at b
    rest = retunes(*rows, wanted=need(spares=0, stops=("a", "c")))
    assert rest == [(0, 0, 0, 0, 0)] * 3


def test_a_stay_that_is_possible_is_not_called_forced() -> None:
    """At c both halves are open: what moved at b is kept, and nothing is retuned for nothing."""
    stops = [
        stop(id="a", exclude_hz=(LOW,)),
        stop(id="b", lat_deg=40.0, exclude_hz=(HIGH,)),
        stop(id="c", lat_deg=41.0),
    ]
    found = document(planned(stops=stops, needs=[need(units_per_line=3)]))["stops"]
    told = [tuple(row["retunes"][key] for key in KEYS) for row in found]
    assert told == [(0, 0, 0, 0, 0), (2, 1, 3, 6, 2), (0, 0, 0, 0, 0)]


def test_the_bound_of_a_route_sees_more_than_two_stops() -> None:
    """From any stop to the next two lines can stay, but not over all three."""
    rows = (
        given("a", 520.1, 521.0, 523.0),
        given("b", 521.0, 523.0, 531.1, 532.3),
        given("c", 531.1, 532.3),
    )
    ids = [row.stop for row in rows]
    stops = [stop(id=name, lat_deg=39.0 + i) for i, name in enumerate(ids)]
    result = planned(stops=stops, needs=[need(spares=0)], assigned=rows)
    assert [row.bound for row in result.retunes] == [0, 0, 0]
    (combination,) = document(result)["combinations"]
    assert (combination["retunes"], combination["retunes_bound"]) == (2, 2)


def test_a_retune_weighs_as_many_units_as_follow_the_line() -> None:
    assert [row.weighted for row in routed(units_per_line=3)] == [0, 2 * 3 * LINE_WEIGHT]
    assert [row.weighted for row in routed(units_per_line=1)] == [0, 2 * LINE_WEIGHT]


def routed(**more: Any) -> tuple[Any, ...]:
    stops = [stop(id="a"), stop(id="b", lat_deg=40.0)]
    rows = (given("a", 520.1, 521.0), given("b", 531.1, 532.0))
    return planned(stops=stops, needs=[need(spares=0, **more)], assigned=rows).retunes
