"""Least spans of k + 1 carriers: what a piece of the axis can hold.

Everything is in whole units of a raster; s, c, a, t are spacing, guards 2A-B, A+B-C and 3A-2B.
"""

from __future__ import annotations

import dataclasses
import functools
import threading
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.bounds_search import NONE, OPEN, span_holds

if TYPE_CHECKING:
    from numpy.typing import NDArray

SEARCH_STEPS = 100_000
"""Carriers placed by the exhaustive search of one guard set: about 0.03 s, once a process."""

_LARGEST_PIECE = 300
_LONGEST_SEARCH = 4096
# Least n such that 1..n holds k numbers without three in arithmetic progression, k = 1, 2, ...
# OEIS A065825 (the steps of A003002).
_LEAST_PROGRESSION_FREE = (
    *(1, 2, 4, 5, 9, 11, 13, 14, 20, 24, 26, 30, 32, 36, 40, 41, 51, 54, 58, 63, 71, 74),
    *(82, 84, 92, 95, 100, 104, 111, 114, 121, 122, 137, 145, 150, 157, 163, 165, 169, 174),
    *(194, 204, 209),
)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Distances:
    """Least distances in whole units of a raster.

    Attributes
    ----------
    spacing : int
        Of two carriers, 1 or more [units].
    chain, cross, fifth : int
        Guards 2A-B, A+B-C and 3A-2B, 0 where not protected [units].
    """

    spacing: int
    chain: int = 0
    cross: int = 0
    fifth: int = 0

    def apart(self) -> tuple[tuple[int, bool], ...]:
        """Return how far differences keep from each other, in each way that is proven.

        Returns
        -------
        tuple of (int, bool)
            A distance h [units], and whether two differences may be nearer than it, never three.

        Notes
        -----
        Take two different pairs of a valid set with differences d and d'. If the pairs share no
        carrier then d - d' is ``A + B - C - victim`` of the four, so it is ``cross`` or more. If
        they share their upper or their lower carrier they are a spacing apart. If they share a
        middle carrier they are ``chain`` apart, or not kept apart at all where that is 0. So with
        both guards above 0 all differences are h = min(spacing, cross, chain) apart. With
        h = min(spacing, cross) this holds but for pairs that share a middle carrier; of three
        differences closer than h all three couples would have to share one in the middle: then
        both others would begin where the lowest pair ends, and share their lower carrier. So at
        most two lie in any span shorter than h.

        A guard of 3A-2B says nothing here: it keeps a difference from twice another that begins
        where it ends, which two differences of one length already cannot be.
        """
        if not self.cross:
            return ()
        both = min(self.spacing, self.cross)
        ways = []
        if self.chain:
            ways.append((min(both, self.chain), False))
        if self.chain < both:
            ways.append((both, True))
        return tuple(ways)


def least_spans(longest: int, distances: Distances, steps: int) -> NDArray[np.int64]:
    """Return L(0), L(1), ...: no k + 1 carriers fit into less than L(k) units.

    Parameters
    ----------
    longest : int
        Goes on until L(k) is above this [units], or to k = 300.
    distances : Distances
        Spacing and guards.
    steps : int
        Carriers that the exhaustive search of small k may place.

    Notes
    -----
    Each of these is a lower bound of the span of k + 1 carriers; the greatest is taken.

    Spacing: L(k) = L(k - 1) + s, since one end carrier can be taken away.

    Two parts: cut k gaps into i and j = k - i, i <= j. Their lengths p, q are at least L(i) and
    L(j). Where 2A-B is protected, p and q also differ by c or more: they are v - a and a - b for
    three carriers. If q >= p + c then p + q >= L(i) + max(L(j), L(i) + c); if p >= q + c then
    p + q >= 2 L(j) + c, which is no less. (Halving again and again gives k (s + c) - c for k a
    power of two.) Without 2A-B, p + q >= L(i) + L(j).

    No progression: where 2A-B is protected at all, no three carriers are evenly spaced, so
    k + 1 carriers span at least the published least n for k + 1 numbers, less 1.

    Differences (after Erdos and Turan 1941, Lindstrom 1969, on short differences), for each way
    h that they keep apart: for r <= k take all differences y_(i+m) - y_i with m = 1..r; there are
    Q = r (k + 1) - r (r + 1) / 2, sorted at least s, s + h, s + 2h, ... (each twice where two may
    be near). For one m they add up to the sum of the last m carriers less the sum of the first
    m, and the j-th carrier from an end is L(j) or more inside it, so to at most sum over j < m of
    (span - 2 L(j)). Hence
    span * r (r + 1) / 2 >= (least sum of Q differences) + 2 sum over m <= r, j < m of L(j).

    Search: for k = 2, 3, ... every set with ends 0 and X is looked at for X from the bound of the
    above on; X is refuted and raised while there is none. Once the steps are spent the last X
    that was not refuted stands, and larger k follow by the formulas alone.
    """
    with _growing:  # a ladder is shared by all who ask
        return _ladder(distances, steps).up_to(longest)


_growing = threading.Lock()


@functools.lru_cache(maxsize=256)
def _ladder(distances: Distances, steps: int) -> _Ladder:
    return _Ladder(distances, steps)


class _Ladder:
    """L(0), L(1), ... of one guard set, grown as far as anybody asked."""

    def __init__(self, distances: Distances, steps: int) -> None:
        self._distances = distances
        self._steps = steps * bool(distances.chain or distances.cross or distances.fifth)
        self._least = [0]
        # sums over j < m, and over m <= r, of L(j)
        self._inner = [0]
        self._outer = [0]

    def up_to(self, longest: int) -> NDArray[np.int64]:
        """Return L(0), L(1), ... to the first above ``longest`` [units], or to k = 300."""
        while self._least[-1] <= longest and len(self._least) <= _LARGEST_PIECE:
            self._grow()
        spans = np.array(self._least)
        spans = spans[: int(np.searchsorted(spans, longest, side="right")) + 1]
        spans.setflags(write=False)
        return spans

    def _grow(self) -> None:
        least, distances = self._least, self._distances
        self._inner.append(self._inner[-1] + least[-1])
        self._outer.append(self._outer[-1] + self._inner[-1])
        best = _from_parts(np.array(least), distances)
        for way in distances.apart():
            best = max(best, _from_differences(self._outer, distances.spacing, way))
        if len(least) >= 2 and self._steps > 0:
            best, self._steps = _refined(least, best, distances, self._steps)
        least.append(best)


def _from_parts(known: NDArray[np.int64], distances: Distances) -> int:
    """Return L(k) by spacing, by two parts and by progressions, k = ``known.size``."""
    count = known.size
    short = known[1 : count // 2 + 1]
    rest = known[::-1][: short.size]
    chain = distances.chain
    parts = short + (np.maximum(rest, short + chain) if chain else rest)
    best = max([int(known[-1]) + distances.spacing, *map(int, parts)])
    if chain and count < len(_LEAST_PROGRESSION_FREE):
        best = max(best, _LEAST_PROGRESSION_FREE[count] - 1)
    return best


def _from_differences(outer: list[int], spacing: int, way: tuple[int, bool]) -> int:
    """Return L(k) by the sums of short differences, k = ``len(outer)`` - 1."""
    count = len(outer) - 1
    order = np.arange(1, count + 1)
    shares = order * (order + 1) // 2
    pairs = order * (count + 1) - shares
    total = least_sum(pairs, spacing, way) + 2 * np.array(outer[1:])
    return int((-(-total // shares)).max())


def least_sum(count: NDArray[np.int64], first: int, way: tuple[int, bool]) -> NDArray[np.int64]:
    """Return the least sum of so many differences from ``first`` on, kept apart in a way."""
    apart, doubled = way
    half = count // 2
    gaps = half * (half - 1) + (count % 2) * half if doubled else count * (count - 1) // 2
    return np.asarray(count * first + apart * gaps, dtype=np.int64)


def _refined(least: list[int], span: int, distances: Distances, steps: int) -> tuple[int, int]:
    """Raise L(k), k = ``len(least)``, by exhaustive search; also return the steps left."""
    known = np.array(least, dtype=np.int64)
    guards = np.array([distances.chain, distances.cross, distances.fifth], dtype=np.int64)
    while span <= _LONGEST_SEARCH:
        answer, used = span_holds(len(least), span, known, guards, steps)
        steps -= used
        if answer != NONE:
            return span, 0 if answer == OPEN else steps
        span += 1
    return span, 0
