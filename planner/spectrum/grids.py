"""Carrier grids: where the gear's step and the law's raster meet; closed spans of centres."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.spectrum.intervals import Span


def meet(first: Span, second: Span) -> tuple[int, int] | None:
    """Return origin and step of the frequencies that lie on two grids at once.

    Parameters
    ----------
    first, second : (int, int)
        Origin and step of a grid [Hz]; the step is above 0.

    Returns
    -------
    (int, int) or None
        Origin (0 or more, below the step) and step [Hz]; None when the grids never meet.

    References
    ----------
    Two congruences with a common solution exactly when the origins agree modulo the greatest
    common divisor of the steps (Chinese remainder theorem).
    """
    (origin_a, step_a), (origin_b, step_b) = first, second
    divisor = math.gcd(step_a, step_b)
    if (origin_b - origin_a) % divisor:
        return None
    step = step_a // divisor * step_b
    reduced = step_b // divisor
    factor = (origin_b - origin_a) // divisor * pow(step_a // divisor, -1, reduced) % reduced
    return (origin_a + step_a * factor) % step, step


def intersect_closed(first: Sequence[Span], second: Sequence[Span]) -> tuple[Span, ...]:
    """Return the common part of two lists of closed spans; single points are kept.

    Parameters
    ----------
    first, second : sequence of (int, int)
        Disjoint closed spans of carrier centres [Hz], low not above high; any order.
    """
    left, right = sorted(first), sorted(second)
    found: list[Span] = []
    i = j = 0
    while i < len(left) and j < len(right):
        low, high = max(left[i][0], right[j][0]), min(left[i][1], right[j][1])
        if low <= high:
            found.append((low, high))
        if left[i][1] <= right[j][1]:
            i += 1
        else:
            j += 1
    return tuple(found)
