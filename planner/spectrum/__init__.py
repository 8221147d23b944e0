"""Common spectrum: interval sets in whole hertz, depth over the route."""

from planner.spectrum.depth import DepthSpan, common, depth, stop_costs
from planner.spectrum.grids import intersect_closed, meet
from planner.spectrum.intervals import IntervalSet, Span, shrink, split_spans

__all__ = [
    "DepthSpan",
    "IntervalSet",
    "Span",
    "common",
    "depth",
    "intersect_closed",
    "meet",
    "shrink",
    "split_spans",
    "stop_costs",
]
