"""Proven upper bounds of the number of carriers, in closed form.

Everything is counted in whole units of a raster on which all carriers lie, so that a least
distance is rounded up to whole units. Let Y be any valid set, y_1 < ... < y_N, and

- s the spacing, at least one unit: two carriers are at least s apart;
- h a distance that the differences keep from each other, where A+B-C is protected. Take two
  different pairs of Y with differences d and d'. If the pairs share no carrier then
  ``a + b - c - d`` is what they differ by, so they are a guard A+B-C apart. If they share their
  upper or their lower carrier they are a spacing apart. If they share a middle carrier (v - a
  and a - b) they are a guard 2A-B apart, or not kept apart at all where that is 0.
  So with both guards above 0 all differences are h = min(s, both guards) apart. With A+B-C only,
  h = min(s, guard A+B-C) holds but for pairs that share a middle carrier; of three differences
  closer than h all three couples would have to share one in the middle: then both others would
  begin where the lowest pair ends, and share their lower carrier. So there are at most two in
  any span shorter than h, and the sorted differences keep h from the next but one. ``doubled``
  says so.

Valid sets stay valid when carriers are taken out, so when N is impossible every larger number is.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.records import Grid, GuardSet, PlacedCarrier
from planner.coordination.search import free_points
from planner.coordination.verify import violations

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

Span = tuple[int, int]

_MOST_SPANS = 120
_LARGEST_PIECE = 300
_WIDTHS = 400
# Least n such that 1..n holds k numbers without three in arithmetic progression, k = 1, 2, ...
# OEIS A065825 (the steps of A003002).
_LEAST_PROGRESSION_FREE = (
    *(1, 2, 4, 5, 9, 11, 13, 14, 20, 24, 26, 30, 32, 36, 40, 41, 51, 54, 58, 63, 71, 74),
    *(82, 84, 92, 95, 100, 104, 111, 114, 121, 122, 137, 145, 150, 157, 163, 165, 169, 174),
    *(194, 204, 209),
)


def upper_bound(
    windows_hz: Sequence[Span],
    *,
    step_hz: int,
    origin_hz: int,
    guards: GuardSet,
    fixed: Sequence[PlacedCarrier] = (),
) -> int:
    """Return a number of carriers that no valid set exceeds, fixed ones included.

    Parameters
    ----------
    windows_hz : sequence of (int, int)
        Closed spans of carrier centres [Hz]; may overlap.
    step_hz, origin_hz : int
        Raster of the centres [Hz].
    guards : GuardSet
        Guards of the new carriers.
    fixed : sequence of PlacedCarrier
        Carriers on the air already, anywhere; they may violate each other.

    Returns
    -------
    int
        The least of the bounds of this module.

    Notes
    -----
    A new carrier must be valid beside the fixed ones alone, so first every centre that they
    close is left out. Then two counts are proven, and the less is taken: all fixed carriers plus
    the bound of the new ones among themselves; and, for the fixed carriers that have at least
    these guards and violate nothing among themselves, the bound of both together on a raster
    common to both, plus the other fixed carriers. The second is proven because the new carriers
    with any part of the fixed ones are a valid set, and remain one when guards are lowered to
    ``guards``.
    """
    grid = Grid(origin_hz=origin_hz, step_hz=step_hz, windows_hz=tuple(windows_hz))
    points_hz = free_points(grid, guards, fixed)
    alone = len(fixed) + _bound(_Lattice.of(points_hz, step_hz, ()), guards)
    partners = _partners(fixed, guards)
    if not partners:
        return alone
    unit_hz = math.gcd(step_hz, *(hz - origin_hz for hz in partners))
    together = _bound(_Lattice.of(points_hz, step_hz, partners, unit_hz=unit_hz), guards)
    return min(alone, len(fixed) - len(partners) + together)


def _partners(fixed: Sequence[PlacedCarrier], guards: GuardSet) -> tuple[int, ...]:
    """Return the fixed carriers that a valid set may be counted with."""
    able = {c.frequency_hz: c for c in fixed if c.guards.covers(guards)}
    bad = {hz for found in violations(tuple(able.values())) for hz in found.carriers_hz}
    return tuple(sorted(set(able) - bad))


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Lattice:
    """Where carriers may stand, as closed spans in whole units from the lowest."""

    unit_hz: int
    low: NDArray[np.int64]
    high: NDArray[np.int64]

    @classmethod
    def of(
        cls,
        points_hz: NDArray[np.int64],
        step_hz: int,
        partners_hz: Sequence[int],
        *,
        unit_hz: int | None = None,
    ) -> _Lattice:
        unit = step_hz if unit_hz is None else unit_hz
        points = np.union1d(points_hz, np.array(partners_hz, dtype=np.int64))
        if not points.size:
            return cls(unit_hz=unit, low=points, high=points)
        points = (points - points[0]) // unit
        breaks = np.flatnonzero(np.diff(points) > step_hz // unit)
        return cls(
            unit_hz=unit,
            low=points[np.append(0, breaks + 1)],
            high=points[np.append(breaks, points.size - 1)],
        )

    def units(self, distance_hz: int) -> int:
        """Return the least whole number of units that is not below a distance."""
        return -(-distance_hz // self.unit_hz)


def _bound(lattice: _Lattice, guards: GuardSet) -> int:
    """Return the least bound of a valid set on a lattice."""
    if not lattice.low.size:
        return 0
    spacing = max(1, lattice.units(guards.spacing_hz))
    chain = lattice.units(guards.guard_2a_b_hz)
    cross = lattice.units(guards.guard_a_b_c_hz)
    ways = [(0, False)]
    if cross and chain:
        ways = [(min(spacing, cross, chain), False)]
    if cross and chain < min(spacing, cross):
        ways.append((min(spacing, cross), True))
    limits = []
    for apart, doubled in ways:
        # a power of two as length, so that one answer serves many stops
        longest = 1 << int(lattice.high[-1]).bit_length()
        spans = _least_spans(longest, spacing, chain, apart, doubled=doubled)
        limit = _cover_bound(lattice, spans)
        if apart:
            least = _least_differences(lattice, spacing, apart, doubled=doubled)
            limit = _sliding_bound(lattice, least, min(limit, _pair_bound(least.size)))
        limits.append(limit)
    return min(limits)


@functools.lru_cache(maxsize=256)
def _least_spans(
    longest: int, spacing: int, chain: int, apart: int, *, doubled: bool
) -> NDArray[np.int64]:
    """Return L(0), L(1), ...: no k + 1 carriers fit into less than L(k) units.

    Parameters
    ----------
    longest : int
        Goes on until L(k) is above this [units], or to a k that is large enough.
    spacing, chain, apart : int
        Spacing, guard 2A-B (0: none) and least distance of differences (0: none) [units].
    doubled : bool
        Two differences may be near each other.

    Notes
    -----
    Each of these is a lower bound of the span of k + 1 carriers; the greatest is taken.

    Spacing: L(k) = L(k - 1) + s, since one end carrier can be taken away.

    Two parts: cut k gaps into i and j = k - i, i <= j. Their lengths p, q are at least L(i) and
    L(j). Where 2A-B is protected, p and q also differ by g or more: they are v - a and a - b for
    three carriers. If q >= p + g then p + q >= L(i) + max(L(j), L(i) + g); if p >= q + g then
    p + q >= 2 L(j) + g, which is no less. (Halving again and again gives k (s + g) - g for k a
    power of two.) Without 2A-B, p + q >= L(i) + L(j).

    No progression: where 2A-B is protected at all, no three carriers are evenly spaced, so
    k + 1 carriers span at least the published least n for k + 1 numbers, less 1.

    Differences (after Erdos and Turan 1941, Lindstrom 1969, on short differences): for r <= k
    take all differences y_(i+m) - y_i with m = 1..r; there are Q = r (k + 1) - r (r + 1) / 2,
    sorted at least s, s + h, s + 2h, ... (each twice where ``doubled``). For one m they add up
    to the sum of the last m carriers less the sum of the first m, and the j-th carrier from an
    end is L(j) or more inside it, so to at most sum over j < m of (span - 2 L(j)). Hence
    span * r (r + 1) / 2 >= (least sum of Q differences) + 2 sum over m <= r, j < m of L(j).
    """
    least = [0]
    inner = [0]
    outer = [0]
    while least[-1] <= longest and len(least) <= _LARGEST_PIECE:
        count = len(least)
        known = np.array(least)
        short = known[1 : count // 2 + 1]
        rest = known[::-1][: short.size]
        parts = short + (np.maximum(rest, short + chain) if chain else rest)
        best = max([least[-1] + spacing, *parts.tolist()])
        if chain and count < len(_LEAST_PROGRESSION_FREE):
            best = max(best, _LEAST_PROGRESSION_FREE[count] - 1)
        # sums over j < m, and over m <= r, of L(j)
        inner.append(inner[-1] + least[-1])
        outer.append(outer[-1] + inner[-1])
        if apart:
            order = np.arange(1, count + 1)
            shares = order * (order + 1) // 2
            pairs = order * (count + 1) - shares
            total = _least_sum(pairs, spacing, apart, doubled=doubled) + 2 * np.array(outer[1:])
            best = max(best, int((-(-total // shares)).max()))
        least.append(best)
    spans = np.array(least)
    spans.setflags(write=False)
    return spans


def _least_sum(
    count: NDArray[np.int64], first: int, apart: int, *, doubled: bool
) -> NDArray[np.int64]:
    """Return the least sum of ``count`` differences, the r-th at least ``first + r * apart``."""
    half = count // 2
    gaps = half * (half - 1) + (count % 2) * half if doubled else count * (count - 1) // 2
    return np.asarray(count * first + apart * gaps, dtype=np.int64)


def _cover_bound(lattice: _Lattice, least: NDArray[np.int64]) -> int:
    """Bound by covering the spans with pieces that hold few carriers.

    Notes
    -----
    A piece of the axis shorter than L(k) holds at most k carriers. Cover all spans from the left
    with pieces; the sum of their k bounds the set. For each total the cover that reaches
    farthest is kept: a cover that reaches farther can only need less from there on. With
    spacing alone this is the exact optimum.
    """
    count = 1
    reached = np.zeros(256, dtype=np.int64)
    while True:
        # after a cover of count - k carriers, a piece of k more, k = most .. 1
        most = min(count, least.size - 1)
        last = int((reached[count - most : count] + least[most:0:-1] - 1).max())
        where = int(np.searchsorted(lattice.high, last, side="right"))
        if where >= lattice.high.size:
            return count
        if count == reached.size:
            reached = np.append(reached, np.zeros_like(reached))
        reached[count] = max(int(lattice.low[where]), last + 1)
        count += 1


def _least_differences(
    lattice: _Lattice, spacing: int, apart: int, *, doubled: bool
) -> NDArray[np.int64]:
    """Return d_1 <= d_2 <= ...: the r-th smallest difference of a valid set is at least d_r.

    Notes
    -----
    Differences lie in the set of all |x - y| over the spans, not in its hull, and from the
    spacing on. Taking the lowest possible value again and again gives a sequence of which no
    other sequence with gaps ``apart`` is ahead at any place; where ``doubled``, each value counts
    twice. Its length bounds the number of differences.
    """
    # bridge the narrowest gaps of a very broken set: more room than there is stays proven
    gaps = lattice.low[1:] - lattice.high[:-1]
    cuts = np.sort(np.argsort(-gaps, kind="stable")[: _MOST_SPANS - 1])
    lows, highs = lattice.low[np.append(0, cuts + 1)], lattice.high[np.append(cuts, gaps.size)]
    low = (lows[:, None] - highs[None, :]).ravel()
    high = (highs[:, None] - lows[None, :]).ravel()
    low = np.maximum(low, spacing)
    keep = high >= low
    order = np.argsort(low[keep], kind="stable")
    values: list[NDArray[np.int64]] = []
    following = spacing
    for start, end in zip(low[keep][order].tolist(), high[keep][order].tolist(), strict=True):
        first = max(start, following)
        if first <= end:
            run = np.arange(first, end + 1, apart, dtype=np.int64)
            values.append(run)
            following = int(run[-1]) + apart
    found = np.concatenate(values) if values else np.empty(0, dtype=np.int64)
    return np.repeat(found, 2) if doubled else found


def _pair_bound(differences: int) -> int:
    """Return the greatest N with N (N - 1) / 2 pairs or fewer."""
    return (1 + math.isqrt(1 + 8 * differences)) // 2


def _sliding_bound(lattice: _Lattice, least: NDArray[np.int64], limit: int) -> int:
    """Bound by the pairs that a window of width T meets while it slides over the spans.

    Notes
    -----
    Let [t, t + T) slide over whole units; M(T) positions t meet a span, and n_t carriers lie in
    the window. Each carrier is in T windows: sum n_t = N T. Each pair with difference d is in
    max(0, T - d) of them, so sum n_t (n_t - 1) / 2 = sum over pairs of max(0, T - d), at most
    the same sum over the least differences, of which there are N (N - 1) / 2. By convexity the
    left side is least when the n_t are as equal as whole numbers can be. An N for which the
    least left side is above the right side is impossible, and every larger one with it.
    """
    if limit < 2 or not least.size:
        return limit
    low, high = lattice.low, lattice.high
    gaps = low[1:] - high[:-1]
    longest = int(high[-1]) + 1
    width = np.unique(np.linspace(1, longest, min(_WIDTHS, longest)).astype(np.int64))
    met = int((high - low).sum()) + width
    met = met + np.minimum(width[:, None], gaps[None, :]).sum(axis=1)
    ahead = np.concatenate([[0], np.cumsum(least)])
    near = np.searchsorted(least, width)
    for count in range(2, limit + 1):
        each, over = np.divmod(count * width, met)
        fewest = met * (each * (each - 1) // 2) + over * each
        taken = np.minimum(near, count * (count - 1) // 2)
        if (fewest > taken * width - ahead[taken]).any():
            return count - 1
    return limit
