"""Drafts of a coordination: filling the free centres, and taking some out to fill better."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.board import Board, Row

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from planner.coordination.records import Grid, GuardSet, PlacedCarrier

_MASK_64 = (1 << 64) - 1
_MOST_OUT = 3


class Dice:
    """Whole random numbers, the same on every machine.

    Parameters
    ----------
    seed : int
        Any whole number.

    References
    ----------
    Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014: the
    64-bit mixing function called SplitMix64 (constants from memory; any would serve here).
    """

    def __init__(self, seed: int) -> None:
        self._state = seed & _MASK_64

    def below(self, limit: int) -> int:
        """Return a number from 0 to ``limit - 1``."""
        self._state = (self._state + 0x9E3779B97F4A7C15) & _MASK_64
        value = self._state
        value = ((value ^ (value >> 30)) * 0xBF58476D1CE4E5B9) & _MASK_64
        value = ((value ^ (value >> 27)) * 0x94D049BB133111EB) & _MASK_64
        return (value ^ (value >> 31)) % limit


class Budget:
    """How much a search may still try.

    Parameters
    ----------
    steps : int or None
        Most candidates put to the set; None for no such bound.
    expired : callable
        Says that time is over; never, when left out.

    Attributes
    ----------
    used : int
        Candidates put to the set, or taken out of it for a trial, so far.
    """

    def __init__(
        self, steps: int | None = None, *, expired: Callable[[], bool] | None = None
    ) -> None:
        self.used = 0
        self._steps = steps
        self._expired = expired

    def spend(self) -> None:
        """Count one candidate."""
        self.used += 1

    def left(self, most: int) -> int:
        """Return how many candidates may still be tried, at most ``most``."""
        if self.is_over():
            return 0
        return most if self._steps is None else min(most, self._steps - self.used)

    def is_over(self) -> bool:
        """Say whether nothing more may be tried."""
        if self._steps is not None and self.used >= self._steps:
            return True
        return self._expired is not None and self._expired()


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Scan:
    """The order in which centres are looked at: from a start, around to where it began.

    Attributes
    ----------
    start : float
        Where to begin, as a part of all centres, 0 to below 1.
    descending : bool
        Downwards.
    """

    start: float = 0.0
    descending: bool = False

    def order(self, size: int) -> NDArray[np.intp]:
        """Return the indices 0 to ``size - 1`` in the order of the scan."""
        around = np.roll(np.arange(size), -int(self.start * size))
        return around[::-1] if self.descending else around


def scans(count: int) -> tuple[Scan, ...]:
    """Return the first ``count`` scans: up, down, then from inside, evenly spread.

    The starts inside are the van der Corput sequence 1/2, 1/4, 3/4, 1/8 ..., each way in turn.
    """
    found = [Scan(), Scan(descending=True)]
    for index in range(1, count):
        start, weight, rest = 0.0, 0.5, index
        while rest:
            start += weight * (rest & 1)
            weight, rest = weight / 2, rest >> 1
        found.append(Scan(start=start, descending=index % 2 == 1))
    return tuple(found[:count])


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Seat:
    """A need in a search: its guards, how many it wants, and which centres are for spares only.

    Attributes
    ----------
    guards : GuardSet
        Guards of its carriers.
    points_hz : numpy.ndarray
        All its centres, ascending [Hz].
    step_hz : int
        Their raster [Hz].
    is_main : numpy.ndarray of bool
        Centres that lines may use.
    count, spares : int
        Lines and spares wanted.
    """

    guards: GuardSet
    points_hz: NDArray[np.int64]
    step_hz: int
    is_main: NDArray[np.bool_]
    count: int
    spares: int


def make_seat(guards: GuardSet, grid: Grid, extra: Grid | None, *, count: int, spares: int) -> Seat:
    """Return the seat of a need whose spares may also use an extra grid."""
    main_hz = grid.points()
    points_hz, step_hz = main_hz, grid.step_hz
    if extra is not None and extra.windows_hz:
        points_hz = np.union1d(main_hz, extra.points())
        offset = abs(extra.origin_hz - grid.origin_hz)
        step_hz = int(np.gcd.reduce([grid.step_hz, extra.step_hz, offset]))
    return Seat(
        guards=guards,
        points_hz=points_hz,
        step_hz=step_hz,
        is_main=np.isin(points_hz, main_hz),
        count=count,
        spares=spares,
    )


def make_board(seats: Sequence[Seat], fixed: Sequence[PlacedCarrier]) -> Board:
    """Return a board with one row a seat and the fixed carriers standing."""
    rows = [Row(seat.points_hz, step_hz=seat.step_hz, guards=seat.guards) for seat in seats]
    return Board(rows, fixed)


class Draft:
    """A valid set under construction.

    Parameters
    ----------
    base : Board
        Board with the fixed carriers only; it is copied.
    seats : sequence of Seat
        One a row of the board.
    budget : Budget
        Counts every candidate put to the set.

    Attributes
    ----------
    main, extra : list of list of int
        Carriers of each seat in centres for all, and in centres for spares only, in the order
        of their coming [Hz].
    held : list of int
        Of each seat, carriers in ``main`` that were kept for spares.
    """

    def __init__(self, base: Board, seats: Sequence[Seat], budget: Budget) -> None:
        self.board = base.copy()
        self.seats = tuple(seats)
        self.budget = budget
        self.main: list[list[int]] = [[] for _ in seats]
        self.extra: list[list[int]] = [[] for _ in seats]
        self.held = [0] * len(seats)

    def copy(self) -> Draft:
        """Return a draft that can go its own way, on the same budget."""
        twin = Draft(self.board, self.seats, self.budget)
        twin.main = [list(pool) for pool in self.main]
        twin.extra = [list(pool) for pool in self.extra]
        twin.held = list(self.held)
        return twin

    def become(self, other: Draft) -> None:
        """Take over the state of another draft of the same seats, which is not used further."""
        self.board, self.main, self.extra = other.board, other.main, other.extra
        self.held = other.held

    def shortage(self) -> tuple[int, int]:
        """Return the numbers of missing lines and missing spares, all seats together."""
        lines = spares = 0
        for seat, main, extra in zip(self.seats, self.main, self.extra, strict=True):
            short = max(0, seat.count - len(main))
            lines += short
            spares += max(0, seat.count + seat.spares - len(main) - len(extra) - short)
        return lines, spares

    def keep(self, index: int, frequency_hz: int, *, spare: bool) -> bool:
        """Try to place a wished carrier; say whether it stands."""
        seat, row = self.seats[index], self.board.rows[index]
        self.budget.spend()
        if not row.is_free(frequency_hz):
            return False
        where = int(np.searchsorted(seat.points_hz, frequency_hz))
        if not spare and not seat.is_main[where]:
            return False
        self._add(index, where)
        self.held[index] += int(spare and bool(seat.is_main[where]))
        return True

    def fill(self, scan: Scan, sequence: Sequence[int]) -> None:
        """Fill first-fit: the lines of all seats in sequence, then the spares."""
        for index in sequence:
            self.fill_lines(index, scan)
        for index in sequence:
            is_main = self.seats[index].is_main
            self._scan(index, scan, is_main, self._room(index, spare=True)[0])
            self.fill_extra(index, scan)

    def fill_lines(self, index: int, scan: Scan) -> None:
        """Fill the lines of one seat first-fit."""
        self._scan(index, scan, self.seats[index].is_main, self._room(index, spare=False)[0])

    def fill_extra(self, index: int, scan: Scan) -> None:
        """Fill the spares of one seat first-fit in the centres for spares only."""
        self._scan(index, scan, ~self.seats[index].is_main, self._room(index, spare=True)[1])

    def members(self) -> list[tuple[int, int]]:
        """Return (seat, frequency) of every carrier placed so far."""
        return [
            (index, hz)
            for index, (main, extra) in enumerate(zip(self.main, self.extra, strict=True))
            for hz in (*main, *extra)
        ]

    def stir(
        self, dice: Dice, sequence: Sequence[int], *, kept_hz: frozenset[int] = frozenset()
    ) -> None:
        """Take up to three carriers out, refill otherwise, and keep what is no worse.

        Carriers at ``kept_hz`` are left alone. Refilling starts at a random centre and takes
        free centres at an edge of what is free: a set is dense when its carriers stand exactly
        one guard or spacing apart.
        """
        before, as_it_was = self.shortage(), self.copy()
        members = [member for member in self.members() if member[1] not in kept_hz]
        out = [
            members.pop(dice.below(len(members)))
            for _ in range(self.budget.left(min(1 + dice.below(_MOST_OUT), len(members))))
        ]
        for index, hz in out:
            self.budget.spend()
            self.drop(index, hz)
        start = dice.below(1 << 30) / (1 << 30)
        for spare in (False, True):
            for index in sequence:
                self._refill(index, start, out=out, spare=spare)
        if self.shortage() > before:
            self.become(as_it_was)

    def drop(self, index: int, frequency_hz: int) -> None:
        """Take a carrier of a seat out."""
        pool = self.main[index] if frequency_hz in self.main[index] else self.extra[index]
        pool.remove(frequency_hz)
        self.board.remove(frequency_hz)

    def restore(self, index: int, frequency_hz: int) -> None:
        """Put back a carrier that was taken out."""
        self._add(index, int(np.searchsorted(self.seats[index].points_hz, frequency_hz)))

    def _add(self, index: int, where: int) -> None:
        seat = self.seats[index]
        frequency_hz = int(seat.points_hz[where])
        (self.main if seat.is_main[where] else self.extra)[index].append(frequency_hz)
        self.board.add(frequency_hz, seat.guards)

    def _room(self, index: int, *, spare: bool) -> tuple[int, int]:
        """Return how many more carriers a seat takes in main and in extra centres."""
        seat, main, extra = self.seats[index], len(self.main[index]), len(self.extra[index])
        total = seat.count + seat.spares - main - extra
        if not spare:
            return min(seat.count + self.held[index] - main, total), 0
        return total, min(seat.spares - extra, total)

    def _scan(self, index: int, scan: Scan, allowed: NDArray[np.bool_], room: int) -> None:
        cover = self.board.rows[index].cover
        order = scan.order(allowed.size)
        order = order[allowed[order]]
        while room > 0 and not self.budget.is_over():
            free = cover[order] == 0
            first = int(np.argmax(free)) if free.size else 0
            if not free.size or not free[first]:
                return
            self.budget.spend()
            self._add(index, int(order[first]))
            order = order[first + 1 :]
            room -= 1

    def _refill(
        self, index: int, start: float, *, out: Sequence[tuple[int, int]], spare: bool
    ) -> None:
        seat, row = self.seats[index], self.board.rows[index]
        left = np.searchsorted(seat.points_hz, [hz for owner, hz in out if owner == index])
        first = True
        from_index = int(start * seat.points_hz.size)
        while not self.budget.is_over():
            room_main, room_extra = self._room(index, spare=spare)
            free = row.cover == 0
            if room_main <= 0:
                free &= ~seat.is_main
            if room_extra <= 0:
                free &= seat.is_main
            if first:
                free[left] = False
            edges = _edges(free, row.apart)
            if not edges.size:
                break
            following = int(np.searchsorted(edges, from_index))
            self.budget.spend()
            where = int(edges[following % edges.size])
            self._add(index, where)
            first = False


def _edges(free: NDArray[np.bool_], apart: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Return the indices of free centres beside a closed one or beside a gap."""
    if not free.any():
        return np.empty(0, dtype=np.intp)
    edge = free.copy()
    inner = free[:-1] & free[1:] & ~apart
    edge[1:-1] &= ~(inner[:-1] & inner[1:])
    return np.flatnonzero(edge)
