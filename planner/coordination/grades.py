"""A whole route with spares of both grades: what is on together first, then what stands in."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination.cleanest import CLEANEST, Preference, cleaned
from planner.coordination.roomier import roomier
from planner.coordination.route import coordinate_route, legs_of
from planner.coordination.stand_ins import add_stand_ins
from planner.coordination.two_ways import both_or_none

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.names import Use
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
    return with_stand_ins(tasks, dataclasses.replace(route, stops=stops), effort=effort)


def with_stand_ins(
    tasks: Sequence[StopTask], route: RoutePlan, *, effort: Effort = "glance"
) -> RoutePlan:
    """Return the route with the spares that stand in at every stop.

    Parameters
    ----------
    tasks, route : sequence of StopTask, RoutePlan
        What was asked, and the carriers that are all on together.
    effort : str
        How long other sets are tried where spares are still missing
        (:mod:`planner.coordination.roomier`).
    """
    last: dict[tuple[str, str, str], Use] = {}
    stops: dict[str, StopCarriers] = {}
    for task, stop in zip(tasks, route.stops, strict=True):
        before = {(need, name): use for (rig, need, name), use in last.items() if rig == task.rig}
        found = add_stand_ins(task, stop, last=before)
        found = roomier(task, found, last=before, effort=effort)
        last.update({(task.rig, *key): use for key, use in found.carriers.items()})
        stops[task.stop_id] = found
    legs = [
        leg
        for rig in dict.fromkeys(task.rig for task in tasks)
        for leg in legs_of([_together(stops[task.stop_id]) for task in tasks if task.rig == rig])
    ]
    return dataclasses.replace(route, stops=tuple(stops.values()), legs=tuple(legs))


def _together(stop: StopCarriers) -> StopCarriers:
    """Return a stop without its stand-ins."""
    alone = {key: use for key, use in stop.carriers.items() if key not in stop.stand_ins}
    return dataclasses.replace(stop, carriers=alone)


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
