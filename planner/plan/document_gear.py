"""What a request for frequencies must say of the catalogue's ranges, in the plan document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.units import hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.records import GearRange


def gear_document(gear: Sequence[GearRange]) -> dict[str, dict[str, Any]]:
    """Return every range of the catalogue by its key, as far as a request must say it.

    Parameters
    ----------
    gear : sequence of GearRange
        The catalogue, in its order.
    """
    return {
        row.key: {
            "family": row.family,
            "mode": row.mode or None,
            "role": row.role,
            "form": row.form or None,
            "low_mhz": hz_to_mhz(row.low_hz),
            "high_mhz": hz_to_mhz(row.high_hz),
            "pieces_mhz": [[hz_to_mhz(low), hz_to_mhz(high)] for low, high in row.pieces_hz],
            "tuning_origin_mhz": hz_to_mhz(row.tuning_origin_hz),
            "step_khz": row.step_hz / 1000,
            "bandwidth_khz": row.bandwidth_hz / 1000,
            "spacing_khz": row.spacing_hz / 1000,
            "modulation": row.modulation or None,
            "powers_mw": list(row.powers_mw),
            "power_kind": row.power_kind,
            "links_per_block": row.links_per_block,
            "duplex_low_mhz": None if row.duplex_low_hz is None else hz_to_mhz(row.duplex_low_hz),
            "duplex_high_mhz": (
                None if row.duplex_high_hz is None else hz_to_mhz(row.duplex_high_hz)
            ),
        }
        for row in gear
    }
