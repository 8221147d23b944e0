"""What of a tour holds at one stop, and how its spares are named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.spectrum import IntervalSet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.records import FixedCarrier, Need, Stop, Tour


def serves(ids: Sequence[str], stop: Stop) -> bool:
    """Say whether a list of stop ids, where empty means every stop, names a stop."""
    return not ids or stop.id in ids


def excluded_at(tour: Tour, stop: Stop) -> IntervalSet:
    """Return what the user closed at a stop."""
    return IntervalSet(
        (
            *stop.exclude_hz,
            *((row.low_hz, row.high_hz) for row in tour.excludes if serves(row.stops, stop)),
        )
    )


def fixed_at(tour: Tour, stop: Stop) -> tuple[FixedCarrier, ...]:
    """Return the fixed carriers on the air at a stop."""
    return tuple(row for row in tour.fixed if serves(row.stops, stop))


def spare_names(need: Need) -> tuple[str, ...]:
    """Return the names of a need's spares."""
    return tuple(f"{need.name} spare {number + 1}" for number in range(need.spares))
