"""What an earlier plan set, matched to the stops of this one."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.records import Stop

_PLACE_DECIMALS = 4
"""Coordinates that agree to 1e-4 deg are one place."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Previous:
    """An earlier plan document to follow.

    Attributes
    ----------
    document : mapping
        The plan.
    unchanged : bool
        True when the same version made it from the very same inputs: its carriers are taken
        over as they are.
    """

    document: Mapping[str, Any]
    unchanged: bool = False


def kept_carriers(
    previous: Mapping[str, Any], stops: Sequence[Stop]
) -> dict[str, dict[tuple[str, str], int]]:
    """Return, by stop id of the new tour, the carriers of the earlier plan.

    Parameters
    ----------
    previous : mapping
        An earlier plan document.
    stops : sequence of Stop
        Stops of the new tour, in route order.

    Notes
    -----
    A stop is the same when country and coordinates (to 1e-4 deg) agree, n-th visit to n-th
    visit, whatever its date.
    """
    visits: dict[tuple[str, float, float], list[dict[tuple[str, str], int]]] = {}
    for stop in previous["stops"]:
        place = _place(stop["country"], stop["lat_deg"], stop["lon_deg"])
        visits.setdefault(place, []).append(
            {
                (row["need"], row["name"]): mhz_to_hz(row["frequency_mhz"])
                for row in stop["carriers"]
                if not row["fixed"]
            }
        )
    found = {}
    for stop in stops:
        waiting = visits.get(_place(stop.country, stop.lat_deg, stop.lon_deg))
        if waiting:
            found[stop.id] = waiting.pop(0)
    return found


def _place(country: str, lat_deg: float, lon_deg: float) -> tuple[str, float, float]:
    return country, round(lat_deg, _PLACE_DECIMALS), round(lon_deg, _PLACE_DECIMALS)
