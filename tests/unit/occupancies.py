"""Occupancies of a few TV channels written down by hand, without stations or curves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.occupancy import AirSpan, ChannelOccupancy, Occupancy, Reason
from planner.records import Cleared, Licence
from planner.rules import StopFacts
from tests.unit.builders import DATE, US_CHANNELS

if TYPE_CHECKING:
    from collections.abc import Mapping

PART_74 = Licence(country="US", kind="part-74", holder="Rig Hire")
AIR = {20: "held", 21: "unlisted", 22: "faint", 23: "quiet"}
"""Channels 506-530 MHz."""
RISE_DB = {"held": 20.0, "unlisted": None, "faint": 7.5, "quiet": 0.3}


def by_hand(air: Mapping[int, str] | None = None, **facts: Any) -> Occupancy:
    """Return an occupancy; channel 20 is held by a contour unless the facts say otherwise."""
    spans, channels = [], []
    for number, word in (air or AIR).items():
        low, high = US_CHANNELS[number], US_CHANNELS[number] + 6_000_000
        reasons = (Reason(code="invented", text=f"{word} by invention"),)
        values = {"low_hz": low, "high_hz": high, "air": word, "coverage": "full"}
        spans.append(
            AirSpan(
                **values,  # type: ignore[arg-type]
                table_possible=True,
                noise_rise_db=RISE_DB[word],
                reasons=reasons,
            )
        )
        channels.append(
            ChannelOccupancy(
                **values,  # type: ignore[arg-type]
                label=str(number),
                reasons=reasons,
                noise_rise_least_db=RISE_DB[word],
                noise_rise_most_db=RISE_DB[word],
                rows=(),
                others=0,
            )
        )
    given: dict[str, Any] = {
        "country": "US",
        "lat_deg": 39.0,
        "lon_deg": -99.0,
        "protected": {"20": "within 4 km of or inside the contour of Invented"},
        "licences": (),
    }
    return Occupancy(
        stop_id="here",
        spans=tuple(spans),
        channels=tuple(channels),
        facts=StopFacts(**{**given, **facts}),
    )


def cleared(low_mhz: float, high_mhz: float, **more: Any) -> Cleared:
    """Return a cleared span of the stop of the builders, by agreement."""
    values: dict[str, Any] = {
        "stop": "here",
        "low_hz": round(low_mhz * 1e6),
        "high_hz": round(high_mhz * 1e6),
        "basis": "agreement",
        "date": DATE,
        "by": "A. Neighbour",
    }
    return Cleared(**{**values, **more})


def measured(low_mhz: float, high_mhz: float, level_dbm: float | None, **more: Any) -> Cleared:
    """Return a span cleared by a measurement."""
    return cleared(low_mhz, high_mhz, basis="on-site measurement", level_dbm=level_dbm, **more)
