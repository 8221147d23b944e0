"""What a whole TV channel is told as: the best verdict in it, with the reasons of every part."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.occupancy.records import AIR_ORDER, AirSpan, Reason
from planner.spectrum import IntervalSet

if TYPE_CHECKING:
    from collections.abc import Sequence

_CARRIER_HZ = 200_000
"""Width of the carrier that a channel's best verdict is told for [Hz]."""


def best_part(parts: Sequence[AirSpan]) -> AirSpan:
    """Return the part with the best verdict that a whole 200 kHz carrier finds."""
    for word in reversed(AIR_ORDER):
        good = [part for part in parts if AIR_ORDER.index(part.air) >= AIR_ORDER.index(word)]
        for low, high in IntervalSet((part.low_hz, part.high_hz) for part in good):
            if high - low >= _CARRIER_HZ:
                inside = [part for part in good if low <= part.low_hz and part.high_hz <= high]
                return min(inside, key=lambda part: AIR_ORDER.index(part.air))
    return min(parts, key=lambda part: AIR_ORDER.index(part.air))


def channel_reasons(best: AirSpan, parts: Sequence[AirSpan]) -> tuple[Reason, ...]:
    """Return the reasons of the deciding part, then those of parts that are judged otherwise."""
    others = [
        Reason(
            code=reason.code,
            text=f"{part.low_hz / 1e6:g}-{part.high_hz / 1e6:g} MHz {part.air}: {reason.text}",
            station_id=reason.station_id,
        )
        for part in parts
        if part.air != best.air
        for reason in part.reasons
    ]
    return (*best.reasons, *others)
