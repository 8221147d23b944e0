"""The compiled parts of the search over a route; what they work on is told in ``nights``.

Plain Python that can be compiled, whole numbers only, as in :mod:`planner.coordination.kernel`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.coordination import kernel
from planner.coordination.closing import open_centres
from planner.coordination.compiled import compiled
from planner.coordination.kernel import AT, COUNT, MAIN, NEED, ROW, Board, Whole

Flags = NDArray[np.int8]
NOWHERE = -1
_JOINED = 1 << 20
_BITS, _PART = 20, 16


@compiled
def refresh(
    centres: Whole, cover: Whole, needs: Whole, places: Whole, number: int, free: Flags
) -> None:
    """Write for each carrier of a need whether it may stand: 1 where nothing closes its centre.

    ``places`` (K,) are the centres on the board, -1 for none; ``number`` is the need's.
    """
    on_main, on_extra = kernel.room(needs[number], 1)
    for k in range(places.size):
        at = places[k]
        free[k] = 0
        if at >= 0 and cover[at] == 0:
            free[k] = (on_main if centres[at, MAIN] else on_extra) > 0


@compiled
def put_at(number: int, at: int, kept: int, *parts: Whole) -> bool:
    """Let a carrier stand on a free centre where the gear allows it; say whether it does.

    ``parts`` are those of a board: told apart, since they are handed over faster so.
    """
    board = Board(*parts)
    if not kernel.may_stand(board, number, at):
        return False
    kernel.stand(board, number, at, kept)
    return True


@compiled
def value_of(board: Board, worth: Whole, fines: Whole) -> int:
    """Return what the carriers of a stop are worth, less the fine for what is missing."""
    lines, spares = kernel.shortage(board.needs)
    value = -lines * fines[0] - spares * fines[1]
    for slot in range(board.state[COUNT]):
        if board.standing[slot, ROW] >= 0:
            value += worth[board.standing[slot, AT]]
    return int(value)


@compiled
def refill_near(
    board: Board, number: int, worth: Whole, keen: int, gone: Whole, spare: int
) -> None:
    """Fill a row with the free centres worth most; among equals those at edges, at random.

    With ``keen`` 0 all are worth alike. Centres in ``gone`` (3,) are taken last.
    """
    row = board.rows[number]
    size = row[kernel.END] - row[kernel.BEGIN]
    if size <= 0 or max(kernel.room(board.needs[row[NEED]], spare)) <= 0:
        return
    start = kernel.throw(board.state, size)
    opened = open_centres(board.cover, row[kernel.BEGIN], row[kernel.END], start)
    while True:
        on_main, on_extra = kernel.room(board.needs[row[NEED]], spare)
        best, most = NOWHERE, -(np.int64(1) << 40)
        for at in opened:
            if board.cover[at] != 0 or (on_main if board.centres[at, MAIN] else on_extra) <= 0:
                continue
            better = 2 * keen * worth[at]
            if gone[0] == at or gone[1] == at or gone[2] == at:
                better = -2
            better += kernel.is_edge(board.centres, board.cover, row, at)
            if better > most:
                best, most = at, better
        if best < 0 or not kernel.may_stand(board, number, best):
            return
        kernel.stand(board, number, best, 0)


@compiled
def moves(here: Flags, before: Flags) -> int:
    """Count the carriers that stand here and did not at the need's last stop."""
    count = 0
    for k in range(here.size):
        if here[k] == 1 and before[k] == 0:
            count += 1
    return count


@compiled
def threshold(state: Whole, heat: int) -> int:
    """Return a random number with the exponential distribution of mean ``heat``, near enough.

    The trailing zeros z of random bits, and an even part u of 1: heat ln 2 (z + u), and ln 2 is
    about 11 / 16.
    """
    bits, zeros = kernel.throw(state, 1 << 20), 0
    while bits & 1 == 0 and zeros < _BITS:
        zeros += 1
        bits >>= 1
    part = _PART * zeros + kernel.throw(state, _PART)
    return heat * part * 11 >> 8


@compiled
def exchange(board: Board, order: Whole, worth: Whole, gone: Whole) -> None:
    """Take one to three carriers out, those worth little rather, and fill the rows of ``order``.

    Where they stood is written into ``gone`` (3,), -1 for none: these centres are taken last.
    """
    for place in range(gone.size):
        gone[place] = NOWHERE
    for place in range(1 + kernel.throw(board.state, gone.size)):
        slot, other = kernel.pick_loose(board), kernel.pick_loose(board)
        if slot < 0:
            break
        if worth[board.standing[other, AT]] < worth[board.standing[slot, AT]]:
            slot = other
        gone[place] = board.standing[slot, AT]
        kernel.take(board, slot)
        board.state[kernel.STEPS] += 1
    keen = kernel.throw(board.state, 3) > 0
    for spare in range(2):
        for k in range(order.size):
            refill_near(board, order[k], worth, keen, gone, spare)


@compiled
def anneal_at(
    order: Whole, worth: Whole, fines: Whole, times: int, heat: int, *parts: Whole
) -> int:
    """Exchange carriers again and again; return the value at the end.

    An exchange is undone where it loses more than a random number with mean ``heat`` / 16; with no
    heat, where it loses anything. ``worth`` (P,) says for each centre what a carrier is worth
    there, ``fines`` (2,) what a missing line and a missing spare cost.
    """
    board = Board(*parts)
    memory = Board(
        board.centres,
        board.cover.copy(),
        board.rank,
        board.rows.copy(),
        board.needs.copy(),
        board.victims,
        board.standing.copy(),
        board.state.copy(),
        board.apart,
        board.two_heard,
        board.three_heard,
    )
    value, gone = value_of(board, worth, fines), np.empty(3, dtype=np.int64)
    for _ in range(times):
        exchange(board, order, worth, gone)
        after = value_of(board, worth, fines)
        if (value - after) * _PART > threshold(board.state, heat):
            dice, steps = board.state[kernel.DICE], board.state[kernel.STEPS]
            kernel.remember(memory, board)
            board.state[kernel.DICE], board.state[kernel.STEPS] = dice, steps
        else:
            kernel.remember(board, memory)
            value = after
    return value


@compiled
def best_run(free: Flags, held: Flags, chain: Whole, longest: int) -> tuple[int, int, int]:
    """Return the best carrier, and first and last place in ``chain`` of its run; -1 for none.

    Parameters
    ----------
    free, held : array of int8, shape (S, K)
        By stop and carrier of one need: whether it may stand, stands.
    chain : array of int, shape (S + 2,)
        The need's stops in order, -1 before the first and after the last.
    longest : int
        Runs of so many stops and more count alike.

    Notes
    -----
    A run that joins what stands before it and after it is best: it saves a retune. Then one that
    joins on one side; then one that begins anew. Among equals the longer, then the lower.
    """
    best, first, last = NOWHERE, NOWHERE, NOWHERE
    least = kernel.ONCE << 40
    for k in range(free.shape[1]):
        place = 1
        while place < chain.size - 1:
            stop = chain[place]
            if free[stop, k] == 0:
                place += 1
                continue
            end = place
            while chain[end + 1] >= 0 and free[chain[end + 1], k] == 1:
                end += 1
            score = -min(end + 1 - place, longest)
            for beside in (chain[place - 1], chain[end + 1]):
                if beside >= 0 and held[beside, k] == 1:
                    score -= _JOINED
            if score < least:
                least, best, first, last = score, k, place, end
            place = end + 1
    return best, first, last
