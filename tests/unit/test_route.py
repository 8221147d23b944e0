"""The route: legs share a set, last night's carriers first, need before retunes."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.coordination import (
    Budget,
    Choice,
    Chosen,
    Grid,
    GuardSet,
    PlacedCarrier,
    pack_carriers,
)
from planner.coordination.names import Use
from planner.coordination.route import coordinate_route
from planner.coordination.tasks import NeedTask, RoutePlan, StopTask
from planner.coordination.verify import violations

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.coordination.tasks import LineKey

GUARDS = GuardSet(spacing_hz=350_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=100_000)
NO_GRID = Grid(origin_hz=0, step_hz=25_000, windows_hz=())
MHZ = 1_000_000


def grid(*spans: tuple[float, float]) -> Grid:
    return Grid(
        origin_hz=0,
        step_hz=25_000,
        windows_hz=tuple((round(a * MHZ), round(b * MHZ)) for a, b in spans),
    )


def use(hz: int) -> Use:
    return Use(range_key="one", frequency_hz=hz)


def one(where: Grid, guards: GuardSet = GUARDS) -> tuple[Choice]:
    return (Choice(range_key="one", guards=guards, grid=where, spare_grid=NO_GRID),)


def hertz_of(carriers: Mapping[LineKey, Use]) -> set[int]:
    return {use.frequency_hz for use in carriers.values()}


def task(name: str, where: Grid, lines: int = 5, **more: object) -> StopTask:
    mic = NeedTask(
        name="mics",
        choices=one(where),
        lines=tuple(f"line {i}" for i in range(lines)),
        spares=("spare",),
    )
    values: dict[str, object] = {"stop_id": name, "rig": "A", "needs": (mic,), **more}
    return StopTask(**values)  # type: ignore[arg-type]


def check(plan: RoutePlan, tasks: list[StopTask]) -> None:
    """Verify every stop by brute force and the windows by hand."""
    for found, asked in zip(plan.stops, tasks, strict=True):
        assert found.stop_id == asked.stop_id
        placed = [PlacedCarrier(frequency_hz=hz, guards=GUARDS) for hz in hertz_of(found.carriers)]
        assert len(placed) == len(found.carriers)
        assert violations([*placed, *asked.fixed]) == ()
        points = set(asked.needs[0].choices[0].grid.points().tolist())
        assert hertz_of(found.carriers) <= points


def test_stops_that_share_spectrum_are_one_leg_without_a_retune() -> None:
    tasks = [task("a", grid((470, 490))), task("b", grid((480, 500))), task("c", grid((482, 510)))]
    plan = coordinate_route(tasks)
    check(plan, tasks)
    assert [leg.stop_ids for leg in plan.legs] == [("a", "b", "c")]
    assert plan.stops[0].carriers == plan.stops[2].carriers
    assert not plan.stops[0].missing


def test_a_leg_ends_where_nothing_is_shared() -> None:
    tasks = [task("a", grid((470, 490))), task("b", grid((500, 520)))]
    plan = coordinate_route(tasks)
    check(plan, tasks)
    assert len(plan.legs) == 2


def test_the_next_leg_keeps_what_still_stands() -> None:
    tasks = [task("a", grid((470, 476))), task("b", grid((470, 471.5), (500, 510)))]
    plan = coordinate_route(tasks)
    check(plan, tasks)
    first, second = plan.stops
    held = {hz for hz in hertz_of(first.carriers) if hz <= 471.5 * MHZ}
    assert held
    assert held <= hertz_of(second.carriers)


def test_a_short_stop_stands_alone_and_says_how_many_are_missing() -> None:
    tasks = [
        task("a", grid((470, 490))),
        task("tight", grid((470, 470.5))),
        task("c", grid((470, 490))),
    ]
    plan = coordinate_route(tasks)
    check(plan, tasks)
    assert plan.stops[1].missing == {"mics": 4}
    assert not plan.stops[2].missing


def test_a_needed_carrier_is_not_traded_for_a_retune() -> None:
    # Room for four carriers at 0.4 MHz; a bad set of last night would block two of them
    tight = Grid(origin_hz=0, step_hz=100_000, windows_hz=((500_000_000, 501_200_000),))
    free = dataclasses.replace(GUARDS, guard_2a_b_hz=0, guard_a_b_c_hz=0, spacing_hz=400_000)
    need = NeedTask(name="mics", choices=one(tight, free), lines=("1", "2", "3", "4"), spares=())
    keep = {("mics", "1"): use(500_300_000), ("mics", "2"): use(500_900_000)}
    plan = coordinate_route([StopTask(stop_id="a", rig="A", needs=(need,), keep=keep)])
    assert not plan.stops[0].missing
    assert len(hertz_of(plan.stops[0].carriers)) == 4


def test_an_earlier_plan_is_kept_name_by_name() -> None:
    tasks = [task("a", grid((470, 490))), task("b", grid((480, 500)))]
    first = coordinate_route(tasks)
    again = [
        dataclasses.replace(row, keep=found.carriers)
        for row, found in zip(tasks, first.stops, strict=True)
    ]
    second = coordinate_route(again)
    assert [stop.carriers for stop in second.stops] == [stop.carriers for stop in first.stops]


def test_a_settled_stop_takes_its_carriers_over_and_stays_as_short_as_it_was() -> None:
    kept = {("mics", "line 0"): use(470_000_000), ("gone", "x"): use(480_000_000)}
    plan = coordinate_route([task("a", grid((470, 490)), keep=kept, settled=True)])
    assert plan.stops[0].carriers == {("mics", "line 0"): use(470_000_000)}
    assert plan.stops[0].missing == {"mics": 5}


def test_a_damaged_settled_stop_is_planned_afresh() -> None:
    outside = {("mics", "line 0"): use(465_000_000)}
    clash = {("mics", "line 0"): use(470_000_000), ("mics", "line 1"): use(470_100_000)}
    for kept in (outside, clash):
        asked = [task("a", grid((470, 490)), keep=kept, settled=True)]
        plan = coordinate_route(asked)
        check(plan, asked)
        assert not plan.stops[0].missing


def test_rigs_are_planned_apart() -> None:
    tasks = [
        task("a", grid((470, 490))),
        task("x", grid((500, 520)), rig="B"),
        task("b", grid((470, 490))),
    ]
    plan = coordinate_route(tasks)
    check(plan, tasks)
    assert plan.stops[0].carriers == plan.stops[2].carriers
    assert [stop.stop_id for stop in plan.stops] == ["a", "x", "b"]


def test_a_rig_is_not_bound_to_another_rigs_carriers() -> None:
    # one band, two rigs in turns: each rig's plan is what it would be without the other
    mine = [task("a1", grid((480, 490))), task("a2", grid((470, 490)))]
    theirs = [task("b1", grid((470, 490)), rig="B"), task("b2", grid((470, 484)), rig="B")]
    both = coordinate_route([mine[0], theirs[0], mine[1], theirs[1]])
    apart = {
        found.stop_id: found for tasks in (mine, theirs) for found in coordinate_route(tasks).stops
    }
    assert [found.stop_id for found in both.stops] == ["a1", "b1", "a2", "b2"]
    for found in both.stops:
        assert found == apart[found.stop_id]
    # a rig that began where the other one is would have stayed there
    assert min(hertz_of(apart["a1"].carriers)) >= 480 * MHZ
    assert min(hertz_of(apart["b1"].carriers)) < 480 * MHZ
    assert [leg.stop_ids for leg in both.legs] == [("a1", "a2"), ("b1", "b2")]


def test_an_earlier_plan_comes_before_last_nights_carriers() -> None:
    # both would stand at b: line 0 goes back to its own of the earlier plan, the rest stay
    keep = {("mics", "line 0"): use(489_000_000)}
    tasks = [task("a", grid((470, 480))), task("b", grid((470, 490)), keep=keep)]
    plan = coordinate_route(tasks)
    check(plan, tasks)
    first, second = (found.carriers for found in plan.stops)
    assert second["mics", "line 0"] == use(489_000_000)
    assert first["mics", "line 0"].frequency_hz <= 480 * MHZ
    others = [key for key in second if key != ("mics", "line 0")]
    assert len(others) == 5
    assert [second[key] for key in others] == [first[key] for key in others]


def test_a_line_that_rests_at_a_stop_is_remembered_after_it() -> None:
    # the microphones rest at b, where only another need is on the air; at c first-fit alone
    # would go below 480 MHz
    ears = dataclasses.replace(task("b", grid((500, 510)), lines=2).needs[0], name="ears")
    tasks = [
        task("a", grid((480, 490))),
        task("b", grid((500, 510)), needs=(ears,)),
        task("c", grid((470, 490))),
    ]
    first, rest, last = coordinate_route(tasks).stops
    assert {key[0] for key in rest.carriers} == {"ears"}
    assert last.carriers == first.carriers
    alone = coordinate_route([tasks[2]]).stops[0].carriers
    assert min(hertz_of(alone)) < 480 * MHZ


def test_fixed_carriers_and_their_products_are_kept_clear_of() -> None:
    fixed = tuple(
        PlacedCarrier(frequency_hz=hz, guards=GUARDS) for hz in (471_000_000, 472_500_000)
    )
    tasks = [task("a", grid((470, 476)), fixed=fixed)]
    plan = coordinate_route(tasks)
    check(plan, tasks)


def test_same_tasks_same_answer() -> None:
    tasks = [task("a", grid((470, 476), (488, 494))), task("b", grid((472, 476), (490, 500)))]
    assert coordinate_route(tasks) == coordinate_route(tasks)


def test_a_set_known_before_is_taken_where_the_search_finds_less() -> None:
    where = grid((500, 530))
    packed = pack_carriers(where, GUARDS, budget=Budget(400_000))
    lines = tuple(f"line {k}" for k in range(packed.found))
    need = NeedTask(name="mics", choices=one(where), lines=lines, spares=())
    asked = StopTask(stop_id="a", rig="A", needs=(need,))
    # the case is worth something only while a quick search does not find as many
    assert coordinate_route([asked], effort="quick").stops[0].missing
    known = tuple(Chosen(range_key="one", frequency_hz=hz, main=True) for hz in packed.carriers_hz)
    helped = dataclasses.replace(asked, known={"mics": known})
    got = coordinate_route([helped], effort="quick").stops[0]
    assert hertz_of(got.carriers) == set(packed.carriers_hz)
    assert not got.missing


def test_a_known_set_that_clashes_is_not_taken() -> None:
    known = tuple(
        Chosen(range_key="one", frequency_hz=470_000_000 + 100_000 * k, main=True) for k in range(9)
    )
    asked = [task("a", grid((470, 471)), known={"mics": known})]
    plan = coordinate_route(asked)
    check(plan, asked)
    assert plan.stops[0].missing["mics"] >= 3


def test_new_carriers_are_taken_from_what_the_next_stops_share() -> None:
    # first-fit alone would begin at 470 MHz; all three stops share 484 to 490 MHz only
    tasks = [task("a", grid((470, 490))), task("b", grid((484, 500))), task("c", grid((480, 490)))]
    plan = coordinate_route(tasks)
    check(plan, tasks)
    assert min(hertz_of(plan.stops[0].carriers)) >= 484 * MHZ
    assert plan.stops[0].carriers == plan.stops[1].carriers == plan.stops[2].carriers


def test_a_change_of_power_alone_does_not_move_a_carrier() -> None:
    tasks = [task("a", grid((470, 490))), task("b", grid((470, 490)))]
    quieter = dataclasses.replace(
        tasks[1].needs[0], powers={"one": ((400 * MHZ, 600 * MHZ, 10.0),)}
    )
    tasks[1] = dataclasses.replace(tasks[1], needs=(quieter,))
    first, second = (found.carriers for found in coordinate_route(tasks).stops)
    assert {key: row.frequency_hz for key, row in first.items()} == {
        key: row.frequency_hz for key, row in second.items()
    }
    assert {row.power_mw for row in first.values()} == {None}
    assert {row.power_mw for row in second.values()} == {10.0}


@given(
    before=st.tuples(st.integers(470, 500), st.integers(2, 20)),
    here=st.tuples(st.integers(470, 500), st.integers(1, 20)),
    after=st.tuples(st.integers(470, 500), st.integers(1, 20)),
    lines=st.integers(1, 6),
    width_hz=st.sampled_from([None, 2 * MHZ]),
)
@example(before=(470, 2), here=(471, 1), after=(470, 1), lines=5, width_hz=None)
@settings(max_examples=25, deadline=None)
def test_carriers_of_an_earlier_plan_that_stand_stay_whatever_comes_before(
    before: tuple[int, int],
    here: tuple[int, int],
    after: tuple[int, int],
    lines: int,
    width_hz: int | None,
) -> None:
    """Name by name, with another stop before it and after it than when it was planned."""

    def stop(name: str, span: tuple[int, int]) -> StopTask:
        made = task(name, grid((span[0], span[0] + span[1])), lines)
        widths = {} if width_hz is None else {"one": width_hz}
        need = dataclasses.replace(made.needs[0], widths_hz=widths)
        return dataclasses.replace(made, needs=(need,))

    alone = coordinate_route([stop("here", here)]).stops[0].carriers
    asked = dataclasses.replace(stop("here", here), keep=alone)
    tasks = [stop("before", before), asked, stop("after", after)]
    plan = coordinate_route(tasks, effort="quick")
    check(plan, tasks)
    got = plan.stops[1].carriers
    assert len(got) >= len(alone)
    # a short plan may be given up only for a fuller one
    if len(got) == len(alone):
        assert got == alone


def points(*mhz: float) -> Grid:
    return grid(*((at, at) for at in mhz))


def line_and_spare(name: str, main: Grid, extra: Grid) -> StopTask:
    choice = Choice(range_key="one", guards=GUARDS, grid=main, spare_grid=extra)
    need = NeedTask(name="mics", choices=(choice,), lines=("line",), spares=("spare",))
    return StopTask(stop_id=name, rig="A", needs=(need,))


def test_looking_ahead_does_not_take_a_spares_only_centre_for_a_line() -> None:
    """Last night's line carrier is for spares only here, and for lines again tomorrow."""
    tasks = [
        line_and_spare("a", points(500), points(530)),
        line_and_spare("b", points(510), points(500, 520)),
        line_and_spare("c", points(500), points(520)),
    ]
    assert [stop.missing for stop in coordinate_route(tasks).stops] == [{}, {}, {}]


def paired(name: str, mics: Grid, ears: Grid, lines: int = 2) -> StopTask:
    names = tuple(f"line {i}" for i in range(lines))
    needs = (
        NeedTask(name="mics", choices=one(mics), lines=names, spares=(), pair_with="ears"),
        NeedTask(name="ears", choices=one(ears), lines=names, spares=()),
    )
    return StopTask(stop_id=name, rig="A", needs=needs, separation_hz=8 * MHZ)


def gaps_hz(carriers: Mapping[LineKey, Use]) -> list[int]:
    return [
        abs(use.frequency_hz - carriers["ears", name].frequency_hz)
        for (need, name), use in carriers.items()
        if need == "mics" and ("ears", name) in carriers
    ]


def test_a_performers_carriers_are_chosen_apart_where_dealing_cannot_part_them() -> None:
    plan = coordinate_route([paired("a", grid((470, 475.9)), grid((476.1, 490)))])
    assert not plan.stops[0].missing
    assert min(gaps_hz(plan.stops[0].carriers)) >= 8 * MHZ


def test_parting_a_pair_never_costs_a_carrier() -> None:
    """There is no room for both ears 8 MHz off: they stay, too near, rather than go."""
    plan = coordinate_route([paired("a", grid((470, 470.5)), grid((476, 478.3)))])
    assert not plan.stops[0].missing
    assert min(gaps_hz(plan.stops[0].carriers)) < 8 * MHZ
