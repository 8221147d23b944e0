"""Small questions for the joint choice: needs, ranges and windows by hand, no tour behind them."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import Choice
from planner.coordination.route import coordinate_route
from planner.coordination.tasks import NeedTask, StopTask
from planner.joint import Question
from planner.occupancy import RangeWindows
from planner.plan.retunes import RetuneCounter
from planner.plan.scope import serves, spare_names
from planner.ranking import Counter, considered, grid_of, guards_of, rank_need

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.records import GearRange, Need, Stop

Spans = tuple[tuple[int, int], ...]
RASTER_HZ = (0, 25_000)


def windows_of(centres_hz: Spans, faint_hz: Spans = ()) -> RangeWindows:
    """Return windows that are told by their carrier centres [Hz]."""
    return RangeWindows(
        law=(),
        clear_hz=(),
        faint_hz=(),
        unchecked_hz=(),
        centres_hz=centres_hz,
        faint_centres_hz=faint_hz,
    )


@dataclasses.dataclass(frozen=True, kw_only=True)
class Case:
    """Needs, stops, ranges, and the windows of every range at every stop."""

    needs: tuple[Need, ...]
    stops: tuple[Stop, ...]
    gear: tuple[GearRange, ...]
    windows: Mapping[tuple[str, str], RangeWindows]
    owned: Mapping[str, int] = dataclasses.field(default_factory=dict)

    def task(self, index: int, ranges: Mapping[str, Sequence[str]]) -> StopTask:
        """Return the task of one stop for given ranges."""
        stop = self.stops[index]
        by_key = {row.key: row for row in self.gear}
        return StopTask(
            stop_id=stop.id,
            rig=stop.rig,
            needs=tuple(
                NeedTask(
                    name=need.name,
                    choices=tuple(self._choice(by_key[key], stop) for key in ranges[need.name]),
                    lines=need.lines,
                    spares=spare_names(need),
                )
                for need in self.needs
                if serves(need.stops, stop)
            ),
        )

    def _choice(self, row: GearRange, stop: Stop) -> Choice:
        here = self.windows[row.key, stop.id]
        return Choice(
            range_key=row.key,
            guards=guards_of(row),
            grid=grid_of(row, RASTER_HZ, here.centres_hz),
            spare_grid=grid_of(row, RASTER_HZ, here.faint_centres_hz),
            most=row.available,
        )

    def question(self) -> Question:
        """Return the question as a plan would put it."""
        counter = Counter("quick")
        most = max(need.spares for need in self.needs)
        counts = {
            (row.key, stop.id): counter.count(
                row, self.windows[row.key, stop.id], RASTER_HZ, spares=most
            )
            for row in self.gear
            for stop in self.stops
        }

        def retunes(ranges: Mapping[str, tuple[str, ...]]) -> tuple[int, int]:
            tasks = [self.task(index, ranges) for index in range(len(self.stops))]
            rows = RetuneCounter().count(tasks, coordinate_route(tasks, effort="glance"))
            return sum(row.lines for row in rows), sum(row.bound for row in rows)

        return Question(
            needs=self.needs,
            stops=self.stops,
            ranking={
                need.name: rank_need(
                    need,
                    considered(need, self.gear),
                    [stop for stop in self.stops if serves(need.stops, stop)],
                    counts=counts,
                    windows=self.windows,
                    owned=self.owned,
                )
                for need in self.needs
            },
            counts={need.name: counts for need in self.needs},
            task=self.task,
            retunes=retunes,
            owned=self.owned,
            available={row.key: row.available for row in self.gear if row.available is not None},
        )
