"""Centres are found by frequency exactly, whichever way the table of a row is kept."""

from __future__ import annotations

from unittest import mock

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.coordination import Choice, Grid, GuardSet, Order, coordinate, rows, search
from planner.coordination.closing import close_spans, close_triples, factor_of, first_above
from planner.coordination.rows import centres_of

GUARDS = GuardSet(spacing_hz=30, guard_2a_b_hz=20, guard_a_b_c_hz=10, guard_3a_2b_hz=10)


def choice_of(windows_hz: tuple[tuple[int, int], ...], *, step_hz: int = 1) -> Choice:
    return Choice(
        range_key="one",
        guards=GUARDS,
        grid=Grid(origin_hz=0, step_hz=step_hz, windows_hz=windows_hz),
        spare_grid=Grid(origin_hz=0, step_hz=1, windows_hz=()),
    )


@example(width_hz=0, step_hz=1, steps=0)
@example(width_hz=2**31 - 1, step_hz=1, steps=1)
@example(width_hz=2**31 - 1, step_hz=3, steps=715_827_882)
@given(
    width_hz=st.integers(0, 2**31 - 1),
    step_hz=st.integers(1, 10_000_000),
    steps=st.integers(0, 2**31),
)
def test_a_product_and_a_shift_divide_exactly(width_hz: int, step_hz: int, steps: int) -> None:
    factor, shift = factor_of(width_hz, step_hz)
    for hz in {-1, 0, width_hz, *(min(steps * step_hz + k, width_hz) for k in (0, -1))}:
        if hz >= -1:
            assert (hz * factor) >> shift == hz // step_hz
    assert width_hz * factor < 2**63


@settings(deadline=None)  # the first call compiles
@given(
    st.lists(st.tuples(st.integers(0, 400), st.integers(0, 60)), min_size=1, max_size=4),
    st.integers(1, 9),
)
def test_the_first_centre_above_is_found_by_table_and_by_halving(
    spans: list[tuple[int, int]], step_hz: int
) -> None:
    choice = choice_of(tuple((low, low + wide) for low, wide in spans), step_hz=step_hz)
    table = centres_of(choice, spares=False)
    with mock.patch.object(rows, "_LONGEST_TABLE", -1):
        halved = centres_of.__wrapped__(choice, spares=False)
    points = table.points_hz
    if not points.size:
        return
    assert (table.factor > 0, halved.factor) == (True, 0)
    lowest, width = int(points[0]), int(points[-1] - points[0])
    for hz in range(-1, width + 1):
        for found in (table, halved):
            view = (7, points.size, lowest, width, 0, found.factor, found.shift)
            rank = found.rank + 7 if found.factor else found.rank
            assert first_above(rank, view, hz) == 7 + int((points - lowest > hz).argmax()) or (
                hz == width and first_above(rank, view, hz) == 7 + points.size
            )


@pytest.mark.parametrize("seed", range(10))
def test_triples_close_what_their_spans_close(seed: int) -> None:
    dice = np.random.default_rng(seed)
    points = np.unique(dice.integers(0, 900, size=200))
    factor, shift = factor_of(int(points[-1] - points[0]), 1)
    rank = np.searchsorted(points - points[0], np.arange(points[-1] - points[0] + 2))
    width = int(points[-1] - points[0])
    view = (0, points.size, int(points[0]), width, 0, factor, shift)
    others, guards, new, least = dice.integers(-100, 1000, size=6), dice.integers(0, 9, 6), 450, 4
    cover = np.zeros(points.size, dtype=np.int64)
    close_triples(cover, rank, view, np.stack([others, guards]), new, least, 1)
    spans = [
        (total, 1, max(guards[o], guards[p], least))
        for o in range(6)
        for p in range(o)
        for total in (
            new + others[o] - others[p], new - others[o] + others[p], others[o] + others[p] - new,
        )
    ]  # fmt: skip
    wanted = np.array([sum(abs(x - t) < g for t, _, g in spans) for x in points])
    assert wanted.any()
    assert np.array_equal(cover, wanted)
    close_spans(cover, rank, view, np.array(spans), -1)
    assert not cover.any()


def test_a_search_without_tables_finds_the_same_set() -> None:
    choice = choice_of(((0, 500), (700, 1000)), step_hz=5)
    orders = [Order(name="one", choices=(choice,), count=40)]
    fast = coordinate(orders, effort="quick")

    def halving(choice: Choice, *, spares: bool) -> rows.Centres:
        with mock.patch.object(rows, "_LONGEST_TABLE", -1):
            return centres_of.__wrapped__(choice, spares=spares)

    with mock.patch.object(search, "centres_of", halving):
        assert coordinate(orders, effort="quick") == fast
    assert fast.filled[0].carriers
