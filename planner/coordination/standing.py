"""The finished carriers of a stop on a board: what is free beside them, or in the place of one."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import kernel
from planner.coordination.records import GuardSet, Order, PlacedCarrier
from planner.coordination.search import Search, copy_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from planner.coordination.kernel import Board
    from planner.coordination.names import Use
    from planner.coordination.tasks import LineKey, NeedTask, StopTask

NOWHERE = -1
"""Place of a centre that a row does not hold, of a frequency outside all channels."""


class Standing:
    """The board of one stop with named carriers on it, which are taken out and put back.

    Parameters
    ----------
    task : StopTask
        What the stop asks for.
    carriers : mapping of (need, name) to Use
        Carriers that are all on together; every one outside its need's centres is left out of
        :attr:`there`, and then nothing about it is known.
    guard_times : int
        Guards against products are taken so many times as wide, and spacing is left out, to see
        what is near; 1 for the guards as they are.
    """

    def __init__(
        self, task: StopTask, carriers: Mapping[LineKey, Use], *, guard_times: int = 1
    ) -> None:
        self.task = task
        self.needs = {need.name: need for need in task.needs}
        self.search = Search(
            [_order(need, guard_times) for need in task.needs],
            [_wide(carrier, guard_times) for carrier in task.fixed],
            company=task.company,
        )
        self._number = {
            (task.needs[row.need].name, row.choice.range_key): number
            for number, row in enumerate(self.search.rows)
        }
        self.board = self.search.begin()
        self.there: dict[LineKey, tuple[int, int]] = {}
        for key, use in carriers.items():
            number = self._number.get((key[0], use.range_key))
            at = NOWHERE if number is None else self.at(number, use.frequency_hz)
            if number is not None and at != NOWHERE:
                self.put(key, number, at)

    def number(self, key: LineKey, range_key: str) -> int:
        """Return the row of a range of the need that a name belongs to."""
        return self._number[key[0], range_key]

    def at(self, number: int, frequency_hz: int) -> int:
        """Return the place of a centre in ``centres``, ``NOWHERE`` where the row has none."""
        points_hz = self.search.rows[number].points_hz
        k = int(np.searchsorted(points_hz, frequency_hz))
        if k == points_hz.size or int(points_hz[k]) != frequency_hz:
            return NOWHERE
        return int(self.board.rows[number, kernel.BEGIN]) + k

    def put(self, key: LineKey, number: int, at: int) -> None:
        """Let a carrier stand; the caller looks whether it may."""
        kernel.stand(self.board, number, at, 1)
        self.there[key] = (number, at)

    def take(self, key: LineKey) -> tuple[int, int]:
        """Take a carrier out and return its row and place."""
        number, at = self.there.pop(key)
        kernel.take(self.board, place_of(self.board, number, at))
        return number, at

    def is_main(self, key: LineKey) -> bool:
        """Say whether lines may stand where a carrier stands."""
        return key in self.there and bool(self.board.centres[self.there[key][1], kernel.MAIN])

    def free(self, number: int) -> NDArray[np.bool_]:
        """Say of each centre of a row whether no guard closes it."""
        low, high = self.span(number)
        return np.asarray(self.board.cover[low:high] == 0)

    def near(self, number: int) -> NDArray[np.int64]:
        """Return for each centre of a row how many guards close it."""
        low, high = self.span(number)
        return self.board.cover[low:high].copy()

    def span(self, number: int) -> tuple[int, int]:
        """Return the first place of a row in ``centres`` and the one after its last."""
        row = self.board.rows[number]
        return int(row[kernel.BEGIN]), int(row[kernel.END])

    def copy(self) -> Board:
        """Return the board as it stands, free to change."""
        return copy_of(self.board)


def place_of(board: Board, number: int, at: int) -> int:
    """Return the place in ``standing`` of the carrier of a row on a centre."""
    count = int(board.state[kernel.COUNT])
    rows, places = board.standing[:count, kernel.ROW], board.standing[:count, kernel.AT]
    return int(np.flatnonzero((rows == number) & (places == at))[0])


def channels_of(
    points_hz: NDArray[np.int64], edges_hz: Sequence[tuple[int, int]]
) -> NDArray[np.int64]:
    """Return in which span each frequency lies, ``NOWHERE`` in none.

    Parameters
    ----------
    points_hz : array of int, shape (n,)
        Frequencies [Hz].
    edges_hz : sequence of (int, int)
        Spans, ascending and apart [Hz].
    """
    if not edges_hz:
        return np.full(points_hz.size, NOWHERE, dtype=np.int64)
    low, high = np.array(edges_hz, dtype=np.int64).T
    place = np.searchsorted(low, points_hz, side="right") - 1
    inside = (place >= 0) & (points_hz <= high[place])
    return np.where(inside, place, NOWHERE).astype(np.int64)


def placed(task: StopTask, carriers: Mapping[LineKey, Use]) -> list[PlacedCarrier]:
    """Return carriers of a stop as the verifier takes them."""
    guards = {
        (need.name, choice.range_key): (choice.guards, need.group)
        for need in task.needs
        for choice in need.choices
    }
    found = []
    for (need, _), use in carriers.items():
        own, group = guards[need, use.range_key]
        found.append(PlacedCarrier(frequency_hz=use.frequency_hz, guards=own, group=group))
    return found


def partners_of(task: StopTask) -> dict[str, tuple[str, ...]]:
    """Return for each need those that share performers with it, both ways."""
    there = {need.name for need in task.needs}
    found: dict[str, list[str]] = {}
    for need in task.needs:
        if need.pair_with in there:
            found.setdefault(need.name, []).append(need.pair_with)
            found.setdefault(need.pair_with, []).append(need.name)
    return {need: tuple(dict.fromkeys(others)) for need, others in found.items()}


def _order(need: NeedTask, guard_times: int) -> Order:
    """Return an order with room for every name; a spare needs no piece of gear of its own."""
    return Order(
        name=need.name,
        choices=tuple(
            dataclasses.replace(choice, guards=_times(choice.guards, guard_times), most=None)
            for choice in need.choices
        ),
        count=len(need.lines),
        spares=len(need.every_name) - len(need.lines),
        group=need.group,
    )


def _wide(carrier: PlacedCarrier, guard_times: int) -> PlacedCarrier:
    if guard_times == 1:
        return carrier
    return dataclasses.replace(carrier, guards=_times(carrier.guards, guard_times))


def _times(guards: GuardSet, times: int) -> GuardSet:
    if times == 1:
        return guards
    return GuardSet(
        spacing_hz=0,
        guard_2a_b_hz=times * guards.guard_2a_b_hz,
        guard_a_b_c_hz=times * guards.guard_a_b_c_hz,
        guard_3a_2b_hz=times * guards.guard_3a_2b_hz,
    )
