"""Which frequencies one more carrier closes for the next: the algebra of products.

With carriers a, b, c, d that are all different, and the guards of the victim:

- 2A-B: ``2a - b`` on ``v`` and ``2a - v`` on ``b`` are one condition, ``|2a - b - v|`` at least
  the larger guard of b and v;
- A+B-C: ``a + b - c`` on ``d`` is the same for every way to name the four, so ``|a + b - c - d|``
  is at least the largest guard of the four;
- 3A-2B: ``|3a - 2b - v|`` is at least the guard of v.

A candidate may stand in any of the places. Solved for the candidate each condition closes a
span of whole hertz; where the candidate counts twice or three times the span is divided, with
edges rounded inwards, because a distance equal to the guard is allowed.
"""

from __future__ import annotations

import dataclasses
import functools
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from planner.coordination.records import GuardSet

    Hertz = NDArray[np.int64]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """Carriers that stand already, with their guards: arrays of one length n [Hz]."""

    frequency_hz: Hertz
    guard_2a_b_hz: Hertz
    guard_a_b_c_hz: Hertz
    guard_3a_2b_hz: Hertz


class ClosedSpans:
    """The spans that a new carrier closes together with those that stand.

    Parameters
    ----------
    frequency_hz : int
        The new carrier [Hz].
    guards, spacing_hz : GuardSet
        Its guards.
    standing : Standing
        All other carriers; the new one is not among them.
    """

    def __init__(self, frequency_hz: int, guards: GuardSet, standing: Standing) -> None:
        self._new_hz = frequency_hz
        self._guards = guards
        self._standing = standing

    def for_row(self, row: GuardSet) -> tuple[Hertz, Hertz]:
        """Return low and high ends of the spans closed to candidates of one row.

        Parameters
        ----------
        row : GuardSet
            Guards of the candidates.

        Returns
        -------
        (numpy.ndarray, numpy.ndarray)
            Closed spans [Hz]; where high is below low the span is empty.
        """
        reach = max(self._guards.spacing_hz, row.spacing_hz, 1) - 1
        near = np.array([self._new_hz], dtype=np.int64)
        pairs = [(near - reach, near + reach)]
        if self._standing.frequency_hz.size:
            pairs.extend(self._two_a_b(row))
            pairs.extend(self._a_b_c(row))
            pairs.extend(self._three_a_two_b(row))
        lows, highs = zip(*pairs, strict=True)
        return np.concatenate(lows), np.concatenate(highs)

    def _two_a_b(self, row: GuardSet) -> Iterator[tuple[Hertz, Hertz]]:
        new, mine = self._new_hz, self._guards.guard_2a_b_hz
        others, theirs = self._standing.frequency_hz, self._standing.guard_2a_b_hz
        guard = np.maximum(theirs, row.guard_2a_b_hz)
        if guard.any():
            yield _span(2 * new - others, guard)
        if mine or row.guard_2a_b_hz:
            yield _span(2 * others - new, max(mine, row.guard_2a_b_hz))
        guard = np.maximum(theirs, mine)
        if guard.any():
            yield _divided_span(others + new, guard, 2)

    def _a_b_c(self, row: GuardSet) -> Iterator[tuple[Hertz, Hertz]]:
        others, theirs = self._standing.frequency_hz, self._standing.guard_a_b_c_hz
        least = max(self._guards.guard_a_b_c_hz, row.guard_a_b_c_hz)
        if others.size < 2 or not (least or theirs.any()):
            return
        guard: Hertz | int = least
        mixed = bool(theirs.max() > least)
        first, second = _ordered_pairs(others.size)
        if mixed:
            guard = np.maximum(np.maximum(theirs[first], theirs[second]), least)
        yield _span(others[first] - others[second] + self._new_hz, guard)
        first, second = _plain_pairs(others.size)
        if mixed:
            guard = np.maximum(np.maximum(theirs[first], theirs[second]), least)
        yield _span(others[first] + others[second] - self._new_hz, guard)

    def _three_a_two_b(self, row: GuardSet) -> Iterator[tuple[Hertz, Hertz]]:
        new, mine = self._new_hz, self._guards.guard_3a_2b_hz
        others, theirs = self._standing.frequency_hz, self._standing.guard_3a_2b_hz
        if row.guard_3a_2b_hz:
            yield _span(3 * new - 2 * others, row.guard_3a_2b_hz)
            yield _span(3 * others - 2 * new, row.guard_3a_2b_hz)
        if mine:
            yield _divided_span(new + 2 * others, mine, 3)
            yield _divided_span(3 * others - new, mine, 2)
        if theirs.any():
            yield _divided_span(others + 2 * new, theirs, 3)
            yield _divided_span(3 * new - others, theirs, 2)


def _span(centre_hz: Hertz, guard_hz: Hertz | int) -> tuple[Hertz, Hertz]:
    """Return the whole hertz c with ``|c - centre| < guard``."""
    return centre_hz - (guard_hz - 1), centre_hz + (guard_hz - 1)


def _divided_span(total_hz: Hertz, guard_hz: Hertz | int, times: int) -> tuple[Hertz, Hertz]:
    """Return the whole hertz c with ``|times * c - total| < guard``."""
    low, high = _span(total_hz, guard_hz)
    return -(-low // times), high // times


@functools.lru_cache(maxsize=512)
def _ordered_pairs(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return all (i, j) with i not j."""
    first, second = np.nonzero(~np.eye(count, dtype=np.bool_))
    return first, second


@functools.lru_cache(maxsize=512)
def _plain_pairs(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return all (i, j) with i below j."""
    first, second = np.triu_indices(count, 1)
    return first, second
