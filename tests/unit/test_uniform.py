"""A start packed with the strictest guards of all needs, shared out."""

from __future__ import annotations

import random

import pytest

from planner.coordination import Choice, Grid, GuardSet, Order, PlacedCarrier, violations
from planner.coordination.search import Search
from planner.coordination.uniform import uniform_start

MHZ = 1_000_000
MIC = GuardSet(spacing_hz=350_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=50_000, guard_3a_2b_hz=0)
EAR = GuardSet(spacing_hz=500_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=50_000, guard_3a_2b_hz=0)


def order(name: str, guards: GuardSet, windows_mhz: list[tuple[int, int]], count: int) -> Order:
    grid = Grid(
        origin_hz=0,
        step_hz=25_000,
        windows_hz=tuple((low * MHZ, high * MHZ) for low, high in windows_mhz),
    )
    nowhere = Grid(origin_hz=0, step_hz=25_000, windows_hz=())
    choice = Choice(range_key="one", guards=guards, grid=grid, spare_grid=nowhere)
    return Order(name=name, choices=(choice,), count=count, spares=0)


@pytest.mark.parametrize("seed", range(6))
def test_what_was_shared_out_violates_no_guard(seed: int) -> None:
    draw = random.Random(seed)  # noqa: S311 - test data
    fixed = [
        PlacedCarrier(frequency_hz=draw.randrange(480 * MHZ, 500 * MHZ, 25_000), guards=MIC)
        for _ in range(draw.randrange(2))
    ]
    orders = (order("mics", MIC, [(470, 494)], 12), order("ears", EAR, [(482, 506)], 6))
    search = Search(orders, fixed)
    begun = uniform_start(search, fixed, times=300)
    assert begun is not None
    board, steps = begun
    found = search.carriers(board)
    chosen = [
        PlacedCarrier(frequency_hz=row.frequency_hz, guards=rows.choices[0].guards)
        for rows, carriers in zip(orders, found, strict=True)
        for row, _ in carriers
    ]
    assert not violations([*chosen, *fixed])
    # 24 MHz hold 12 microphones at the least: ascending first-fit finds 14 in them
    assert len(found[0]) == 12
    assert steps > 0


def test_nothing_to_choose_from_is_no_start() -> None:
    search = Search((order("mics", MIC, [], 2),))
    assert uniform_start(search, (), times=10) is None
