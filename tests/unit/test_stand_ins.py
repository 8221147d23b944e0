"""Spares in two grades: what stands in for which line, in the plan and over its re-runs."""

from __future__ import annotations

import dataclasses
import itertools
from typing import TYPE_CHECKING, Any

import pytest

from planner.coordination import Choice, Grid, GuardSet, PlacedCarrier, violations
from planner.coordination.grades import with_stand_ins
from planner.coordination.names import Names, Use, deal
from planner.coordination.stand_ins import add_stand_ins
from planner.coordination.tasks import NeedTask, RoutePlan, StopCarriers, StopTask
from planner.errors import PlannerError
from planner.plan.document_spares import verify_stand_ins
from planner.plan.previous import kept_stops
from planner.plan.retunes import RetuneCounter
from planner.units import mhz_to_hz
from tests.unit.builders import gear, need, stop
from tests.unit.planning import document, planned

if TYPE_CHECKING:
    from planner.plan import PlanResult

CHANNEL_14 = gear(low_hz=470_100_000, high_hz=475_900_000)
"""About nine carriers fit."""


def plan(count: int, grade: str = "full", **more: Any) -> PlanResult:
    """Return a plan of so many lines and two spares in one TV channel."""
    lines = tuple(f"Line {k + 1}" for k in range(count))
    row = need(lines=lines, count=count, spares=2, spare_grade=grade)
    return planned(needs=[row], ranges=[CHANNEL_14], **more)


def spares_of(record: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {row["name"]: row for row in record["carriers"] if row["spare"]}


def test_full_spares_replace_every_line() -> None:
    found = document(plan(6))
    spares = spares_of(found["stops"][0])
    assert [row["spare_grade"] for row in spares.values()] == ["full", "full"]
    assert all(len(row["stands_in_for"]) == 6 for row in spares.values())
    assert not [row for row in found["warnings"] if row["code"] == "stand-in-spares"]


def test_stand_ins_are_offered_before_a_spare_is_missing_and_it_is_said() -> None:
    result = plan(7)
    found = document(result)
    spares = spares_of(found["stops"][0])
    assert sorted(row["spare_grade"] for row in spares.values()) == ["full", "stand-in"]
    assert found["stops"][0]["short"] == []
    assert not result.short_confirmed
    said = [row["text"] for row in found["warnings"] if row["code"] == "stand-in-spares"]
    assert len(said) == 1
    assert said[0].startswith("1 spare of vocals only fits in the place of a line, not beside all")


def test_lines_are_never_cut_for_spares() -> None:
    alone = planned(needs=[need(lines=tuple("abcdefgh"), count=8, spares=0)], ranges=[CHANNEL_14])
    assert not alone.route.stops[0].missing
    stops = plan(8).route.stops
    assert sum("Line" in name for _, name in stops[0].carriers) == 8


def test_lines_no_spare_can_replace_are_named() -> None:
    found = document(plan(8))
    spares = spares_of(found["stops"][0])
    covered = {line for row in spares.values() for line in row["stands_in_for"]}
    text = next(row["text"] for row in found["warnings"] if row["code"] == "line-without-spare")
    for k in range(8):
        line = f"Line {k + 1}"
        assert (line in covered) != (line in text), line


def test_stand_ins_wanted_leave_room_so_that_each_covers_every_line() -> None:
    found = document(plan(6, "stand-in"))
    spares = spares_of(found["stops"][0])
    assert {row["spare_grade"] for row in spares.values()} == {"stand-in"}
    assert all(len(row["stands_in_for"]) == 6 for row in spares.values())
    # lines packed without a thought of spares leave none that covers more than three
    tight = spares_of(document(plan(7, "stand-in"))["stops"][0])
    assert max(len(row["stands_in_for"]) for row in tight.values()) == 7


def test_spares_of_both_grades_lie_in_other_channels_where_there_is_room() -> None:
    for grade in ("full", "stand-in"):
        lines = tuple(f"Line {k}" for k in range(4))
        row = need(lines=lines, count=4, spares=2, spare_grade=grade)
        record = document(planned(needs=[row], ranges=[gear()]))["stops"][0]
        spares = {row["channel"] for row in record["carriers"] if row["spare"]}
        assert not spares & {row["channel"] for row in record["carriers"] if not row["spare"]}


def test_a_stop_with_stand_ins_counts_as_met() -> None:
    assert plan(8, "stand-in").joint.combinations[0].stops_met == 1
    alone = plan(7, "stand-in").ranking["vocals"][0]
    assert alone.stops_met == 1
    assert alone.worst_headroom == plan(7).ranking["vocals"][0].worst_headroom + 2
    assert plan(8).joint.combinations[0].stops_met == 1


def test_each_stand_in_is_sound_in_the_place_of_a_line_and_only_there() -> None:
    record = document(plan(8))["stops"][0]
    guards = GuardSet(spacing_hz=350_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=100_000)
    hz = {row["name"]: mhz_to_hz(row["frequency_mhz"]) for row in record["carriers"]}
    stand_ins = {
        row["name"]: row["stands_in_for"]
        for row in record["carriers"]
        if row["spare_grade"] == "stand-in"
    }
    lines = [name for name in hz if name not in spares_of(record)]
    assert stand_ins

    def wrong(names: list[str]) -> bool:
        return bool(
            violations([PlacedCarrier(frequency_hz=hz[name], guards=guards) for name in names])
        )

    for spare, replaced in stand_ins.items():
        assert wrong([*lines, spare])
        for line in lines:
            others = [name for name in lines if name != line]
            assert wrong([*others, spare]) == (line not in replaced), (spare, line)


def test_an_unchanged_tour_keeps_its_stand_ins() -> None:
    for grade in ("full", "stand-in"):
        first = document(plan(8, grade))
        second = document(plan(8, grade, previous=first))
        assert second["stops"] == first["stops"]


def test_what_an_earlier_plan_let_stand_in_is_kept_by_name_and_never_taken_for_more() -> None:
    first = document(plan(8))
    spares = spares_of(first["stops"][0])
    one, two = spares.values()
    for key in ("frequency_mhz", "stands_in_for"):
        one[key], two[key] = two[key], one[key]
    kept = kept_stops(first, [stop()])["here"]
    assert set(kept.stand_ins) == {("vocals", name) for name in spares}
    assert not set(kept.carriers) & set(kept.stand_ins)
    again = spares_of(document(plan(8, previous=first))["stops"][0])
    assert {name: row["frequency_mhz"] for name, row in again.items()} == {
        name: row["frequency_mhz"] for name, row in spares.items()
    }


def test_stand_ins_are_kept_from_stop_to_stop() -> None:
    stops = [stop(id="one"), stop(id="two", lat_deg=39.5)]
    result = plan(8, stops=stops)
    assert [row.spares for row in result.retunes] == [0, 0]
    assert result.route.stops[0].stand_ins == result.route.stops[1].stand_ins


def test_a_moved_stand_in_is_a_retune_of_a_spare() -> None:
    row = NeedTask(name="a", choices=(), lines=("l",), spares=(), stand_ins=("s",))
    tasks = [StopTask(stop_id=name, rig="A", needs=(row,)) for name in "xy"]
    stops = tuple(
        StopCarriers(
            stop_id=task.stop_id,
            carriers={
                ("a", "l"): Use(range_key="r", frequency_hz=1),
                ("a", "s"): Use(range_key="r", frequency_hz=hz),
            },
            missing={},
            stand_ins={("a", "s"): ("l",)},
        )
        for task, hz in zip(tasks, (5, 6), strict=True)
    )
    found = RetuneCounter().count(tasks, RoutePlan(stops=stops, legs=(), steps=0))
    assert [(row.lines, row.spares) for row in found] == [(0, 0), (0, 1)]


def one_need(lines: tuple[str, ...], stand_ins: tuple[str, ...], **more: Any) -> StopTask:
    """Return a stop of spacing 300 kHz, three TV channels of 1 MHz, half a step beside edges."""
    windows = tuple((k * 1_000_000 + 100_000, k * 1_000_000 + 900_000) for k in range(3))
    row = NeedTask(
        name="a",
        choices=(
            Choice(
                range_key="r",
                guards=GuardSet(spacing_hz=300_000),
                grid=Grid(origin_hz=0, step_hz=100_000, windows_hz=windows),
                spare_grid=Grid(origin_hz=0, step_hz=100_000, windows_hz=()),
            ),
        ),
        lines=lines,
        spares=(),
        stand_ins=stand_ins,
    )
    return StopTask(
        stop_id="one",
        rig="A",
        needs=(dataclasses.replace(row, **more),),
        channels_hz=tuple((k * 1_000_000, (k + 1) * 1_000_000) for k in range(3)),
    )


def at(**lines_hz: int) -> StopCarriers:
    return StopCarriers(
        stop_id="one",
        carriers={
            ("a", name): Use(range_key="r", frequency_hz=hz) for name, hz in lines_hz.items()
        },
        missing={"a": 2},
    )


def test_stand_ins_go_to_other_tv_channels() -> None:
    found = add_stand_ins(one_need(("l",), ("s", "t")), at(l=1_500_000))
    assert [found.carriers["a", name].frequency_hz for name in "st"] == [100_000, 2_100_000]
    assert found.missing == {}


def test_a_transmitter_that_cannot_tune_so_far_is_not_replaced_there() -> None:
    task = one_need(("l",), ("s",), widths_hz={"r": 500_000})
    found = add_stand_ins(task, at(l=1_500_000))
    assert abs(found.carriers["a", "s"].frequency_hz - 1_500_000) <= 500_000


def test_stand_ins_keep_spacing_from_the_line_and_from_each_other() -> None:
    found = add_stand_ins(one_need(("l",), ("s", "t", "u")), at(l=500_000))
    hz = sorted(use.frequency_hz for use in found.carriers.values())
    assert all(high - low >= 300_000 for low, high in itertools.pairwise(hz))


def test_carriers_of_before_are_kept_where_they_cover_as_much() -> None:
    task = one_need(("l",), ("s",))
    last = {("a", "s"): Use(range_key="r", frequency_hz=2_800_000)}
    assert (
        add_stand_ins(task, at(l=500_000), last=last).carriers["a", "s"].frequency_hz == 2_800_000
    )
    kept = dataclasses.replace(
        task, keep_stand_ins={("a", "s"): Use(range_key="r", frequency_hz=2_500_000)}
    )
    assert (
        add_stand_ins(kept, at(l=500_000), last=last).carriers["a", "s"].frequency_hz == 2_500_000
    )


def test_one_on_a_centre_for_spares_only_is_kept_though_clear_ones_are_free() -> None:
    task = one_need(("l",), ("s",))
    choice = task.needs[0].choices[0]
    faint = dataclasses.replace(choice.grid, windows_hz=((4_000_000, 4_500_000),))
    task = one_need(("l",), ("s",), choices=(dataclasses.replace(choice, spare_grid=faint),))
    last = {("a", "s"): Use(range_key="r", frequency_hz=4_100_000)}
    found = add_stand_ins(task, at(l=500_000), last=last)
    assert found.carriers["a", "s"] == Use(range_key="r", frequency_hz=4_100_000, main=False)
    assert add_stand_ins(task, at(l=500_000)).carriers["a", "s"].main


def test_nothing_stands_in_for_one_of_two_ways() -> None:
    found = add_stand_ins(one_need(("l",), ("s",), two_way=True), at(l=500_000))
    assert ("a", "s") not in found.carriers


def test_lines_alone_need_no_stand_in() -> None:
    task = one_need(("l",), ())
    assert with_stand_ins([task], RoutePlan(stops=(at(l=1),), legs=(), steps=0)).stops[0] == at(l=1)


def test_the_document_refuses_a_stand_in_that_clashes_without_the_line() -> None:
    guards = GuardSet(spacing_hz=300_000)
    rows = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in (0, 400_000, 500_000)]
    company = one_need(("l",), ()).company
    verify_stand_ins(rows, [(), (), (1,)], blocks=[], company=company)
    with pytest.raises(PlannerError, match="the verifier refuses a stand-in"):
        verify_stand_ins(rows, [(), (), (0,)], blocks=[], company=company)


def test_full_spares_are_dealt_the_carriers_of_another_channel() -> None:
    carriers = [
        Use(range_key="r", frequency_hz=hz) for hz in (100_000, 500_000, 900_000, 1_500_000)
    ]
    names = Names(need="a", lines=("x", "y", "z"), spares=("s",))
    assert deal(names, carriers)["s"].frequency_hz == 1_500_000
    low = [Use(range_key="r", frequency_hz=hz) for hz in (500_000, 1_100_000, 1_500_000, 1_900_000)]
    assert deal(names, low)["s"].frequency_hz == 1_900_000
    apart = dataclasses.replace(names, channels_hz=((0, 1_000_000), (1_000_000, 2_000_000)))
    assert deal(apart, low)["s"].frequency_hz == 500_000
    # but not at the price of a retune
    kept = dataclasses.replace(apart, last={"x": low[0]})
    assert deal(kept, low)["x"] == low[0]
