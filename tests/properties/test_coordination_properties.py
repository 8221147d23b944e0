"""Coordination: always valid, never above the optimum, bounds never below it."""

from __future__ import annotations

import dataclasses
import itertools

from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.coordination import (
    Budget,
    Choice,
    Filled,
    Grid,
    GuardSet,
    Order,
    PlacedCarrier,
    Wish,
    coordinate,
    count_fit,
    pack_carriers,
    upper_bound,
    violations,
)
from planner.coordination.search import free_points
from tests.properties.coordination_oracle import Carrier, Guards, is_valid, largest

NO_GRID = Grid(origin_hz=0, step_hz=1, windows_hz=())


def guard_set(row: Guards) -> GuardSet:
    return GuardSet(
        spacing_hz=row[0], guard_2a_b_hz=row[1], guard_a_b_c_hz=row[2], guard_3a_2b_hz=row[3]
    )


def placed(carriers: list[Carrier], *, source: bool = True) -> tuple[PlacedCarrier, ...]:
    return tuple(
        PlacedCarrier(frequency_hz=hz, guards=guard_set(row), source=source) for hz, row in carriers
    )


def choice(row: Guards, grid: Grid, spare_grid: Grid = NO_GRID, key: str = "one") -> Choice:
    return Choice(range_key=key, guards=guard_set(row), grid=grid, spare_grid=spare_grid)


def carriers_of(order: Order, filled: Filled) -> list[PlacedCarrier]:
    guards = {choice.range_key: choice.guards for choice in order.choices}
    return [
        PlacedCarrier(frequency_hz=chosen.frequency_hz, guards=guards[chosen.range_key])
        for chosen in filled.carriers
    ]


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
    victims=st.lists(st.tuples(st.integers(-10, 70), small_guards), max_size=2),
    row=small_guards,
)
@settings(max_examples=120, deadline=None)
def test_a_centre_is_free_exactly_when_it_harms_nobody(
    standing: list[Carrier], victims: list[Carrier], row: Guards
) -> None:
    """Every hertz, in every role: victim, and source once, twice and three times."""
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=((-60, 120),))
    fixed = (*placed(standing), *placed(victims, source=False))
    free = set(free_points(grid, guard_set(row), fixed).tolist())
    for hz in range(-60, 121):
        # only what the candidate takes part in counts, so the others stand as fixed carriers
        assert (hz in free) == is_valid([(hz, row)], standing, victims)


@given(
    carriers=st.lists(st.tuples(st.integers(0, 80), small_guards), max_size=6),
)
@settings(max_examples=200, deadline=None)
def test_verifier_agrees_with_the_definition(carriers: list[Carrier]) -> None:
    twins = len({hz for hz, _ in carriers}) < len(carriers)
    assert (not violations(placed(carriers)) and not twins) == is_valid(carriers)


@given(
    carriers=st.lists(
        st.tuples(st.integers(0, 80), small_guards, st.booleans()),
        max_size=6,
    ),
)
@settings(max_examples=200, deadline=None)
def test_verifier_lists_every_product_of_sources_and_no_other(
    carriers: list[tuple[int, Guards, bool]],
) -> None:
    rows = [
        PlacedCarrier(frequency_hz=hz, guards=guard_set(row), source=source)
        for hz, row, source in carriers
    ]
    expected: list[tuple[str, int, tuple[int, ...]]] = []
    for one, two in itertools.combinations(carriers, 2):
        low, high = sorted((one[0], two[0]))
        if high - low < max(one[1][0], two[1][0]):
            expected.append(("spacing", high, (low,)))
    numbers = range(len(carriers))
    for a, b, v in itertools.permutations(numbers, 3):
        (hz_a, _, on_a), (hz_b, _, on_b), (hz_v, guards, _) = carriers[a], carriers[b], carriers[v]
        if on_a and on_b and abs(2 * hz_a - hz_b - hz_v) < guards[1]:
            expected.append(("2A-B", hz_v, (hz_a, hz_b)))
        if on_a and on_b and abs(3 * hz_a - 2 * hz_b - hz_v) < guards[3]:
            expected.append(("3A-2B", hz_v, (hz_a, hz_b)))
    for a, b, c, v in itertools.permutations(numbers, 4):
        three = (carriers[a], carriers[b], carriers[c])
        product = three[0][0] + three[1][0] - three[2][0]
        near = abs(product - carriers[v][0]) < carriers[v][1][2]
        if a < b and near and all(row[2] for row in three):
            expected.append(("A+B-C", carriers[v][0], tuple(row[0] for row in three)))
    found = [(v.kind, v.victim_hz, v.sources_hz) for v in violations(rows)]
    assert sorted(found) == sorted(expected)


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
    victims=real_fixed,
    steps_hz=st.tuples(st.sampled_from([25_000, 125_000]), st.sampled_from([5_000, 25_000])),
    wished=st.lists(
        st.tuples(
            st.integers(18_800, 20_000).map(lambda k: 25_000 * k),
            st.booleans(),
            st.sampled_from(["one", "two"]),
        ),
        max_size=6,
    ),
    most=st.one_of(st.none(), st.integers(0, 4)),
)
@settings(max_examples=40, deadline=None)
def test_mixed_rows_are_valid_and_keep_to_their_grids(
    *,
    spans: tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]],
    spare_spans: tuple[tuple[int, int], ...],
    rows: tuple[Guards, Guards],
    fixed: list[Carrier],
    victims: list[Carrier],
    steps_hz: tuple[int, int],
    wished: list[tuple[int, bool, str]],
    most: int | None,
) -> None:
    """Two needs that may use two ranges each, every range with its own guards and raster."""
    choices = [
        choice(row, real_grid(span, step_hz), real_grid(spare_spans, step_hz), key)
        for key, row, span, step_hz in zip(("one", "two"), rows, spans, steps_hz, strict=True)
    ]
    choices[0] = dataclasses.replace(choices[0], most=most)
    orders = [
        Order(
            name=name,
            choices=mine,
            count=4,
            spares=2,
            wishes=tuple(Wish(range_key=k, frequency_hz=hz, spare=s) for hz, s, k in wished),
        )
        for name, mine in (("mics", tuple(choices)), ("ears", tuple(choices[::-1])))
    ]
    standing = (*placed(fixed), *placed(victims, source=False))
    answer = coordinate(orders, standing, effort="quick")
    chosen = []
    for order, filled in zip(orders, answer.filled, strict=True):
        for row in order.choices:
            main = set(row.grid.points().tolist())
            extra = set(row.spare_grid.points().tolist()) - main
            mine = [found for found in filled.carriers if found.range_key == row.range_key]
            assert {found.frequency_hz for found in mine if found.main} <= main
            assert {found.frequency_hz for found in mine if not found.main} <= extra
            assert row.most is None or len(mine) <= row.most
        on_extra = sum(not found.main for found in filled.carriers)
        on_main = len(filled.carriers) - on_extra
        assert on_extra <= order.spares
        assert len(filled.carriers) <= order.count + order.spares
        assert filled.missing_lines == max(0, order.count - on_main)
        assert filled.missing == 6 - len(filled.carriers)
        chosen += carriers_of(order, filled)
    assert_sound(chosen, standing)
    assert answer == coordinate(orders, standing, effort="quick")


@given(spans=real_windows, row=real_guards, fixed=real_fixed, most=st.integers(1, 30))
@settings(max_examples=25, deadline=None)
def test_a_proven_bound_ends_a_search_early_and_changes_nothing_else(
    spans: tuple[tuple[int, int], ...], row: Guards, fixed: list[Carrier], most: int
) -> None:
    grid, guards, standing = real_grid(spans), guard_set(row), placed(fixed)
    limit = upper_bound(spans, step_hz=25_000, origin_hz=0, guards=guards, fixed=standing) - len(
        fixed
    )
    plain = count_fit(grid, guards, fixed=standing, most=most)
    bound = count_fit(grid, guards, fixed=standing, most=most, limit=limit)
    assert len(bound.carriers_hz) == len(plain.carriers_hz) <= limit
    assert bound.steps <= plain.steps
    order = Order(name="mics", choices=(choice(row, grid),), count=most)
    with_limit = dataclasses.replace(order, limit=limit)
    open_end = coordinate([order], standing, effort="quick")
    ended = coordinate([with_limit], standing, effort="quick")
    assert ended.filled[0].missing == open_end.filled[0].missing
    assert ended.steps <= open_end.steps
    assert_sound(carriers_of(order, ended.filled[0]), standing)


@given(
    spans=st.tuples(real_windows, real_windows),
    rows=st.tuples(real_guards, real_guards),
    fixed=real_fixed,
    wished=st.lists(st.integers(18_800, 20_000).map(lambda k: 25_000 * k), max_size=4),
)
@settings(max_examples=25, deadline=None)
def test_a_search_is_never_below_ascending_first_fit(
    spans: tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]],
    rows: tuple[Guards, Guards],
    fixed: list[Carrier],
    wished: list[int],
) -> None:
    """With wishes and two ranges too; the plain method fills the first range, then the second."""
    standing = placed(fixed)
    choices = tuple(
        choice(row, real_grid(span), key=key)
        for key, row, span in zip(("one", "two"), rows, spans, strict=True)
    )
    order = Order(
        name="mics",
        choices=choices,
        count=30,
        wishes=tuple(Wish(range_key="one", frequency_hz=hz) for hz in wished),
    )
    answer = coordinate([order], standing, effort="quick")
    found: tuple[PlacedCarrier, ...] = ()
    for row in choices:
        found = (*found, *ascending(row.grid, row.guards, (*standing, *found)))
    assert len(answer.filled[0].carriers) >= min(30, len(found))


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
        Order(name=name, choices=(choice(row, grid),), count=count)
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
@example(spans=((470_000_000, 480_000_000),), row=(125_000, 25_000, 0, 0), fixed=[], seed=0)
@settings(max_examples=8, deadline=None)
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
    assert packed.found - len(fixed_hz) >= len(ascending(grid, guards, standing))


def ascending(
    grid: Grid, guards: GuardSet, fixed: tuple[PlacedCarrier, ...]
) -> tuple[PlacedCarrier, ...]:
    """Return what the plainest method finds: the lowest free centre, again and again."""
    found: list[PlacedCarrier] = []
    last = -1
    while True:
        free = free_points(grid, guards, (*fixed, *found))
        free = free[free > last]
        if not free.size:
            return tuple(found)
        last = int(free[0])
        found.append(PlacedCarrier(frequency_hz=last, guards=guards))
