"""Coordinate one stop: first-fit from several starts, then repair."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import kernel
from planner.coordination.company import TOGETHER, Company
from planner.coordination.records import Coordination, Effort, Order
from planner.coordination.search import Search, copy_of, pick_effort, scans
from planner.coordination.uniform import uniform_start

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.kernel import Board
    from planner.coordination.records import PlacedCarrier, Wish

_STARTS: dict[str, int] = {"glance": 3, "quick": 4, "normal": 6, "hard": 6, "long": 48}
_STIRS: dict[str, int] = {"glance": 20, "quick": 100, "normal": 400, "hard": 3000, "long": 8000}
_PACKED: dict[str, int] = {"glance": 0, "quick": 0, "normal": 0, "hard": 8000, "long": 40_000}
_HEADROOM_STARTS = 2


def coordinate(
    orders: Sequence[Order],
    fixed: Sequence[PlacedCarrier] = (),
    *,
    company: Company = TOGETHER,
    effort: Effort = "normal",
    headrooms: bool = False,
) -> Coordination:
    """Choose the carriers of one stop, all needs together.

    Parameters
    ----------
    orders : sequence of Order
        One a need; names differ.
    fixed : sequence of PlacedCarrier
        Carriers on the air already: sources and victims, never moved.
    company : Company
        Who is on with whom.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``: how many starts, and how many repairs of a set
        that is short; ``"glance"`` looks whether something is easy, ``"hard"`` comes before a
        shortage is told.
    headrooms : bool
        Also count how many more of each need would fit.

    Returns
    -------
    Coordination
        The best set tried: fewest missing lines, then fewest missing spares, then fewest wished
        carriers lost, then the first found. Nothing in it violates a guard, save what fixed
        carriers do to each other. The same input gives the same set.

    Raises
    ------
    ValueError
        When two needs have one name, or the effort has another name.
    """
    names = [order.name for order in orders]
    if len(set(names)) < len(names):
        raise ValueError(f"needs with one name: {', '.join(sorted(names))}")
    stop = _Stop(Search(orders, fixed, company=company), starts=pick_effort(_STARTS, effort))
    keeping, best = stop.search()
    stirs = pick_effort(_STIRS, effort)
    if stop.wished and not stop.is_full(best):
        best = min(best, stop.repair(keeping, stirs, keep=True), key=_Rated.merit)
    if not stop.is_full(best):
        best = min(best, stop.repair(best, stirs, keep=False), key=_Rated.merit)
    packed = pick_effort(_PACKED, effort)
    if packed and not stop.is_full(best):
        for rated in stop.uniform(fixed, packed, stirs):
            best = min(best, rated, key=_Rated.merit)
    if best.lost > stop.lost:
        best = min(best, stop.win_back(best), key=_Rated.merit)
    return stop.answer(best, headrooms=headrooms)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Rated:
    """A board with what it lacks."""

    board: Board
    short: tuple[int, int]
    lost: int

    def merit(self) -> tuple[tuple[int, int], int]:
        """Return what is compared, less is better."""
        return self.short, self.lost


class _Stop:
    """One stop's search: the needs, their wishes, and what has been tried."""

    def __init__(self, search: Search, *, starts: int) -> None:
        self._search = search
        orders = search.orders
        self._starts = starts
        self._steps = 0
        given = tuple(range(len(orders)))
        tight = tuple(sorted(given, key=self._air_a_carrier_hz))
        self._sequences = tuple(dict.fromkeys((tight, given, tight[::-1])))
        wishes = [(need, wish) for need, order in enumerate(orders) for wish in order.wishes]
        wishes.sort(key=lambda item: item[1].spare)
        empty = self._search.begin()
        self._possible = tuple(item for item in wishes if self._could(empty, *item))
        self.lost = len(wishes) - len(self._possible)

    @property
    def wished(self) -> bool:
        """Whether any wished carrier could stand."""
        return bool(self._possible)

    def is_full(self, rated: _Rated) -> bool:
        """Say whether no set can lack less."""
        return sum(rated.short) <= int(rated.board.state[kernel.FLOOR])

    def search(self) -> tuple[_Rated, _Rated]:
        """Try starts with all wished carriers kept; with fewer only while a line is missing.

        Returns
        -------
        (_Rated, _Rated)
            The best with all wished carriers kept that can be, and the best of all.
        """
        keeping: _Rated | None = None
        best = self._rate(self._search.begin())
        for kept, starts in self._keepings():
            if best.short == (0, 0) and len(kept) < len(self._possible):
                break
            base = self._search.begin()
            for need, wish in kept:
                self._search.keep(base, need, wish)
            for number, scan in enumerate(scans(starts)):
                board = copy_of(base)
                self._search.fill(board, scan, self._sequences[number % len(self._sequences)])
                rated = self._rate(board)
                best = min(best, rated, key=_Rated.merit)
                if rated.short == (0, 0):
                    break
            keeping = best if keeping is None else keeping
            if best.merit() == ((0, 0), self.lost):
                break
        return best if keeping is None else keeping, best

    def repair(self, rated: _Rated, stirs: int, *, keep: bool) -> _Rated:
        """Take carriers out of a short set and refill it; with ``keep`` not the wished ones."""
        board = self._again(rated)
        if not keep:
            self._search.loosen(board)
        each = max(1, stirs // len(self._sequences))
        for sequence in self._sequences:
            self._search.stir(board, sequence, each)
        return self._rate(board)

    def uniform(self, fixed: Sequence[PlacedCarrier], times: int, stirs: int) -> tuple[_Rated, ...]:
        """Begin again from a set in which every carrier suits every need."""
        begun = uniform_start(self._search, fixed, times=times)
        if begun is None:
            return ()
        board, steps = begun
        self._steps += steps
        board.state[kernel.STEPS] = 0
        rated = self._rate(board)
        return rated, self.repair(rated, stirs, keep=False)

    def win_back(self, rated: _Rated) -> _Rated:
        """Move carriers back to wished ones, one by one, where that leaves a valid set."""
        board = self._again(rated)
        self._search.loosen(board)
        wished = {(need, wish.range_key, wish.frequency_hz) for need, wish in self._possible}
        carriers = self._search.carriers(board)
        for need, wish in self._possible:
            there = {(chosen.range_key, chosen.frequency_hz) for chosen, _ in carriers[need]}
            if (wish.range_key, wish.frequency_hz) in there:
                continue
            for chosen, place in carriers[need]:
                if (need, chosen.range_key, chosen.frequency_hz) in wished:
                    continue
                before = {name: getattr(board, name).copy() for name in kernel.CHANGING}
                short = kernel.shortage(board.needs)
                kernel.take(board, place)
                if self._search.keep(board, need, wish) and kernel.shortage(board.needs) <= short:
                    carriers = self._search.carriers(board)
                    break
                for name, values in before.items():
                    getattr(board, name)[:] = values
        return self._rate(board)

    def answer(self, rated: _Rated, *, headrooms: bool) -> Coordination:
        """Return the carriers, and the headrooms when they are asked for."""
        found = None
        if headrooms:
            lacking = self._search.filled(rated.board)
            starts = scans(_HEADROOM_STARTS)
            found = [
                -need.missing
                if need.missing
                else self._search.headroom(rated.board, number, starts)
                for number, need in enumerate(lacking)
            ]
        return Coordination(filled=self._search.filled(rated.board, found), steps=self._steps)

    def _again(self, rated: _Rated) -> Board:
        board = copy_of(rated.board)
        board.state[kernel.STEPS] = 0
        return board

    def _could(self, empty: Board, need: int, wish: Wish) -> bool:
        return self._search.place_of(empty, need, wish) is not None

    def _keepings(self) -> tuple[tuple[tuple[tuple[int, Wish], ...], int], ...]:
        """Return the wished carriers to try first, and with how many starts."""
        lines = tuple(item for item in self._possible if not item[1].spare)
        few = max(1, self._starts // 3)
        choices: dict[tuple[tuple[int, Wish], ...], int] = {}
        for kept, starts in (
            (self._possible, self._starts),
            (self._possible[::-1], few),
            (lines, few),
            (lines[: len(lines) // 2], few),
            ((), self._starts),
        ):
            choices.setdefault(kept, starts)
        return tuple(choices.items())

    def _rate(self, board: Board) -> _Rated:
        self._steps += int(board.state[kernel.STEPS])
        met = 0
        if self._possible:
            there = {
                (need, chosen.range_key, chosen.frequency_hz)
                for need, found in enumerate(self._search.carriers(board))
                for chosen, _ in found
            }
            met = sum(
                (need, wish.range_key, wish.frequency_hz) in there for need, wish in self._possible
            )
        return _Rated(
            board=board,
            short=kernel.shortage(board.needs),
            lost=self.lost + len(self._possible) - met,
        )

    def _air_a_carrier_hz(self, need: int) -> float:
        """Return the width of free centres for each carrier wanted [Hz]; less is tighter."""
        search, board = self._search, self._search.begin()
        free = 0
        for number in search.rows_of([need]):
            low, high = board.rows[number, kernel.BEGIN], board.rows[number, kernel.END]
            free += int((board.cover[low:high] == 0).sum()) * search.rows[number].step_hz
        order = search.orders[need]
        return free / max(1, order.count + order.spares)
