"""A set in which every carrier suits every need, as a start where many needs share spectrum."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import kernel
from planner.coordination.pack_search import PackSearch, find_ground
from planner.coordination.records import GuardSet
from planner.coordination.search import Scan, copy_of, scans

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.coordination.kernel import Board
    from planner.coordination.records import PlacedCarrier
    from planner.coordination.search import Search

_STARTS = 4
_TIMES_A_MISSING = 20


def uniform_start(
    search: Search, fixed: Sequence[PlacedCarrier], *, times: int, seed: int = 0
) -> tuple[Board, int] | None:
    """Pack carriers of the strictest guards of all needs, and share them out.

    Parameters
    ----------
    search : Search
        Boards of the stop.
    fixed : sequence of PlacedCarrier
        The carriers its boards begin with.
    times : int
        How often the packing takes carriers out and refills.
    seed : int
        Start of its random numbers.

    Returns
    -------
    (Board, int) or None
        A valid board that holds what could be shared out, and the candidates tried; None where
        the packing kernel does not serve.

    Notes
    -----
    A set that is valid with the greatest spacing and guards of all needs and fixed carriers,
    everybody on at the same time in one place, is valid however it is shared out. Packing knows
    one guard set only and is many times faster than a search over rows; with guards that
    differ little it finds more.
    """
    guards = _strictest(search, fixed)
    empty = search.begin()
    free_hz = np.unique(empty.centres[empty.cover == 0, kernel.POINT])
    steps_hz = [row.step_hz for row in search.rows if row.points_hz.size]
    if guards is None or not free_hz.size:
        return None
    unit_hz = int(np.gcd.reduce([*steps_hz, *np.diff(free_hz).tolist()]))
    alike = [dataclasses.replace(carrier, guards=guards) for carrier in fixed]
    ground = find_ground(free_hz, unit_hz, guards, alike)
    if ground is None:
        return None
    goal = sum(order.count + order.spares for order in search.orders)
    packing = PackSearch(ground, goal=goal, seed=seed)
    for scan in scans(_STARTS):
        packing.begin()
        packing.fill(scan)
    packing.resume()
    packing.stir(times)
    board = _share_out(search, empty, np.array(packing.carriers_hz(), dtype=np.int64))
    return board, packing.steps + int(board.state[kernel.STEPS])


def _strictest(search: Search, fixed: Sequence[PlacedCarrier]) -> GuardSet | None:
    every = [row.choice.guards for row in search.rows if row.points_hz.size]
    if not every:
        return None
    every += [carrier.guards for carrier in fixed]
    return GuardSet(
        spacing_hz=max(guards.spacing_hz for guards in every),
        guard_2a_b_hz=max(guards.guard_2a_b_hz for guards in every),
        guard_a_b_c_hz=max(guards.guard_a_b_c_hz for guards in every),
        guard_3a_2b_hz=max(guards.guard_3a_2b_hz for guards in every),
    )


def _share_out(search: Search, empty: Board, carriers_hz: NDArray[np.int64]) -> Board:
    """Return a board on which the needs took what they could of some carriers."""
    board = copy_of(empty)
    others = ~np.isin(board.centres[:, kernel.POINT], carriers_hz)
    board.cover[others] += 1
    every = tuple(range(len(search.orders)))
    search.fill(board, Scan(), every)
    search.stir(board, every, _TIMES_A_MISSING * sum(kernel.shortage(board.needs)))
    board.cover[others] -= 1
    return board
