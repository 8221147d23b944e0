"""Which of a need's carriers had better be its spares: those away from its lines."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.standing import NOWHERE, channels_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.names import Use


def places_for_spares(
    carriers: Sequence[Use], spares: int, channels_hz: Sequence[tuple[int, int]]
) -> frozenset[int]:
    """Return which carriers to call spares, so that most lines have them in other TV channels.

    Parameters
    ----------
    carriers : sequence of Use
        All carriers of a need at a stop.
    spares : int
        How many of them are spares.
    channels_hz : sequence of (int, int)
        TV channels, ascending [Hz].

    Returns
    -------
    frozenset of int
        Places of ``spares`` carriers, those on centres for spares only among them as far as they
        go. No other choice has fewer pairs of a line and a spare in one channel (dynamic
        programming over the channels); on ties it takes the higher channels, and of a channel
        the higher carriers. Empty where there is nothing to choose.
    """
    if not channels_hz or not 0 < spares < len(carriers):
        return frozenset()
    frequencies = tuple(use.frequency_hz for use in carriers)
    return _places(frequencies, tuple(use.main for use in carriers), spares, tuple(channels_hz))


@functools.lru_cache(maxsize=512)
def _places(
    frequencies_hz: tuple[int, ...],
    mains: tuple[bool, ...],
    spares: int,
    channels_hz: tuple[tuple[int, int], ...],
) -> frozenset[int]:
    hz = np.array(frequencies_hz, dtype=np.int64)
    channel = channels_of(hz, channels_hz)
    # a carrier outside all channels shares its channel with nobody
    groups: dict[int, list[int]] = {}
    for place in np.argsort(hz, kind="stable").tolist():
        own = int(channel[place])
        groups.setdefault(own if own != NOWHERE else NOWHERE - 1 - place, []).append(place)
    members = [sorted(places, key=lambda place: mains[place]) for places in groups.values()]
    least = [sum(not mains[place] for place in places) for places in members]
    if sum(least) > spares:
        return frozenset()
    taken = _fewest_pairs([len(places) for places in members], least, spares)
    return frozenset(
        place
        for places, count, forced in zip(members, taken, least, strict=True)
        for place in (*places[:forced], *places[forced:][::-1][: count - forced])
    )


def _fewest_pairs(sizes: Sequence[int], least: Sequence[int], total: int) -> list[int]:
    """Split ``total`` spares over channels so that s (size - s) summed over them is least."""
    best: list[tuple[int, tuple[int, ...]] | None] = [(0, ()), *[None] * total]
    for size, forced in zip(sizes, least, strict=True):
        after: list[tuple[int, tuple[int, ...]] | None] = [None] * (total + 1)
        for used, known in enumerate(best):
            if known is None:
                continue
            for count in range(forced, min(size, total - used) + 1):
                pairs = known[0] + count * (size - count)
                old = after[used + count]
                if old is None or pairs < old[0]:
                    after[used + count] = (pairs, (*known[1], count))
        best = after
    found = best[total]
    return [0] * len(sizes) if found is None else list(found[1])
