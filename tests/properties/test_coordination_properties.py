"""Coordination: always valid, never above the optimum, bounds never below it."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.coordination import (
    Budget,
    Grid,
    GuardSet,
    Order,
    PlacedCarrier,
    coordinate,
    count_fit,
    pack_carriers,
    upper_bound,
    violations,
)
from planner.coordination.board import Board, Row
from tests.properties.coordination_oracle import Carrier, Guards, is_valid, largest

NO_GRID = Grid(origin_hz=0, step_hz=1, windows_hz=())


def guard_set(row: Guards) -> GuardSet:
    return GuardSet(
        spacing_hz=row[0], guard_2a_b_hz=row[1], guard_a_b_c_hz=row[2], guard_3a_2b_hz=row[3]
    )


def placed(carriers: list[Carrier]) -> tuple[PlacedCarrier, ...]:
    return tuple(PlacedCarrier(frequency_hz=hz, guards=guard_set(row)) for hz, row in carriers)


def windows(low: int, high: int, most: int) -> st.SearchStrategy[tuple[tuple[int, int], ...]]:
    edges = st.tuples(st.integers(low, high), st.integers(low, high))
    return st.lists(edges.map(lambda e: (min(e), max(e))), min_size=1, max_size=most).map(tuple)


small_guards = st.tuples(st.integers(0, 9), st.integers(0, 7), st.integers(0, 7), st.integers(0, 7))
small_fixed = st.lists(st.tuples(st.integers(-20, 60), small_guards), max_size=3)
step = st.sampled_from([1, 2, 3, 5])

khz = st.integers(0, 12).map(lambda k: 25_000 * k)
real_guards = st.tuples(st.integers(4, 28).map(lambda k: 25_000 * k), khz, khz, khz)
real_windows = windows(470_000_000, 500_000_000, 4)
real_fixed = st.lists(st.tuples(st.integers(465_000_000, 505_000_000), real_guards), max_size=4)


def real_grid(spans: tuple[tuple[int, int], ...], step_hz: int = 25_000) -> Grid:
    return Grid(origin_hz=0, step_hz=step_hz, windows_hz=spans)


def assert_sound(chosen: list[PlacedCarrier], fixed: tuple[PlacedCarrier, ...]) -> None:
    """Nothing may be wrong save among the fixed carriers."""
    new = {carrier.frequency_hz for carrier in chosen}
    assert len(new) == len(chosen)
    wrong = [v.line() for v in violations((*chosen, *fixed)) if new & set(v.carriers_hz)]
    assert wrong == []


@given(
    standing=st.lists(st.tuples(st.integers(0, 60), small_guards), max_size=4),
    row=small_guards,
)
@settings(max_examples=150, deadline=None)
def test_a_centre_is_free_exactly_when_it_harms_nobody(
    standing: list[Carrier], row: Guards
) -> None:
    """Every hertz, in every role: victim, and source once, twice and three times."""
    points = np.arange(-60, 121)
    fast = Row(points, step_hz=1, guards=guard_set(row))
    Board([fast], placed(standing))
    for hz in points.tolist():
        # only what the candidate takes part in counts, so the others stand as fixed carriers
        assert (fast.cover[hz + 60] == 0) == is_valid([(hz, row)], standing)


@given(
    standing=st.lists(st.tuples(st.integers(0, 60), small_guards), max_size=5, unique=True),
    rows=st.lists(small_guards, min_size=1, max_size=2),
    backwards=st.booleans(),
)
@settings(max_examples=100, deadline=None)
def test_taking_carriers_out_undoes_putting_them_in(
    standing: list[Carrier], rows: list[Guards], *, backwards: bool
) -> None:
    points = np.arange(-40, 100, 3)
    board = Board([Row(points, step_hz=3, guards=guard_set(row)) for row in rows])
    for hz, row in standing:
        board.add(hz, guard_set(row))
    for hz, _ in standing[::-1] if backwards else standing:
        board.remove(hz)
    for fast in board.rows:
        assert not fast.cover.any()


@given(
    carriers=st.lists(st.tuples(st.integers(0, 80), small_guards), max_size=6),
)
@settings(max_examples=200, deadline=None)
def test_verifier_agrees_with_the_definition(carriers: list[Carrier]) -> None:
    twins = len({hz for hz, _ in carriers}) < len(carriers)
    assert (not violations(placed(carriers)) and not twins) == is_valid(carriers)


@given(
    spans=windows(0, 45, 3),
    step_hz=step,
    origin=st.integers(0, 4),
    row=small_guards,
    fixed=small_fixed,
)
@settings(max_examples=150, deadline=None)
def test_small_counts_never_exceed_the_optimum_nor_the_optimum_the_bound(
    spans: tuple[tuple[int, int], ...],
    step_hz: int,
    origin: int,
    row: Guards,
    fixed: list[Carrier],
) -> None:
    step_hz *= 3
    grid = Grid(origin_hz=origin, step_hz=step_hz, windows_hz=spans)
    best = largest(grid.points().tolist(), row, fixed)
    fit = count_fit(grid, guard_set(row), fixed=placed(fixed))
    assert is_valid([(hz, row) for hz in fit.carriers_hz], fixed)
    assert len(fit.carriers_hz) <= best
    limit = upper_bound(
        spans, step_hz=step_hz, origin_hz=origin, guards=guard_set(row), fixed=placed(fixed)
    )
    assert limit >= best + len(fixed)


@given(spans=real_windows, row=real_guards, fixed=real_fixed, extra=real_windows)
@settings(max_examples=40, deadline=None)
def test_counts_are_valid_inside_their_grids_and_under_the_bound(
    spans: tuple[tuple[int, int], ...],
    row: Guards,
    fixed: list[Carrier],
    extra: tuple[tuple[int, int], ...],
) -> None:
    grid, more = real_grid(spans), real_grid(extra)
    guards = guard_set(row)
    fit = count_fit(grid, guards, extra_grid=more, extra_most=3, fixed=placed(fixed))
    assert set(fit.carriers_hz) <= set(grid.points().tolist())
    assert set(fit.extra_hz) <= set(more.points().tolist()) - set(grid.points().tolist())
    assert len(fit.extra_hz) <= 3
    chosen = [
        PlacedCarrier(frequency_hz=hz, guards=guards) for hz in (*fit.carriers_hz, *fit.extra_hz)
    ]
    assert_sound(chosen, placed(fixed))
    assert fit == count_fit(grid, guards, extra_grid=more, extra_most=3, fixed=placed(fixed))
    limit = upper_bound(spans, step_hz=25_000, origin_hz=0, guards=guards, fixed=placed(fixed))
    assert len(fit.carriers_hz) + len(fixed) <= limit


@given(
    spans=st.tuples(real_windows, real_windows),
    spare_spans=real_windows,
    rows=st.tuples(real_guards, real_guards),
    fixed=real_fixed,
    steps_hz=st.tuples(st.sampled_from([25_000, 125_000]), st.sampled_from([5_000, 25_000])),
    wished=st.lists(
        st.one_of(st.none(), st.integers(18_800, 20_000).map(lambda k: 25_000 * k)), max_size=6
    ),
)
@settings(max_examples=40, deadline=None)
def test_mixed_rows_are_valid_and_keep_to_their_grids(
    spans: tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]],
    spare_spans: tuple[tuple[int, int], ...],
    rows: tuple[Guards, Guards],
    fixed: list[Carrier],
    steps_hz: tuple[int, int],
    wished: list[int | None],
) -> None:
    orders = [
        Order(
            name=name,
            guards=guard_set(row),
            grid=real_grid(span, step_hz),
            spare_grid=real_grid(spare_spans, step_hz),
            count=4,
            spares=2,
            preferred_hz=tuple(wished),
        )
        for name, row, span, step_hz in zip(("mics", "ears"), rows, spans, steps_hz, strict=True)
    ]
    answer = coordinate(orders, placed(fixed), effort="quick")
    chosen = []
    for order, filled in zip(orders, answer.filled, strict=True):
        main = set(order.grid.points().tolist())
        either = main | set(order.spare_grid.points().tolist())
        lines = [hz for hz in filled.lines_hz if hz is not None]
        spares = [hz for hz in filled.spares_hz if hz is not None]
        assert (len(filled.lines_hz), len(filled.spares_hz)) == (4, 2)
        assert set(lines) <= main
        assert set(spares) <= either
        assert answer.missing(order.name) == 6 - len(lines) - len(spares)
        chosen += [PlacedCarrier(frequency_hz=hz, guards=order.guards) for hz in (*lines, *spares)]
    assert_sound(chosen, placed(fixed))
    assert answer == coordinate(orders, placed(fixed), effort="quick")


@given(
    spans=st.tuples(windows(0, 60, 2), windows(0, 60, 2)),
    rows=st.tuples(small_guards, small_guards),
    fixed=small_fixed,
    counts=st.tuples(st.integers(0, 3), st.integers(0, 3)),
)
@settings(max_examples=60, deadline=None)
def test_small_stops_are_never_fuller_than_the_optimum(
    spans: tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]],
    rows: tuple[Guards, Guards],
    fixed: list[Carrier],
    counts: tuple[int, int],
) -> None:
    grids = [Grid(origin_hz=0, step_hz=7, windows_hz=span) for span in spans]
    orders = [
        Order(name=name, guards=guard_set(row), grid=grid, spare_grid=NO_GRID, count=count)
        for name, row, grid, count in zip("ab", rows, grids, counts, strict=True)
    ]
    answer = coordinate(orders, placed(fixed))
    missing = sum(answer.missing(name) for name in "ab")
    assert missing >= sum(counts) - most_lines(grids, rows, counts, fixed)


def most_lines(
    grids: list[Grid], rows: tuple[Guards, Guards], counts: tuple[int, int], fixed: list[Carrier]
) -> int:
    """Return the most lines of two needs together, by looking at all sets."""
    points = [grid.points().tolist() for grid in grids]
    for total in range(sum(counts), 0, -1):
        for first in range(max(0, total - counts[1]), min(total, counts[0]) + 1):
            for one in itertools.combinations(points[0], first):
                mine = [(hz, rows[0]) for hz in one]
                if not is_valid(mine, fixed):
                    continue
                for two in itertools.combinations(points[1], total - first):
                    if is_valid([*mine, *((hz, rows[1]) for hz in two)], fixed):
                        return total
    return 0


@given(spans=real_windows, row=real_guards, fixed=real_fixed, seed=st.integers(0, 99))
@settings(max_examples=25, deadline=None)
def test_packing_is_valid_within_its_steps_and_not_below_first_fit(
    spans: tuple[tuple[int, int], ...], row: Guards, fixed: list[Carrier], seed: int
) -> None:
    grid, guards = real_grid(spans), guard_set(row)
    fixed_hz = tuple(sorted({hz for hz, _ in fixed}))
    standing = tuple(PlacedCarrier(frequency_hz=hz, guards=guards) for hz in fixed_hz)
    packed = pack_carriers(grid, guards, fixed_hz=fixed_hz, budget=Budget(600), seed=seed)
    new = [
        PlacedCarrier(frequency_hz=hz, guards=guards)
        for hz in packed.carriers_hz
        if hz not in fixed_hz
    ]
    assert_sound(new, standing)
    assert set(fixed_hz) <= set(packed.carriers_hz)
    assert packed.steps <= 600
    assert packed.found <= packed.limit
    assert packed.proven == (packed.found == packed.limit)
    assert packed == pack_carriers(grid, guards, fixed_hz=fixed_hz, budget=Budget(600), seed=seed)
    assert packed.found - len(fixed_hz) >= ascending_first_fit(grid, guards, standing)


def ascending_first_fit(grid: Grid, guards: GuardSet, fixed: tuple[PlacedCarrier, ...]) -> int:
    """Return how many carriers the plainest method finds: lowest first."""
    row = Row(grid.points(), step_hz=grid.step_hz, guards=guards)
    board = Board([row], fixed)
    found = 0
    for hz in grid.points().tolist():
        if row.is_free(hz):
            board.add(hz, guards)
            found += 1
    return found
