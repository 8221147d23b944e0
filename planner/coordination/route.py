"""Coordinate a whole route: keep what stands, replace it by what lasts."""

from __future__ import annotations

import dataclasses
from collections import Counter
from typing import TYPE_CHECKING

from planner.coordination.first_fit import coordinate
from planner.coordination.names import Names, Use, deal_stop
from planner.coordination.pairs import moved_apart, pairs_too_near
from planner.coordination.records import Choice, Effort, Grid, Order, PlacedCarrier, Wish
from planner.coordination.tasks import Leg, LineKey, NeedTask, RoutePlan, StopCarriers, StopTask
from planner.coordination.verify import violations
from planner.spectrum.grids import intersect_closed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


Sets = dict[str, set[tuple[str, int, bool]]]
"""By need: range, frequency [Hz], whether lines may stand there."""


def coordinate_route(tasks: Sequence[StopTask], *, effort: Effort = "normal") -> RoutePlan:
    """Choose carriers for every stop, and deal them to names.

    Parameters
    ----------
    tasks : sequence of StopTask
        In route order; rigs may alternate.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``.

    Returns
    -------
    RoutePlan
        At every stop the carriers of an earlier plan, else of the last stop of the same rig, are
        kept where they still stand; new ones are taken from what is common to the stop and as
        many of the following ones as one complete set allows, so that they last. A carrier that
        is needed is never given up to save a retune. Names are dealt last: see
        :mod:`planner.coordination.names`.
    """
    results: dict[str, StopCarriers] = {}
    legs: list[Leg] = []
    steps = 0
    for rig in dict.fromkeys(task.rig for task in tasks):
        mine = [task for task in tasks if task.rig == rig]
        memory = _Memory()
        for index, task in enumerate(mine):
            carriers, used = _choose(mine[index:], memory, effort=effort)
            steps += used
            lacking = Counter(need for need, name in task.names if (need, name) not in carriers)
            results[task.stop_id] = StopCarriers(
                stop_id=task.stop_id, carriers=carriers, missing=dict(lacking)
            )
            memory.learn(carriers)
        legs += _legs([results[task.stop_id] for task in mine])
    return RoutePlan(
        stops=tuple(results[task.stop_id] for task in tasks), legs=tuple(legs), steps=steps
    )


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

    def names(self, task: StopTask, need: NeedTask) -> Names:
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
        )


def _legs(stops: Sequence[StopCarriers]) -> list[Leg]:
    """Return the runs of stops over which no line is moved."""
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


def _choose(
    tasks: Sequence[StopTask], memory: _Memory, *, effort: Effort
) -> tuple[dict[LineKey, Use], int]:
    """Return the carriers of the first task by name, and the steps; looks ahead over the others."""
    here = tasks[0]
    settled = {key: use for key, use in here.keep.items() if key in here.names}
    if here.settled and _sound(here, settled):
        return settled, 0
    wishes = _wishes(here, {**memory.last, **here.keep})
    found, missing, steps = _solve(here, wishes, effort=effort)
    if missing and here.known:
        known = {
            need.name: tuple(
                Wish(range_key=row.range_key, frequency_hz=row.frequency_hz, spare=not row.main)
                for row in here.known.get(need.name, ())
            )
            for need in here.needs
        }
        again, lacking, used = _solve(here, known, effort="quick")
        steps += used
        if lacking < missing:
            found, missing = again, lacking
    if missing and effort == "normal":
        again, lacking, used = _solve(here, wishes, effort="hard")
        steps += used
        if lacking < missing:
            found, missing = again, lacking
    fresh = missing or all(_wanted_set(wishes[need]) >= _bare(found[need]) for need in found)
    ahead = here
    for following in () if fresh else tasks[1:]:
        ahead = _merge(ahead, following)
        stand = {need: _wanted_set(wishes[need]) & _bare(found[need]) for need in found}
        both = {
            need: (*wishes[need], *_as_wishes(found[need], _wanted_set(wishes[need])))
            for need in found
        }
        wider = _with_points(ahead, here, stand, wishes)
        more, short, used = _solve(wider, both, effort="glance" if effort != "long" else effort)
        steps += used
        if short or _lost(more, wishes) > _lost(found, wishes):
            break
        found = {need: _as_here(here, need, more[need]) for need in found}
    carriers = _deal(here, memory, found)
    names = [memory.names(here, need) for need in here.needs]
    near = tuple(
        row
        for row in pairs_too_near(here, names, carriers)
        if not ((row[0], row[2]) in here.keep and (row[1], row[2]) in here.keep)
    )
    for task, stays in moved_apart(here, near, carriers):
        fixed_there = {**wishes, stays: _as_wishes(found[stays], set())}
        sets, lacking, used = _solve(task, fixed_there, effort="quick")
        steps += used
        trial = _deal(here, memory, sets)
        still = pairs_too_near(here, names, trial)
        if lacking <= missing and len(still) < len(near):
            carriers, near = trial, still
    return carriers, steps


def _deal(task: StopTask, memory: _Memory, found: Sets) -> dict[LineKey, Use]:
    """Deal the carriers of all needs to their names."""
    carriers = {
        need.name: sorted(
            (need.use(key, hz, main=main) for key, hz, main in found[need.name]),
            key=lambda use: (use.frequency_hz, use.range_key),
        )
        for need in task.needs
    }
    names = [memory.names(task, need) for need in task.needs]
    return deal_stop(names, carriers, separation_hz=task.separation_hz)


def _wishes(task: StopTask, kept: Mapping[LineKey, Use]) -> dict[str, tuple[Wish, ...]]:
    """Return what the names of each need would like to keep, each carrier once."""
    found: dict[str, tuple[Wish, ...]] = {}
    for need in task.needs:
        keys = {choice.range_key for choice in need.choices}
        mine: dict[tuple[str, int], Wish] = {}
        for name in need.names:
            use = kept.get((need.name, name))
            if use is not None and use.range_key in keys:
                wish = Wish(
                    range_key=use.range_key,
                    frequency_hz=use.frequency_hz,
                    spare=name in need.spares,
                )
                mine.setdefault(_place(use), wish)
        found[need.name] = tuple(mine.values())
    return found


def _as_wishes(found: set[tuple[str, int, bool]], known: set[tuple[str, int]]) -> tuple[Wish, ...]:
    return tuple(
        Wish(range_key=key, frequency_hz=hz, spare=not main)
        for key, hz, main in sorted(found)
        if (key, hz) not in known
    )


def _wanted_set(wishes: Sequence[Wish]) -> set[tuple[str, int]]:
    return {(wish.range_key, wish.frequency_hz) for wish in wishes}


def _bare(found: set[tuple[str, int, bool]]) -> set[tuple[str, int]]:
    return {(key, hz) for key, hz, _ in found}


def _lost(found: Sets, wishes: Mapping[str, Sequence[Wish]]) -> int:
    return sum(len(_wanted_set(wishes[need]) - _bare(found[need])) for need in wishes)


def _as_here(
    task: StopTask, need_name: str, carriers: set[tuple[str, int, bool]]
) -> set[tuple[str, int, bool]]:
    """Return carriers with what their centres are at this stop: for lines, or for spares only."""
    need = next(need for need in task.needs if need.name == need_name)
    grids = {choice.range_key: choice.grid for choice in need.choices}
    return {(key, hz, _in_windows(grids[key], hz)) for key, hz, _ in carriers}


def _in_windows(grid: Grid, hz: int) -> bool:
    return any(low <= hz <= high for low, high in grid.windows_hz)


def _sound(task: StopTask, carriers: Mapping[LineKey, Use]) -> bool:
    """Say whether carriers of an earlier plan stand in their windows and clear of each other."""
    placed = []
    for need in task.needs:
        choices = {choice.range_key: choice for choice in need.choices}
        for name in need.names:
            use = carriers.get((need.name, name))
            if use is None:
                continue
            choice = choices.get(use.range_key)
            if choice is None or not (
                _holds(choice.grid, use.frequency_hz)
                or (name in need.spares and _holds(choice.spare_grid, use.frequency_hz))
            ):
                return False
            placed.append(PlacedCarrier(frequency_hz=use.frequency_hz, guards=choice.guards))
    ours = {row.frequency_hz for row in placed}
    return not any(
        ours & {clash.victim_hz, *clash.sources_hz} for clash in violations([*placed, *task.fixed])
    )


def _holds(grid: Grid, hz: int) -> bool:
    return (hz - grid.origin_hz) % grid.step_hz == 0 and _in_windows(grid, hz)


def _with_points(
    task: StopTask,
    here: StopTask,
    stand: Mapping[str, set[tuple[str, int]]],
    wishes: Mapping[str, Sequence[Wish]],
) -> StopTask:
    """Return the task with kept carriers allowed, though they may not stand at later stops.

    They are allowed as what they are here: for lines, or for spares only.
    """
    grids = {
        (need.name, choice.range_key): choice.grid for need in here.needs for choice in need.choices
    }
    needs = []
    for need in task.needs:
        kept = [
            wish
            for wish in wishes.get(need.name, ())
            if (wish.range_key, wish.frequency_hz) in stand.get(need.name, set())
        ]
        choices = []
        for choice in need.choices:
            mine = [wish.frequency_hz for wish in kept if wish.range_key == choice.range_key]
            here_grid = grids.get((need.name, choice.range_key), choice.grid)
            main = [hz for hz in mine if _in_windows(here_grid, hz)]
            extra = [hz for hz in mine if hz not in main]
            choices.append(
                dataclasses.replace(
                    choice,
                    grid=_add_points(choice.grid, main),
                    spare_grid=_add_points(choice.spare_grid, extra),
                )
            )
        needs.append(dataclasses.replace(need, choices=tuple(choices)))
    return dataclasses.replace(task, needs=tuple(needs))


def _add_points(grid: Grid, points_hz: Sequence[int]) -> Grid:
    return dataclasses.replace(
        grid, windows_hz=(*grid.windows_hz, *((point, point) for point in points_hz))
    )


def _merge(first: StopTask, second: StopTask) -> StopTask:
    """Return one task whose every solution serves both stops."""
    needs = {need.name: need for need in first.needs}
    for need in second.needs:
        other = needs.get(need.name)
        needs[need.name] = need if other is None else _merge_need(other, need)
    fixed = dict.fromkeys((*first.fixed, *second.fixed))
    return dataclasses.replace(first, needs=tuple(needs.values()), fixed=tuple(fixed), known={})


def _merge_need(first: NeedTask, second: NeedTask) -> NeedTask:
    others = {choice.range_key: choice for choice in second.choices}
    return dataclasses.replace(
        first,
        choices=tuple(
            _merge_choice(choice, others[choice.range_key])
            for choice in first.choices
            if choice.range_key in others
        ),
    )


def _merge_choice(first: Choice, second: Choice) -> Choice:
    clear = intersect_closed(first.grid.windows_hz, second.grid.windows_hz)
    either = [
        sorted((*choice.grid.windows_hz, *choice.spare_grid.windows_hz))
        for choice in (first, second)
    ]
    return dataclasses.replace(
        first,
        grid=dataclasses.replace(first.grid, windows_hz=clear),
        spare_grid=dataclasses.replace(
            first.spare_grid, windows_hz=intersect_closed(either[0], either[1])
        ),
    )


def orders_of(task: StopTask, wishes: Mapping[str, Sequence[Wish]]) -> list[Order]:
    """Return what the needs of a stop ask the search for."""
    orders = []
    for need in task.needs:
        keys = {choice.range_key for choice in need.choices}
        orders.append(
            Order(
                name=need.name,
                choices=need.choices,
                count=len(need.lines),
                spares=len(need.spares),
                wishes=tuple(wish for wish in wishes.get(need.name, ()) if wish.range_key in keys),
                limit=need.limit,
            )
        )
    return orders


def _solve(
    task: StopTask, wishes: Mapping[str, Sequence[Wish]], *, effort: Effort
) -> tuple[Sets, int, int]:
    """Return the carriers of each need, how many are missing, and the steps."""
    answer = coordinate(orders_of(task, wishes), task.fixed, effort=effort)
    found = {
        filled.name: {
            (chosen.range_key, chosen.frequency_hz, chosen.main) for chosen in filled.carriers
        }
        for filled in answer.filled
    }
    return found, sum(filled.missing for filled in answer.filled), answer.steps
