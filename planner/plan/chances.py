"""Chances: of each channel to be clear, and of a combination to serve all needs at all stops."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.occupancy import ChannelChances, channel_chances
from planner.plan.scope import serves

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from planner.joint.records import Combination
    from planner.occupancy import Occupancy, RangeWindows
    from planner.plan.tasks import Scene
    from planner.ranking import RangeCount
    from planner.rules import TvChannel
    from planner.spectrum import Span

    Shares = npt.NDArray[np.float64]

CROWDING = 0.6
"""Carriers found grow with the width of clear spectrum to this power: products crowd it. Fitted
to true counting on large cities, see ``tests/bench/chance_short_cut.py``."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PlanChances:
    """Chances of a plan.

    Attributes
    ----------
    channels : tuple of ChannelChances
        One a stop.
    all_stops : tuple of (float or None)
        By combination: share of the draws in which every need is met at every stop planned; None
        without a stop.
    """

    channels: tuple[ChannelChances, ...]
    all_stops: tuple[float | None, ...]


def plan_chances(
    scene: Scene,
    counts: Mapping[tuple[str, str], RangeCount],
    combinations: Sequence[Combination],
    *,
    assigned: frozenset[tuple[str, str]],
) -> PlanChances:
    """Return the chances of all channels and combinations.

    Parameters
    ----------
    scene : Scene
        Stops, air and windows.
    counts : mapping of (range key, stop id)
        What each range found alone; looked up, nothing is searched again.
    combinations : sequence of Combination
        With their headrooms as predicted.
    assigned : frozenset of (stop id, need)
        Needs that are served by assigned frequencies: they stand or fall as predicted.

    Notes
    -----
    A short cut: in each draw a need finds as many carriers as it was predicted to find together
    with all others, times ``share ** 0.6``, where ``share`` is what the ranges' own counts have
    in the channels that are clear in the draw, over what they have as predicted. A channel that
    only the draw makes clear counts by the width of its windows. The law is the same in all draws.
    """
    channels = tuple(
        channel_chances(row, limit_db=scene.tour.settings.noise_rise_limit_db)
        for row in scene.occupancies
    )
    known: dict[tuple[int, tuple[str, ...]], Shares] = {}

    def share(index: int, keys: tuple[str, ...]) -> Shares:
        if (index, keys) not in known:
            known[index, keys] = _share(scene, counts, index, keys=keys, chances=channels[index])
        return known[index, keys]

    found: list[float | None] = []
    for row in combinations:
        met = np.ones(1, dtype=bool)
        for index, stop in enumerate(scene.stops):
            for need in scene.tour.needs:
                heads = row.headrooms.get(stop.id, {})
                if need.name not in heads or not serves(need.stops, stop):
                    continue
                wanted = need.count + need.full_spares
                if (stop.id, need.name) in assigned:
                    met = met & (heads[need.name] >= 0)
                    continue
                capacity = (wanted + heads[need.name]) * share(
                    index, tuple(row.ranges[need.name])
                ) ** CROWDING
                met = met & (np.floor(capacity + 1e-9) >= wanted)
        found.append(float(met.mean()) if scene.stops else None)
    return PlanChances(channels=channels, all_stops=tuple(found))


def _share(
    scene: Scene,
    counts: Mapping[tuple[str, str], RangeCount],
    index: int,
    *,
    keys: tuple[str, ...],
    chances: ChannelChances,
) -> Shares:
    """Return, for each draw, the carriers of some ranges over those predicted; 1 where all stay."""
    stop = scene.stops[index]
    before, now = 0.0, np.zeros(1)
    for key in keys:
        table = channel_table(
            counts[key, stop.id],
            scene.windows[key, stop.id],
            scene.occupancies[index],
            raster=scene.rules[index].raster,
        )
        for label, (predicted, gained) in table.items():
            before += predicted
            clear = chances.clear.get(label)
            if clear is None or scene.tour.settings.use_faint == "all":
                now = now + predicted
            else:
                now = now + (predicted + gained) * clear
    return now / before if before else np.ones(1)


def channel_table(
    count: RangeCount,
    windows: RangeWindows,
    occupancy: Occupancy,
    *,
    raster: Sequence[TvChannel],
) -> dict[str, tuple[float, float]]:
    """Return how many carriers of a range each channel holds.

    Parameters
    ----------
    count, windows : RangeCount, RangeWindows
        Of the range at the stop.
    occupancy, raster : Occupancy, sequence of TvChannel
        The stop's channels.

    Returns
    -------
    dict of str to (float, float)
        By channel label, ``""`` outside all channels: carriers found in clear windows, and those
        that a faint channel would add if it were clear, by the carriers per hertz of the range.
    """
    labels = {row.label for row in occupancy.channels}
    spans = {row.label: (row.low_hz, row.high_hz) for row in raster if row.label in labels}
    width_hz = sum(high - low for low, high in windows.clear_hz)
    per_hz = len(count.clear_hz) / width_hz if width_hz else 0.0
    table: dict[str, tuple[float, float]] = {}
    for label, span in spans.items():
        inside = sum(span[0] <= hz < span[1] for hz in count.clear_hz)
        clear_hz, faint_hz = (_width_hz(row, span) for row in (windows.clear_hz, windows.faint_hz))
        gained = 0.0 if clear_hz else per_hz * faint_hz
        if inside or gained:
            table[label] = (float(inside), gained)
    elsewhere = len(count.clear_hz) - sum(row[0] for row in table.values())
    if elsewhere:
        table[""] = (float(elsewhere), 0.0)
    return table


def _width_hz(windows: Sequence[Span], span: Span) -> int:
    return sum(max(0, min(high, span[1]) - max(low, span[0])) for low, high in windows)
