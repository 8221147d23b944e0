"""The exact solver: proofs on small cases, and clear words where it cannot be used."""

from __future__ import annotations

import importlib
import importlib.util
from typing import Any

import pytest

from planner.coordination import BrokenSet, Grid, GuardSet, PlacedCarrier, violations
from planner.coordination.bounds import BoundedSet
from planner.coordination.exact import SolverMissing, TooManyCentres, solve_exactly
from tests.properties.coordination_oracle import Guards, largest

needs_solver = pytest.mark.skipif(
    importlib.util.find_spec("ortools") is None,
    reason="the extra exact (OR-Tools) is not installed",
)
SECONDS = 5.0


def grid(*windows: tuple[int, int], step: int = 1) -> Grid:
    return Grid(origin_hz=0, step_hz=step, windows_hz=windows)


def guard_set(row: Guards) -> GuardSet:
    return GuardSet(
        spacing_hz=row[0], guard_2a_b_hz=row[1], guard_a_b_c_hz=row[2], guard_3a_2b_hz=row[3]
    )


@needs_solver
@pytest.mark.parametrize(
    "row",
    [
        (3, 0, 0, 0),
        (2, 2, 0, 0),
        (2, 1, 1, 0),
        (2, 2, 1, 2),
        (2, 0, 2, 0),
        (2, 1, 2, 0),
        (0, 0, 0, 3),
        (1, 5, 3, 0),
        (0, 2, 2, 2),
    ],
)
@pytest.mark.parametrize("windows", [((0, 16),), ((0, 6), (11, 19)), ((0, 2), (5, 5), (9, 18))])
def test_equals_exhaustive_search(row: Guards, windows: tuple[tuple[int, int], ...]) -> None:
    found = solve_exactly(grid(*windows), guard_set(row), seconds=SECONDS)
    assert found.proven
    assert found.found == largest(grid(*windows).points().tolist(), row)


@needs_solver
@pytest.mark.parametrize("row", [(2, 1, 1, 0), (2, 2, 0, 0), (1, 0, 2, 0), (3, 1, 2, 2)])
@pytest.mark.parametrize("fixed", [(4,), (3, 10), (-5, 0, 5), (7, 8, 25)])
def test_fixed_carriers_may_violate_each_other(row: Guards, fixed: tuple[int, ...]) -> None:
    guards = guard_set(row)
    found = solve_exactly(grid((0, 18)), guards, seconds=SECONDS, fixed_hz=fixed)
    assert found.proven
    assert set(fixed) <= set(found.carriers_hz)
    others = [(hz, row) for hz in fixed]
    assert found.found == len(fixed) + largest(range(19), row, others)


@needs_solver
def test_a_golomb_ruler_is_proven_optimal() -> None:
    """Order 8 has length 34 (OEIS A003022): eight marks in 0..34, seven in 0..33."""
    row = GuardSet(spacing_hz=1, guard_2a_b_hz=1, guard_a_b_c_hz=1)
    assert solve_exactly(grid((0, 34)), row, seconds=60) == solve_exactly(
        grid((0, 34)), row, seconds=60
    )
    for length, marks in ((34, 8), (33, 7)):
        found = solve_exactly(grid((0, length)), row, seconds=60)
        assert (found.found, found.proven) == (marks, True)


@needs_solver
def test_real_distances_are_finished() -> None:
    """Half a television channel with 350 and 100 kHz on a raster of 25 kHz: 6 carriers."""
    guards = GuardSet(spacing_hz=350_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=100_000)
    channel = Grid(origin_hz=0, step_hz=25_000, windows_hz=((470_100_000, 473_100_000),))
    found = solve_exactly(channel, guards, seconds=60)
    assert (found.found, found.proven) == (6, True)
    placed = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in found.carriers_hz]
    assert violations(placed) == ()


@needs_solver
def test_never_smaller_than_its_start_however_little_time() -> None:
    guards = GuardSet(spacing_hz=5, guard_2a_b_hz=2, guard_a_b_c_hz=2)
    start = (0, 5, 12, 22)
    found = solve_exactly(grid((0, 200)), guards, seconds=1e-6, start_hz=start)
    assert found.found >= len(start)
    assert found.limit >= found.found


@needs_solver
def test_a_broken_start_is_refused() -> None:
    guards = GuardSet(spacing_hz=5)
    with pytest.raises(BrokenSet, match=r"0\.000000 and 0\.000002 MHz|violate 1 guard"):
        solve_exactly(grid((0, 20)), guards, seconds=1, start_hz=(0, 2))


@needs_solver
def test_nothing_fits_into_no_window() -> None:
    guards = GuardSet(spacing_hz=5, guard_2a_b_hz=1, guard_a_b_c_hz=1)
    assert solve_exactly(grid(), guards, seconds=1) == BoundedSet(carriers_hz=(), limit=0)
    assert solve_exactly(grid(), guards, seconds=1, fixed_hz=(3, 4)).carriers_hz == (3, 4)


@needs_solver
def test_too_many_centres_are_told_before_any_work() -> None:
    with pytest.raises(TooManyCentres, match="1001 free centres are too many"):
        solve_exactly(grid((0, 1000)), GuardSet(spacing_hz=1), seconds=1)


def test_time_must_be_above_zero() -> None:
    with pytest.raises(ValueError, match="seconds 0 is not above 0"):
        solve_exactly(grid((0, 5)), GuardSet(spacing_hz=1), seconds=0)


def test_a_missing_solver_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str, package: str | None = None) -> Any:
        raise ModuleNotFoundError(f"No module named {name!r} in {package}")

    monkeypatch.setattr(importlib, "import_module", missing)
    with pytest.raises(SolverMissing, match=r"pip install 'passband\[exact\]'"):
        solve_exactly(grid((0, 5)), GuardSet(spacing_hz=1), seconds=1)
