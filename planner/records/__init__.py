"""The frozen records that the stages hand to each other."""

from planner.records.gear import GearRange
from planner.records.permissions import Area, Permission
from planner.records.statements import Assigned, Cleared, Other, Owned, Reserve, ZonePair
from planner.records.stations import Coverage, StationTable
from planner.records.tour import (
    Exclude,
    FixedCarrier,
    Licence,
    Need,
    Settings,
    Stop,
    Tour,
)

__all__ = [
    "Area",
    "Assigned",
    "Cleared",
    "Coverage",
    "Exclude",
    "FixedCarrier",
    "GearRange",
    "Licence",
    "Need",
    "Other",
    "Owned",
    "Permission",
    "Reserve",
    "Settings",
    "StationTable",
    "Stop",
    "Tour",
    "ZonePair",
]
