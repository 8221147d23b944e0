"""Sets without three in arithmetic progression (OEIS A003002, A065825): 2A-B alone protected."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from planner.coordination import Budget, Grid, GuardSet, pack_carriers, upper_bound
from planner.coordination.bounds_spans import _LEAST_PROGRESSION_FREE

STEP_HZ = 25_000
GUARDS = GuardSet(spacing_hz=STEP_HZ, guard_2a_b_hz=STEP_HZ)
# n = 210 and 211 are inferred in the table, and the bound's own list ends before them
LAST_LISTED = 209


def table() -> dict[int, int]:
    path = Path(__file__).parent / "data" / "r3.csv"
    with path.open(encoding="utf-8", newline="") as stream:
        return {int(row["n"]): int(row["value"]) for row in csv.DictReader(stream)}


R3 = table()


def windows(n: int) -> tuple[tuple[int, int], ...]:
    return ((STEP_HZ, n * STEP_HZ),)


def test_the_list_inside_the_bound_is_the_table() -> None:
    steps = [n for n in range(1, LAST_LISTED + 1) if R3[n] > R3[n - 1]]
    assert list(_LEAST_PROGRESSION_FREE) == steps


@pytest.mark.parametrize("n", range(1, LAST_LISTED + 1))
def test_bound_equals_the_optimum(n: int) -> None:
    assert upper_bound(windows(n), step_hz=STEP_HZ, origin_hz=0, guards=GUARDS) == R3[n]


def test_bound_stays_proven_beyond_the_list_and_in_two_windows() -> None:
    assert upper_bound(windows(211), step_hz=STEP_HZ, origin_hz=0, guards=GUARDS) >= R3[211]
    # two far windows cannot hold more than two tables, nor less than one
    two = (*windows(30), (10**9, 10**9 + 29 * STEP_HZ))
    limit = upper_bound(two, step_hz=STEP_HZ, origin_hz=0, guards=GUARDS)
    assert R3[30] <= limit <= 2 * R3[30]


@pytest.mark.parametrize("n", range(1, 61))
def test_optima_are_found_and_proven(n: int) -> None:
    found = pack_carriers(
        Grid(origin_hz=0, step_hz=STEP_HZ, windows_hz=windows(n)), GUARDS, budget=Budget(400_000)
    )
    assert (found.found, found.proven) == (R3[n], True)
