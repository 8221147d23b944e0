"""The search kernel: compiled and plain agree, taking undoes putting, gear is counted right."""

from __future__ import annotations

import importlib.util
import random
import sys
from functools import cache
from typing import TYPE_CHECKING, Any
from unittest import mock

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.coordination import (
    Chassis,
    Choice,
    Company,
    Grid,
    Group,
    GuardSet,
    Order,
    PlacedCarrier,
    Wish,
    closing,
    coordinate,
    count_fit,
    counting,
    first_fit,
    kernel,
    require_sound,
    search,
)
from planner.coordination import compiled as compiling

if TYPE_CHECKING:
    from types import ModuleType

    from planner.coordination import Coordination

Guards = tuple[int, int, int, int]
NO_GRID = Grid(origin_hz=0, step_hz=1, windows_hz=())
HZ, ROW = kernel.HZ, kernel.ROW

small_guards = st.tuples(st.integers(0, 9), st.integers(0, 7), st.integers(0, 7), st.integers(0, 7))
carriers = st.lists(st.tuples(st.integers(0, 90), small_guards), max_size=5)


def plain(path: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location("plain_kernel", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@cache
def plain_twin() -> ModuleType:
    """Return the kernel a second time, nothing in it or in its innermost steps compiled."""
    with (
        mock.patch.object(compiling, "compiled", lambda function: function),
        mock.patch.object(compiling, "inlined", lambda function: function),
    ):
        steps = plain(str(closing.__file__))
        with mock.patch.dict(sys.modules, {closing.__name__: steps}):
            return plain(str(kernel.__file__))


def guard_set(row: Guards) -> GuardSet:
    return GuardSet(
        spacing_hz=row[0], guard_2a_b_hz=row[1], guard_a_b_c_hz=row[2], guard_3a_2b_hz=row[3]
    )


def choice(row: Guards, grid: Grid, *, key: str = "one", **more: Any) -> Choice:
    values: dict[str, Any] = {"spare_grid": NO_GRID, **more}
    return Choice(range_key=key, guards=guard_set(row), grid=grid, **values)


def standing_row(hz: int, row: Guards) -> np.ndarray[Any, np.dtype[np.int64]]:
    return np.array([hz, *row, 0, -1, -1, 1], dtype=np.int64)


def test_the_twin_is_plain_and_the_kernel_is_compiled() -> None:
    pytest.importorskip("numba", reason="without numba the kernel is its own twin")
    assert hasattr(kernel.stir, "py_func")
    assert not hasattr(plain_twin().stir, "py_func")
    assert not hasattr(plain_twin().close_triples, "py_func")


COMPANY = Company(
    groups=(Group(hours=3, zone="a"), Group(hours=1, zone="b"), Group(hours=2, zone="a")),
    unheard=frozenset({("a", ("a", "b")), ("b", ("a", "a", "b"))}),
    separations_hz=((0, 1, 6),),
)


def random_stop(dice: random.Random) -> tuple[list[Order], list[PlacedCarrier]]:
    """Return two needs of up to two ranges, wishes, gear, fixed carriers and victims."""

    def row() -> Guards:
        return dice.randrange(8), dice.randrange(5), dice.randrange(5), dice.randrange(4)

    def grid(low: int) -> Grid:
        return Grid(
            origin_hz=dice.randrange(3),
            step_hz=dice.randrange(1, 4),
            windows_hz=((low, low + dice.randrange(60)),),
        )

    chassis = Chassis(channels=2, span_hz=dice.randrange(5, 40), receivers=2)
    choices = [
        choice(row(), grid(0), spare_grid=grid(50), most=dice.choice([None, 2, 5])),
        choice(row(), grid(40), key="two", chassis=dice.choice([None, chassis])),
    ]
    orders = [
        Order(
            name=name,
            choices=tuple(dice.sample(choices, 2)),
            count=dice.randrange(7),
            spares=dice.randrange(3),
            wishes=tuple(
                Wish(
                    range_key=dice.choice(["one", "two"]),
                    frequency_hz=dice.randrange(110),
                    spare=dice.random() < 0.5,
                )
                for _ in range(dice.randrange(4))
            ),
            limit=dice.choice([None, 5]),
            group=dice.randrange(3),
        )
        for name in ("mics", "ears")
    ]
    fixed = [
        PlacedCarrier(
            frequency_hz=dice.randrange(-20, 120),
            guards=guard_set(row()),
            source=dice.random() < 0.6,
            group=dice.randrange(3),
        )
        for _ in range(dice.randrange(4))
    ]
    return orders, fixed


@pytest.mark.parametrize("seed", range(25))
def test_compiled_and_plain_give_the_same_stop_step_by_step(seed: int) -> None:
    orders, fixed = random_stop(random.Random(seed))  # noqa: S311 - test data
    answer = coordinate(orders, fixed, company=COMPANY, effort="glance", headrooms=True)
    with (
        mock.patch.object(search, "kernel", plain_twin()),
        mock.patch.object(first_fit, "kernel", plain_twin()),
        mock.patch.object(counting, "kernel", plain_twin()),
    ):
        assert coordinate(orders, fixed, company=COMPANY, effort="glance", headrooms=True) == answer


@pytest.mark.parametrize("seed", range(8))
def test_compiled_and_plain_boards_are_identical_after_stirring(seed: int) -> None:
    orders, fixed = random_stop(random.Random(100 + seed))  # noqa: S311 - test data

    def board() -> kernel.Board:
        stop = search.Search(orders, fixed, company=COMPANY, seed=seed)
        begun = stop.begin()
        stop.fill(begun, search.scans(3)[2], (1, 0))
        stop.stir(begun, (0, 1), 40)
        return begun

    one = board()
    with mock.patch.object(search, "kernel", plain_twin()):
        two = board()
    for name in kernel.Board._fields:
        assert np.array_equal(getattr(one, name), getattr(two, name)), name


@given(
    standing=carriers,
    victims=st.lists(st.tuples(st.integers(0, 90), small_guards), max_size=2),
    rows=st.lists(small_guards, min_size=1, max_size=2),
    order=st.permutations(range(5)),
)
@settings(max_examples=100, deadline=None)
def test_taking_carriers_out_undoes_putting_them_in(
    standing: list[tuple[int, Guards]],
    victims: list[tuple[int, Guards]],
    rows: list[Guards],
    order: list[int],
) -> None:
    """Whatever the order of taking, with receivers to be protected too."""
    grid = Grid(origin_hz=0, step_hz=3, windows_hz=((-40, 130),))
    choices = tuple(choice(row, grid, key=str(k)) for k, row in enumerate(rows))
    fixed = [
        PlacedCarrier(frequency_hz=hz, guards=guard_set(row), source=False) for hz, row in victims
    ]
    board = search.Search([Order(name="a", choices=choices, count=9)], fixed).begin()
    empty = board.cover.copy()
    for hz, row in standing:
        kernel.put(board, standing_row(hz, row))
    for hz in [standing[k][0] for k in order if k < len(standing)]:
        where = board.standing[: board.state[kernel.COUNT], HZ].tolist().index(hz)
        kernel.take(board, where)
    assert board.state[kernel.COUNT] == 0
    assert np.array_equal(board.cover, empty)


@given(
    dice=st.randoms(use_true_random=False),
    rows=st.lists(small_guards, min_size=2, max_size=2),
    times=st.integers(1, 12),
)
@settings(max_examples=60, deadline=None)
def test_a_stirred_board_is_what_its_carriers_alone_would_make(
    dice: random.Random, rows: list[Guards], times: int
) -> None:
    """No reason is left behind and none is lost, and the counts of needs are right."""
    grid = Grid(origin_hz=0, step_hz=2, windows_hz=((0, 40), (60, 90)))
    choices = tuple(choice(row, grid, key=str(k)) for k, row in enumerate(rows))
    stop = search.Search(
        [Order(name="a", choices=choices, count=20, spares=3)], seed=dice.randrange(1000)
    )
    board = stop.begin()
    stop.fill(board, search.scans(4)[dice.randrange(4)], (0,))
    stop.stir(board, (0,), times)
    again, count = stop.begin(), int(board.state[kernel.COUNT])
    for row in board.standing[:count]:
        kernel.put(again, row.copy())
    assert np.array_equal(again.cover, board.cover)
    held = [int((board.standing[:count, ROW] == k).sum()) for k in range(2)]
    assert board.rows[:, kernel.HELD_BY].tolist() == held
    assert int(board.needs[0, kernel.ON_MAIN]) == count


def fewest_groups(places: list[int], channels: int, span_hz: int) -> int:
    """Return the fewest receivers over every way to share the carriers out."""
    best = len(places)

    def share(rest: list[int], groups: list[list[int]]) -> None:
        nonlocal best
        if not rest:
            best = min(best, len(groups))
            return
        for group in groups:
            longer = [*group, rest[0]]
            if len(longer) <= channels and max(longer) - min(longer) <= span_hz:
                share(rest[1:], [longer if other is group else other for other in groups])
        share(rest[1:], [*groups, [rest[0]]])

    share(places, [])
    return best


@given(
    places=st.lists(st.integers(0, 60), min_size=1, max_size=6, unique=True),
    others=st.lists(st.integers(0, 60), max_size=2),
    channels=st.integers(1, 4),
    span_hz=st.integers(0, 50),
    new=st.integers(0, 5),
)
@settings(max_examples=300, deadline=None)
def test_receivers_needed_is_the_fewest_of_all_partitions(
    places: list[int], others: list[int], channels: int, span_hz: int, new: int
) -> None:
    new_hz = places[new % len(places)]
    rows = [(hz, 0) for hz in places if hz != new_hz] + [(hz, 1) for hz in others]
    standing = np.zeros((len(rows), 8), dtype=np.int64)
    for k, (hz, row) in enumerate(rows):
        standing[k, HZ], standing[k, ROW] = hz, row
    gear = np.zeros(15, dtype=np.int64)
    gear[kernel.CHANNELS], gear[kernel.WIDTH] = channels, span_hz
    needed = kernel.receivers_needed(standing, gear, 0, new_hz)
    assert needed == fewest_groups(places, channels, span_hz)


def check_gear(orders: list[Order], answer: Coordination) -> None:
    for order, filled in zip(orders, answer.filled, strict=True):
        for row in order.choices:
            mine = [c.frequency_hz for c in filled.carriers if c.range_key == row.range_key]
            assert row.most is None or len(mine) <= row.most
            if row.chassis is not None and len(mine) <= 7:
                gear = row.chassis
                assert fewest_groups(mine, gear.channels, gear.span_hz) <= gear.receivers


@pytest.mark.parametrize("seed", range(150))
def test_random_stops_obey_gear_counts_and_guards(seed: int) -> None:
    orders, fixed = random_stop(random.Random(1000 + seed))  # noqa: S311 - test data
    orders = [
        Order(
            name=order.name,
            choices=order.choices,
            count=order.count,
            spares=order.spares,
            wishes=order.wishes,
        )
        for order in orders
    ]
    answer = coordinate(orders, fixed, company=COMPANY, effort="glance")
    check_gear(orders, answer)
    chosen = []
    for order, filled in zip(orders, answer.filled, strict=True):
        assert len(filled.carriers) + filled.missing == order.count + order.spares
        guards = {row.range_key: row.guards for row in order.choices}
        chosen += [
            PlacedCarrier(frequency_hz=c.frequency_hz, guards=guards[c.range_key])
            for c in filled.carriers
        ]
    ours = {carrier.frequency_hz for carrier in chosen}
    assert len(ours) == len(chosen)
    require_sound(chosen, fixed, COMPANY)


def test_random_numbers_are_those_of_the_published_generator() -> None:
    # Marsaglia 2003, "Xorshift RNGs", Journal of Statistical Software 8(14), section 4: the
    # 32-bit generator with shifts 13, 17, 5 from 2463534242 begins with 723471715
    state = np.array([0, 0, 2463534242, 0], dtype=np.int64)
    assert kernel.throw(state, 1 << 32) == 723471715
    assert int(state[kernel.DICE]) == 723471715


def test_seeds_never_give_the_dead_number() -> None:
    for seed in (0, 1, 2463534242 & 0x7FFFFFFF, 2463534242):
        stop = search.Search([], seed=seed)
        assert stop.begin().state[kernel.DICE] != 0


def test_counting_stops_at_most_and_extra_most() -> None:
    grid = Grid(origin_hz=0, step_hz=10, windows_hz=((0, 990),))
    more = Grid(origin_hz=0, step_hz=10, windows_hz=((2000, 2990),))
    for most in range(12):
        fit = count_fit(grid, GuardSet(spacing_hz=100), most=most, extra_grid=more, extra_most=2)
        # what comes on top of ``most`` takes what is left of the grid first
        here = min(most + 2, 10)
        assert (len(fit.carriers_hz), len(fit.extra_hz)) == (here, min(2, most + 2 - here))
