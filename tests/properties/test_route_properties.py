"""The route: fewest moves as by trying everything, every carrier verified, no count given up."""

from __future__ import annotations

import dataclasses
import itertools
import random
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.coordination import Choice, Grid, GuardSet, PlacedCarrier, coordinate
from planner.coordination.names import LINE_WEIGHT, Use
from planner.coordination.roles import split_roles
from planner.coordination.route import coordinate_route, orders_of
from planner.coordination.route_bound import MoveBounds
from planner.coordination.tasks import NeedTask, RoutePlan, StopTask
from planner.coordination.verify import violations

KHZ = 1_000
GUARDS = (
    GuardSet(spacing_hz=300 * KHZ),
    GuardSet(spacing_hz=200 * KHZ, guard_2a_b_hz=100 * KHZ),
    GuardSet(spacing_hz=200 * KHZ, guard_2a_b_hz=100 * KHZ, guard_a_b_c_hz=100 * KHZ),
)
LOW_HZ, STEP_HZ = 500_000 * KHZ, 100 * KHZ
NOWHERE = Grid(origin_hz=0, step_hz=STEP_HZ, windows_hz=())


def need(name: str, centres: list[int], lines: int, spares: int, guards: GuardSet) -> NeedTask:
    """Return a need that may use some centres of a raster, told by their numbers."""
    spots = tuple((LOW_HZ + k * STEP_HZ,) * 2 for k in sorted(centres))
    grid = Grid(origin_hz=LOW_HZ, step_hz=STEP_HZ, windows_hz=spots)
    return NeedTask(
        name=name,
        choices=(Choice(range_key="one", guards=guards, grid=grid, spare_grid=NOWHERE),),
        lines=tuple(f"{name} {k}" for k in range(lines)),
        spares=tuple(f"{name} spare {k}" for k in range(spares)),
    )


@dataclasses.dataclass(frozen=True)
class Small:
    """A small route, and the fewest moves found by looking at everything; -1 if stops are short."""

    tasks: tuple[StopTask, ...]
    fewest: int


def is_valid(centres: tuple[int, ...], guards: GuardSet) -> bool:
    placed = [PlacedCarrier(frequency_hz=LOW_HZ + k * STEP_HZ, guards=guards) for k in centres]
    return not violations(placed)


def small_route(dice: random.Random) -> Small:
    """Draw a route of one need without spares, and solve it by exhaustive search."""
    guards, lines = dice.choice(GUARDS), dice.randrange(1, 4)
    stops = [
        sorted(dice.sample(range(16), dice.randrange(5, 10))) for _ in range(dice.randrange(2, 5))
    ]
    tasks = tuple(
        StopTask(stop_id=f"s{k}", rig="A", needs=(need("mics", centres, lines, 0, guards),))
        for k, centres in enumerate(stops)
    )
    fewest: dict[frozenset[int], int] | None = None
    for centres in stops:
        sets = [
            frozenset(rows)
            for rows in itertools.combinations(centres, lines)
            if is_valid(rows, guards)
        ]
        if not sets:
            return Small(tasks, -1)
        known = fewest
        fewest = {
            rows: 0
            if known is None
            else min(cost + len(rows - last) for last, cost in known.items())
            for rows in sets
        }
    return Small(tasks, min((fewest or {frozenset(): 0}).values()))


@cache
def small_routes() -> tuple[Small, ...]:
    """Return 200 routes at all stops of which everybody can be on."""
    dice = random.Random(11)  # noqa: S311 - test data
    drawn = (small_route(dice) for _ in itertools.count())
    return tuple(itertools.islice((row for row in drawn if row.fewest >= 0), 200))


def moved(tasks: tuple[StopTask, ...], plan: RoutePlan) -> int:
    """Count the lines whose frequency differs from their last one."""
    last: dict[tuple[str, str], int] = {}
    count = 0
    for task, stop in zip(tasks, plan.stops, strict=True):
        for key, use in stop.carriers.items():
            is_line = any(key[1] in row.lines for row in task.needs if row.name == key[0])
            count += is_line and last.get(key, use.frequency_hz) != use.frequency_hz
            last[key] = use.frequency_hz
    return count


@pytest.mark.parametrize("part", range(4))
def test_fewest_moves_are_those_of_exhaustive_search(part: int) -> None:
    for row in small_routes()[part::4]:
        plan = coordinate_route(row.tasks, effort="long")
        assert not any(stop.missing for stop in plan.stops)
        assert moved(row.tasks, plan) == row.fewest


def test_the_bound_is_never_above_the_fewest_moves_and_sometimes_reaches_them() -> None:
    met = 0
    for row in small_routes():
        plan = coordinate_route(row.tasks, effort="glance")
        found = MoveBounds().bound(row.tasks, [stop.carriers for stop in plan.stops])
        if any(stop.missing for stop in plan.stops):
            continue
        assert found.lines <= row.fewest
        assert found.weighted <= LINE_WEIGHT * row.fewest
        met += found.lines == row.fewest > 0
    assert met > 20


@st.composite
def routes(draw: st.DrawFn) -> tuple[StopTask, ...]:
    """Return one to four stops of two needs with spares, some of which cannot be filled."""
    guards = draw(st.tuples(st.sampled_from(GUARDS), st.sampled_from(GUARDS)))
    lines = draw(st.tuples(st.integers(1, 4), st.integers(0, 2)))
    spares = draw(st.tuples(st.integers(0, 2), st.integers(0, 1)))
    centres = st.sets(st.integers(0, 40), max_size=24).map(sorted)
    tasks = []
    for stop in range(draw(st.integers(1, 4))):
        needs = tuple(
            need(name, draw(centres), lines[k], spares[k], guards[k])
            for k, name in enumerate(("mics", "ears"))
            if k == 0 or draw(st.booleans())
        )
        rig = draw(st.sampled_from("AAB"))
        tasks.append(StopTask(stop_id=f"s{stop}", rig=rig, needs=needs))
    return tuple(tasks)


def check(tasks: tuple[StopTask, ...], plan: RoutePlan) -> None:
    """Verify every carrier at every stop that it is given for, by the verifier's own method."""
    for task, stop in zip(tasks, plan.stops, strict=True):
        placed = []
        for row in task.needs:
            inside = set(row.choices[0].grid.points().tolist())
            for name in row.names:
                use = stop.carriers.get((row.name, name))
                if use is not None:
                    assert use.frequency_hz in inside
                    guards = row.choices[0].guards
                    placed.append(PlacedCarrier(frequency_hz=use.frequency_hz, guards=guards))
        assert len(placed) == len(stop.carriers)
        assert violations(placed) == ()
        assert sum(stop.missing.values()) == len(task.names) - len(stop.carriers)


@given(tasks=routes(), effort=st.sampled_from(["quick", "normal"]))
@settings(max_examples=40, deadline=None)
def test_carriers_are_verified_no_count_is_given_up_and_two_runs_agree(
    tasks: tuple[StopTask, ...], effort: str
) -> None:
    plan = coordinate_route(tasks, effort=effort)  # type: ignore[arg-type]
    check(tasks, plan)
    assert plan == coordinate_route(tasks, effort=effort)  # type: ignore[arg-type]
    for task, stop in zip(tasks, plan.stops, strict=True):
        alone = coordinate(orders_of(task, {}), effort=effort)  # type: ignore[arg-type]
        assert sum(stop.missing.values()) <= sum(row.missing for row in alone.filled)
    bound = MoveBounds().bound(tasks, [stop.carriers for stop in plan.stops])
    assert bound.lines <= moved_of_rigs(tasks, plan)


def moved_of_rigs(tasks: tuple[StopTask, ...], plan: RoutePlan) -> int:
    rigs = {task.rig for task in tasks}
    total = 0
    for rig in rigs:
        mine = [k for k, task in enumerate(tasks) if task.rig == rig]
        part = dataclasses.replace(plan, stops=tuple(plan.stops[k] for k in mine))
        total += moved(tuple(tasks[k] for k in mine), part)
    return total


def role_cost(stops: list[list[Use]], roles: tuple[frozenset[tuple[str, int]], ...]) -> int:
    """Return lines' and spares' moves where kept carriers stay with the same kind of name."""
    cost = 0
    for (before, old), (here, new) in itertools.pairwise(zip(stops, roles, strict=True)):
        there = {(use.range_key, use.frequency_hz) for use in before}
        for use in here:
            place = (use.range_key, use.frequency_hz)
            kept = place in there and (place in old) == (place in new)
            cost += 0 if kept else LINE_WEIGHT if place in new else 1
    return cost


def test_roles_are_the_cheapest_of_all() -> None:
    dice = random.Random(5)  # noqa: S311 - test data
    for _ in range(60):
        stops = [
            [Use(range_key="one", frequency_hz=hz) for hz in sorted(dice.sample(range(6), 4))]
            for _ in range(4)
        ]
        wanted = dice.randrange(1, 4)
        every = [
            [
                frozenset(("one", use.frequency_hz) for use in part)
                for part in itertools.combinations(row, wanted)
            ]
            for row in stops
        ]
        best = min(role_cost(stops, rows) for rows in itertools.product(*every))
        found = split_roles(stops, [wanted] * 4, weight=LINE_WEIGHT)
        assert [len(row) for row in found] == [wanted] * 4
        assert role_cost(stops, found) == best
