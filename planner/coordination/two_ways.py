"""Lines of two carriers, one each way: they have both or none."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.records.gear import RETURN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.names import Use
    from planner.coordination.tasks import LineKey, NeedTask, RoutePlan, StopCarriers, StopTask


def return_name(name: str) -> str:
    """Return how the way back of a need, or of a range, is called inside."""
    return name + RETURN


def is_return(name: str) -> bool:
    """Say whether a need or a range is a way back."""
    return name.endswith(RETURN)


def both_or_none(tasks: Sequence[StopTask], route: RoutePlan) -> RoutePlan:
    """Return the route with every line that has one way only taken off the air.

    Where one line lacks its way out and another its way back, what is left of the two becomes
    one line. What is missing is told of the need as a whole.
    """
    two_ways = {
        need.name.removesuffix(RETURN)
        for task in tasks
        for need in task.needs
        if is_return(need.name)
    }
    if not two_ways:
        return route
    return dataclasses.replace(
        route,
        stops=tuple(_folded(task, stop) for task, stop in zip(tasks, route.stops, strict=True)),
        legs=tuple(
            dataclasses.replace(
                leg,
                carriers={
                    (need, name): use
                    for (need, name), use in leg.carriers.items()
                    if need.removesuffix(RETURN) not in two_ways
                    or {
                        (need.removesuffix(RETURN), name),
                        (return_name(need.removesuffix(RETURN)), name),
                    }
                    <= set(leg.carriers)
                },
            )
            for leg in route.legs
        ),
    )


def _folded(task: StopTask, stop: StopCarriers) -> StopCarriers:
    carriers: dict[LineKey, Use] = dict(stop.carriers)
    stand_ins = dict(stop.stand_ins)
    missing = {name: count for name, count in stop.missing.items() if not is_return(name)}
    names = {need.name for need in task.needs}
    for need in task.needs:
        back = return_name(need.name)
        if back not in names:
            continue
        _join_halves(need, carriers)
        lacking = 0
        for name in need.every_name:
            keys = (need.name, name), (back, name)
            for key in keys:
                if not all(it in carriers for it in keys):
                    carriers.pop(key, None)
                    stand_ins.pop(key, None)
            lacking += keys[0] not in carriers and name in need.names
        missing.pop(need.name, None)
        if lacking:
            missing[need.name] = lacking
    # in one order, whichever way they were found: what is worked out from them later follows it
    order = [(need.name, name) for need in task.needs for name in need.every_name]
    return dataclasses.replace(
        stop,
        carriers={key: carriers[key] for key in order if key in carriers},
        missing=missing,
        stand_ins=stand_ins,
    )


def _join_halves(need: NeedTask, carriers: dict[LineKey, Use]) -> None:
    """Give the way back of a name that lacks its way out to one that lacks only that."""
    back = return_name(need.name)
    for name in need.names:
        if (need.name, name) not in carriers or (back, name) in carriers:
            continue
        for other in need.names:
            use = carriers.get((back, other))
            if use is None or (need.name, other) in carriers:
                continue
            if use.main or name in need.spares:
                carriers[back, name] = carriers.pop((back, other))
                break
