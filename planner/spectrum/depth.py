"""At how many stops, and which, a span is usable; the full intersection; what a stop costs."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.spectrum.intervals import IntervalSet

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class DepthSpan:
    """A span that is usable at exactly these stops.

    Attributes
    ----------
    low_hz, high_hz : int
        Edges [Hz].
    stops : tuple of str
        Ids in route order; empty where no stop can use it.
    """

    low_hz: int
    high_hz: int
    stops: tuple[str, ...]


def depth(usable: Mapping[str, IntervalSet], searched: IntervalSet) -> tuple[DepthSpan, ...]:
    """Return the searched span cut into spans with one list of stops each, without gaps.

    Parameters
    ----------
    usable : mapping of str to IntervalSet
        Usable spectrum of each stop, in route order.
    searched : IntervalSet
        What was searched; usable spectrum outside it is left out.
    """
    edges = sorted({edge for spans in usable.values() for span in spans for edge in span})
    found: list[DepthSpan] = []
    for low, high in searched.split(edges):
        stops = tuple(stop for stop, spans in usable.items() if spans.holds(low, high))
        if found and found[-1].high_hz == low and found[-1].stops == stops:
            found[-1] = DepthSpan(low_hz=found[-1].low_hz, high_hz=high, stops=stops)
        else:
            found.append(DepthSpan(low_hz=low, high_hz=high, stops=stops))
    return tuple(found)


def common(usable: Sequence[IntervalSet]) -> IntervalSet:
    """Return the full intersection; empty for no stops and, often, over many large cities."""
    if not usable:
        return IntervalSet()
    found = usable[0]
    for spans in usable[1:]:
        found = found & spans
    return found


def stop_costs(usable: Mapping[str, IntervalSet]) -> dict[str, int]:
    """Return what each stop costs the route: common width gained if it were dropped [Hz].

    Parameters
    ----------
    usable : mapping of str to IntervalSet
        Usable spectrum of each stop.

    Notes
    -----
    The intersection of all others is built from running intersections from both ends, so
    the cost is linear in the number of stops.
    """
    ids = list(usable)
    sets = [usable[stop] for stop in ids]
    everything = common(sets).width_hz
    before: list[IntervalSet | None] = [None]
    for spans in sets[:-1]:
        last = before[-1]
        before.append(spans if last is None else last & spans)
    costs: dict[str, int] = {}
    after: IntervalSet | None = None
    for i in range(len(sets) - 1, -1, -1):
        left = before[i]
        parts = [part for part in (left, after) if part is not None]
        without = common(parts).width_hz if parts else 0
        costs[ids[i]] = without - everything if parts else 0
        after = sets[i] if after is None else after & sets[i]
    return {stop: costs[stop] for stop in ids}
