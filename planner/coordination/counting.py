"""Count how many carriers of one use fit, quickly."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import kernel
from planner.coordination.pack_search import PackSearch, Starts, find_ground
from planner.coordination.records import (
    Choice,
    Effort,
    FitCount,
    Grid,
    GuardSet,
    Order,
    PlacedCarrier,
)
from planner.coordination.search import NO_LIMIT, Budget, Search, pick_effort, scans

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.kernel import Board
    from planner.coordination.pack_search import Ground

_COUNT_STARTS: dict[str, int] = {"quick": 2, "normal": 4, "long": 24}
_COUNT_STIRS: dict[str, int] = {"quick": 0, "normal": 40, "long": 4000}
_PACK_STIRS: dict[str, int] = {"quick": 0, "normal": 250, "long": 8000}
_ALGEBRAIC_STARTS: dict[str, int] = {"quick": 0, "normal": 0, "long": 200}


def count_fit(  # noqa: PLR0913 - all but two are optional and named
    grid: Grid,
    guards: GuardSet,
    *,
    extra_grid: Grid | None = None,
    fixed: Sequence[PlacedCarrier] = (),
    most: int | None = None,
    extra_most: int = 0,
    limit: int | None = None,
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
        Stop at so many in ``grid`` (None for as many as fit); so many more may stand in either,
        in ``grid`` first.
    limit : int, optional
        A proven bound of both together: the search ends there.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``: the number of starts and of repairs.

    Returns
    -------
    FitCount
        The best of all starts: most in ``grid``, then most in ``extra_grid``, then the first.

    Raises
    ------
    ValueError
        When the effort has another name.
    """
    count = NO_LIMIT if most is None else most
    points_hz = grid.points()
    ground = find_ground(points_hz, grid.step_hz, guards, fixed)
    wide = extra_grid is not None and extra_most > 0 and extra_grid.windows_hz
    if ground is None and (points_hz.size or wide):
        nowhere = dataclasses.replace(grid, windows_hz=())
        choice = Choice(
            range_key="",
            guards=guards,
            grid=grid,
            spare_grid=nowhere if extra_grid is None else extra_grid,
        )
        order = Order(name="", choices=(choice,), count=count, spares=extra_most, limit=limit)
        return _count_widely(order, fixed, effort)
    goal = min(count + extra_most, NO_LIMIT if limit is None else limit)
    found_hz, steps = _pack(ground, goal, effort)
    left = min(extra_most, goal - len(found_hz))
    if not wide or extra_grid is None or left <= 0:
        return FitCount(carriers_hz=found_hz, extra_hz=(), steps=steps)
    standing = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in found_hz]
    further = find_ground(extra_grid.points(), extra_grid.step_hz, guards, (*fixed, *standing))
    extra_hz, more = _pack(further, left, effort)
    return FitCount(carriers_hz=found_hz, extra_hz=extra_hz, steps=steps + more)


def _pack(ground: Ground | None, goal: int, effort: Effort) -> tuple[tuple[int, ...], int]:
    """Return the carriers found on a ground [Hz], none without one, and the steps."""
    starts, stirs = pick_effort(_COUNT_STARTS, effort), pick_effort(_PACK_STIRS, effort)
    if ground is None or goal <= 0:
        return (), 0
    search = PackSearch(ground, goal=goal)
    for scan in scans(starts):
        search.begin()
        search.fill(scan)
        if search.is_over:
            break
    Starts(search).try_some(Budget(), pick_effort(_ALGEBRAIC_STARTS, effort))
    if stirs and not search.is_over:
        search.resume()
        search.stir(stirs)
    return search.carriers_hz(), search.steps


def _count_widely(order: Order, fixed: Sequence[PlacedCarrier], effort: Effort) -> FitCount:
    """Count with the kernel of many rows."""
    search = Search([order], fixed)
    best: Board | None = None
    steps = 0
    for scan in scans(pick_effort(_COUNT_STARTS, effort)):
        board = search.begin()
        search.fill(board, scan, (0,))
        steps += int(board.state[kernel.STEPS])
        if best is None or kernel.shortage(board.needs) < kernel.shortage(best.needs):
            best = board
        if sum(kernel.shortage(best.needs)) <= int(best.state[kernel.FLOOR]):
            break
    if best is None:
        raise ValueError("no start")
    if sum(kernel.shortage(best.needs)) > int(best.state[kernel.FLOOR]):
        before = int(best.state[kernel.STEPS])
        search.stir(best, (0,), pick_effort(_COUNT_STIRS, effort))
        steps += int(best.state[kernel.STEPS]) - before
    found = [chosen for chosen, _ in search.carriers(best)[0]]
    return FitCount(
        carriers_hz=tuple(chosen.frequency_hz for chosen in found if chosen.main),
        extra_hz=tuple(chosen.frequency_hz for chosen in found if not chosen.main),
        steps=steps,
    )
