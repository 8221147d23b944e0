"""The linear assignment and linear programmes against scipy, which is no part of the command."""

from __future__ import annotations

import itertools
import random
from typing import Any

import numpy as np
import pytest

from planner.coordination.dealing import assign
from planner.coordination.linear import least_corner

optimize: Any = pytest.importorskip("scipy.optimize", reason="scipy comes with the extra 'test'")

WHOLE_SUMS = 0.0
"""Cost, unitless: sums of whole numbers are exact, so no tolerance."""
SOLVER = 1e-6
"""Cost, unitless: ten times what HiGHS calls feasible (1e-7, its documented default)."""


def total(table: np.ndarray[Any, Any], columns: tuple[int, ...]) -> float:
    return float(sum(table[row, column] for row, column in enumerate(columns) if column >= 0))


def test_nothing_to_assign() -> None:
    assert assign([]) == ()
    assert assign([[], []]) == (-1, -1)


def test_by_hand() -> None:
    assert assign([[4, 1, 3], [2, 0, 5], [3, 2, 2]]) == (1, 0, 2)
    assert assign([[5.0], [-1.0], [3.0]]) == (-1, 0, -1)


@pytest.mark.parametrize("shape", list(itertools.product((1, 2, 5, 9, 20), repeat=2)))
def test_assignment_costs_what_scipy_says(shape: tuple[int, int]) -> None:
    draw = np.random.default_rng(20 * shape[0] + shape[1])
    for most in (1, 6, 10**13):
        table = draw.integers(-most, most, shape, endpoint=True).astype(np.float64)
        columns = assign(table.tolist())
        used = [column for column in columns if column >= 0]
        assert len(used) == len(set(used)) == min(shape)
        rows, best = optimize.linear_sum_assignment(table)
        assert abs(total(table, columns) - float(table[rows, best].sum())) <= WHOLE_SUMS


def test_dearer_pairs_are_refused_only_where_there_is_a_choice() -> None:
    table = [[1e15, 1.0], [1e15, 2.0]]
    assert sorted(assign(table)) == [0, 1]
    assert assign([[1e15, 1.0, 7.0], [1e15, 2.0, 1.0]]) == (1, 2)


@pytest.mark.parametrize("seed", range(12))
def test_least_cost_is_that_of_another_solver(seed: int) -> None:
    # one of the same code, of another version, and one of another method: interior point
    draw = random.Random(seed)  # noqa: S311
    columns = draw.randint(2, 12)
    cost = [float(draw.randint(-5, 5)) for _ in range(columns)]
    at_most = [
        ({k: float(draw.randint(-1, 3)) for k in range(columns)}, float(draw.randint(0, 9)))
        for _ in range(draw.randint(1, 8))
    ]
    equal = [(dict.fromkeys(range(columns), 1.0), float(draw.randint(0, columns)))]
    corner = least_corner(cost, at_most=at_most, equal=equal, bounds=[(0.0, 2.0)] * columns)
    for method in ("highs-ds", "highs-ipm"):
        answer = optimize.linprog(
            cost,
            A_ub=[[row[k] for k in range(columns)] for row, _ in at_most],
            b_ub=[most for _, most in at_most],
            A_eq=[[row[k] for k in range(columns)] for row, _ in equal],
            b_eq=[wanted for _, wanted in equal],
            bounds=[(0.0, 2.0)] * columns,
            method=method,
        )
        assert (corner is None) == (answer.status == 2)
        if corner is not None:
            assert abs(corner.cost - answer.fun) <= SOLVER


def test_a_programme_without_answer_gives_none() -> None:
    row = ({0: 1.0}, 1.0)
    assert least_corner([1.0], at_most=[row], equal=[({0: 1.0}, 2.0)], bounds=[(0, None)]) is None
    # and one without end: no corner is the least
    assert least_corner([-1.0], at_most=[], equal=[], bounds=[(0, None)]) is None


def test_bounds_and_rows_hold() -> None:
    corner = least_corner(
        [-1.0, -2.0],
        at_most=[({0: 1.0, 1: 1.0}, 3.0)],
        equal=[],
        bounds=[(0.0, None), (0.0, 2.0)],
    )
    assert corner is not None
    assert corner.values == (1.0, 2.0)
    assert corner.cost == -5.0


def test_the_solver_writes_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    corner = least_corner([1.0], at_most=[], equal=[({0: 1.0}, 1.0)], bounds=[(0.0, None)])
    assert corner is not None
    assert capfd.readouterr() == ("", "")
