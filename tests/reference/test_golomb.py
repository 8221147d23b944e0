"""Optimal Golomb rulers (OEIS A003022 and the literature) as sets free of 2A-B and A+B-C.

On an even raster, with a guard of one step, no product lands on a carrier exactly when all
differences differ (Maxemchuk and Schiff 1977; O'Bryant, arXiv 2308.12406).
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from planner.coordination import (
    Budget,
    Grid,
    GuardSet,
    PlacedCarrier,
    count_fit,
    pack_carriers,
    upper_bound,
    violations,
)

STEP_HZ = 25_000
GUARDS = GuardSet(spacing_hz=STEP_HZ, guard_2a_b_hz=STEP_HZ, guard_a_b_c_hz=STEP_HZ)


def rulers() -> list[tuple[int, int, tuple[int, ...]]]:
    path = Path(__file__).parent / "data" / "golomb_optimal.csv"
    with path.open(encoding="utf-8", newline="") as stream:
        return [
            (int(row["order"]), int(row["length"]), tuple(map(int, row["marks"].split())))
            for row in csv.DictReader(stream)
        ]


LENGTHS = {order: length for order, length, _ in rulers()}


def windows(length: int) -> tuple[tuple[int, int], ...]:
    return ((0, length * STEP_HZ),)


def grid(length: int) -> Grid:
    return Grid(origin_hz=0, step_hz=STEP_HZ, windows_hz=windows(length))


@pytest.mark.parametrize(("order", "length", "marks"), rulers())
def test_rulers_pass_the_verifier(order: int, length: int, marks: tuple[int, ...]) -> None:
    carriers = [PlacedCarrier(frequency_hz=mark * STEP_HZ, guards=GUARDS) for mark in marks]
    assert len(marks) == order
    assert max(marks) == length
    assert violations(carriers) == ()


@pytest.mark.parametrize("marks", [marks for order, _, marks in rulers() if 3 <= order <= 9])
def test_a_mark_moved_onto_a_product_is_refused(marks: tuple[int, ...]) -> None:
    moved = (*marks[:-1], 2 * marks[1] - marks[0])
    carriers = [PlacedCarrier(frequency_hz=mark * STEP_HZ, guards=GUARDS) for mark in moved]
    assert "2A-B" in {found.kind for found in violations(carriers)}


@pytest.mark.parametrize(("order", "length"), LENGTHS.items())
def test_bound_is_never_below_the_optimum_and_near_it(order: int, length: int) -> None:
    limit = upper_bound(windows(length), step_hz=STEP_HZ, origin_hz=0, guards=GUARDS)
    # Lindstrom 1969 for a Sidon set in 1..n, as quoted in formal-conjectures 30.lean
    n = length + 1
    lindstrom = math.floor(math.sqrt(n) + n**0.25 + 1)
    assert order <= limit <= lindstrom
    # what this bound gives on these lengths: one more at most
    assert limit <= order + 1


@pytest.mark.parametrize(("order", "length", "marks"), [row for row in rulers() if row[0] >= 6])
def test_bound_is_never_below_a_ruler_in_split_windows(
    order: int, length: int, marks: tuple[int, ...]
) -> None:
    """A known set of the size must fit whatever windows hold it, some of it fixed or not."""
    wide = GuardSet(spacing_hz=3 * STEP_HZ, guard_2a_b_hz=3 * STEP_HZ, guard_a_b_c_hz=3 * STEP_HZ)
    at_hz = [3 * mark * STEP_HZ for mark in marks]
    for reach in (0, 2, length // 8):
        spans = [(hz - reach * STEP_HZ, hz + reach * STEP_HZ) for hz in at_hz]
        for fixed_hz in ((), at_hz[::4], at_hz[1::2]):
            fixed = [PlacedCarrier(frequency_hz=hz, guards=wide) for hz in fixed_hz]
            limit = upper_bound(spans, step_hz=STEP_HZ, origin_hz=0, guards=wide, fixed=fixed)
            assert order <= limit
            # with windows of one point each, nothing but the marks can be used
            assert reach > 0 or limit == order


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("order", range(2, 13))
def test_rulers_to_order_12_are_found(order: int, seed: int) -> None:
    packed = pack_carriers(grid(LENGTHS[order]), GUARDS, most=order, seed=seed)
    assert packed.found == order


@pytest.mark.parametrize("order", [14, *range(17, 25)])
def test_rulers_that_algebra_gives_are_found(order: int) -> None:
    """Orders 15 and 16 are not reached; 13 takes a walk of some ten seconds."""
    packed = pack_carriers(grid(LENGTHS[order]), GUARDS, most=order)
    assert packed.found == order


def test_a_walk_through_all_sets_proves_a_small_ruler() -> None:
    """The closed bound alone may be one too large; the walk sees that no set reaches it."""
    for length in range(1, LENGTHS[8]):
        best = max(order for order in LENGTHS if LENGTHS[order] <= length)
        packed = pack_carriers(grid(length), GUARDS, budget=Budget(100_000))
        assert (packed.found, packed.proven) == (best, True)


@pytest.mark.parametrize("order", range(3, 13))
def test_one_step_less_never_holds_as_many(order: int) -> None:
    shorter = grid(LENGTHS[order] - 1)
    assert pack_carriers(shorter, GUARDS, budget=Budget(300)).found < order
    assert len(count_fit(shorter, GUARDS).carriers_hz) < order
