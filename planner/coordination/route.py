"""Coordinate a whole route: keep what stands, replace it by what lasts."""

from __future__ import annotations

import dataclasses
from collections import Counter
from typing import TYPE_CHECKING

from planner.coordination.first_fit import coordinate
from planner.coordination.records import Coordination, Effort, Grid, GuardSet, Order, PlacedCarrier
from planner.coordination.verify import violations
from planner.spectrum.grids import intersect_closed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

LineKey = tuple[str, str]
"""Need and line name; spares are named too."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NeedTask:
    """What one need asks for at one stop.

    Attributes
    ----------
    name : str
        Name of the need.
    guards : GuardSet
        Guards of the chosen range.
    grid, faint_grid : Grid
        Carrier centres every line may use, and further ones for spares.
    lines, spares : tuple of str
        Names, one a carrier wanted.
    """

    name: str
    guards: GuardSet
    grid: Grid
    faint_grid: Grid
    lines: tuple[str, ...]
    spares: tuple[str, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopTask:
    """What one stop asks for, all needs together, around its fixed carriers.

    Attributes
    ----------
    keep : mapping of (need, line) to int
        Carriers of an earlier plan for this very stop, tried before anything else [Hz].
    settled : bool
        True when nothing changed since that plan: its carriers are the answer, and what it
        could not fill stays missing.
    """

    stop_id: str
    rig: str
    needs: tuple[NeedTask, ...]
    fixed: tuple[PlacedCarrier, ...] = ()
    keep: Mapping[LineKey, int] = dataclasses.field(default_factory=dict)
    settled: bool = False


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopCarriers:
    """The carriers of one stop.

    Attributes
    ----------
    carriers : mapping of (need, line) to int
        Frequency of every line and spare that was found [Hz].
    missing : mapping of str to int
        Carriers missing, by need; needs that are met are left out.
    """

    stop_id: str
    carriers: Mapping[LineKey, int]
    missing: Mapping[str, int]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Leg:
    """Consecutive stops of one rig over which no line is retuned."""

    stop_ids: tuple[str, ...]
    carriers: Mapping[LineKey, int]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RoutePlan:
    """Carriers of every stop in the order given, the legs, and the steps counted."""

    stops: tuple[StopCarriers, ...]
    legs: tuple[Leg, ...]
    steps: int


def coordinate_route(tasks: Sequence[StopTask], *, effort: Effort = "normal") -> RoutePlan:
    """Choose carriers for every stop.

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
        is needed is never given up to save a retune.
    """
    results: dict[str, StopCarriers] = {}
    legs: list[Leg] = []
    steps = 0
    for rig in dict.fromkeys(task.rig for task in tasks):
        mine = [task for task in tasks if task.rig == rig]
        last: dict[LineKey, int] = {}
        for index, task in enumerate(mine):
            carriers, missing, used = _choose(mine[index:], last, effort=effort)
            steps += used
            results[task.stop_id] = StopCarriers(
                stop_id=task.stop_id, carriers=carriers, missing=missing
            )
            last.update(carriers)
        legs += _legs([results[task.stop_id] for task in mine])
    return RoutePlan(
        stops=tuple(results[task.stop_id] for task in tasks), legs=tuple(legs), steps=steps
    )


def _legs(stops: Sequence[StopCarriers]) -> list[Leg]:
    """Return the runs of stops over which no line is retuned."""
    legs: list[Leg] = []
    for stop in stops:
        leg = legs[-1] if legs else None
        if leg is not None and all(
            leg.carriers.get(key, hz) == hz for key, hz in stop.carriers.items()
        ):
            legs[-1] = Leg(
                stop_ids=(*leg.stop_ids, stop.stop_id), carriers={**leg.carriers, **stop.carriers}
            )
        else:
            legs.append(Leg(stop_ids=(stop.stop_id,), carriers=dict(stop.carriers)))
    return legs


def _names(need: NeedTask) -> tuple[str, ...]:
    return (*need.lines, *need.spares)


def _choose(
    tasks: Sequence[StopTask], last: Mapping[LineKey, int], *, effort: Effort
) -> tuple[dict[LineKey, int], dict[str, int], int]:
    """Return carriers, missing and steps of the first task, looking ahead over the others."""
    here = tasks[0]
    names = [(need.name, name) for need in here.needs for name in _names(need)]
    settled = {key: hz for key, hz in here.keep.items() if key in names}
    if here.settled and _sound(here, settled):
        return settled, dict(Counter(key[0] for key in names if key not in settled)), 0
    kept = {**last, **here.keep}
    carriers, missing, steps = _solve(here, kept, effort=effort)
    ahead = here
    for following in (
        () if missing or all(kept.get(key) == carriers[key] for key in names) else tasks[1:]
    ):
        ahead = _merge(ahead, following)
        wider = _with_points(
            ahead, {key: hz for key, hz in carriers.items() if kept.get(key) == hz}
        )
        more, short, used = _solve(wider, {**kept, **carriers}, effort=effort)
        steps += used
        if short or _moves(more, kept, names) > _moves(carriers, kept, names):
            break
        carriers = {key: hz for key, hz in more.items() if key in names}
    return carriers, missing, steps


def _sound(task: StopTask, carriers: Mapping[LineKey, int]) -> bool:
    """Say whether carriers of an earlier plan stand in their windows and clear of each other."""
    placed = []
    for need in task.needs:
        clear = set(need.grid.points().tolist())
        either = clear | set(need.faint_grid.points().tolist())
        for name in _names(need):
            hz = carriers.get((need.name, name))
            if hz is None:
                continue
            if hz not in (either if name in need.spares else clear):
                return False
            placed.append(PlacedCarrier(frequency_hz=hz, guards=need.guards))
    ours = {row.frequency_hz for row in placed}
    return not any(
        ours & {clash.victim_hz, *clash.sources_hz} for clash in violations([*placed, *task.fixed])
    )


def _moves(
    carriers: Mapping[LineKey, int], kept: Mapping[LineKey, int], names: Sequence[LineKey]
) -> int:
    return sum(kept[key] != carriers.get(key) for key in names if key in kept)


def _with_points(task: StopTask, kept: Mapping[LineKey, int]) -> StopTask:
    """Return the task with kept carriers allowed, though they may not stand at later stops."""
    needs = []
    for need in task.needs:
        lines = [kept[need.name, name] for name in need.lines if (need.name, name) in kept]
        spares = [kept[need.name, name] for name in need.spares if (need.name, name) in kept]
        needs.append(
            dataclasses.replace(
                need,
                grid=_add_points(need.grid, lines),
                faint_grid=_add_points(need.faint_grid, spares),
            )
        )
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
    return StopTask(
        stop_id=first.stop_id,
        rig=first.rig,
        needs=tuple(needs.values()),
        fixed=tuple(fixed),
        keep={**second.keep, **first.keep},
    )


def _merge_need(first: NeedTask, second: NeedTask) -> NeedTask:
    clear = intersect_closed(first.grid.windows_hz, second.grid.windows_hz)
    either = [
        sorted((*need.grid.windows_hz, *need.faint_grid.windows_hz)) for need in (first, second)
    ]
    return dataclasses.replace(
        first,
        grid=dataclasses.replace(first.grid, windows_hz=clear),
        faint_grid=dataclasses.replace(
            first.faint_grid, windows_hz=intersect_closed(either[0], either[1])
        ),
    )


def _solve(
    task: StopTask, prefer: Mapping[LineKey, int], *, effort: Effort
) -> tuple[dict[LineKey, int], dict[str, int], int]:
    orders = [
        Order(
            name=need.name,
            guards=need.guards,
            grid=need.grid,
            spare_grid=need.faint_grid,
            count=len(need.lines),
            spares=len(need.spares),
            preferred_hz=tuple(prefer.get((need.name, name)) for name in _names(need)),
        )
        for need in task.needs
    ]
    answer: Coordination = coordinate(orders, task.fixed, effort=effort)
    carriers: dict[LineKey, int] = {}
    missing: dict[str, int] = {}
    for need, filled in zip(task.needs, answer.filled, strict=True):
        found = (*filled.lines_hz, *filled.spares_hz)
        for name, frequency_hz in zip(_names(need), found, strict=True):
            if frequency_hz is None:
                missing[need.name] = missing.get(need.name, 0) + 1
            else:
                carriers[need.name, name] = frequency_hz
    return carriers, missing, answer.steps
