"""Retunes over a route: how many lines move, and how many must."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import upper_bound
from planner.coordination.names import LINE_WEIGHT, MOST_UNITS, is_retune
from planner.coordination.route_bound import MoveBounds
from planner.spectrum.grids import intersect_closed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.names import Use
    from planner.coordination.records import Choice
    from planner.coordination.route_bound import MoveBound
    from planner.coordination.tasks import NeedTask, RoutePlan, StopTask


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopRetunes:
    """What is retuned at one stop against the last stop of the same rig.

    Attributes
    ----------
    lines, spares : int
        Names whose frequency, range or power differs.
    forced : int
        Those of both whose last carrier may not be used here.
    units : int
        Packs to be set: lines times the units that follow each.
    bound : int
        Lines that no dealing of the same ranges could have left as they were.
    weighted : int
        Lines, each as often as it weighs, and spares.
    """

    lines: int
    spares: int
    forced: int
    units: int
    bound: int
    weighted: int


class RetuneCounter:
    """Counts retunes; bounds of equal questions are computed once."""

    def __init__(self) -> None:
        self._bounds: dict[tuple[object, ...], int] = {}
        self._routes = MoveBounds()

    def route_bound(self, tasks: Sequence[StopTask], route: RoutePlan) -> MoveBound:
        """Return the proven least retunes of the whole route, filled as it is.

        Parameters
        ----------
        tasks, route : sequence of StopTask, RoutePlan
            What was asked, and the answer to it.

        Notes
        -----
        The greater of the sum of the stops' own bounds (:meth:`count`) and of that of
        :meth:`planner.coordination.route_bound.MoveBounds.bound`, which sees all stops at once.
        """
        rows = self.count(tasks, route)
        found = self._routes.bound(tasks, [stop.carriers for stop in route.stops])
        return dataclasses.replace(
            found,
            lines=max(found.lines, sum(row.bound for row in rows)),
            weighted=max(found.weighted, LINE_WEIGHT * sum(row.bound for row in rows)),
        )

    def count(self, tasks: Sequence[StopTask], route: RoutePlan) -> tuple[StopRetunes, ...]:
        """Return the retunes of every stop, in route order.

        Parameters
        ----------
        tasks, route : sequence of StopTask, RoutePlan
            What was asked, and the answer to it.

        Notes
        -----
        Of the lines that stand both at a stop and at the last one of their need, those that keep
        their carrier are a valid set in what is common to both stops, so they are no more than
        the proven bound of that; all others must move.
        """
        last: dict[tuple[str, str, str], Use] = {}
        before: dict[tuple[str, str], tuple[NeedTask, frozenset[str]]] = {}
        results = []
        for task, stop in zip(tasks, route.stops, strict=True):
            lines = spares = forced = units = bound = weighted = 0
            for need in task.needs:
                here = frozenset(line for line in need.lines if (need.name, line) in stop.carriers)
                known = before.get((task.rig, need.name))
                if known is not None:
                    both = sorted(len(need.held(line)) for line in here & known[1])
                    moved = max(0, len(both) - self._common(known[0], need))
                    bound += sum(both[:moved])
                before[task.rig, need.name] = (need, here)
                for name in need.every_name:
                    use = stop.carriers.get((need.name, name))
                    if use is None:
                        continue
                    key = (task.rig, need.name, name)
                    old = last.get(key)
                    last[key] = use
                    if old is None or not is_retune(old, use):
                        continue
                    is_line = name in need.lines
                    held = len(need.held(name))
                    lines += held * is_line
                    spares += held * (not is_line)
                    units += need.units * is_line * held // need.most_held
                    weighted += LINE_WEIGHT * min(need.units, MOST_UNITS) if is_line else 1
                    forced += held * (not may_stay(need, old, spare=not is_line))
            results.append(
                StopRetunes(
                    lines=lines,
                    spares=spares,
                    forced=forced,
                    units=units,
                    bound=bound,
                    weighted=weighted,
                )
            )
        return tuple(results)

    def _common(self, first: NeedTask, second: NeedTask) -> int:
        """Return a bound of the lines that can stand on the same carriers at two stops."""
        others = {choice.range_key: choice for choice in second.choices}
        total = 0
        for choice in first.choices:
            if choice.range_key in others:
                total += self._bound(choice, others[choice.range_key])
        return total

    def _bound(self, first: Choice, second: Choice) -> int:
        spans = intersect_closed(first.grid.windows_hz, second.grid.windows_hz)
        key = (spans, first.grid.origin_hz, first.grid.step_hz, first.guards)
        if key not in self._bounds:
            self._bounds[key] = (
                upper_bound(
                    spans,
                    step_hz=first.grid.step_hz,
                    origin_hz=first.grid.origin_hz,
                    guards=first.guards,
                )
                if spans
                else 0
            )
        return self._bounds[key]


def may_stay(need: NeedTask, old: Use, *, spare: bool) -> bool:
    """Say whether a carrier of the last stop may be used here, others apart."""
    for choice in need.choices:
        if choice.range_key != old.range_key:
            continue
        grids = (choice.grid, choice.spare_grid) if spare else (choice.grid,)
        same_power = need.use(old.range_key, old.frequency_hz, main=True).power_mw == old.power_mw
        return same_power and any(
            low <= old.frequency_hz <= high for grid in grids for low, high in grid.windows_hz
        )
    return False
