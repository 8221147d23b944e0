"""Which stations count: on the air, valid on the day, television, inside the curves."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength import r6602

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.records import StationTable, Stop

    BoolColumn = npt.NDArray[np.bool_]

TV_SERVICES = ("full", "class-a", "low-power", "translator", "booster")
"""Services whose contours the microphone rules protect."""
ON_AIR_STATUS = ("on-air", "permit")
"""Statuses that count as transmitting during the tour."""


def is_tv(stations: StationTable) -> BoolColumn:
    """Say which stations are TV: a TV service, or an unnamed one on a TV channel."""
    named = np.isin(stations.service, TV_SERVICES)
    unnamed = np.isin(stations.service, ("", "other")) & (stations.channel != "")
    return np.asarray(named | unnamed, dtype=np.bool_)


def counts_as_transmitting(stations: StationTable) -> BoolColumn:
    """Say which rows are on the air or have a permit."""
    return np.isin(stations.status, ON_AIR_STATUS)


def valid_at(stations: StationTable, stops: Sequence[Stop]) -> BoolColumn:
    """Say for every stop and station whether the row is valid on a day of the stop, (m, n)."""
    first = np.array([stop.first_date for stop in stops], dtype="datetime64[D]")[:, None]
    last = np.array([stop.last_date for stop in stops], dtype="datetime64[D]")[:, None]
    begun = np.isnat(stations.valid_from) | (stations.valid_from <= last)
    not_over = np.isnat(stations.valid_to) | (first <= stations.valid_to)
    return np.asarray(begun & not_over, dtype=np.bool_)


def in_curves(stations: StationTable) -> BoolColumn:
    """Say which stations lie in the frequency range of the FCC curves."""
    centre_hz = (stations.low_hz + stations.high_hz) // 2
    return np.asarray(
        (centre_hz >= r6602.LOWEST_HZ) & (centre_hz <= r6602.HIGHEST_HZ), dtype=np.bool_
    )
