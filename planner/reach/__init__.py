"""What reaches each stop: fields, contours, power toward the stop; over stops x stations."""

from planner.reach.bounds import level_ground_reach
from planner.reach.by_p1546 import stops_by_p1546
from planner.reach.heights import assumed_haat_m
from planner.reach.selection import ON_AIR_STATUS, counts_as_transmitting, is_tv, valid_at
from planner.reach.table import MODEL_LIMIT_KM, ReachTable, compute_reach
from planner.reach.terrain import with_terrain

__all__ = [
    "MODEL_LIMIT_KM",
    "ON_AIR_STATUS",
    "ReachTable",
    "assumed_haat_m",
    "compute_reach",
    "counts_as_transmitting",
    "is_tv",
    "level_ground_reach",
    "stops_by_p1546",
    "valid_at",
    "with_terrain",
]
