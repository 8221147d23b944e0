"""Bounds against exhaustive search: never below the optimum, for every kind of guard set."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.coordination import Choice, Grid, GuardSet, Order, PlacedCarrier, upper_bound
from planner.coordination.bounds_spans import Distances, least_spans
from planner.coordination.company import Company, Group
from planner.coordination.stop_bounds import stop_limits
from tests.properties.coordination_oracle import Carrier, Guards, is_valid, largest

guard = st.integers(0, 7)
rows: st.SearchStrategy[Guards] = st.one_of(
    st.tuples(guard, guard, guard, guard),
    # 2A-B alone; differences; 3A-2B alone; a guard larger than the spacing
    st.tuples(guard, st.integers(1, 7), st.just(0), st.just(0)),
    st.tuples(st.integers(1, 5), st.integers(1, 3), st.integers(1, 3), guard),
    st.tuples(guard, st.just(0), st.just(0), st.integers(1, 7)),
    st.tuples(st.integers(0, 2), st.integers(3, 9), guard, guard),
)
windows = st.lists(
    st.tuples(st.integers(0, 30), st.integers(0, 12)).map(lambda w: (w[0], w[0] + w[1])),
    min_size=1,
    max_size=3,
)


def guard_set(row: Guards) -> GuardSet:
    return GuardSet(
        spacing_hz=row[0], guard_2a_b_hz=row[1], guard_a_b_c_hz=row[2], guard_3a_2b_hz=row[3]
    )


def placed(fixed: list[Carrier]) -> tuple[PlacedCarrier, ...]:
    return tuple(PlacedCarrier(frequency_hz=hz, guards=guard_set(row)) for hz, row in fixed)


@given(
    spans=windows,
    row=rows,
    step=st.sampled_from((1, 2, 3)),
    fixed=st.lists(st.tuples(st.integers(-9, 45), rows), max_size=3, unique_by=lambda c: c[0]),
    own=st.booleans(),
)
@settings(max_examples=250, deadline=None)
def test_no_set_is_larger_than_the_bound(
    spans: list[tuple[int, int]], row: Guards, step: int, fixed: list[Carrier], *, own: bool
) -> None:
    if own:
        fixed = [(hz, row) for hz, _ in fixed]
    grid = Grid(origin_hz=0, step_hz=step, windows_hz=tuple(spans))
    points = grid.points().tolist()[:18]
    narrow = tuple((hz, hz) for hz in points)
    limit = upper_bound(
        narrow, step_hz=step, origin_hz=0, guards=guard_set(row), fixed=placed(fixed)
    )
    assert limit >= largest(points, row, fixed) + len(fixed)


@given(row=rows, gaps=st.integers(1, 4))
@settings(max_examples=100, deadline=None)
def test_no_few_carriers_lie_closer_than_the_least_span(row: Guards, gaps: int) -> None:
    distances = Distances(spacing=max(1, row[0]), chain=row[1], cross=row[2], fifth=row[3])
    spans = least_spans(60, distances, 100_000)
    if gaps >= spans.size:
        return
    narrower = range(int(spans[gaps]))
    for inner in itertools.combinations(narrower[1:-1], max(0, gaps - 1)):
        ends = (0, *inner, narrower[-1])[: gaps + 1]
        assert not is_valid([(hz, row) for hz in ends]) or len(set(ends)) <= gaps


NOWHERE = Grid(origin_hz=0, step_hz=1, windows_hz=())


def order(name: str, points: list[int], row: Guards, count: int, group: int = 0) -> Order:
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=tuple((hz, hz) for hz in sorted(set(points))))
    choice = Choice(range_key=name, guards=guard_set(row), grid=grid, spare_grid=NOWHERE)
    return Order(name=name, choices=(choice,), count=count, group=group)


def most_together(
    asked: list[tuple[list[int], Guards, int]], fixed: list[Carrier], chosen: list[Carrier]
) -> int:
    """Return the most carriers that stand, by looking at all."""
    if not asked:
        return 0
    points, row, count = asked[0]
    best = most_together(asked[1:], fixed, chosen)
    if count:
        for k, hz in enumerate(points):
            longer = [*chosen, (hz, row)]
            if is_valid(longer, fixed):
                rest = [(points[k + 1 :], row, count - 1), *asked[1:]]
                best = max(best, 1 + most_together(rest, fixed, longer))
    return best


need = st.tuples(
    st.lists(st.integers(0, 24), min_size=1, max_size=7, unique=True).map(sorted),
    rows,
    st.integers(1, 3),
)


@given(
    asked=st.lists(need, min_size=1, max_size=3),
    fixed=st.lists(st.tuples(st.integers(-5, 30), rows), max_size=2, unique_by=lambda c: c[0]),
)
@settings(max_examples=250, deadline=None)
def test_no_stop_holds_more_than_its_limits(
    asked: list[tuple[list[int], Guards, int]], fixed: list[Carrier]
) -> None:
    orders = [order(f"need {k}", *one) for k, one in enumerate(asked)]
    found = stop_limits(orders, placed(fixed))
    for limit in found.carriers:
        some = [asked[int(name.split()[1])] for name in limit.needs]
        assert limit.limit >= most_together(some, fixed, [])
    wanted = sum(count for _, _, count in asked)
    assert wanted - found.missing >= most_together(asked, fixed, [])


@given(asked=st.lists(need, min_size=2, max_size=2))
@settings(max_examples=60, deadline=None)
def test_needs_that_are_never_on_together_have_no_common_limit(
    asked: list[tuple[list[int], Guards, int]],
) -> None:
    company = Company(groups=(Group(hours=1), Group(hours=2)))
    orders = [order(f"need {k}", *one, group=k) for k, one in enumerate(asked)]
    found = stop_limits(orders, (), company)
    assert [limit.needs for limit in found.carriers] == [("need 0",), ("need 1",)]
    alone = [most_together([one], [], []) for one in asked]
    assert sum(count for _, _, count in asked) - found.missing >= sum(alone)


@given(row=rows, spans=windows)
@settings(max_examples=60, deadline=None)
def test_more_search_never_weakens_a_bound(row: Guards, spans: list[tuple[int, int]]) -> None:
    limits = [
        upper_bound(tuple(spans), step_hz=1, origin_hz=0, guards=guard_set(row), search_steps=steps)
        for steps in (0, 100, 100_000)
    ]
    assert np.all(np.diff(limits) <= 0)
