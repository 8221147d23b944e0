"""The stops of one rig, a board each, and the carriers that serve several of them.

A carrier is a need's range and frequency. Where it stands on consecutive stops of its need nobody
retunes it (but for its power, which no choice of ours changes much): it costs something only where
it begins. So the route is filled with carriers that last longest, and then searched for changes
that make fewer begin.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import kernel
from planner.coordination.courses import course_of
from planner.coordination.night_kernel import (
    NOWHERE,
    anneal_at,
    best_run,
    moves,
    put_at,
    refresh,
)
from planner.coordination.search import Search
from planner.coordination.stop_sets import orders_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.coordination.kernel import Board
    from planner.coordination.stop_sets import Lack, Sets
    from planner.coordination.tasks import StopTask

    Whole = NDArray[np.int64]

_LONGEST = 1 << 20


class RigNights:
    """The stops of one rig, in route order, and what stands at each.

    Parameters
    ----------
    tasks : sequence of StopTask
        What they ask for; one at least.
    """

    def __init__(self, tasks: Sequence[StopTask]) -> None:
        self.tasks = tuple(tasks)
        searches = [Search(orders_of(t, {}), t.fixed, company=t.company) for t in self.tasks]
        self.boards = [_trimmed(search) for search in searches]
        self.floors = [int(board.state[kernel.FLOOR]) for board in self.boards]
        names = dict.fromkeys(need.name for task in self.tasks for need in task.needs)
        self.courses = tuple(course_of(name, self.tasks, searches, self.boards) for name in names)
        self._carrier = [self._by_centre(stop) for stop in range(len(self.tasks))]
        self.shut: set[int] = set()
        self.dice = np.array([0, 0, 2463534242, 0], dtype=np.int64)
        for stop in range(len(self.tasks)):
            self._refresh(stop)
        self._empty = [self.remember(stop) for stop in range(len(self.tasks))]

    def remember(self, stop: int) -> tuple[NDArray[np.generic], ...]:
        """Return what stands at a stop, to be given to :meth:`restore`."""
        board = self.boards[stop]
        return (
            *(getattr(board, name).copy() for name in kernel.CHANGING),
            *(course.held[stop].copy() for course in self.courses),
            *(course.free[stop].copy() for course in self.courses),
        )

    def restore(self, stop: int, earlier: Sequence[NDArray[np.generic]]) -> None:
        """Bring back what stood at a stop; steps stay counted."""
        board = self.boards[stop]
        steps = int(board.state[kernel.STEPS])
        rows = [
            *(getattr(board, name) for name in kernel.CHANGING),
            *(course.held[stop] for course in self.courses),
            *(course.free[stop] for course in self.courses),
        ]
        for row, values in zip(rows, earlier, strict=True):
            row[...] = values
        board.state[kernel.STEPS] = steps

    def clear(self, stop: int) -> None:
        """Take every carrier that is not fixed away from a stop."""
        self.restore(stop, self._empty[stop])

    def place(self, stop: int, sets: Sets, *, kept: bool = False) -> None:
        """Let carriers stand at a stop, where they may."""
        for number, course in enumerate(self.courses):
            for range_key, hz, _ in sorted(sets.get(course.name, ())):
                k = course.where.get((range_key, hz))
                if k is not None:
                    self.put(stop, number, k, kept=kept)

    def put(self, stop: int, number: int, k: int, *, kept: bool = False) -> bool:
        """Let a carrier stand at a stop where it may; say whether it does."""
        course, board = self.courses[number], self.boards[stop]
        if not course.free[stop, k]:
            return False
        row, at = int(course.row[stop, k]), int(course.place[stop, k])
        if not put_at(row, at, int(kept), *board):
            course.free[stop, k] = 0
            return False
        course.held[stop, k] = 1
        self._refresh(stop)
        return True

    def fill(self, stops: Sequence[int], order: Sequence[int], *, longest: int = _LONGEST) -> None:
        """Fill stops with the runs that join most, then last longest.

        Parameters
        ----------
        stops : sequence of int
            The stops.
        order : sequence of int
            Needs, the first to be filled first.
        longest : int
            Runs of so many stops and more count alike.
        """
        opened = [stop for stop in stops if stop not in self.shut]
        for number in order:
            course = self.courses[number]
            free = np.zeros_like(course.free)
            while True:
                free[opened] = course.free[opened]
                if not free.any():
                    break
                k, first, last = best_run(free, course.held, course.chain, longest)
                for stop in course.chain[first : last + 1].tolist():
                    self.put(stop, number, k)

    def anneal(
        self, stop: int, order: Sequence[int], fines: tuple[int, int], times: int, heat: int
    ) -> None:
        """Exchange carriers of one stop for a set that lacks less, or goes on to more neighbours.

        Parameters
        ----------
        stop : int
            The stop; nothing is done where it is to stay as it is.
        order : sequence of int
            Needs, the first to be filled first.
        fines : (int, int)
            What a missing line and a missing spare cost, beside weights of moves.
        times : int
            Exchanges.
        heat : int
            Sixteenths of what an exchange may lose, on average; 0 for nothing.
        """
        board = self.boards[stop]
        rows = [
            row
            for number in order
            for row in range(board.rows.shape[0])
            if board.rows[row, kernel.NEED] == self.courses[number].number[stop]
        ]
        if not rows or stop in self.shut:
            return
        wanted, dear = np.array(rows, dtype=np.int64), np.array(fines, dtype=np.int64)
        anneal_at(wanted, self._gain(stop), dear, times, heat, *board)
        for course in self.courses:
            course.held[stop] = 0
        count = int(board.state[kernel.COUNT])
        ours = board.standing[:count][board.standing[:count, kernel.ROW] >= 0]
        for number, k in self._carrier[stop][ours[:, kernel.AT]].tolist():
            self.courses[number].held[stop, k] = 1
        self._refresh(stop)

    def batches(self, stops: Sequence[int]) -> list[list[int]]:
        """Part stops into few batches in which no two are neighbours of one need."""
        found: list[list[int]] = []
        for stop in stops:
            beside = {int(row[stop]) for c in self.courses for row in (c.before, c.after)}
            batch = next((batch for batch in found if beside.isdisjoint(batch)), None)
            if batch is None:
                found.append([stop])
            else:
                batch.append(stop)
        return found

    def begins(self, stop: int) -> bool:
        """Say whether any carrier begins at a stop, or at the next one of its need."""
        for number, course in enumerate(self.courses):
            for place in (stop, int(course.after[stop])):
                if place >= 0 and self.moves(place, number):
                    return True
        return False

    def moves(self, stop: int, number: int) -> int:
        """Return the carriers of a need that begin at a stop; 0 at its first."""
        course = self.courses[number]
        last = int(course.before[stop])
        if last < 0 or course.number[stop] < 0:
            return 0
        return int(moves(course.held[stop], course.held[last]))

    def cost(self, stop: int, fines: tuple[int, int]) -> int:
        """Return the cost of a stop: what begins there, and a fine for what is missing.

        As many of the carriers that begin as there are spares can be given to spares, but not
        at every stop, since spares must then have had those that ended: two thirds of what that
        would save are counted (a share that served well on real routes).
        """
        lines, spares = self.lack(stop)
        total = lines * fines[0] + spares * fines[1]
        for number, course in enumerate(self.courses):
            begun = self.moves(stop, number)
            if begun:
                need = self.tasks[stop].needs[int(course.number[stop])]
                few = min(begun, max(0, int(course.held[stop].sum()) - len(need.lines)))
                total += course.weight * begun - 2 * (course.weight - 1) * few // 3
        return total

    def lack(self, stop: int) -> Lack:
        """Return the missing lines and spares of a stop."""
        lines, spares = kernel.shortage(self.boards[stop].needs)
        return int(lines), int(spares)

    def is_short(self, stop: int) -> bool:
        """Say whether a stop lacks more than is proven that it must."""
        return sum(self.lack(stop)) > self.floors[stop] and stop not in self.shut

    @property
    def steps(self) -> int:
        """Candidates tried so far, all stops together."""
        return sum(int(board.state[kernel.STEPS]) for board in self.boards)

    def sets(self, stop: int) -> Sets:
        """Return what stands at a stop, by need."""
        board = self.boards[stop]
        found: Sets = {need.name: set() for need in self.tasks[stop].needs}
        for course in self.courses:
            for k in np.flatnonzero(course.held[stop]).tolist():
                main = bool(board.centres[course.place[stop, k], kernel.MAIN])
                found[course.name].add((*course.keys[k], main))
        return found

    def orders(self) -> tuple[tuple[int, ...], ...]:
        """Return orders to fill needs in: least air a carrier first, as given, reversed."""
        given = tuple(range(len(self.courses)))
        air = [0.0 for _ in given]
        for number, course in enumerate(self.courses):
            for stop in course.chain[1:-1].tolist():
                need = self.tasks[stop].needs[int(course.number[stop])]
                step_hz = min((choice.grid.step_hz for choice in need.choices), default=0)
                air[number] += int(course.free[stop].sum()) * step_hz / max(1, len(need.names))
        tight = tuple(sorted(given, key=lambda number: air[number]))
        return tuple(dict.fromkeys((tight, given, tight[::-1])))

    def _by_centre(self, stop: int) -> Whole:
        """Return need and number of the carrier of each centre of a stop's board, shape (P, 2)."""
        found = np.full((self.boards[stop].cover.size, 2), NOWHERE, dtype=np.int64)
        for number, course in enumerate(self.courses):
            there = np.flatnonzero(course.place[stop] >= 0)
            found[course.place[stop, there], 0] = number
            found[course.place[stop, there], 1] = there
        return found

    def _refresh(self, stop: int) -> None:
        board = self.boards[stop]
        for course in self.courses:
            number = int(course.number[stop])
            if number >= 0:
                refresh(
                    board.centres,
                    board.cover,
                    board.needs,
                    course.place[stop],
                    number,
                    course.free[stop],
                )

    def _gain(self, stop: int) -> Whole:
        """Return by centre what a carrier there would save: moves here and at the next stop."""
        gain = np.zeros(self.boards[stop].cover.size, dtype=np.int64)
        for course in self.courses:
            for other in (int(course.before[stop]), int(course.after[stop])):
                if other >= 0:
                    ks = np.flatnonzero((course.held[other] == 1) & (course.place[stop] >= 0))
                    gain[course.place[stop, ks]] += course.weight
        return gain


def _trimmed(search: Search) -> Board:
    """Return a stop's board with room for what is asked only."""
    board = search.begin()
    asked = sum(order.count + order.spares for order in search.orders)
    room = min(board.standing.shape[0], int(board.state[kernel.COUNT]) + asked + 1)
    return board._replace(standing=np.ascontiguousarray(board.standing[:room]))
