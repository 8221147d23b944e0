"""Which ranges serve the needs, and which carriers: ranking, joint choice, route."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination.grades import plan_route
from planner.coordination.route import coordinate_route
from planner.coordination.two_ways import both_or_none
from planner.joint import JointChoice, Question, as_planned, choose_after
from planner.occupancy import floor_noise_figure_db, surroundings
from planner.plan.blocks import in_links
from planner.plan.duplex import single_range
from planner.plan.previous import kept_stops
from planner.plan.retunes import RetuneCounter, StopRetunes
from planner.plan.scope import serves
from planner.plan.tasks import Scene, TaskMaker
from planner.ranking import NOISE_STEP_DB, considered, rank_need

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination.records import Effort
    from planner.coordination.tasks import RoutePlan, StopTask
    from planner.plan.assignments import AssignedPoints
    from planner.plan.previous import Previous
    from planner.ranking import RangeCount, RankedRange
    from planner.records import GearRange, Stop


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Chosen:
    """Ranges and carriers of a tour.

    Attributes
    ----------
    ranking : mapping of str to tuple of RankedRange
        By need, each range alone.
    joint, choice : JointChoice, mapping of str to tuple of GearRange
        Combinations over all needs; the ranges of each need in the first.
    assigned : mapping of (stop id, need) to tuple of AssignedPoints
        Frequencies assigned, judged for each range of the choice.
    maker : TaskMaker
        Makes the task of any stop for any ranges.
    tasks, route, retunes : tuple of StopTask, RoutePlan, tuple of StopRetunes
        What each stop asked for; carriers, legs, steps; what is retuned.
    """

    ranking: Mapping[str, tuple[RankedRange, ...]]
    joint: JointChoice
    choice: Mapping[str, tuple[GearRange, ...]]
    assigned: Mapping[tuple[str, str], tuple[AssignedPoints, ...]]
    maker: TaskMaker
    tasks: tuple[StopTask, ...]
    route: RoutePlan
    retunes: tuple[StopRetunes, ...]


def choose_all(
    scene: Scene,
    counts: Mapping[tuple[str, str], RangeCount],
    *,
    effort: Effort,
    previous: Previous | None,
) -> Chosen:
    """Rank the ranges of each need, choose for all needs together, coordinate the route.

    Parameters
    ----------
    scene : Scene
        What is known of the tour.
    counts : mapping of (range key, stop id)
        Found and bound of each range alone.
    effort : Effort
        Of every coordination.
    previous : Previous or None
        An earlier plan whose carriers are kept where they still stand.
    """
    tour, maker, counter = scene.tour, TaskMaker(scene), RetuneCounter()
    own_counts = {
        need.name: {
            **counts,
            **maker.assigned_counts(
                need, [row.key for row in considered(need, scene.gear)], effort=effort
            ),
        }
        for need in tour.needs
    }
    maker.learn(own_counts)
    lifted = _noise_over_db(scene)
    ranking = {
        need.name: rank_need(
            need,
            considered(need, scene.gear),
            [stop for stop in scene.stops if serves(need.stops, stop)],
            counts=own_counts[need.name],
            windows=scene.windows,
            owned={row.range_key: row.receivers for row in tour.owned},
            noise_over_db=lifted,
        )
        for need in tour.needs
    }

    def tasks_for(ranges: Mapping[str, Sequence[str]]) -> tuple[StopTask, ...]:
        return tuple(maker.task(index, ranges) for index in range(len(scene.stops)))

    def retunes_of(ranges: Mapping[str, tuple[str, ...]]) -> tuple[int, int]:
        tasks = tasks_for(ranges)
        found = counter.count(tasks, coordinate_route(tasks, effort="glance"))
        return sum(row.lines for row in found), sum(row.bound for row in found)

    earlier = previous.document.get("choice") if previous is not None else None
    joint = choose_after(
        Question(
            needs=tuple(
                single_range(need, considered(need, scene.gear))
                for need in tour.needs
                if ranking[need.name]
            ),
            stops=scene.stops,
            ranking=ranking,
            counts=own_counts,
            task=maker.task,
            retunes=retunes_of,
            owned={row.range_key: row.receivers for row in tour.owned},
            available={row.key: row.available for row in scene.gear if row.available is not None},
            noise_steps={key: int(over_db // NOISE_STEP_DB) for key, over_db in lifted.items()},
            told_later=True,
        ),
        earlier if isinstance(earlier, dict) else {},
        effort=effort,
    )
    ranges = joint.combinations[0].ranges if joint.combinations else {}
    tasks = tuple(
        dataclasses.replace(
            task,
            known={
                filled.name: filled.carriers
                for filled in (joint.found[task.stop_id].filled if joint.found else ())
            },
        )
        for task in tasks_for(ranges)
    )
    if previous is not None:
        tasks = tuple(_following(tasks, previous, scene.stops))
    route = in_links(tasks, both_or_none(tasks, plan_route(tasks, effort=effort)))
    retunes = counter.count(tasks, route)
    joint = as_planned(
        joint,
        {stop.stop_id: stop.missing for stop in route.stops},
        retunes=(sum(row.lines for row in retunes), counter.route_bound(tasks, route).lines),
    )
    by_key = {row.key: row for row in scene.gear}
    return Chosen(
        ranking=ranking,
        joint=joint,
        choice={need: tuple(by_key[key] for key in keys) for need, keys in ranges.items()},
        assigned={
            (stop.id, need.name): tuple(found)
            for index, stop in enumerate(scene.stops)
            for need in tour.needs
            if (
                found := [
                    points
                    for key in ranges.get(need.name, ())
                    if serves(need.stops, stop)
                    and (points := maker.assigned(index, need, key)) is not None
                ]
            )
        },
        maker=maker,
        tasks=tasks,
        route=route,
        retunes=retunes,
    )


def _noise_over_db(scene: Scene) -> dict[str, float]:
    """Return by how much external noise lifts the floor in each range, at the worst stop [dB]."""
    settings = scene.tour.settings
    own_db = settings.reference_noise_figure_db
    kinds = {surroundings(stop, settings): stop for stop in scene.stops}
    return {
        row.key: max(
            (
                floor_noise_figure_db(
                    (row.low_hz + row.high_hz) // 2,
                    noise_figure_db=own_db,
                    stop=stop,
                    settings=settings,
                )
                - own_db
                for stop in kinds.values()
            ),
            default=0.0,
        )
        for row in scene.gear
    }


def _following(
    tasks: Sequence[StopTask], previous: Previous, stops: Sequence[Stop]
) -> list[StopTask]:
    """Give each task the carriers of the earlier plan for its stop."""
    kept = kept_stops(previous.document, stops)
    found = []
    for task in tasks:
        before = kept.get(task.stop_id)
        if before is None:
            found.append(task)
            continue
        wanted = {need.name: len(need.every_name) for need in task.needs}
        settled = previous.unchanged and before.accounts_for(wanted)
        found.append(
            dataclasses.replace(
                task, keep=before.carriers, keep_stand_ins=before.stand_ins, settled=settled
            )
        )
    return found
