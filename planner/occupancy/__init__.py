"""What is in the air at a stop, and what of it a use may have: two answers, never one."""

from planner.occupancy.air import compute_occupancy
from planner.occupancy.coverage import CoverageMap
from planner.occupancy.records import AirSpan, ChannelOccupancy, Occupancy, Reason
from planner.occupancy.usable import RangeWindows, account, compute_windows, use_of

__all__ = [
    "AirSpan",
    "ChannelOccupancy",
    "CoverageMap",
    "Occupancy",
    "RangeWindows",
    "Reason",
    "account",
    "compute_occupancy",
    "compute_windows",
    "use_of",
]
