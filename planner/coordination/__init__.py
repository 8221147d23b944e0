"""Coordination: carriers that keep spacing, and keep their products off each other."""

from planner.coordination.bounds import upper_bound
from planner.coordination.company import TOGETHER, Company, Group
from planner.coordination.counting import count_fit
from planner.coordination.first_fit import coordinate
from planner.coordination.nearest import nearest_products
from planner.coordination.packing import DEFAULT_STEPS, Packing, pack_carriers, prepare
from planner.coordination.records import (
    Chassis,
    Choice,
    Chosen,
    Coordination,
    Effort,
    Filled,
    FitCount,
    Grid,
    GuardSet,
    NearestProduct,
    Order,
    PlacedCarrier,
    Violation,
    Wish,
)
from planner.coordination.search import Budget
from planner.coordination.stop_bounds import CommonLimit, StopLimits, stop_limits
from planner.coordination.verify import BrokenSet, require_sound, violations

__all__ = [
    "DEFAULT_STEPS",
    "TOGETHER",
    "BrokenSet",
    "Budget",
    "Chassis",
    "Choice",
    "Chosen",
    "CommonLimit",
    "Company",
    "Coordination",
    "Effort",
    "Filled",
    "FitCount",
    "Grid",
    "Group",
    "GuardSet",
    "NearestProduct",
    "Order",
    "Packing",
    "PlacedCarrier",
    "StopLimits",
    "Violation",
    "Wish",
    "coordinate",
    "count_fit",
    "nearest_products",
    "pack_carriers",
    "prepare",
    "require_sound",
    "stop_limits",
    "upper_bound",
    "violations",
]
