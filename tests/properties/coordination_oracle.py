"""The largest valid set by looking at all: small cases only, nothing shared with planner."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Guards = tuple[int, int, int, int]
"""Spacing, 2A-B, A+B-C, 3A-2B."""

Carrier = tuple[int, Guards]


def is_valid(
    chosen: Sequence[Carrier], fixed: Sequence[Carrier] = (), victims: Sequence[Carrier] = ()
) -> bool:
    """Say whether no chosen carrier takes part in a violation; victims are no sources."""
    everyone = [*chosen, *fixed, *victims]
    sources = len(chosen) + len(fixed)
    return not any(min(who) < len(chosen) for who in _broken(everyone, sources))


def _broken(everyone: Sequence[Carrier], sources: int) -> Iterator[tuple[int, ...]]:
    """Give the numbers of the carriers in each violation; two at one frequency are one."""
    hz = [frequency for frequency, _ in everyone]
    guards = [row for _, row in everyone]
    numbers = range(len(everyone))
    for i, j in itertools.combinations(numbers, 2):
        if abs(hz[i] - hz[j]) < max(1, guards[i][0], guards[j][0]):
            yield i, j
    for a, b, v in itertools.permutations(numbers, 3):
        heard = max(a, b) < sources
        if heard and abs(2 * hz[a] - hz[b] - hz[v]) < guards[v][1]:
            yield a, b, v
        if heard and abs(3 * hz[a] - 2 * hz[b] - hz[v]) < guards[v][3]:
            yield a, b, v
    for a, b, c, v in itertools.permutations(numbers, 4):
        heard = a < b < sources and c < sources
        if heard and abs(hz[a] + hz[b] - hz[c] - hz[v]) < guards[v][2]:
            yield a, b, c, v


def largest(points: Sequence[int], guards: Guards, fixed: Sequence[Carrier] = ()) -> int:
    """Return the size of the largest valid set of new carriers on the points."""
    best = 0

    def grow(chosen: list[Carrier], first: int) -> None:
        nonlocal best
        best = max(best, len(chosen))
        for index in range(first, len(points)):
            if len(chosen) + len(points) - index <= best:
                return
            longer = [*chosen, (points[index], guards)]
            if is_valid(longer, fixed):
                grow(longer, index + 1)

    grow([], 0)
    return best
