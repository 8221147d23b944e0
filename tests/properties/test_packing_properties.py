"""Packing: sound by trying all products, never above the optimum, never less for more room."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.coordination import Budget, Grid, GuardSet, PlacedCarrier, count_fit, pack_carriers
from tests.properties.coordination_oracle import Guards, is_valid, largest

MHZ = 1_000_000
KHZ = 1_000

small_guards = st.tuples(st.integers(0, 9), st.integers(0, 7), st.integers(0, 7), st.integers(0, 7))
small_windows = st.lists(
    st.tuples(st.integers(0, 24), st.integers(0, 8)).map(lambda e: (e[0], e[0] + e[1])),
    min_size=1,
    max_size=2,
).map(tuple)
khz = st.sampled_from([0, 25, 50, 100, 130])
real_guards = st.tuples(st.sampled_from([100, 200, 350, 600]), khz, khz, khz).map(
    lambda row: tuple(value * KHZ for value in row)
)
real_windows = st.lists(
    st.tuples(st.integers(0, 20), st.integers(1, 6)).map(
        lambda e: ((470 + e[0]) * MHZ, (470 + e[0] + e[1]) * MHZ)
    ),
    min_size=1,
    max_size=3,
).map(tuple)
fixed_mhz = st.lists(st.integers(468 * 40, 495 * 40), max_size=3, unique=True).map(
    lambda places: tuple(sorted(place * 25 * KHZ for place in places))
)


def guard_set(row: Guards) -> GuardSet:
    return GuardSet(
        spacing_hz=row[0], guard_2a_b_hz=row[1], guard_a_b_c_hz=row[2], guard_3a_2b_hz=row[3]
    )


def grid(windows: tuple[tuple[int, int], ...], step_hz: int = 25 * KHZ) -> Grid:
    return Grid(origin_hz=0, step_hz=step_hz, windows_hz=windows)


def assert_sound(carriers_hz: tuple[int, ...], fixed_hz: tuple[int, ...], row: Guards) -> None:
    new = [(hz, row) for hz in carriers_hz if hz not in fixed_hz]
    assert is_valid(new, [(hz, row) for hz in fixed_hz])


@given(
    windows=small_windows,
    row=small_guards,
    fixed=st.lists(st.integers(-10, 40), max_size=2, unique=True),
    step=st.sampled_from([1, 2, 3]),
)
@settings(max_examples=60, deadline=None)
def test_small_packings_are_sound_and_reach_the_optimum(
    windows: tuple[tuple[int, int], ...], row: Guards, fixed: list[int], step: int
) -> None:
    where = grid(windows, step)
    points = [int(hz) for hz in where.points()]
    packed = pack_carriers(where, guard_set(row), fixed_hz=fixed, budget=Budget(20_000))
    assert_sound(packed.carriers_hz, tuple(fixed), row)
    optimum = len(fixed) + largest(points, row, [(hz, row) for hz in fixed])
    assert packed.found == optimum
    assert packed.limit >= optimum
    assert packed.proven == (packed.found == packed.limit)


@given(windows=real_windows, row=real_guards, fixed_hz=fixed_mhz, more=real_windows)
@settings(max_examples=12, deadline=None)
def test_more_room_never_lowers_a_count_that_is_handed_on(
    windows: tuple[tuple[int, int], ...],
    row: Guards,
    fixed_hz: tuple[int, ...],
    more: tuple[tuple[int, int], ...],
) -> None:
    """A window more, smaller guards, a fixed carrier less: each starts from the set before."""
    budget = Budget(1500)
    first = pack_carriers(grid(windows), guard_set(row), fixed_hz=fixed_hz, budget=budget)
    assert_sound(first.carriers_hz, fixed_hz, row)
    wider = pack_carriers(
        grid((*windows, *more)),
        guard_set(row),
        fixed_hz=fixed_hz,
        budget=budget,
        start_hz=first.carriers_hz,
    )
    assert_sound(wider.carriers_hz, fixed_hz, row)
    assert wider.found >= first.found
    for k in range(4):
        less: Guards = tuple(value // 2 if at == k else value for at, value in enumerate(row))  # type: ignore[assignment]
        eased = pack_carriers(
            grid(windows),
            guard_set(less),
            fixed_hz=fixed_hz,
            budget=budget,
            start_hz=first.carriers_hz,
        )
        assert_sound(eased.carriers_hz, fixed_hz, less)
        assert eased.found >= first.found
    if fixed_hz:
        freed = pack_carriers(
            grid(windows),
            guard_set(row),
            fixed_hz=fixed_hz[1:],
            budget=budget,
            start_hz=first.carriers_hz,
        )
        assert freed.found - len(fixed_hz[1:]) >= first.found - len(fixed_hz)


@given(windows=real_windows, row=real_guards, fixed_hz=fixed_mhz, extra=real_windows)
@settings(max_examples=40, deadline=None)
def test_counts_are_sound_together_with_their_extras(
    windows: tuple[tuple[int, int], ...],
    row: Guards,
    fixed_hz: tuple[int, ...],
    extra: tuple[tuple[int, int], ...],
) -> None:
    guards = guard_set(row)
    fixed = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in fixed_hz]
    fit = count_fit(grid(windows), guards, extra_grid=grid(extra), extra_most=3, fixed=fixed)
    both = (*fit.carriers_hz, *fit.extra_hz)
    assert len(set(both)) == len(both)
    assert len(fit.extra_hz) <= 3
    assert_sound(tuple(hz for hz in both if hz not in fixed_hz), (), row)
    assert is_valid([(hz, row) for hz in both], [(hz, row) for hz in fixed_hz])
    assert set(fit.carriers_hz) <= set(grid(windows).points().tolist())
    assert not set(fit.extra_hz) & set(grid(windows).points().tolist())
