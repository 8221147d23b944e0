"""Boards for the kernel: made from what needs ask for, read back as carriers."""

from __future__ import annotations

import dataclasses
import functools
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import kernel
from planner.coordination.company import TOGETHER, Company
from planner.coordination.kernel import Board
from planner.coordination.records import Choice, Chosen, Filled, Grid, GuardSet, Order
from planner.coordination.rows import Row, centres_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

    from planner.coordination.records import PlacedCarrier, Wish

NO_LIMIT = 1 << 40
"""A count that no spectrum can hold, and more steps than any search takes."""

_ROOM_TO_SPARE = 256
_TIGHT = 4
_HEADROOM_STIRS = 60
_MOST_CARRIERS = 4096
_FIRST_DICE = 2463534242
"""Start of the random numbers (any number but 0 serves)."""


class Budget:
    """How much a search may still try.

    Parameters
    ----------
    steps : int or None
        Most candidates put to the set or taken out of it; None for no such bound.
    expired : callable
        Says that time is over; never, when left out.
    """

    def __init__(
        self, steps: int | None = None, *, expired: Callable[[], bool] | None = None
    ) -> None:
        self.steps = NO_LIMIT if steps is None else steps
        self._expired = expired

    def is_over(self) -> bool:
        """Say whether time is over."""
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


def pick_effort(table: Mapping[str, int], effort: str) -> int:
    """Return how much an effort asks for.

    Raises
    ------
    ValueError
        When the effort has another name.
    """
    if effort not in table:
        raise ValueError(f"effort {effort!r}; known: {', '.join(table)}")
    return table[effort]


class Search:
    """Boards of one stop: an empty one to begin from, and what is done with its copies.

    Parameters
    ----------
    orders : sequence of Order
        What each need asks for.
    fixed : sequence of PlacedCarrier
        Carriers on the air already; they may violate each other.
    company : Company
        Who is on with whom; orders and fixed carriers name their groups of it.
    seed : int
        Start of the random numbers.
    """

    def __init__(
        self,
        orders: Sequence[Order],
        fixed: Sequence[PlacedCarrier] = (),
        *,
        company: Company = TOGETHER,
        seed: int = 0,
    ) -> None:
        self.orders = tuple(orders)
        self.company = company
        company.require([*(row.group for row in self.orders), *(row.group for row in fixed)])
        self.rows = tuple(
            Row(need=need, choice=choice, centres=centres_of(choice, spares=order.spares > 0))
            for need, order in enumerate(self.orders)
            for choice in order.choices
        )
        self._number = {(row.need, row.choice.range_key): k for k, row in enumerate(self.rows)}
        self._empty = self._board(fixed, seed)
        self._memory = copy_of(self._empty)

    def begin(self) -> Board:
        """Return a fresh board with only the fixed carriers on it."""
        return copy_of(self._empty)

    def place_of(self, board: Board, need: int, wish: Wish) -> tuple[int, int] | None:
        """Return row and centre of a wished carrier, None where it may not stand."""
        number = self._number[need, wish.range_key]
        row = self.rows[number]
        k = int(np.searchsorted(row.points_hz, wish.frequency_hz))
        if k == row.points_hz.size or int(row.points_hz[k]) != wish.frequency_hz:
            return None
        if not (wish.spare or row.is_main[k]):
            return None
        at = int(board.rows[number, kernel.BEGIN]) + k
        if kernel.room(board.needs[need], int(wish.spare))[0 if row.is_main[k] else 1] <= 0:
            return None
        return (number, at) if kernel.may_stand(board, number, at) else None

    def keep(self, board: Board, need: int, wish: Wish) -> bool:
        """Try to place a wished carrier; say whether it stands. It is counted as tried."""
        place = self.place_of(board, need, wish)
        if place is None:
            board.state[kernel.STEPS] += 1
            return False
        kernel.stand(board, *place, 1)
        if wish.spare and board.centres[place[1], kernel.MAIN]:
            board.needs[need, kernel.RESERVED] += 1
        return True

    def fill(
        self, board: Board, scan: Scan, needs: Sequence[int], *, most_steps: int = NO_LIMIT
    ) -> None:
        """Fill first-fit: the lines of all needs in this order, then the spares."""
        down = int(scan.descending)
        for spare in (0, 1):
            for number in self.rows_of(needs):
                size = self.rows[number].points_hz.size
                if size and (not spare or self.orders[self.rows[number].need].spares):
                    kernel.fill(board, number, int(scan.start * size), down, spare, most_steps)

    def stir(
        self, board: Board, needs: Sequence[int], times: int, *, most_steps: int = NO_LIMIT
    ) -> int:
        """Take carriers out and refill, keeping what is no worse; return how often it was done."""
        order = np.array(self.rows_of(needs), dtype=np.int64)
        return int(kernel.stir(board, self._memory, order, times, most_steps))

    def loosen(self, board: Board) -> None:
        """Let every carrier that is not fixed be taken out."""
        board.standing[:, kernel.KEPT] = 0

    def rows_of(self, needs: Sequence[int]) -> list[int]:
        """Return the rows of some needs, in their order."""
        return [k for need in needs for k, row in enumerate(self.rows) if row.need == need]

    def carriers(self, board: Board) -> list[list[tuple[Chosen, int]]]:
        """Return what stands for each need, ascending, with its place on the board."""
        found: list[list[tuple[Chosen, int]]] = [[] for _ in self.orders]
        places = np.flatnonzero(board.standing[: int(board.state[kernel.COUNT]), kernel.ROW] >= 0)
        ours = board.standing[places]
        columns = (
            ours[:, kernel.HZ], ours[:, kernel.ROW],
            board.centres[ours[:, kernel.AT], kernel.MAIN], places,
        )  # fmt: skip
        for hz, number, main, k in zip(*(column.tolist() for column in columns), strict=True):
            row = self.rows[number]
            chosen = Chosen(range_key=row.choice.range_key, frequency_hz=hz, main=main == 1)
            found[row.need].append((chosen, k))
        for carriers in found:
            carriers.sort(key=lambda item: (item[0].frequency_hz, item[0].range_key))
        return found

    def filled(self, board: Board, headrooms: Sequence[int] | None = None) -> tuple[Filled, ...]:
        """Return what each need got."""
        results = []
        for need, carriers in enumerate(self.carriers(board)):
            order, main = self.orders[need], sum(chosen.main for chosen, _ in carriers)
            lines = max(0, order.count - main)
            spares = max(0, order.count + order.spares - len(carriers) - lines)
            results.append(
                Filled(
                    name=order.name,
                    carriers=tuple(chosen for chosen, _ in carriers),
                    missing_lines=lines,
                    missing_spares=spares,
                    headroom=None if headrooms is None else headrooms[need],
                )
            )
        return tuple(results)

    def headroom(self, board: Board, need: int, starts: Sequence[Scan]) -> int:
        """Return how many more carriers of a need fit on main centres, all others standing.

        Where first-fit finds few, the need's own carriers are moved to make room.
        """
        mine = self.rows_of([need])
        before = int(board.rows[mine, kernel.HELD_BY].sum())
        best: Board | None = None
        for scan in starts:
            trial = copy_of(board)
            trial.needs[need, kernel.LINES] = NO_LIMIT
            trial.rows[mine, kernel.CAP] = NO_LIMIT
            trial.rows[mine, kernel.RECEIVERS] = NO_LIMIT
            for number in mine:
                size = self.rows[number].points_hz.size
                if size:
                    place = int(scan.start * size)
                    kernel.fill(trial, number, place, int(scan.descending), 0, NO_LIMIT)
            if best is None or _held(trial, mine) > _held(best, mine):
                best = trial
        if best is None:
            return 0
        if _held(best, mine) - before < _TIGHT:
            best.standing[:, kernel.KEPT] = ~np.isin(best.standing[:, kernel.ROW], mine)
            self.stir(best, [need], _HEADROOM_STIRS)
        board.state[kernel.STEPS] = best.state[kernel.STEPS]
        return _held(best, mine) - before

    def _board(self, fixed: Sequence[PlacedCarrier], seed: int) -> Board:
        rows = self.rows
        points = _joined([row.points_hz for row in rows])
        sources = [carrier for carrier in fixed if carrier.source]
        victims = [carrier for carrier in fixed if not carrier.source]
        asked = sum(min(order.count + order.spares, _MOST_CARRIERS) for order in self.orders)
        room = len(sources) + min(points.size, asked + _ROOM_TO_SPARE)
        centres = [
            points,
            _joined([row.is_main.astype(np.int64) for row in rows]),
            _joined([row.centres.linked for row in rows]),
        ]
        ranks, columns = _ranks_and_columns(rows, self.orders)
        apart, two_heard, three_heard = _tables(self.company)
        floor = sum(order.least_lack for order in self.orders)
        needs = [(order.count, order.spares, 0, 0, 0, order.links) for order in self.orders]
        board = Board(
            centres=np.ascontiguousarray(np.stack(centres, axis=1)),
            cover=np.zeros(points.size, dtype=np.int64),
            rank=ranks,
            rows=columns,
            needs=np.array(needs, dtype=np.int64).reshape(-1, 6),
            victims=np.array(
                [
                    (carrier.frequency_hz, *_four(carrier.guards), carrier.group)
                    for carrier in victims
                ],
                dtype=np.int64,
            ).reshape(-1, 6),
            standing=np.zeros((max(1, room), 9), dtype=np.int64),
            state=np.array([0, 0, _FIRST_DICE ^ (seed & 0x7FFFFFFF), floor], dtype=np.int64),
            apart=apart,
            two_heard=two_heard,
            three_heard=three_heard,
        )
        for carrier in victims:
            for number, row in enumerate(rows):
                least = int(apart[carrier.group, self.orders[row.need].group])
                reach = max(carrier.guards.spacing_hz, row.choice.guards.spacing_hz, least, 1)
                if least < 0:
                    continue
                near = np.abs(row.points_hz - carrier.frequency_hz) < reach
                begin = int(board.rows[number, kernel.BEGIN])
                board.cover[begin : begin + near.size] += near
        for carrier in sources:
            values = (carrier.frequency_hz, *_four(carrier.guards), carrier.group, -1, -1, 1)
            kernel.put(board, np.array(values, dtype=np.int64))
        return board


def _held(board: Board, rows: Sequence[int]) -> int:
    return int(board.rows[list(rows), kernel.HELD_BY].sum())


def free_points(grid: Grid, guards: GuardSet, fixed: Sequence[PlacedCarrier]) -> NDArray[np.int64]:
    """Return the centres of a grid that the fixed carriers leave free, ascending [Hz]."""
    nowhere = Grid(origin_hz=grid.origin_hz, step_hz=grid.step_hz, windows_hz=())
    choice = Choice(range_key="", guards=guards, grid=grid, spare_grid=nowhere)
    empty = Search([Order(name="", choices=(choice,), count=0)], fixed).begin()
    return np.asarray(empty.centres[empty.cover == 0, kernel.POINT])


def copy_of(board: Board) -> Board:
    """Return a board that can go its own way."""
    return board._replace(**{name: getattr(board, name).copy() for name in kernel.CHANGING})


def _ranks_and_columns(
    rows: Sequence[Row], orders: Sequence[Order]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the rank tables in one, and the columns of the rows."""
    ranks: list[NDArray[np.int64]] = []
    columns = []
    begin = place = 0
    for row in rows:
        found = row.centres
        ranks.append(found.rank + begin if found.factor else found.rank)
        end = begin + row.points_hz.size
        choice = row.choice
        cap = NO_LIMIT if choice.most is None else choice.most
        columns.append(
            (
                *(begin, end, place, found.factor, found.shift, row.need, cap, 0),
                *(*_three(choice), *_four(choice.guards), orders[row.need].group),
            )
        )
        begin, place = end, place + found.rank.size
    return _joined(ranks), np.array(columns, dtype=np.int64).reshape(-1, 16)


@functools.lru_cache(maxsize=256)
def _tables(
    company: Company,
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return the tables of the kernel: least distances, who hears products of two and of three."""
    size = len(company.groups)
    apart = np.empty((size,) * 2, dtype=np.int64)
    two = np.empty((size,) * 3, dtype=np.int64)
    three = np.empty((size,) * 4, dtype=np.int64)
    for one, other in np.ndindex(apart.shape):
        least_hz = company.separation_hz(one, other)
        apart[one, other] = least_hz if company.together((one, other)) else -1
    for victim, *sources in np.ndindex(two.shape):
        two[victim, *sources] = company.counts(victim, tuple(sources))
    for victim, *sources in np.ndindex(three.shape):
        three[victim, *sources] = company.counts(victim, tuple(sources))
    for table in (apart, two, three):
        table.setflags(write=False)
    return apart, two, three


def _joined(parts: Sequence[NDArray[np.int64]]) -> NDArray[np.int64]:
    return np.concatenate([np.empty(0, dtype=np.int64), *parts]).astype(np.int64)


def _four(guards: GuardSet) -> tuple[int, int, int, int]:
    return (
        guards.spacing_hz, guards.guard_2a_b_hz, guards.guard_a_b_c_hz, guards.guard_3a_2b_hz,
    )  # fmt: skip


def _three(choice: Choice) -> tuple[int, int, int]:
    chassis = choice.chassis
    return (chassis.channels, chassis.span_hz, chassis.receivers) if chassis else (0, 0, 0)
