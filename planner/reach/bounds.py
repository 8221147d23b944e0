"""The other bound of what reaches the stops where heights had to be assumed: level ground."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.reach.table import compute_reach

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.reach.table import ReachTable
    from planner.records import StationTable, Stop
    from planner.rules import CountryRules

_LOWER = (
    "haat_m",
    "field_50_50_dbuv_m",
    "field_50_10_dbuv_m",
    "field_interference_dbuv_m",
    "contour_law_km",
    "contour_cautious_km",
)
_HIGHER = ("outside_law_km", "outside_cautious_km")


def level_ground_reach(
    stops: Sequence[Stop],
    stations: StationTable,
    rules: Sequence[CountryRules],
    reach: ReachTable,
) -> ReachTable:
    """Return a reach table as if every mast without a HAAT stood on level ground.

    Parameters
    ----------
    stops, stations, rules : sequence of Stop, StationTable, sequence of CountryRules
        What the table was computed from.
    reach : ReachTable
        :func:`planner.reach.compute_reach` with the cautious heights.

    Returns
    -------
    ReachTable
        The same rows in the same order; the table itself where no height was assumed. Heights,
        fields and contours of the rows with ``haat_assumed`` are those of level ground, never
        more than the cautious ones; distances outside a contour never less. ``polygon`` and the
        radii stay the cautious ones.
    """
    if not reach.haat_assumed.any():
        return reach
    lacking = np.zeros(len(stations), dtype=np.bool_)
    lacking[reach.station[reach.haat_assumed]] = True
    groups = np.unique(stations.group_id[lacking & (stations.group_id != "")])
    lacking |= np.isin(stations.group_id, groups)  # their contours are united
    alone = dataclasses.replace(stations, status=np.where(lacking, stations.status, "off"))
    level = compute_reach(
        stops,
        alone,
        rules,
        level_ground=True,
        field_model=reach.field_model,
        interference_time_percent=reach.interference_time_percent,
    )
    rows = np.searchsorted(_key(reach.stop, reach.station), _key(level.stop, level.station))
    changed = {}
    for names, closer in ((_LOWER, np.fmin), (_HIGHER, np.fmax)):
        for name in names:
            column = getattr(reach, name).copy()
            column[rows] = closer(column[rows], getattr(level, name))
            changed[name] = column
    return dataclasses.replace(reach, **changed)


def _key(stop: npt.NDArray[np.int64], station: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Return one ascending number for each row of a reach table."""
    return stop * np.int64(1 << 32) + station
