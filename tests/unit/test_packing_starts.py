"""Algebraic starts: every difference once, modulo the modulus, and only on candidates."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from planner.coordination.starts import (
    Field,
    bose,
    modular_sets,
    modular_starts,
    prime_power,
    ruzsa,
    singer,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.coordination.starts import ModularSet

CASES = [
    *((singer, order, order + 1, order**2 + order + 1) for order in (2, 3, 4, 5, 7, 8, 9, 16, 27)),
    *((bose, order, order, order**2 - 1) for order in (2, 3, 4, 5, 7, 8, 9, 16, 25)),
    *((ruzsa, prime, prime - 1, prime**2 - prime) for prime in (2, 3, 5, 7, 11, 23)),
]


@pytest.mark.parametrize(("family", "order", "size", "modulus"), CASES)
def test_all_differences_differ(
    family: Callable[[int], ModularSet], order: int, size: int, modulus: int
) -> None:
    numbers, given = family(order)
    differences = (numbers[:, None] - numbers[None, :]) % modulus
    found = differences[~np.eye(numbers.size, dtype=bool)]
    assert (numbers.size, given) == (size, modulus)
    assert np.unique(found).size == found.size
    assert 0 not in found


def test_prime_powers() -> None:
    powers = [number for number in range(60) if prime_power(number)]
    # OEIS A246655 to 59, from memory
    assert powers == [
        *(2, 3, 4, 5, 7, 8, 9, 11, 13, 16, 17, 19, 23, 25, 27, 29, 31, 32, 37, 41, 43, 47, 49),
        *(53, 59),
    ]
    assert prime_power(81) == (3, 4)
    with pytest.raises(ValueError, match="12 is not a prime power"):
        singer(12)


def test_powers_of_x_run_through_the_whole_field() -> None:
    for prime, degree in ((2, 6), (3, 4), (5, 2), (7, 1)):
        powers = Field(prime, degree).powers(prime**degree - 1)
        assert len({tuple(row) for row in powers.tolist()}) == prime**degree - 1
        assert Field(prime, degree).power(prime**degree - 1) == (1, *[0] * (degree - 1))


def test_starts_lie_on_candidates_and_keep_their_differences_apart() -> None:
    candidates = np.union1d(np.arange(0, 200), np.arange(260, 420))
    seen = 0
    for places in modular_starts(candidates, 4, 5):
        assert set(places.tolist()) <= set(candidates.tolist())
        upper = np.triu_indices(places.size, 1)
        differences = np.sort(np.abs(places[:, None] - places[None, :])[upper])
        assert np.diff(differences).min(initial=4) >= 4
        seen += 1
    assert seen > 50
    assert not list(modular_starts(candidates, 4, 10**6))


def test_moduli_come_in_order_within_their_range() -> None:
    moduli = [modulus for _, modulus, _ in modular_sets(20, 100)]
    assert moduli == sorted(moduli)
    assert min(moduli) >= 20
    assert max(moduli) <= 100
    # singer 4, 5, 7, 8, 9; bose 5, 7, 8, 9; ruzsa 5, 7
    assert moduli == [20, 21, 24, 31, 42, 48, 57, 63, 73, 80, 91]
