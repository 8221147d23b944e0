"""Sets known from algebra, as starts: their differences are all different, modulo some number.

Three families of n numbers modulo m, each pair of which has a difference of its own (Sidon sets
modulo m). Multiplied by a number without a common divisor with m, and moved by any number, they
stay such sets; what lies inside the windows is a start for the search.
"""

from __future__ import annotations

import functools
import itertools
import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    ModularSet = tuple[NDArray[np.int64], int]
    """Numbers, ascending, and their modulus."""

Coefficients = tuple[int, ...]


def prime_power(number: int) -> tuple[int, int] | None:
    """Return p and k with ``p ** k == number``, p prime and k above 0, or None."""
    if number < 2:
        return None
    prime = _prime_factors(number)[0]
    exponent = round(math.log(number, prime))
    return (prime, exponent) if prime**exponent == number else None


def _prime_factors(number: int) -> tuple[int, ...]:
    """Return the different prime factors, ascending."""
    found, rest, factor = [], number, 2
    while factor * factor <= rest:
        if rest % factor == 0:
            found.append(factor)
            while rest % factor == 0:
                rest //= factor
        factor += 1
    return (*found, rest) if rest > 1 else tuple(found)


def _primitive_roots(prime: int) -> tuple[int, ...]:
    """Return the numbers whose powers are all numbers from 1 to ``prime - 1``, modulo it."""
    factors = _prime_factors(prime - 1)
    return tuple(
        number
        for number in range(1, prime)
        if all(pow(number, (prime - 1) // factor, prime) != 1 for factor in factors)
    )


class Field:
    """The field of ``prime ** degree`` elements, as powers of x modulo a primitive polynomial.

    Elements are tuples of ``degree`` coefficients, the constant one first.

    Parameters
    ----------
    prime, degree : int
        A prime, and a whole number above 0.
    """

    def __init__(self, prime: int, degree: int) -> None:
        self.prime, self.degree = prime, degree
        self.order = prime**degree - 1
        factors = _prime_factors(self.order)
        roots = set(_primitive_roots(prime))
        for head in itertools.product(range(prime), repeat=degree):
            # x ** degree is the sum of tail[k] * x ** k; the product of all roots is a
            # primitive root of the prime
            self._tail = head[::-1]
            sign = 1 if degree % 2 else -1
            if sign * self._tail[0] % prime in roots and self._is_primitive(factors):
                return
        raise ValueError(f"no primitive polynomial of degree {degree} modulo {prime}")

    def power(self, exponent: int) -> Coefficients:
        """Return x to a power of 0 or more."""
        found = (1, *[0] * (self.degree - 1))
        for bit in f"{exponent:b}":
            found = self._multiply(found, found)
            if bit == "1":
                found = self._shift(found)
        return found

    def powers(self, count: int) -> NDArray[np.int64]:
        """Return the coefficients of x to the power 0 to ``count - 1``, one row each."""
        rows = [self.power(0)]
        for _ in range(count - 1):
            rows.append(self._shift(rows[-1]))
        return np.array(rows, dtype=np.int64)

    def raised(self, exponent: int) -> NDArray[np.int64]:
        """Return the matrix of y to ``y ** exponent``, for exponents that are powers of p."""
        rows = [self.power(k * exponent) for k in range(self.degree)]
        return np.array(rows, dtype=np.int64)

    def _is_primitive(self, factors: Sequence[int]) -> bool:
        one = (1, *[0] * (self.degree - 1))
        if self.power(self.order) != one:
            return False
        return all(self.power(self.order // factor) != one for factor in factors)

    def _shift(self, element: Coefficients) -> Coefficients:
        carry = element[-1]
        below = (0, *element[:-1])
        return tuple(
            (low + carry * back) % self.prime for low, back in zip(below, self._tail, strict=True)
        )

    def _multiply(self, one: Coefficients, two: Coefficients) -> Coefficients:
        total = (0,) * self.degree
        for factor in reversed(two):
            total = self._shift(total)
            total = tuple(
                (have + factor * more) % self.prime for have, more in zip(total, one, strict=True)
            )
        return total


@functools.lru_cache(maxsize=64)
def singer(order: int) -> ModularSet:
    """Return ``order + 1`` numbers modulo ``order ** 2 + order + 1``, for a prime power.

    The exponents i for which the i-th power of a primitive element of the field of ``order ** 3``
    elements has trace 0 in the field of ``order``.

    References
    ----------
    Singer 1938, "A theorem in finite projective geometry and some applications to number
    theory", Transactions of the American Mathematical Society 43 (from memory).
    """
    prime, exponent = _as_prime_power(order)
    field, modulus = Field(prime, 3 * exponent), order**2 + order + 1
    trace = field.raised(1) + field.raised(order) + field.raised(order**2)
    traces = field.powers(modulus) @ trace % prime
    return np.flatnonzero(~traces.any(axis=1)), modulus


@functools.lru_cache(maxsize=64)
def bose(order: int) -> ModularSet:
    """Return ``order`` numbers modulo ``order ** 2 - 1``, for a prime power.

    The exponents i for which the i-th power of a primitive element a of the field of
    ``order ** 2`` elements is a plus an element of the field of ``order``.

    References
    ----------
    Bose 1942, "An affine analogue of Singer's theorem", Journal of the Indian Mathematical
    Society 6 (from memory).
    """
    prime, exponent = _as_prime_power(order)
    field, modulus = Field(prime, 2 * exponent), order**2 - 1
    powers = field.powers(modulus)
    rest = (powers - np.array(field.power(1))) % prime
    inside = ~((rest @ field.raised(order) - rest) % prime).any(axis=1)
    return np.flatnonzero(inside), modulus


@functools.lru_cache(maxsize=64)
def ruzsa(prime: int) -> ModularSet:
    """Return ``prime - 1`` numbers modulo ``prime * (prime - 1)``, for a prime.

    The numbers that leave i modulo ``prime - 1`` and the i-th power of a primitive root modulo
    the prime.

    References
    ----------
    Ruzsa 1993, "Solving a linear equation in a set of integers I", Acta Arithmetica 65 (from
    memory).
    """
    root = _primitive_roots(prime)[0]
    modulus = prime * (prime - 1)
    found = [(prime * i - (prime - 1) * pow(root, i, prime)) % modulus for i in range(1, prime)]
    return np.array(sorted(found), dtype=np.int64), modulus


def _as_prime_power(order: int) -> tuple[int, int]:
    found = prime_power(order)
    if found is None:
        raise ValueError(f"{order} is not a prime power")
    return found


def modular_sets(least: int, most: int) -> Iterator[tuple[int, int, Callable[[], ModularSet]]]:
    """Give size, modulus and maker of the sets whose modulus lies in a range, smallest first."""
    found: list[tuple[int, int, int, Callable[[int], ModularSet]]] = []
    for order in range(2, math.isqrt(most) + 2):
        power = prime_power(order)
        if power is None:
            continue
        found.append((order**2 - 1, order, order, bose))
        found.append((order**2 + order + 1, order + 1, order, singer))
        if power[1] == 1:
            found.append((order**2 - order, order - 1, order, ruzsa))
    found.sort(key=lambda item: item[:2])
    for modulus, size, order, family in found:
        if least <= modulus <= most:
            yield size, modulus, functools.partial(family, order)


def modular_starts(
    candidates: NDArray[np.int64], apart: int, hoped: int
) -> Iterator[NDArray[np.int64]]:
    """Give parts of modular sets that lie on candidates, one a multiplier and phase.

    Parameters
    ----------
    candidates : numpy.ndarray
        Positions that may be used, ascending, the first 0 (int64) [units].
    apart : int
        Least distance of two differences [units]; positions of a start are so far apart, times a
        whole number.
    hoped : int
        Sets of which not even half so many can be expected are left out.

    Yields
    ------
    numpy.ndarray
        Ascending positions [units], moved so that most of the set lie on candidates. Two of them
        may be nearer to each other than the spacing.
    """
    length = int(candidates[-1]) // apart + 1
    share = candidates.size / apart
    for size, modulus, make in modular_sets(length, 2 * length + 8):
        if 2 * size * share < hoped * modulus:
            continue
        rings = [_ring(candidates, apart, phase, modulus) for phase in range(apart)]
        numbers, _ = make()
        for factor in range(1, modulus // 2 + 1):
            if math.gcd(factor, modulus) > 1:
                continue
            turned = numbers * factor % modulus
            for phase, ring in enumerate(rings):
                view = np.lib.stride_tricks.sliding_window_view(ring, modulus)
                move = int(view[turned].sum(axis=0, dtype=np.int16).argmax())
                places = np.sort((turned + move) % modulus)
                yield places[ring[places] > 0] * apart + phase


def _ring(candidates: NDArray[np.int64], apart: int, phase: int, modulus: int) -> NDArray[np.int8]:
    """Return which places of one phase are candidates, once around and once more."""
    open_places = np.zeros(modulus, dtype=np.int8)
    mine = candidates[candidates % apart == phase] // apart
    open_places[mine] = 1
    return np.concatenate((open_places, open_places[:-1]))
