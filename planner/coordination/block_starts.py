"""Where blocks might stand so that they leave the most for others: a few starts for a search."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.records import Wish

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from planner.coordination.tasks import NeedTask, StopTask

STARTS = 6
"""Starts tried where a stop with blocks is short."""
_MOST_PLACES = 400
"""Places of a block that are weighed; where there are more, evenly spread ones."""


def block_starts(task: StopTask) -> Iterator[dict[str, tuple[Wish, ...]]]:
    """Yield places for all blocks of a stop, as wishes, those that cost others least first.

    Parameters
    ----------
    task : StopTask
        What the stop asks for.

    Notes
    -----
    A place costs each need of carriers that share of its centres that the block closes, times the
    carriers it wants. The first start takes the cheapest place for each block in turn, as far from
    the blocks before as they must be; the second begins with the second cheapest place, and so on.
    At most :data:`STARTS`, none where the stop asks for no block.
    """
    blocks = [need for need in task.needs if need.holds]
    if not blocks:
        return
    places = {need.name: _places(task, need) for need in blocks}
    seen = set()
    for first in range(STARTS):
        found = _greedy(task, blocks, places, first)
        key = tuple(sorted((name, tuple(hz)) for name, hz in found.items()))
        if key in seen:
            continue
        seen.add(key)
        yield {
            need.name: tuple(
                Wish(range_key=need.choices[0].range_key, frequency_hz=hz)
                for hz in found[need.name][: len(need.lines)]
            )
            + tuple(
                Wish(range_key=need.choices[0].range_key, frequency_hz=hz, spare=True)
                for hz in found[need.name][len(need.lines) :]
            )
            for need in blocks
        }


def _greedy(
    task: StopTask, blocks: list[NeedTask], places: dict[str, NDArray[np.int64]], first: int
) -> dict[str, list[int]]:
    """Return the middles taken for each need's blocks, the cheapest that is free each time."""
    found: dict[str, list[int]] = {need.name: [] for need in blocks}
    taken: list[tuple[int, int]] = []
    skip = first
    for need in blocks:
        for _ in need.names:
            free = [
                hz
                for hz in places[need.name].tolist()
                if all(
                    abs(hz - other) >= task.company.separation_hz(need.group, group)
                    for other, group in taken
                )
            ]
            if not free:
                break
            hz = free[min(skip, len(free) - 1)]
            skip = 0
            found[need.name].append(hz)
            taken.append((hz, need.group))
    return found


def _places(task: StopTask, need: NeedTask) -> NDArray[np.int64]:
    """Return the middles that a need's blocks may have, those that cost others least first."""
    choice = need.choices[0]
    middles = choice.grid.points()
    if middles.size > _MOST_PLACES:
        middles = middles[np.linspace(0, middles.size - 1, _MOST_PLACES).astype(np.int64)]
    for carrier in task.fixed:
        apart = max(
            task.company.separation_hz(need.group, carrier.group),
            carrier.guards.spacing_hz,
            choice.guards.spacing_hz,
        )
        if task.company.together((need.group, carrier.group)):
            middles = middles[np.abs(middles - carrier.frequency_hz) >= apart]
    cost = np.zeros(middles.size)
    for other in task.needs:
        if other.holds or not task.company.together((need.group, other.group)):
            continue
        centres = np.unique(np.concatenate([row.grid.points() for row in other.choices]))
        apart = task.company.separation_hz(need.group, other.group)
        closed = np.searchsorted(centres, middles + apart) - np.searchsorted(
            centres, middles - apart, side="right"
        )
        cost += len(other.names) * closed / max(1, centres.size)
    return np.asarray(middles[np.argsort(cost, kind="stable")], dtype=np.int64)
