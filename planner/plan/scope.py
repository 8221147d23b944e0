"""What of a tour holds at one stop, and how its spares are named."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.plan.hours import ever_together
from planner.spectrum import IntervalSet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.records import Assigned, FixedCarrier, Need, Other, Reserve, Stop, Tour

EXCLUDED = "excluded"
OTHER = "other"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ClosedSpan:
    """A span closed to our carriers at a stop, and by whom.

    Attributes
    ----------
    low_hz, high_hz : int
        Span [Hz].
    code : str
        ``"excluded"`` by the tour file, ``"other"`` by somebody else's use.
    text : str
        Why, in a few words.
    """

    low_hz: int
    high_hz: int
    code: str
    text: str


def serves(ids: Sequence[str], stop: Stop) -> bool:
    """Say whether a list of stop ids, where empty means every stop, names a stop."""
    return not ids or stop.id in ids


def closed_at(tour: Tour, stop: Stop) -> tuple[ClosedSpan, ...]:
    """Return what is closed to our carriers at a stop: exclusions, then others.

    What others use closes its span all day, as windows are those of a range and not of a need;
    only where its hours meet those of no need there, it closes nothing.
    """
    excludes = [
        *((low, high, "") for low, high in stop.exclude_hz),
        *(
            (row.low_hz, row.high_hz, row.reason)
            for row in tour.excludes
            if serves(row.stops, stop)
        ),
    ]
    return (
        *(
            ClosedSpan(
                low_hz=low,
                high_hz=high,
                code=EXCLUDED,
                text="closed by the tour file" + (f": {reason}" if reason else ""),
            )
            for low, high, reason in excludes
        ),
        *(
            ClosedSpan(
                low_hz=row.low_hz,
                high_hz=row.high_hz,
                code=OTHER,
                text=f"used by {row.owner} (other)"
                + (f", active {' to '.join(row.active)}, closed all day" if row.active else ""),
            )
            for row in others_at(tour, stop)
            if _meets_anybody(tour, stop, row)
        ),
    )


def _meets_anybody(tour: Tour, stop: Stop, row: Other) -> bool:
    """Say whether a use is ever on together with a need or a reserve of ours."""
    if not row.active or reserves_at(tour, stop):
        return True
    needs = [need for need in tour.needs if serves(need.stops, stop)]
    return not needs or any(ever_together(row.active, need.active) for need in needs)


def excluded_at(tour: Tour, stop: Stop) -> IntervalSet:
    """Return the spectrum closed to our carriers at a stop, by the user or by others."""
    return IntervalSet((row.low_hz, row.high_hz) for row in closed_at(tour, stop))


def others_at(tour: Tour, stop: Stop) -> tuple[Other, ...]:
    """Return what somebody else uses at a stop."""
    return tuple(row for row in tour.others if serves(row.stops, stop))


def assigned_at(tour: Tour, stop: Stop, need: Need) -> tuple[Assigned, ...]:
    """Return the assignments of a need at a stop; with one, only its frequencies may be used."""
    return tuple(row for row in tour.assigned if row.stop == stop.id and row.need == need.name)


def fixed_at(tour: Tour, stop: Stop) -> tuple[FixedCarrier, ...]:
    """Return the fixed carriers on the air at a stop."""
    return tuple(row for row in tour.fixed if serves(row.stops, stop))


def reserves_at(tour: Tour, stop: Stop) -> tuple[Reserve, ...]:
    """Return what is kept free at a stop for people who turn up."""
    return tuple(row for row in tour.reserves if serves(row.stops, stop))


def spare_names(need: Need) -> tuple[str, ...]:
    """Return the names of a need's spares."""
    return tuple(f"{need.name} spare {number + 1}" for number in range(need.spares))
