"""Coordinate one stop, and count what fits, by first-fit from several starts."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination.dealing import Wish, changed, deal, wishes_of
from planner.coordination.records import Coordination, Effort, Filled, FitCount, Grid
from planner.coordination.search import (
    Budget,
    Dice,
    Draft,
    make_board,
    make_seat,
    scans,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination.records import GuardSet, Order, PlacedCarrier

AS_MANY_AS_FIT = 1 << 40
"""A count that no spectrum can hold."""

_COUNT_STARTS: dict[str, int] = {"quick": 2, "normal": 4, "long": 24}
_STARTS: dict[str, int] = {"quick": 4, "normal": 6, "long": 48}
_STIRS: dict[str, int] = {"quick": 0, "normal": 30, "long": 800}


def count_fit(  # noqa: PLR0913 - all but two are optional and named
    grid: Grid,
    guards: GuardSet,
    *,
    extra_grid: Grid | None = None,
    fixed: Sequence[PlacedCarrier] = (),
    most: int | None = None,
    extra_most: int = 0,
    effort: Effort = "normal",
) -> FitCount:
    """Count how many carriers of one use fit, alone with the fixed carriers.

    Parameters
    ----------
    grid, guards : Grid, GuardSet
        Where they may stand, and their guards.
    extra_grid : Grid, optional
        Where further ones may stand once ``grid`` holds no more.
    fixed : sequence of PlacedCarrier
        Carriers on the air already.
    most, extra_most : int or None, int
        Stop at so many in ``grid`` (None for as many as fit) and in ``extra_grid``.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``: the number of starts.

    Returns
    -------
    FitCount
        The best of all starts: most in ``grid``, then most in ``extra_grid``, then the first.

    Raises
    ------
    ValueError
        When the effort has another name.
    """
    count = AS_MANY_AS_FIT if most is None else most
    extra = extra_grid if extra_most > 0 else None
    seat = make_seat(guards, grid, extra, count=count, spares=extra_most)
    base = make_board([seat], fixed)
    budget = Budget()
    best = Draft(base, [seat], budget)
    for scan in scans(_pick(_COUNT_STARTS, effort)):
        draft = Draft(base, [seat], budget)
        draft.fill_lines(0, scan)
        if len(draft.main[0]) >= len(best.main[0]):
            draft.fill_extra(0, scan)
            best = min(best, draft, key=Draft.shortage)
        if best.shortage() == (0, 0):
            break
    return FitCount(
        carriers_hz=tuple(sorted(best.main[0])),
        extra_hz=tuple(sorted(best.extra[0])),
        steps=budget.used,
    )


def coordinate(
    orders: Sequence[Order],
    fixed: Sequence[PlacedCarrier] = (),
    *,
    effort: Effort = "normal",
) -> Coordination:
    """Choose the carriers of one stop, all needs together.

    Parameters
    ----------
    orders : sequence of Order
        One a need; names differ.
    fixed : sequence of PlacedCarrier
        Carriers on the air already: sources and victims, never moved.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``: how many starts, and how many repairs of a set
        that is short.

    Returns
    -------
    Coordination
        The best set tried: fewest missing lines, then fewest missing spares, then fewest
        preferred carriers changed, then the first found. Nothing in it violates a guard, save
        what fixed carriers do to each other. The same input gives the same set.

    Raises
    ------
    ValueError
        When two needs have one name, or the effort has another name.
    """
    names = [order.name for order in orders]
    if len(set(names)) < len(names):
        raise ValueError(f"needs with one name: {', '.join(sorted(names))}")
    stop = _Stop(orders, fixed, starts=_pick(_STARTS, effort))
    keeping, best = stop.search()
    stirs = _pick(_STIRS, effort)
    if best.short != (0, 0):
        best = min(best, stop.repair(keeping, stirs, keep=True), key=_Rated.merit)
    if best.short != (0, 0):
        best = min(best, stop.repair(best, stirs, keep=False), key=_Rated.merit)
    if best.changed > stop.lost:
        best = min(best, stop.win_back(best), key=_Rated.merit)
    return Coordination(filled=best.filled, steps=stop.budget.used)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Rated:
    """A draft with its carriers dealt to lines and spares."""

    draft: Draft
    filled: tuple[Filled, ...]
    short: tuple[int, int]
    changed: int

    def merit(self) -> tuple[tuple[int, int], int]:
        """Return what is compared, less is better."""
        return self.short, self.changed


class _Stop:
    """One stop's search: the needs, their seats, and what has been tried."""

    def __init__(
        self, orders: Sequence[Order], fixed: Sequence[PlacedCarrier], *, starts: int
    ) -> None:
        self._orders = tuple(orders)
        self._seats = [
            make_seat(
                order.guards,
                order.grid,
                order.spare_grid if order.spares else None,
                count=order.count,
                spares=order.spares,
            )
            for order in orders
        ]
        self._base = make_board(self._seats, fixed)
        self._starts = starts
        self.budget = Budget()
        given = tuple(range(len(orders)))
        tight = tuple(sorted(given, key=self._air_a_carrier_hz))
        self._sequences = tuple(dict.fromkeys((tight, given, tight[::-1])))
        self._wishes = wishes_of(orders)
        self._possible = tuple(
            wish
            for wish in self._wishes
            if Draft(self._base, self._seats, Budget()).keep(
                wish.index, wish.frequency_hz, spare=wish.spare
            )
        )
        self.lost = len(self._wishes) - len(self._possible)

    def search(self) -> tuple[_Rated, _Rated]:
        """Try starts with all wished carriers kept; with fewer only while a line is missing.

        Returns
        -------
        (_Rated, _Rated)
            The best with all wished carriers kept that can be, and the best of all.
        """
        keeping: _Rated | None = None
        best = self._rate(Draft(self._base, self._seats, self.budget))
        for kept, starts in self._keepings():
            if best.short == (0, 0) and len(kept) < len(self._possible):
                break
            for number, scan in enumerate(scans(starts)):
                draft = Draft(self._base, self._seats, self.budget)
                for wish in kept:
                    draft.keep(wish.index, wish.frequency_hz, spare=wish.spare)
                draft.fill(scan, self._sequences[number % len(self._sequences)])
                rated = self._rate(draft)
                best = min(best, rated, key=_Rated.merit)
                if rated.short == (0, 0):
                    break
            keeping = best if keeping is None else keeping
            if best.merit() == ((0, 0), self.lost):
                break
        return best if keeping is None else keeping, best

    def repair(self, rated: _Rated, stirs: int, *, keep: bool) -> _Rated:
        """Take carriers out of a short set and refill it, again and again.

        With ``keep`` the wished carriers in it stay.
        """
        draft = rated.draft.copy()
        dice = Dice(1)
        wished = {wish.frequency_hz for wish in self._possible} if keep else set()
        for number in range(stirs):
            sequence = self._sequences[number % len(self._sequences)]
            draft.stir(dice, sequence, kept_hz=frozenset(wished))
            if draft.shortage() == (0, 0):
                break
        return self._rate(draft)

    def win_back(self, rated: _Rated) -> _Rated:
        """Move lines back to their wished carriers, one by one, where that leaves a valid set."""
        draft, filled = rated.draft.copy(), rated.filled
        for wish in self._possible:
            need = filled[wish.index]
            present = (*need.lines_hz, *need.spares_hz)[wish.slot]
            if present is None or present == wish.frequency_hz:
                continue
            draft.drop(wish.index, present)
            if not draft.keep(wish.index, wish.frequency_hz, spare=wish.spare):
                draft.restore(wish.index, present)
        return self._rate(draft)

    def _keepings(self) -> tuple[tuple[tuple[Wish, ...], int], ...]:
        """Return the wished carriers to try first, and with how many starts."""
        lines = tuple(wish for wish in self._possible if not wish.spare)
        few = max(1, self._starts // 3)
        choices: dict[tuple[Wish, ...], int] = {}
        for kept, starts in (
            (self._possible, self._starts),
            (self._possible[::-1], few),
            (lines, few),
            (lines[: len(lines) // 2], few),
            ((), self._starts),
        ):
            choices.setdefault(kept, starts)
        return tuple(choices.items())

    def _rate(self, draft: Draft) -> _Rated:
        filled = deal(self._orders, draft)
        return _Rated(
            draft=draft,
            filled=filled,
            short=draft.shortage(),
            changed=changed(self._wishes, filled),
        )

    def _air_a_carrier_hz(self, index: int) -> float:
        """Return the width of free centres for each carrier wanted [Hz]; less is tighter."""
        seat = self._seats[index]
        free = int((self._base.rows[index].cover == 0).sum())
        return free * seat.step_hz / max(1, seat.count + seat.spares)


def _pick(table: Mapping[str, int], effort: str) -> int:
    if effort not in table:
        raise ValueError(f"effort {effort!r}; known: {', '.join(table)}")
    return table[effort]
