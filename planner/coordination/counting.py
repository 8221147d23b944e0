"""Count how many carriers of one use fit, quickly."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import kernel
from planner.coordination.records import Choice, Effort, FitCount, Grid, GuardSet, Order
from planner.coordination.search import NO_LIMIT, Search, pick_effort, scans

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.kernel import Board
    from planner.coordination.records import PlacedCarrier

_COUNT_STARTS: dict[str, int] = {"quick": 2, "normal": 4, "long": 24}
_COUNT_STIRS: dict[str, int] = {"quick": 0, "normal": 40, "long": 4000}


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
    choice = Choice(
        range_key="",
        guards=guards,
        grid=grid,
        spare_grid=dataclasses.replace(grid, windows_hz=()) if extra_grid is None else extra_grid,
    )
    order = Order(name="", choices=(choice,), count=count, spares=extra_most, limit=limit)
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
