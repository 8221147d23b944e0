"""Frequencies and numbers of intermodulation products; sources beside the rows of the data."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

from planner.coordination import verify
from planner.coordination.nearest import _three_sources, _two_sources

Products = Callable[[Sequence[int]], Iterator[tuple[int, tuple[int, ...]]]]


def two_a_b(hz: Sequence[int]) -> Iterator[tuple[int, tuple[int, ...]]]:
    return verify._two_a_b(hz, range(len(hz)))


def a_b_c(hz: Sequence[int]) -> Iterator[tuple[int, tuple[int, ...]]]:
    return verify._a_b_c(hz, range(len(hz)))


def three_a_two_b(hz: Sequence[int]) -> Iterator[tuple[int, tuple[int, ...]]]:
    return verify._three_a_two_b(hz, range(len(hz)))


BY_KIND: dict[str, Products] = {"2A-B": two_a_b, "A+B-C": a_b_c, "3A-2B": three_a_two_b}


def rows() -> list[dict[str, str]]:
    path = Path(__file__).parent / "data" / "intermodulation_counts.csv"
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize("row", [row for row in rows() if row["item"].endswith(" products")])
def test_products_of_three_carriers(row: dict[str, str]) -> None:
    carriers_mhz = [int(part) for part in row["carriers"].split(",")]
    products = BY_KIND[row["item"].split()[0]](carriers_mhz)
    expected = sorted(int(part) for part in row["expected"].split(","))
    assert sorted(hz for hz, _ in products) == expected


@pytest.mark.parametrize("row", [row for row in rows() if row["item"].endswith("together")])
def test_numbers_of_third_order_products(row: dict[str, str]) -> None:
    carriers = list(range(int(row["carriers"])))
    count = sum(len(list(BY_KIND[kind](carriers))) for kind in ("2A-B", "A+B-C"))
    assert count == int(row["expected"])


@pytest.mark.parametrize("n", range(2, 11))
def test_numbers_by_kind(n: int) -> None:
    """Closed forms, enumerated: no outside document carries them."""
    carriers = [7**k for k in range(n)]
    assert len(list(two_a_b(carriers))) == n * (n - 1)
    assert len(list(a_b_c(carriers))) == n * (n - 1) * (n - 2) // 2
    assert len(list(three_a_two_b(carriers))) == n * (n - 1)


@pytest.mark.parametrize("n", [2, 3, 6])
def test_arrays_of_the_sheets_hold_the_same_products(n: int) -> None:
    import numpy as np  # noqa: PLC0415 - only this test needs arrays

    carriers = [7**k for k in range(n)]
    hz = np.array(carriers)
    for (found_hz, sources), definition in (
        (_two_sources(hz, 2), two_a_b),
        (_three_sources(hz), a_b_c),
        (_two_sources(hz, 3), three_a_two_b),
    ):
        found = zip(found_hz.tolist(), map(tuple, sources.T.tolist()), strict=True)
        assert sorted(found) == sorted(definition(carriers))
