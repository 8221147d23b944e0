"""Search a route for a change that makes fewer carriers begin; nothing that counts is given up."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import kernel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.coordination.nights import RigNights
    from planner.coordination.stop_sets import Lack

_FARTHEST = 4
_FEW, _MANY = 10, 20
_TRIES = 12
_TUNE, _PROLONG = 4, 6
_UPROOTED = 3
_ALL = 1 << 30
Gone = list[tuple[int, int, int]]
"""Stop, need and number of carriers taken away."""


class NightSearch:
    """Changes of a route, tried again and again; each is kept that is no dearer.

    Parameters
    ----------
    nights : RigNights
        The route, filled.
    order : sequence of int
        Needs in the order in which they are refilled.
    fines : (int, int)
        What a missing line and a missing spare cost beside moves.
    """

    def __init__(self, nights: RigNights, order: Sequence[int], *, fines: tuple[int, int]) -> None:
        self._nights = nights
        self._order = tuple(order)
        self._fines = fines
        self._slack = 0
        self._tries = [_TRIES] * len(nights.tasks)
        self._worst: list[Lack] | None = None
        self._memory: dict[int, tuple[NDArray[np.generic], ...]] = {}
        self._costs = [nights.cost(stop, fines) for stop in range(len(nights.tasks))]

    @property
    def cost(self) -> int:
        """Moves and fines of the whole route."""
        return sum(self._costs)

    def hold(self, fines: tuple[int, int]) -> None:
        """Let no stop lack more from now on than it lacks now; take note of all that changed."""
        self._fines = fines
        every = range(len(self._nights.tasks))
        self._worst = [self._nights.lack(stop) for stop in every]
        self._costs = [self._nights.cost(stop, fines) for stop in every]

    def run(self, turns: int, *, heat: int = 0) -> None:
        """Try so many changes; at first some are taken that are dearer by less than ``heat``."""
        for turn in range(turns):
            if not self.cost:
                return
            self._slack = heat * (turns - turn) // turns
            kind = self._throw(10)
            stop, other = self._throw(len(self._costs)), self._throw(len(self._costs))
            if self._costs[other] > self._costs[stop]:
                stop = other
            self._memory = {}
            gone: Gone | None
            if kind < _TUNE:
                short = self._short(other)
                gone = self._tune(stop, _FEW) if short is None else self._tune(short, _MANY)
            elif kind < _PROLONG:
                gone = self._prolong(stop)
            else:
                gone = self._uproot(stop)
            if gone is None or not self._is_better(gone):
                for changed, earlier in self._memory.items():
                    self._nights.restore(changed, earlier)

    def _is_better(self, gone: Gone) -> bool:
        """Fill what was changed; say whether it is no dearer now, and take note of it."""
        nights, changed = self._nights, sorted(self._memory)
        if not changed:
            return False
        nights.fill(changed, self._order, start=self._throw(_ALL), gone=gone)
        if self._worst is not None and any(
            sum(nights.lack(stop)) > sum(self._worst[stop]) or nights.lack(stop) > self._worst[stop]
            for stop in changed
        ):
            return False
        near = set(changed)
        for course in nights.courses:
            near |= {int(course.after[stop]) for stop in changed} - {-1}
        fresh = {stop: nights.cost(stop, self._fines) for stop in near}
        dearer = sum(fresh.values()) - sum(self._costs[stop] for stop in near)
        if dearer > (self._throw(self._slack) if self._slack else 0):
            return False
        for stop, cost in fresh.items():
            self._costs[stop] = cost
        return True

    def _throw(self, limit: int) -> int:
        return int(kernel.throw(self._nights.dice, limit))

    def _open(self, stop: int) -> None:
        if stop not in self._memory:
            self._memory[stop] = self._nights.remember(stop)

    def _short(self, start: int) -> int | None:
        """Return the next stop that lacks something and was not searched in vain too often."""
        stops = len(self._costs)
        for turn in range(stops):
            stop = (start + turn) % stops
            if self._nights.is_short(stop) and self._tries[stop] > 0:
                self._tries[stop] -= 1
                return stop
        return None

    def _ends(self, stop: int) -> list[tuple[int, int, bool]]:
        """Return need, number and direction of carriers that could stand at one more stop."""
        found = []
        for number, course in enumerate(self._nights.courses):
            for forward in (True, False):
                other = int((course.after if forward else course.before)[stop])
                if other >= 0:
                    able = (course.place[other] >= 0) & (course.held[other] == 0)
                    ks = np.flatnonzero(able & (course.held[stop] == 1)).tolist()
                    found += [(number, k, forward) for k in ks]
        return found

    def _edges(self, stop: int) -> list[tuple[int, int]]:
        """Return need and number of carriers that begin or end at a stop."""
        found = []
        for number, course in enumerate(self._nights.courses):
            edge = np.zeros(len(course.keys), dtype=bool)
            for other in (int(course.before[stop]), int(course.after[stop])):
                if other >= 0:
                    edge |= course.held[other] == 0
            ks = np.flatnonzero(edge & (course.held[stop] == 1)).tolist()
            found += [(number, k) for k in ks]
        return found

    def _prolong(self, stop: int) -> Gone | None:
        """Let a carrier stand at up to four neighbouring stops too."""
        ends = self._ends(stop)
        if not ends:
            return None
        number, k, forward = ends[self._throw(len(ends))]
        course = self._nights.courses[number]
        gone: Gone = []
        here = stop
        for _ in range(1 + self._throw(_FARTHEST)):
            following = int((course.after if forward else course.before)[here])
            if following < 0 or course.held[following, k] or course.place[following, k] < 0:
                break
            self._open(following)
            went = self._nights.force(following, number, k)
            if went is None:
                return None
            gone += [(following, *row) for row in went]
            here = following
        return gone

    def _tune(self, stop: int, times: int) -> Gone | None:
        """Search one stop alone for a set that lacks less, or goes on to more neighbours."""
        if stop in self._nights.shut:
            return None
        self._open(stop)
        self._nights.tune(stop, self._order, self._fines, times)
        return []

    def _uproot(self, stop: int) -> Gone | None:
        """Take up to three carriers of a stop away, from all stops that they serve on end."""
        nights = self._nights
        gone: Gone = []
        edges = self._edges(stop)
        for _ in range(min(len(edges), 1 + self._throw(_UPROOTED))):
            number, k = edges.pop(self._throw(len(edges)))
            course = nights.courses[number]
            here = stop
            while course.before[here] >= 0 and course.held[course.before[here], k]:
                here = int(course.before[here])
            while here >= 0 and course.held[here, k]:
                slot = nights.slot_of(here, number, k)
                if here not in nights.shut and not nights.boards[here].standing[slot, kernel.KEPT]:
                    self._open(here)
                    nights.take(here, slot)
                    gone.append((here, number, k))
                here = int(course.after[here])
        return gone or None
