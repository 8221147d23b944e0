"""Bounds by counting pairs: over all differences, and in a window that slides over the spans.

Everything is in whole units of a raster. A set of which N carriers are impossible cannot have
more either, since valid sets stay valid when carriers are taken out.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_MOST_SPANS = 120
_WIDTHS = 64
_NOTHING = np.zeros(1, dtype=np.int64)
_NOTHING.setflags(write=False)


def least_differences(
    low: NDArray[np.int64], high: NDArray[np.int64], spacing: int, way: tuple[int, bool]
) -> NDArray[np.int64]:
    """Return d_1 <= d_2 <= ...: the r-th smallest difference of a valid set is at least d_r.

    Parameters
    ----------
    low, high : array
        Closed spans, ascending [units].
    spacing : int
        Of two carriers [units].
    way : (int, bool)
        How far differences keep from each other [units], and whether two may be nearer.

    Notes
    -----
    Differences lie in the set of all |x - y| over the spans, not in its hull, and from the
    spacing on. Taking the lowest possible value again and again gives a sequence of which no
    other sequence with the same gaps is ahead at any place; where two may be near, each value
    counts twice. Its length bounds the number of differences.
    """
    apart, doubled = way
    # bridge the narrowest gaps of a very broken set: more room than there is stays proven
    gaps = low[1:] - high[:-1]
    cuts = np.sort(np.argsort(-gaps, kind="stable")[: _MOST_SPANS - 1])
    lows, highs = low[np.append(0, cuts + 1)], high[np.append(cuts, gaps.size)]
    least = np.maximum((lows[:, None] - highs[None, :]).ravel(), spacing)
    most = (highs[:, None] - lows[None, :]).ravel()
    keep = most >= least
    order = np.argsort(least[keep], kind="stable")
    values: list[NDArray[np.int64]] = []
    following = spacing
    for start, end in zip(least[keep][order].tolist(), most[keep][order].tolist(), strict=True):
        first = max(start, following)
        if first <= end:
            run = np.arange(first, end + 1, apart, dtype=np.int64)
            values.append(run)
            following = int(run[-1]) + apart
    found = np.concatenate(values) if values else np.empty(0, dtype=np.int64)
    return np.repeat(found, 2) if doubled else found


def pair_bound(differences: int) -> int:
    """Return the greatest N with N (N - 1) / 2 pairs or fewer."""
    return (1 + math.isqrt(1 + 8 * differences)) // 2


def sliding_bound(
    pieces: tuple[NDArray[np.int64], NDArray[np.int64]],
    least: NDArray[np.int64],
    spans: NDArray[np.int64],
    limit: int,
    *,
    loose: tuple[int, NDArray[np.int64]] = (0, _NOTHING),
) -> int:
    """Bound by the pairs that a window of width T meets while it slides over the spans.

    Parameters
    ----------
    pieces : (array, array)
        Low and high ends of closed pieces that hold all carriers, ascending [units].
    least : array
        Least differences, as :func:`least_differences` gives them [units].
    spans : array
        Least spans of 0, 1, 2 ... gaps [units].
    limit : int
        A bound known already.
    loose : (int, array)
        How many carriers there may be whose differences from each other are not kept apart from
        others, and the least spans of 0, 1, 2 ... gaps between such [units].

    Returns
    -------
    int
        The bound, not above ``limit``.

    Notes
    -----
    Let [t, t + T) slide over whole units, and n_t carriers lie in the window. Each carrier is in
    T windows: sum n_t = N T. Each pair with difference d is in max(0, T - d) of them, so
    sum n_t (n_t - 1) / 2 = sum over pairs of max(0, T - d), at most the same sum over the least
    differences, of which there are N (N - 1) / 2.

    The left side is least when N T is shared out one at a time, each to a position t whose n_t
    is lowest, since the m-th carrier of a window costs m - 1. Positions that meet no piece get
    none; and where the window meets only the end of a piece, no more than the least spans let
    into that end: j or more carriers of one piece need more than L(j - 1) of its units in the
    window. Counting for each j the positions that may have j carriers or more, the sharing out
    is done exactly. An N for which N T cannot be shared out, or for which the least left side is
    above the right side, is impossible.

    U loose carriers add to the right side what their own pairs have: of these at most U - m are
    m-th neighbours, each with a difference of L(m) or more, so at most the sum over m < U of
    (U - m) max(0, T - L(m)).
    """
    low, high = pieces
    if limit < 2 or not least.size or int((high - low).max()) >= int(spans[-1]):
        return limit
    width = _widths(low, high, int(spans[1]))
    room = _room(low, high, spans, width)
    ahead = np.concatenate([[0], np.cumsum(least)])
    near = np.searchsorted(least, width)
    count = np.arange(2, limit + 1)[:, None]
    wanted = count * width
    fewest = np.zeros_like(wanted)
    for level, places in enumerate(room):
        given = np.minimum(wanted, places)
        fewest += level * given
        wanted -= given
    taken = np.minimum(near, count * (count - 1) // 2)
    most = taken * width - ahead[taken] + _pairs_of(loose, width)
    broken = (wanted > 0) | (fewest > most)
    impossible = np.flatnonzero(broken.any(axis=1))
    return int(impossible[0]) + 1 if impossible.size else limit


def _pairs_of(loose: tuple[int, NDArray[np.int64]], width: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return how often pairs of loose carriers may lie in a window together, by width."""
    number, spans = loose
    order = np.arange(1, number)
    # beyond the last known span the last stands: no less is proven than that
    apart = spans[np.minimum(order, spans.size - 1)]
    room = np.maximum(0, width[:, None] - apart[None, :])
    return np.asarray(room @ (number - order), dtype=np.int64)


def _widths(low: NDArray[np.int64], high: NDArray[np.int64], spacing: int) -> NDArray[np.int64]:
    """Return the widths T to try, the spacing or wider [units]."""
    longest = max(int(high[-1] - low[0]) + 1, spacing)
    return np.unique(np.rint(np.geomspace(spacing, longest, _WIDTHS)).astype(np.int64))


def _room(
    low: NDArray[np.int64],
    high: NDArray[np.int64],
    spans: NDArray[np.int64],
    width: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Return at how many positions a window may hold 1, 2, ... carriers or more, by width.

    A piece from A to B lets j carriers into [t, t + T) for t from A - T + r to B - r + 1, where
    r = L(j - 1) + 1 units must be in it. Positions are counted by how many such intervals, over
    all pieces and j, they lie in.
    """
    within = np.searchsorted(spans, high - low, side="right")
    piece = np.repeat(np.arange(low.size), within)
    order = np.arange(piece.size) - np.repeat(np.cumsum(within) - within, within)
    need = spans[order] + 1
    starts = (low[piece] + need)[None, :] - width[:, None]
    ends = np.broadcast_to(high[piece] - need + 2, starts.shape)
    ends = np.where(need[None, :] <= width[:, None], ends, starts)
    events = np.concatenate([starts, ends], axis=1)
    change = np.repeat([1, -1], piece.size)
    rank = np.argsort(events, axis=1, kind="stable")
    level = np.cumsum(change[rank], axis=1)[:, :-1]
    length = np.diff(np.take_along_axis(events, rank, axis=1), axis=1)
    most = int(level.max())
    row = np.arange(width.size)[:, None] * (most + 1)
    held = np.zeros(width.size * (most + 1), dtype=np.int64)
    np.add.at(held, (row + level).ravel(), length.ravel())
    exact = held.reshape(width.size, most + 1)
    return np.cumsum(exact[:, ::-1], axis=1)[:, ::-1].T[1:]
