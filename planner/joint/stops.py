"""What a combination gives at each stop: proven bounds first, then what coordination finds."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from planner.coordination import coordinate
from planner.coordination.block_starts import block_starts
from planner.coordination.blocks import links_headroom, wanted_blocks
from planner.coordination.route import orders_of
from planner.joint.records import Combination
from planner.ranking import fold_counts
from planner.workers import cores, side_by_side

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination import Company, Coordination, Effort, Order, PlacedCarrier
    from planner.coordination.tasks import StopTask
    from planner.joint.records import Merit, Question
    from planner.records import Need, Stop


_AHEAD = 2
"""Stops that are answered at once: of the last ones some may not be needed."""


class Stops:
    """Bounds and answers of stops, each distinct question answered once."""

    def __init__(self, question: Question, effort: Effort) -> None:
        self._question = question
        self._effort = effort
        self._known: dict[
            tuple[tuple[Order, ...], tuple[PlacedCarrier, ...], Company], Coordination
        ] = {}

    def limits(self, ranges: Mapping[str, tuple[str, ...]]) -> dict[int, dict[str, int]]:
        """Return the proven bound of each need's headroom at each stop."""
        return {index: self._limit(index, ranges) for index in range(len(self._question.stops))}

    def merit(
        self,
        ranges: Mapping[str, tuple[str, ...]],
        limits: Mapping[int, Mapping[str, int]],
        found: Mapping[int, Mapping[str, int]],
    ) -> Merit:
        """Return the merit of what was found, with bounds where nothing was searched yet."""
        confirmed = met = 0
        worst: list[int] = []
        for index, stop in enumerate(self._question.stops):
            heads = found.get(index) or limits.get(index) or {}
            worst += heads.values()
            whole = all(head >= 0 for head in heads.values())
            met += whole
            confirmed += whole and stop.status == "confirmed"
        least = min(worst, default=0)
        return confirmed, met, min(least, 0), -self.noise_steps(ranges), least

    def noise_steps(self, ranges: Mapping[str, tuple[str, ...]]) -> int:
        """Return the steps of external noise of the noisiest range of a combination."""
        steps = self._question.noise_steps
        return max((steps.get(key, 0) for keys in ranges.values() for key in keys), default=0)

    def follow(
        self, ranges: Mapping[str, tuple[str, ...]], threshold: Merit | None
    ) -> dict[int, dict[str, int]]:
        """Coordinate the stops in :meth:`_order`; leave off when the threshold is out of reach."""
        limits = self.limits(ranges)
        found: dict[int, dict[str, int]] = {}
        order = self._order(limits)
        for place, index in enumerate(order):
            if threshold is not None and self.merit(ranges, limits, found) < threshold:
                return found
            if place % _AHEAD == 0:
                self._learn(order[place : place + _AHEAD], ranges)
            found[index] = fold_counts(
                {
                    need.name: self._in_links(index, need.name, ranges, need.headroom or 0)
                    for need in self._answer(index, ranges).filled
                }
            )
        return found

    def _in_links(
        self, index: int, name: str, ranges: Mapping[str, tuple[str, ...]], headroom: int
    ) -> int:
        """Return the headroom of a need in links where it was found in blocks."""
        if name not in ranges or not ranges[name]:
            return headroom  # a way back
        count = self._question.counts[name][ranges[name][0], self._question.stops[index].id]
        if count.links <= 1:
            return headroom
        need = next(need for need in self._question.needs if need.name == name)
        return links_headroom(need, count.links, len(wanted_blocks(need, count.links)) + headroom)

    def found(self, ranges: Mapping[str, tuple[str, ...]]) -> dict[str, Coordination]:
        """Return the answers of a combination that was followed to the end, by stop."""
        return {
            stop.id: self._answer(index, ranges) for index, stop in enumerate(self._question.stops)
        }

    def record(
        self,
        ranges: Mapping[str, tuple[str, ...]],
        found: Mapping[int, Mapping[str, int]],
        *,
        rank: int,
        retunes: tuple[int, int],
    ) -> Combination:
        """Return a combination that was followed to the end."""
        stops = self._question.stops
        confirmed, met, *_ = self.merit(ranges, {}, found)
        least = [min(found[index].values(), default=0) for index in range(len(stops))]
        return Combination(
            ranges=dict(ranges),
            rank=rank,
            headrooms={stop.id: dict(found[index]) for index, stop in enumerate(stops)},
            confirmed_met=confirmed,
            stops_met=met,
            stops=len(stops),
            worst_stop=stops[least.index(min(least))].id if stops else "",
            worst_headroom={
                name: min(heads[name] for heads in found.values() if name in heads)
                for name in ranges
                if any(name in heads for heads in found.values())
            },
            retunes=retunes[0],
            retunes_bound=retunes[1],
            why="",
            noise_steps=self.noise_steps(ranges),
        )

    def _order(self, limits: Mapping[int, Mapping[str, int]]) -> list[int]:
        """Return the stops in the order in which a combination is told apart soonest.

        Stops that the bounds leave open come first, the confirmed ones before those on hold: only
        they can lower the stops met, which count before headroom. Where the bounds show already
        that something is missing, a search can only say how much. The tightest come first in each.
        """

        def key(index: int) -> tuple[bool, bool, int, int]:
            least = min(limits[index].values(), default=0)
            on_hold = self._question.stops[index].status != "confirmed"
            return least < 0, on_hold, least, index

        return sorted(limits, key=key)

    def _answer(self, index: int, ranges: Mapping[str, tuple[str, ...]]) -> Coordination:
        task = self._question.task(index, ranges)
        orders = tuple(orders_of(task, {}))
        key = (orders, task.fixed, task.company)
        found = self._known.get(key)
        if found is None:
            found = self._coordinated(task, orders)
            for wishes in block_starts(task):
                if not any(row.missing for row in found.filled):
                    break
                other = self._coordinated(task, orders_of(task, wishes))
                if _missing(other, orders) < _missing(found, orders):
                    found = other
            self._known[key] = found
        return found

    def _learn(self, indices: Sequence[int], ranges: Mapping[str, tuple[str, ...]]) -> None:
        """Answer several stops side by side, where there is a core for each."""
        if cores() >= len(indices) > 1:
            side_by_side(lambda index: self._answer(index, ranges), indices)

    def _coordinated(self, task: StopTask, orders: Sequence[Order]) -> Coordination:
        return coordinate(
            orders, task.fixed, company=task.company, effort=self._effort, headrooms=True
        )

    def _limit(self, index: int, ranges: Mapping[str, tuple[str, ...]]) -> dict[str, int]:
        stop = self._question.stops[index]
        here = [need for need in self._question.needs if not need.stops or stop.id in need.stops]
        heads = {need.name: self._alone(stop, need, ranges[need.name]) for need in here}
        shared: dict[tuple[str, ...], list[Need]] = {}
        for need in here:
            shared.setdefault(ranges[need.name], []).append(need)
        for keys, needs in shared.items():
            if len(needs) < 2 or len(keys) > 1:
                continue
            if len({(need.zone, need.active) for need in needs}) > 1:
                continue  # not always on together, or out of each other's hearing
            tables = [self._question.counts[need.name][keys[0], stop.id] for need in needs]
            if tables[0].links > 1:
                continue  # each need fills blocks of its own
            if any(table is not tables[0] for table in tables):
                continue  # frequencies assigned to one of them: no common bound
            count = tables[0]
            wanted = sum(need.count + need.full_spares for need in needs)
            left = count.limit(sum(need.full_spares for need in needs)) - wanted
            # what is missing together is missing somewhere: the worst of n needs misses an n-th
            together = left if left >= 0 else -math.ceil(-left / len(needs))
            weakest = min(needs, key=lambda need: heads[need.name]).name
            heads[weakest] = min(heads[weakest], together)
        return heads

    def _alone(self, stop: Stop, need: Need, keys: Sequence[str]) -> int:
        counts = [self._question.counts[need.name][key, stop.id] for key in keys]
        clear = sum(count.clear_limit for count in counts)
        faint = sum(count.faint_limit for count in counts)
        if counts and counts[0].links > 1:
            links = counts[0].links
            spares = sum(block.spare for block in wanted_blocks(need, links))
            return links_headroom(need, links, clear + min(spares, faint))
        bound = clear + min(need.full_spares, faint)
        stock = [self._question.available.get(key) for key in keys]
        if all(pieces is not None for pieces in stock):
            pieces = sum(pieces or 0 for pieces in stock)
            if pieces < need.count:
                bound = min(bound, pieces + need.full_spares)
        return bound - need.count - need.full_spares


def _missing(found: Coordination, orders: Sequence[Order]) -> int:
    """Return what is missing at a stop: lines in links, a block's many, and spares 1 each."""
    return sum(
        row.missing_lines * order.links + row.missing_spares
        for row, order in zip(found.filled, orders, strict=True)
    )
