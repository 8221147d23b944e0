"""What is in the air at a stop, and what of it a use may have: two answers, never one."""

from planner.occupancy.air import compute_occupancy
from planner.occupancy.chance import ChannelChances, channel_chances
from planner.occupancy.cleared import apply_clearances
from planner.occupancy.coverage import CoverageMap
from planner.occupancy.place import (
    VerdictAtRisk,
    error_km,
    place_points,
    place_reach,
    verdicts_at_risk,
)
from planner.occupancy.receiver import (
    CarrierLink,
    carrier_range_m,
    carrier_rise_db,
    floor_noise_figure_db,
    receiver_of,
    surroundings,
)
from planner.occupancy.records import AirSpan, ChannelOccupancy, Clearance, Occupancy, Reason
from planner.occupancy.usable import RangeWindows, account, compute_windows, use_of

__all__ = [
    "AirSpan",
    "CarrierLink",
    "ChannelChances",
    "ChannelOccupancy",
    "Clearance",
    "CoverageMap",
    "Occupancy",
    "RangeWindows",
    "Reason",
    "VerdictAtRisk",
    "account",
    "apply_clearances",
    "carrier_range_m",
    "carrier_rise_db",
    "channel_chances",
    "compute_occupancy",
    "compute_windows",
    "error_km",
    "floor_noise_figure_db",
    "place_points",
    "place_reach",
    "receiver_of",
    "surroundings",
    "use_of",
    "verdicts_at_risk",
]
