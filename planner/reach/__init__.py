"""What reaches each stop: fields, contours, power toward the stop; over stops x stations."""

from planner.reach.heights import assumed_haat_m
from planner.reach.selection import ON_AIR_STATUS, counts_as_transmitting, is_tv, valid_at
from planner.reach.table import MODEL_LIMIT_KM, ReachTable, compute_reach

__all__ = [
    "MODEL_LIMIT_KM",
    "ON_AIR_STATUS",
    "ReachTable",
    "assumed_haat_m",
    "compute_reach",
    "counts_as_transmitting",
    "is_tv",
    "valid_at",
]
