"""Search a route for sets in which fewer carriers begin; nothing that counts is given up.

Simulated annealing (Kirkpatrick, Gelatt and Vecchi 1983), stop by stop: what a carrier saves
depends on what stands at the need's stops before and after, and on nothing else, so that a change
of one stop is weighed exactly.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, TypeVar

from planner.coordination import kernel
from planner.coordination.names import LINE_WEIGHT
from planner.coordination.stop_sets import is_fuller
from planner.workers import side_by_side

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from planner.coordination.nights import RigNights
    from planner.coordination.stop_sets import Lack

Answer = TypeVar("Answer")
Heats = tuple[int, int]
"""Heat at first and at last, in sixteenths of what is weighed, for lines that weigh 4."""

_LIGHT = (60, 50)
"""What a missing line, and a missing spare, cost while sets are made less short; a line's move
costs 4, so that hardly any is left missing for the sake of moves."""
_HEAVY = (280, 200)
"""The same once sets are as full as they get: more than any change at the heats used may cost."""
_BATCHES = 16


class NightSearch:
    """Changes of a route, tried again and again.

    Parameters
    ----------
    nights : RigNights
        The route, filled.
    order : sequence of int
        Needs in the order in which they are refilled.
    """

    def __init__(self, nights: RigNights, order: Sequence[int]) -> None:
        self._nights = nights
        self._order = tuple(order)
        self._weigh = _scales(nights)
        self._held = False

    def hold(self) -> None:
        """Let no stop lack more from now on than it lacks at the time."""
        self._held = True

    def run(self, sweeps: int, turns: int, heats: Heats) -> None:
        """Change the sets of all stops, in random order, again and again, ever cooler.

        Parameters
        ----------
        sweeps, turns : int
            How often every stop is taken up, and changes tried each time.
        heats : (int, int)
            See :data:`Heats`.
        """
        stops = list(range(len(self._nights.tasks)))
        for sweep in range(sweeps):
            self._shuffle(stops)
            heat = _heat(heats, sweep, sweeps)
            work = functools.partial(self._take_up, turns=turns, heat=heat)
            if not any(self.apart(stops, work)):
                return

    def apart(self, stops: Sequence[int], work: Callable[[int], Answer]) -> list[Answer]:
        """Work on stops side by side, neighbours of one need one after the other.

        Parameters
        ----------
        stops : sequence of int
            Which; see :meth:`planner.coordination.nights.RigNights.batches`.
        work : callable
            May change its stop, and look at the stops before and after it of each need.

        Returns
        -------
        list
            What it answered, in no particular order.
        """
        found: list[Answer] = []
        for batch in self._nights.batches(stops):
            found += side_by_side(work, batch)
        return found

    def melt(self, stop: int, turns: int, heats: Heats) -> bool:
        """Search one short stop from hot to cool for a fuller set; say whether one was found.

        Otherwise the stop stays as it was.
        """
        nights = self._nights
        before, lack = nights.remember(stop), nights.lack(stop)
        for batch in range(_BATCHES):
            heat = _heat(heats, batch, _BATCHES) * self._weigh[0] // LINE_WEIGHT
            nights.anneal(stop, self._order, self._fines(_HEAVY), -(-turns // _BATCHES), heat)
        if is_fuller(nights.lack(stop), lack):
            return True
        nights.restore(stop, before)
        return False

    def _take_up(self, stop: int, turns: int, heat: int) -> bool:
        """Change the set of one stop; say whether there was anything to win."""
        nights = self._nights
        if stop in nights.shut or not (nights.is_short(stop) or nights.begins(stop)):
            return False
        heat = heat * self._weigh[0] // LINE_WEIGHT
        if not self._held:
            nights.anneal(stop, self._order, self._fines(_LIGHT), turns, heat)
            return True
        before, lack = nights.remember(stop), nights.lack(stop)
        nights.anneal(stop, self._order, self._fines(_HEAVY), turns, heat)
        if is_fuller(lack, nights.lack(stop)):
            nights.restore(stop, before)
        return True

    def _fines(self, fines: Lack) -> tuple[int, int]:
        return fines[0] * self._weigh[1], fines[1] * self._weigh[1]

    def _shuffle(self, stops: list[int]) -> None:
        """Bring stops into a random order (Durstenfeld 1964)."""
        for last in range(len(stops) - 1, 0, -1):
            other = int(kernel.throw(self._nights.dice, last + 1))
            stops[last], stops[other] = stops[other], stops[last]


def _heat(heats: Heats, turn: int, turns: int) -> int:
    """Return the heat of a turn, evenly from the first to the last."""
    return heats[0] + (heats[1] - heats[0]) * turn // max(1, turns - 1)


def _scales(nights: RigNights) -> tuple[int, int]:
    """Return the least weight of a line's move, and by how much the greatest exceeds 4 a link."""
    weights = [course.weight for course in nights.courses] or [LINE_WEIGHT]
    links = {need.name: need.most_held for task in nights.tasks for need in task.needs}
    each = [-(-course.weight // links[course.name]) for course in nights.courses]
    return min(weights), max(1, -(-max(each, default=1) // LINE_WEIGHT))
