"""Coordinate a whole route: carriers that last, then names that stay with them."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from planner.coordination.names import LINE_WEIGHT, MOST_UNITS, Names, Use, deal_stop
from planner.coordination.night_plan import choose_sets
from planner.coordination.pairs import moved_apart, pairs_too_near
from planner.coordination.roles import split_roles
from planner.coordination.stop_sets import (
    is_sound,
    links_of,
    orders_of,
    solve,
    wishes_for,
    wishes_of,
)
from planner.coordination.tasks import Leg, LineKey, NeedTask, RoutePlan, StopCarriers, StopTask

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination.records import Effort, Wish
    from planner.coordination.roles import Place
    from planner.coordination.stop_sets import Sets

    Roles = dict[str, dict[Place, bool]]

__all__ = ["coordinate_route", "orders_of"]


def coordinate_route(tasks: Sequence[StopTask], *, effort: Effort = "normal") -> RoutePlan:
    """Choose carriers for every stop, and deal them to names.

    Parameters
    ----------
    tasks : sequence of StopTask
        In route order; rigs may alternate.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``; ``"glance"`` says about how many retunes there
        will be.

    Returns
    -------
    RoutePlan
        At every stop the carriers of an earlier plan are kept where they still stand. All others
        are chosen over the whole route of their rig, so that as few as possible begin anew: see
        :func:`planner.coordination.night_plan.choose_sets`. A carrier that is needed is never
        given up to save a retune. Then it is settled which carriers are for lines, those that
        last, and which for spares (:mod:`planner.coordination.roles`), and stop by stop they are
        dealt to names (:mod:`planner.coordination.names`).
    """
    results: dict[str, StopCarriers] = {}
    legs: list[Leg] = []
    steps = 0
    for rig in dict.fromkeys(task.rig for task in tasks):
        mine = [task for task in tasks if task.rig == rig]
        settled = [_settled(task) for task in mine]
        sets, used = choose_sets(mine, settled, effort=effort)
        steps += used
        roles = _roles(mine, sets, settled)
        memory = _Memory()
        for task, found, known, meant in zip(mine, sets, settled, roles, strict=True):
            carriers = known
            if carriers is None:
                carriers, used = _dealt(task, memory, found, meant)
                steps += used
            lacking = Counter(need for need, name in task.names if (need, name) not in carriers)
            results[task.stop_id] = StopCarriers(
                stop_id=task.stop_id, carriers=carriers, missing=dict(lacking)
            )
            memory.learn(carriers)
        legs += legs_of([results[task.stop_id] for task in mine])
    return RoutePlan(
        stops=tuple(results[task.stop_id] for task in tasks), legs=tuple(legs), steps=steps
    )


def _settled(task: StopTask) -> dict[LineKey, Use] | None:
    """Return the carriers of a stop for which nothing changed, None for all others."""
    kept = {key: task.keep[key] for key in task.names if key in task.keep}
    return kept if task.settled and is_sound(task, kept) else None


class _Memory:
    """What the lines of one rig used so far."""

    def __init__(self) -> None:
        self.last: dict[LineKey, Use] = {}
        self._reach_hz: dict[tuple[str, str, str], tuple[int, int]] = {}

    def learn(self, carriers: Mapping[LineKey, Use]) -> None:
        """Take note of what one more stop used."""
        self.last.update(carriers)
        for (need, name), use in carriers.items():
            key, hz = (need, name, use.range_key), use.frequency_hz
            low, high = self._reach_hz.get(key, (hz, hz))
            self._reach_hz[key] = (min(low, hz), max(high, hz))

    def names(self, task: StopTask, need: NeedTask, roles: Roles) -> Names:
        """Return the names of a need with what each would like."""
        return Names(
            need=need.name,
            lines=need.lines,
            spares=need.spares,
            units=need.units,
            pair_with=need.pair_with,
            earlier={
                name: task.keep[need.name, name]
                for name in need.names
                if (need.name, name) in task.keep
            },
            last={
                name: self.last[need.name, name]
                for name in need.names
                if (need.name, name) in self.last
            },
            reach_hz={
                (name, key): reach
                for (owner, name, key), reach in self._reach_hz.items()
                if owner == need.name
            },
            widths_hz=need.widths_hz,
            channels_hz=task.channels_hz,
            roles=roles.get(need.name, {}),
        )


def legs_of(stops: Sequence[StopCarriers]) -> list[Leg]:
    """Return the runs of stops of one rig over which no line is moved, in route order."""
    legs: list[Leg] = []
    for stop in stops:
        leg = legs[-1] if legs else None
        if leg is not None and all(
            key not in leg.carriers or _place(leg.carriers[key]) == _place(use)
            for key, use in stop.carriers.items()
        ):
            legs[-1] = Leg(
                stop_ids=(*leg.stop_ids, stop.stop_id), carriers={**leg.carriers, **stop.carriers}
            )
        else:
            legs.append(Leg(stop_ids=(stop.stop_id,), carriers=dict(stop.carriers)))
    return legs


def _place(use: Use) -> tuple[str, int]:
    return use.range_key, use.frequency_hz


def _roles(
    tasks: Sequence[StopTask],
    sets: Sequence[Sets],
    settled: Sequence[Mapping[LineKey, Use] | None],
) -> list[Roles]:
    """Return for each stop and need which carriers are meant for lines, and which for spares."""
    roles: list[Roles] = [{} for _ in tasks]
    if len(tasks) < 2:
        return roles
    for name in dict.fromkeys(need.name for task in tasks for need in task.needs):
        rows = [
            (stop, need)
            for stop, task in enumerate(tasks)
            for need in task.needs
            if need.name == name
        ]
        stops = [_uses(need, sets[stop]) for stop, need in rows]
        if not any(need.spares for _, need in rows):
            continue
        told = [_told(need, settled[stop] or tasks[stop].keep) for stop, need in rows]
        weight = LINE_WEIGHT * min(MOST_UNITS, max(need.units for _, need in rows))
        chosen = split_roles(
            stops, [len(need.lines) for _, need in rows], weight=weight, given=told
        )
        for (stop, _), uses, lines in zip(rows, stops, chosen, strict=True):
            roles[stop][name] = {_place(use): _place(use) in lines for use in uses}
    return roles


def _told(need: NeedTask, carriers: Mapping[LineKey, Use]) -> dict[Place, bool]:
    return {
        _place(carriers[need.name, name]): name in need.lines
        for name in need.names
        if (need.name, name) in carriers
    }


def _uses(need: NeedTask, found: Sets) -> list[Use]:
    """Return the carriers of a need with their power, ascending in frequency."""
    return sorted(
        (need.use(key, hz, main=main) for key, hz, main in found[need.name]),
        key=lambda use: (use.frequency_hz, use.range_key),
    )


def _dealt(
    here: StopTask, memory: _Memory, found: Sets, roles: Roles
) -> tuple[dict[LineKey, Use], int]:
    """Return the carriers of a stop by name, and the steps; parts performers' two carriers."""
    names = [memory.names(here, need, roles) for need in here.needs]

    def deal(sets: Sets) -> dict[LineKey, Use]:
        carriers = {need.name: _uses(need, sets) for need in here.needs}
        return deal_stop(names, carriers, separation_hz=here.separation_hz)

    last = wishes_of(here, {**memory.last, **here.keep})
    steps = 0
    if here.keep:
        found, steps = _nearer(here, found, last)
    carriers = deal(found)
    near = tuple(
        row
        for row in pairs_too_near(here, names, carriers)
        if not ((row[0], row[2]) in here.keep and (row[1], row[2]) in here.keep)
    )
    count = links_of(here, found)
    for task, stays in moved_apart(here, near, carriers):
        mine = wishes_for(found)
        wishes = {
            name: rows if name == stays else tuple(dict.fromkeys((*last[name], *rows)))
            for name, rows in mine.items()
        }
        sets, _, used = solve(task, wishes, effort="quick")
        steps += used
        trial = deal(sets)
        still = pairs_too_near(here, names, trial)
        if links_of(here, sets) >= count and len(still) < len(near):
            carriers, near = trial, still
    return carriers, steps


def _nearer(here: StopTask, found: Sets, last: Mapping[str, Sequence[Wish]]) -> tuple[Sets, int]:
    """Return a set of as many carriers in which names keep more, where one is found."""
    wishes = {
        need: tuple(dict.fromkeys((*rows, *wishes_for(found)[need]))) for need, rows in last.items()
    }
    other, _, steps = solve(here, wishes, effort="quick")
    many = [links_of(here, sets) for sets in (found, other)]
    kept = [
        sum((wish.range_key, wish.frequency_hz) in bare for wish in rows)
        for sets in (found, other)
        for need, rows in last.items()
        for bare in ({row[:2] for row in sets[need]},)
    ]
    half = len(kept) // 2
    if many[1] >= many[0] and sum(kept[half:]) > sum(kept[:half]):
        return other, steps
    return found, steps
