"""A whole route with spares of both grades: what is on together first, then what stands in."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination.cleanest import CLEANEST, Preference, cleaned
from planner.coordination.route import coordinate_route
from planner.coordination.stand_ins import with_stand_ins
from planner.coordination.two_ways import both_or_none

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.records import Effort
    from planner.coordination.tasks import NeedTask, RoutePlan, StopCarriers, StopTask


def plan_route(
    tasks: Sequence[StopTask], *, effort: Effort = "normal", preference: Preference = CLEANEST
) -> RoutePlan:
    """Choose carriers for every stop, move them to clean centres, and find what stands in.

    Parameters
    ----------
    tasks : sequence of StopTask
        In route order; rigs may alternate.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``.
    preference : Preference
        What is clean.

    Returns
    -------
    RoutePlan
        As :func:`planner.coordination.route.coordinate_route`, and with spares that stand in:
        those asked for as such, and others where spares that may all be on do not fit. Stops
        leave room for the former as if all were on together where that takes no carrier from
        anybody, so that one spare covers many lines.
    """
    roomy = [_roomy(task) for task in tasks]
    route = coordinate_route(roomy, effort=effort)
    if any(_costs(task, stop) for task, stop in zip(tasks, route.stops, strict=True)):
        roomy = [
            task if _costs(task, stop) else more
            for task, more, stop in zip(tasks, roomy, route.stops, strict=True)
        ]
        route = coordinate_route(roomy, effort=effort)
    # what has one way only goes off the air before anything is fitted beside it
    route = both_or_none(roomy, cleaned(roomy, route, preference=preference, effort=effort))
    stops = tuple(
        dataclasses.replace(
            stop,
            carriers={
                key: use for key, use in stop.carriers.items() if key not in _stand_ins(task)
            },
        )
        for task, stop in zip(tasks, route.stops, strict=True)
    )
    legs = tuple(
        dataclasses.replace(
            leg,
            carriers={
                key: use
                for key, use in leg.carriers.items()
                if not any(
                    key in _stand_ins(task) for task in tasks if task.stop_id in leg.stop_ids
                )
            },
        )
        for leg in route.legs
    )
    return with_stand_ins(tasks, dataclasses.replace(route, stops=stops, legs=legs))


def _stand_ins(task: StopTask) -> set[tuple[str, str]]:
    return {(need.name, name) for need in task.needs for name in need.stand_ins}


def _roomy(task: StopTask) -> StopTask:
    """Return a task that asks for stand-ins as for full spares; not where a plan is kept."""
    if task.keep or not any(need.stand_ins for need in task.needs):
        return task
    return dataclasses.replace(task, needs=tuple(_roomy_need(need) for need in task.needs))


def _roomy_need(need: NeedTask) -> NeedTask:
    if not need.stand_ins:
        return need
    more = len(need.stand_ins)
    return dataclasses.replace(
        need,
        spares=(*need.spares, *need.stand_ins),
        stand_ins=(),
        limit=None,
        choices=tuple(
            choice if choice.most is None else dataclasses.replace(choice, most=choice.most + more)
            for choice in need.choices
        ),
    )


def _costs(task: StopTask, stop: StopCarriers) -> bool:
    """Say whether a stop with stand-ins lacks anything that all have to be on for."""
    return any(need.stand_ins for need in task.needs) and any(
        (need.name, name) not in stop.carriers for need in task.needs for name in need.names
    )
