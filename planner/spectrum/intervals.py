"""Sets of spectrum as sorted, disjoint intervals in whole hertz."""

from __future__ import annotations

import bisect
import dataclasses
import itertools
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

Span = tuple[int, int]


@dataclasses.dataclass(frozen=True, slots=True)
class IntervalSet:
    """A set of spectrum: sorted disjoint spans of positive width, touching ones joined.

    Parameters
    ----------
    spans : iterable of (int, int)
        Low and high edge [Hz], low < high; any order, may overlap.

    Raises
    ------
    ValueError
        When a span's low edge is not below its high edge.

    Notes
    -----
    Edges are points of no width, so two spans that touch are one. Unions, intersections and
    differences are those of the point sets up to edges.
    """

    spans: tuple[Span, ...] = ()

    def __init__(self, spans: Iterable[Span] = ()) -> None:
        joined: list[Span] = []
        for low, high in sorted(spans):
            if low >= high:
                raise ValueError(f"span {low} to {high} Hz: the low edge must be below the high")
            if joined and low <= joined[-1][1]:
                joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
            else:
                joined.append((low, high))
        object.__setattr__(self, "spans", tuple(joined))

    def __iter__(self) -> Iterator[Span]:
        return iter(self.spans)

    def __bool__(self) -> bool:
        return bool(self.spans)

    def __len__(self) -> int:
        return len(self.spans)

    @property
    def width_hz(self) -> int:
        """Total width [Hz]."""
        return sum(high - low for low, high in self.spans)

    def __or__(self, other: IntervalSet) -> IntervalSet:
        """Return what is in either set."""
        return IntervalSet((*self.spans, *other.spans))

    def __and__(self, other: IntervalSet) -> IntervalSet:
        """Return what is in both sets."""
        found: list[Span] = []
        i = j = 0
        while i < len(self.spans) and j < len(other.spans):
            low = max(self.spans[i][0], other.spans[j][0])
            high = min(self.spans[i][1], other.spans[j][1])
            if low < high:
                found.append((low, high))
            if self.spans[i][1] <= other.spans[j][1]:
                i += 1
            else:
                j += 1
        return IntervalSet(found)

    def __sub__(self, other: IntervalSet) -> IntervalSet:
        """Return what is in this set and not in the other (cut)."""
        found: list[Span] = []
        for low, high in self.spans:
            start = low
            for cut_low, cut_high in other.spans:
                if cut_high <= start or cut_low >= high:
                    continue
                if cut_low > start:
                    found.append((start, cut_low))
                start = max(start, cut_high)
            if start < high:
                found.append((start, high))
        return IntervalSet(found)

    def clip(self, low_hz: int, high_hz: int) -> IntervalSet:
        """Return the part between two edges [Hz]; empty when the edges enclose nothing."""
        return self & IntervalSet([(low_hz, high_hz)]) if low_hz < high_hz else IntervalSet()

    def holds(self, low_hz: int, high_hz: int) -> bool:
        """Say whether the span low to high lies in one interval of the set."""
        i = bisect.bisect_right(self.spans, (low_hz, 2**62)) - 1
        return i >= 0 and self.spans[i][0] <= low_hz and high_hz <= self.spans[i][1]

    def split(self, edges_hz: Iterable[int]) -> tuple[Span, ...]:
        """Return the spans cut at every edge that lies inside one; touching spans stay apart."""
        return split_spans(self.spans, edges_hz)


def split_spans(spans: Iterable[Span], edges_hz: Iterable[int]) -> tuple[Span, ...]:
    """Cut spans at every edge that lies strictly inside one.

    Parameters
    ----------
    spans : iterable of (int, int)
        Low and high edge [Hz].
    edges_hz : iterable of int
        Where to cut [Hz].
    """
    edges = sorted(set(edges_hz))
    found: list[Span] = []
    for low, high in spans:
        inner = edges[bisect.bisect_right(edges, low) : bisect.bisect_left(edges, high)]
        cuts = [low, *inner, high]
        found.extend(itertools.pairwise(cuts))
    return tuple(found)


def shrink(spans: Iterable[Span], *, bandwidth_hz: int) -> tuple[Span, ...]:
    """Return where a carrier's centre may stand so that its whole bandwidth stays inside.

    Parameters
    ----------
    spans : iterable of (int, int)
        Spectrum edges [Hz]; each is shrunk by itself, so a carrier never straddles two.
    bandwidth_hz : int
        Occupied bandwidth [Hz], 0 or more; an odd one is rounded up to stay inside.

    Returns
    -------
    tuple of (int, int)
        Closed spans of centres [Hz]; low equals high where exactly one centre fits.
    """
    half = (bandwidth_hz + 1) // 2
    return tuple((low + half, high - half) for low, high in spans if low + half <= high - half)
