"""The innermost steps of the search kernel: finding centres by frequency, closing them, free ones.

Plain Python that can be compiled, whole numbers only, as in :mod:`planner.coordination.kernel`.
A view tells where the centres of a row are: index of the first, their number, frequency of the
lowest [Hz], width from the lowest to the highest [Hz]; the first place of the row in ``rank``, and
the factor and the power of two that find a place there. ``rank`` holds for each raster step from
the lowest centre on the index of the first centre at or above it; where the factor is 0, it holds
the centres themselves, in hertz above the lowest.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.coordination.compiled import compiled, inlined

Whole = NDArray[np.int64]
View = tuple[int, int, int, int, int, int, int]
TOTAL, TIMES, GUARD = range(3)
"""Columns of spans: total [Hz], times, guard [Hz]."""


def factor_of(width_hz: int, step_hz: int) -> tuple[int, int]:
    """Return the factor and the shift with ``(hz * factor) >> shift == hz // step_hz``.

    Parameters
    ----------
    width_hz : int
        Holds for every whole hz from -1 to this one [Hz], below 2**31.
    step_hz : int
        Raster [Hz], 1 and more.

    Notes
    -----
    The factor exceeds ``2**shift / step`` by less than 1, so for hz >= 0 the quotient exceeds
    ``hz / step`` by less than ``width / 2**shift``, which is less than ``1 / step``: and none lies
    nearer below a whole number. The factor is ``2**shift`` at most, so for hz = -1 both are -1.
    The product is below ``2**63``.
    """
    shift = (width_hz * step_hz).bit_length()
    return -(-(1 << shift) // step_hz), shift


@inlined
def first_above(rank: Whole, view: View, hz: int) -> int:
    """Return the index of the first centre above a frequency, counted from the lowest one [Hz].

    It lies from -1 to the width of the view.
    """
    begin, size, _, _, first, factor, shift = view
    if factor > 0:
        return rank[first + ((hz * factor) >> shift) + 1]  # type: ignore[no-any-return]
    low, high = first, first + size
    while low < high:
        middle = (low + high) >> 1
        if rank[middle] <= hz:
            low = middle + 1
        else:
            high = middle
    return begin + low - first


@compiled
def close_spans(cover: Whole, rank: Whole, view: View, spans: Whole, weight: int) -> None:
    """Add reasons to the centres c with ``|times * c - total| < guard``.

    ``spans`` (n, 3) hold total [Hz], times, guard [Hz], which is above 0. ``weight`` is 1, or -1
    to take the reasons away.
    """
    _, _, lowest, width, _, _, _ = view
    for span in range(spans.shape[0]):
        total, times, guard = spans[span, TOTAL], spans[span, TIMES], spans[span, GUARD]
        low, high = total - guard + 1, total + guard - 1
        if times > 1:
            low, high = -(-low // times), high // times
        low, high = low - lowest, high - lowest
        if low <= width and high >= 0:
            start = first_above(rank, view, max(low, 0) - 1)
            for k in range(start, first_above(rank, view, min(high, width))):
                cover[k] += weight


@compiled
def close_triples(  # noqa: PLR0913, PLR0917 - plain arrays are handed over fastest
    cover: Whole, rank: Whole, view: View, standing: Whole, new: int, least: int, weight: int
) -> None:
    """Close A+B-C of a new carrier, a candidate and two that stand, everybody heard by everybody.

    ``standing`` (2, n) holds frequencies and guards [Hz]; ``least`` is the larger guard of the
    other two. Most reasons of a search are of this kind, so it is written for speed.
    """
    _, _, lowest, width, _, _, _ = view
    new -= lowest
    for o in range(standing.shape[1]):
        other, own = standing[0, o], max(least, standing[1, o])
        for p in range(o):
            guard = max(own, standing[1, p]) - 1
            if guard < 0:
                continue
            third = standing[0, p]
            apart, both = other - third, other + third - 2 * lowest
            for total in (new + apart, new - apart, both - new):
                low, high = total - guard, total + guard
                if low <= width and high >= 0:
                    start = first_above(rank, view, max(low, 0) - 1)
                    for k in range(start, first_above(rank, view, min(high, width))):
                        cover[k] += weight


@compiled
def open_centres(cover: Whole, begin: int, end: int, place: int) -> Whole:
    """Return the centres from ``begin`` to ``end - 1`` that nothing closes, from a place around."""
    opened, many = np.empty(end - begin, dtype=np.int64), 0
    for low, high in ((begin + place, end), (begin, begin + place)):
        for k in range(low, high):
            if cover[k] == 0:
                opened[many] = k
                many += 1
    return opened[:many]
