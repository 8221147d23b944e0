"""Choose the carriers of every stop of one rig, all stops together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.coordination.block_starts import block_starts
from planner.coordination.night_search import NightSearch
from planner.coordination.nights import RigNights
from planner.coordination.search import pick_effort
from planner.coordination.stop_sets import (
    is_fuller,
    known_wishes,
    solve,
    wishes_for,
    wishes_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from planner.coordination.names import Use
    from planner.coordination.records import Effort
    from planner.coordination.stop_sets import Lack, Sets
    from planner.coordination.tasks import LineKey, StopTask

_FILLS = (60, 50)
"""What a missing line, and a missing spare, cost where ways to fill a route are compared."""
_LONGEST = (3, 1 << 20)
_SWEEPS: dict[str, int] = {"glance": 1, "quick": 6, "normal": 20, "hard": 20, "long": 200}
"""How often every stop is taken up, before the short ones are made full and after that."""
_TURNS = 40
"""Changes tried each time."""
_MELTED: dict[str, int] = {"glance": 100, "quick": 500, "normal": 4000, "hard": 4000, "long": 16000}
"""Changes tried at a short stop."""
_FIRST, _SHORT, _LAST = (32, 8), (64, 4), (24, 0)
"""Heats of the search before, at short stops, and after; they served best on real routes."""


def choose_sets(
    tasks: Sequence[StopTask],
    settled: Sequence[Mapping[LineKey, Use] | None],
    *,
    effort: Effort,
) -> tuple[list[Sets], int]:
    """Choose the carriers of the stops of one rig, so that as few as possible begin anew.

    Parameters
    ----------
    tasks : sequence of StopTask
        The stops of one rig, in route order.
    settled : sequence of mapping or None
        Carriers by name of the stops that stay as they are.
    effort : str
        How many changes are tried.

    Returns
    -------
    list of Sets, int
        One set a stop, and the steps counted.

    Notes
    -----
    Carriers of an earlier plan stand first, as many as the fullest set of their stop allows. Then
    the route is filled, need after need, always with the carrier that can serve the most stops
    on end; of several ways to fill, the best is searched for changes. A stop that is short after
    that is searched alone, as it would be without a route, and the fuller set is taken: what it
    costs in moves is won back as far as it goes, but nothing that counts is given up again.
    """
    nights = RigNights(tasks)
    steps = 0
    kept: list[Sets] = []
    known: list[tuple[Sets, Lack] | None] = []
    for stop, task in enumerate(tasks):
        fixed, found, used = _standing(task, settled[stop], effort=effort)
        steps += used
        nights.place(stop, fixed, kept=True)
        kept.append(fixed)
        known.append(found)
        if settled[stop] is not None:
            nights.shut.add(stop)
    order = _filled(nights)
    search = NightSearch(nights, order)
    sweeps = pick_effort(_SWEEPS, effort)
    search.run(sweeps, _TURNS, _FIRST)

    def fill_up(stop: int) -> int:
        if nights.is_short(stop):
            search.melt(stop, pick_effort(_MELTED, effort), _SHORT)
        if not nights.is_short(stop):
            return 0
        return _made_full(nights, stop, (kept[stop], known[stop]), effort=effort)

    steps += sum(search.apart(range(len(tasks)), fill_up))
    search.hold()
    search.run(sweeps, _TURNS, _LAST)
    return [nights.sets(stop) for stop in range(len(tasks))], steps + nights.steps


def _standing(
    task: StopTask, settled: Mapping[LineKey, Use] | None, *, effort: Effort
) -> tuple[Sets, tuple[Sets, Lack] | None, int]:
    """Return what stays at a stop, the fullest set around it where it was searched, the steps."""
    if settled is not None:
        return _as_sets(task, settled), None, 0
    wishes = wishes_of(task, task.keep)
    if not any(wishes.values()):
        return {}, None, 0
    found, lack, steps = solve(task, wishes, effort=effort)
    wanted = {
        (need, wish.range_key, wish.frequency_hz) for need, rows in wishes.items() for wish in rows
    }
    fixed = {
        need: {row for row in rows if (need, row[0], row[1]) in wanted}
        for need, rows in found.items()
    }
    return fixed, (found, lack), steps


def _as_sets(task: StopTask, carriers: Mapping[LineKey, Use]) -> Sets:
    return {
        need.name: {
            (use.range_key, use.frequency_hz, use.main)
            for name in need.names
            if (use := carriers.get((need.name, name))) is not None
        }
        for need in task.needs
    }


def _filled(nights: RigNights) -> tuple[int, ...]:
    """Fill the route in several ways and leave it as the best; return that order of needs."""
    every = range(len(nights.tasks))
    begin = [nights.remember(stop) for stop in every]
    best: tuple[int, tuple[int, ...]] | None = None
    left = begin
    for order in nights.orders():
        for longest in _LONGEST:
            for stop in every:
                nights.restore(stop, begin[stop])
            nights.fill(every, order, longest=longest)
            cost = sum(nights.cost(stop, _FILLS) for stop in every)
            if best is None or cost < best[0]:
                best, left = (cost, order), [nights.remember(stop) for stop in every]
    for stop in every:
        nights.restore(stop, left[stop])
    return best[1] if best is not None else ()


def _made_full(
    nights: RigNights,
    stop: int,
    before: tuple[Sets, tuple[Sets, Lack] | None],
    *,
    effort: Effort,
) -> int:
    """Search a short stop alone; take the first fuller set in which no more is missing."""
    task, (fixed, known) = nights.tasks[stop], before
    best, least, steps = nights.sets(stop), nights.lack(stop), 0
    for found, lack, used in _tries(task, best, fixed, known, effort=effort):
        steps += used
        if is_fuller(lack, least):
            best, least = found, lack
        if sum(least) <= nights.floors[stop]:
            break
    if is_fuller(least, nights.lack(stop)):
        stay = {name: rows & fixed.get(name, set()) for name, rows in best.items()}
        nights.clear(stop)
        nights.place(stop, stay, kept=True)
        nights.place(stop, best)
    return steps


def _tries(
    task: StopTask,
    here: Sets,
    fixed: Sets,
    known: tuple[Sets, Lack] | None,
    *,
    effort: Effort,
) -> Iterator[tuple[Sets, Lack, int]]:
    """Yield sets of a stop alone, the ones that keep more first."""
    if known is not None:
        yield (*known, 0)
    yield solve(task, wishes_for(here), effort=effort)
    if any(fixed.values()):
        yield solve(task, wishes_for(fixed), effort=effort)
    yield solve(task, {}, effort=effort)
    for wishes in block_starts(task):
        yield solve(task, wishes, effort=effort)
    if task.known:
        yield solve(task, known_wishes(task), effort="quick")
    if effort == "normal":
        yield solve(task, wishes_for(fixed or here), effort="hard")
