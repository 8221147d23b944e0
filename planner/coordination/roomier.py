"""Other sets of as many lines, for stops where spares are missing and nothing stands in for them.

What can stand in depends on where the lines are: of two sets with equally many lines one may
leave centres for stand-ins and the other none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.coordination.names import Names, deal_stop
from planner.coordination.pairs import pairs_too_near
from planner.coordination.search import Search
from planner.coordination.stand_ins import add_stand_ins, missing_of
from planner.coordination.stop_sets import orders_of
from planner.coordination.tasks import StopCarriers
from planner.coordination.uniform import uniform_start

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.coordination.names import Use
    from planner.coordination.tasks import LineKey, StopTask

_TRIES: dict[str, int] = {"glance": 0, "quick": 4, "normal": 6, "long": 24}
_STIRS = 100
"""How often each packing takes carriers out and refills."""


def roomier(
    task: StopTask, stop: StopCarriers, *, last: Mapping[LineKey, Use], effort: str
) -> StopCarriers:
    """Return a stop with fewer spares missing, where another set of its lines allows that.

    Parameters
    ----------
    task, stop : StopTask, StopCarriers
        What the stop asks for, and what was found, stand-ins included.
    last : mapping of (need, name) to Use
        What each name used at the last stop of the rig.
    effort : str
        How many other sets are tried.

    Returns
    -------
    StopCarriers
        The stop as it came, unless all of its lines stand, some spare is missing, no earlier plan
        is kept there, and a set tried has all lines too, fewer spares missing and no more
        performers whose two carriers are too near each other.
    """
    if not _may_change(task, stop):
        return stop
    names = [_names(task, need.name, last) for need in task.needs]
    best, near = stop, len(pairs_too_near(task, names, stop.carriers))
    for seed in range(1, _TRIES.get(effort, 0) + 1):
        carriers = _packed(task, names, seed=seed)
        if carriers is None or len(pairs_too_near(task, names, carriers)) > near:
            continue
        missing = missing_of(task, carriers)
        bare = StopCarriers(stop_id=task.stop_id, carriers=carriers, missing=missing)
        found = add_stand_ins(task, bare, last=last)
        if sum(found.missing.values()) < sum(best.missing.values()):
            best = found
        if not best.missing:
            break
    return best


def _may_change(task: StopTask, stop: StopCarriers) -> bool:
    lines = [(need.name, line) for need in task.needs for line in need.lines]
    return bool(
        stop.missing
        and not (task.keep or task.settled or any(need.two_way for need in task.needs))
        and all(key in stop.carriers for key in lines)
    )


def _packed(task: StopTask, names: list[Names], *, seed: int) -> dict[LineKey, Use] | None:
    """Return another set with all lines, dealt to names; None where none was found."""
    search = Search(orders_of(task, {}), task.fixed, company=task.company)
    begun = uniform_start(search, task.fixed, times=_STIRS, seed=seed)
    if begun is None:
        return None
    uses = {
        need.name: sorted(
            (need.use(row.range_key, row.frequency_hz, main=row.main) for row, _ in rows),
            key=lambda use: (use.frequency_hz, use.range_key),
        )
        for need, rows in zip(task.needs, search.carriers(begun[0]), strict=True)
    }
    carriers = deal_stop(names, uses, separation_hz=task.separation_hz)
    there = all((need.name, line) in carriers for need in task.needs for line in need.lines)
    return carriers if there else None


def _names(task: StopTask, need_name: str, last: Mapping[LineKey, Use]) -> Names:
    need = next(row for row in task.needs if row.name == need_name)
    return Names(
        need=need.name,
        lines=need.lines,
        spares=need.spares,
        units=need.units,
        pair_with=need.pair_with,
        last={name: use for (owner, name), use in last.items() if owner == need.name},
        widths_hz=need.widths_hz,
        channels_hz=task.channels_hz,
    )
