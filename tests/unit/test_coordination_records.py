"""Records of coordination: grids, guard sets, orders."""

from __future__ import annotations

import pytest

from planner.coordination import (
    Choice,
    Chosen,
    Coordination,
    Filled,
    Grid,
    GuardSet,
    Order,
    Wish,
)

NO_GRID = Grid(origin_hz=0, step_hz=25_000, windows_hz=())


def test_points_are_the_raster_inside_closed_windows() -> None:
    grid = Grid(origin_hz=10, step_hz=25, windows_hz=((100, 160), (35, 35), (36, 59), (150, 190)))
    assert grid.points().tolist() == [35, 110, 135, 160, 185]
    assert grid.points().dtype.name == "int64"


def test_origin_may_lie_above_the_windows() -> None:
    grid = Grid(origin_hz=1_000, step_hz=300, windows_hz=((0, 500),))
    assert grid.points().tolist() == [100, 400]


def test_no_windows_and_windows_between_two_points_are_empty() -> None:
    assert NO_GRID.points().tolist() == []
    assert Grid(origin_hz=0, step_hz=100, windows_hz=((1, 99),)).points().tolist() == []


def test_grid_refuses_what_makes_no_sense() -> None:
    with pytest.raises(ValueError, match="step_hz 0 is not above 0 Hz"):
        Grid(origin_hz=0, step_hz=0, windows_hz=())
    with pytest.raises(ValueError, match="window 5 to 4 Hz: low is above high"):
        Grid(origin_hz=0, step_hz=1, windows_hz=((5, 4),))


def test_guard_set_refuses_negative_distances_and_compares_each() -> None:
    with pytest.raises(ValueError, match="guard_a_b_c_hz -1 is negative"):
        GuardSet(spacing_hz=0, guard_a_b_c_hz=-1)
    small, large = GuardSet(spacing_hz=5), GuardSet(spacing_hz=5, guard_3a_2b_hz=1)
    assert large.covers(small)
    assert small.covers(small)
    assert not small.covers(large)


def test_order_refuses_what_makes_no_sense() -> None:
    choice = Choice(
        range_key="low", guards=GuardSet(spacing_hz=1), grid=NO_GRID, spare_grid=NO_GRID
    )
    with pytest.raises(ValueError, match="need mics: count -1, spares 0"):
        Order(name="mics", choices=(choice,), count=-1)
    with pytest.raises(ValueError, match="need mics: count 0, spares -2"):
        Order(name="mics", choices=(choice,), count=0, spares=-2)
    with pytest.raises(
        ValueError, match=r"need mics: two choices of one range in \['low', 'low'\]"
    ):
        Order(name="mics", choices=(choice, choice), count=1)
    with pytest.raises(ValueError, match=r"need mics: wish for 'high', not in \['low'\]"):
        Order(
            name="mics",
            choices=(choice,),
            count=1,
            wishes=(Wish(range_key="high", frequency_hz=1),),
        )


def test_missing_counts_lines_and_spares() -> None:
    filled = Filled(
        name="mics",
        carriers=(Chosen(range_key="low", frequency_hz=1, main=True),),
        missing_lines=1,
        missing_spares=2,
    )
    answer = Coordination(filled=(filled,), steps=0)
    assert answer.missing("mics") == 3
    with pytest.raises(KeyError, match="ears"):
        answer.missing("ears")
