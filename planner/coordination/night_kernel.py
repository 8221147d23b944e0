"""The compiled parts of the search over a route; what they work on is told in ``nights``.

Plain Python that can be compiled, whole numbers only, as in :mod:`planner.coordination.kernel`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.coordination import kernel
from planner.coordination.closing import open_centres
from planner.coordination.compiled import compiled
from planner.coordination.kernel import AT, COUNT, KEPT, MAIN, NEED, POINT, ROW, Board, Whole

Flags = NDArray[np.int8]
NOWHERE = -1
_NEW, _LENGTH, _EDGE, _BARRED = 100_000, 20, 10, 50_000


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
def take_at(slot: int, *parts: Whole) -> None:
    """Take the carrier at a place of ``standing`` away, and count it as tried."""
    board = Board(*parts)
    kernel.take(board, slot)
    board.state[kernel.STEPS] += 1


@compiled
def value_of(board: Board, worth: Whole, fines: Whole) -> int:
    """Return what the carriers of a stop are worth, less the fine for what is missing."""
    lines, spares = kernel.shortage(board.needs)
    value = -lines * fines[0] - spares * fines[1]
    for slot in range(board.state[COUNT]):
        if board.standing[slot, ROW] >= 0:
            value += worth[board.standing[slot, AT]]
    return value  # type: ignore[no-any-return]


@compiled
def refill_near(board: Board, number: int, start: int, worth: Whole, spare: int) -> None:
    """Fill a row with the free centres worth most; among equals those at edges, from a start on.

    Centres worth less than nothing are taken last.
    """
    row = board.rows[number]
    if max(kernel.room(board.needs[row[NEED]], spare)) <= 0:
        return
    opened = open_centres(board.cover, row[kernel.BEGIN], row[kernel.END], start)
    while True:
        on_main, on_extra = kernel.room(board.needs[row[NEED]], spare)
        best, most = NOWHERE, -(np.int64(1) << 40)
        for at in opened:
            if board.cover[at] != 0 or (on_main if board.centres[at, MAIN] else on_extra) <= 0:
                continue
            better = 2 * worth[at] + kernel.is_edge(board.centres, board.cover, row, at)
            if better > most:
                best, most = at, better
        if best < 0 or not kernel.may_stand(board, number, best):
            return
        kernel.stand(board, number, best, 0)


@compiled
def tune_at(order: Whole, worth: Whole, fines: Whole, times: int, *parts: Whole) -> int:
    """Take carriers out at random and fill again, keep what is worth no less; return its value.

    ``worth`` (P,) says for each centre what a carrier is worth there.
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
    value, wish = value_of(board, worth, fines), worth.copy()
    for _ in range(times):
        kernel.remember(board, memory)
        blind = kernel.throw(board.state, 3) == 0
        for k in range(wish.size):
            wish[k] = 0 if blind else worth[k]
        for _gone in range(1 + kernel.throw(board.state, 3)):
            slot, other = kernel.pick_loose(board), kernel.pick_loose(board)
            if slot >= 0:
                if worth[board.standing[other, AT]] < worth[board.standing[slot, AT]]:
                    slot = other
                wish[board.standing[slot, AT]] = -1
                kernel.take(board, slot)
                board.state[kernel.STEPS] += 1
        start = kernel.throw(board.state, 1 << 30)
        for spare in range(2):
            for k in range(order.size):
                row = board.rows[order[k]]
                if row[kernel.END] > row[kernel.BEGIN]:
                    place = start % (row[kernel.END] - row[kernel.BEGIN])
                    refill_near(board, order[k], place, wish, spare)
        after = value_of(board, worth, fines)
        if after < value:
            dice, steps = board.state[kernel.DICE], board.state[kernel.STEPS]
            kernel.remember(memory, board)
            board.state[kernel.DICE], board.state[kernel.STEPS] = dice, steps
        else:
            value = after
    return value


@compiled
def force_at(number: int, at: int, worth: Whole, dice: Whole, gone: Whole, *parts: Whole) -> int:
    """Let a carrier stand on a centre, whatever must go; return how many went, -1 if it cannot.

    Their centres are written into ``gone``.
    """
    board = Board(*parts)
    left = 0
    while True:
        on_main, on_extra = kernel.room(board.needs[board.rows[number, NEED]], 1)
        wanted = (on_main if board.centres[at, MAIN] else on_extra) > 0
        if wanted and kernel.may_stand(board, number, at):
            kernel.stand(board, number, at, 0)
            return left
        slot = pick_blocker(board, number, at, worth, dice)
        if slot < 0 or left == gone.size:
            return NOWHERE
        gone[left] = board.standing[slot, AT]
        left += 1
        kernel.take(board, slot)
        board.state[kernel.STEPS] += 1


@compiled
def moves(here: Flags, before: Flags) -> int:
    """Count the carriers that stand here and did not at the need's last stop."""
    count = 0
    for k in range(here.size):
        if here[k] == 1 and before[k] == 0:
            count += 1
    return count


@compiled
def best_run(
    free: Flags,
    held: Flags,
    chain: Whole,
    start: int,
    longest: int,
    barred: Flags,
) -> tuple[int, int, int]:
    """Return the best carrier, and first and last place in ``chain`` of its run; -1 for none.

    Parameters
    ----------
    free, held, barred : array of int8, shape (S, K)
        By stop and carrier of one need: whether it may stand, stands, was just taken away.
    chain : array of int, shape (S + 2,)
        The need's stops in order, -1 before the first and after the last.
    start : int
        Carriers are looked at from here on, around; from the lowest on where it is negative, and
        then nothing is said for one beside a carrier that may not stand.
    longest : int
        Runs of so many stops and more count alike.

    Notes
    -----
    A run that joins what stands before it and after it is best: it saves a retune. Then one that
    joins on one side; then one that begins anew. Among equals those that were not just taken
    away, then the longer, then one beside a carrier that may not stand.
    """
    best, first, last = NOWHERE, NOWHERE, NOWHERE
    least = kernel.ONCE << 40
    size = free.shape[1]
    for turn in range(size):
        k = (max(start, 0) + turn) % size
        place = 1
        while place < chain.size - 1:
            stop = chain[place]
            if free[stop, k] == 0:
                place += 1
                continue
            end, bad = place, barred[stop, k]
            while True:
                following = chain[end + 1]
                if following < 0 or free[following, k] == 0:
                    break
                end += 1
                bad = max(bad, barred[following, k])
            score = _NEW + _BARRED * (bad > 0) - _LENGTH * min(end + 1 - place, longest)
            if chain[place - 1] >= 0 and held[chain[place - 1], k] == 1:
                score -= _NEW
            following = chain[end + 1]
            if following >= 0 and held[following, k] == 1:
                score -= _NEW
            if start >= 0 and (
                k == 0 or k == size - 1 or free[stop, k - 1] == 0 or free[stop, k + 1] == 0
            ):
                score -= _EDGE
            if score < least:
                least, best, first, last = score, k, place, end
            place = end + 1
    return best, first, last


@compiled
def reasons_of(board: Board, number: int, at: int, slot: int, spans: Whole) -> int:
    """Count the reasons against a centre in which the carrier at a place of ``standing`` has part.

    The carrier is put aside for a moment, so that it is new to all others. ``spans`` is room.
    """
    standing, last = board.standing, board.state[COUNT] - 1
    carrier = standing[slot].copy()
    for column in range(carrier.size):
        standing[slot, column] = standing[last, column]
    board.state[COUNT] = last
    row, hz, reasons = board.rows[number], board.centres[at, POINT], 0
    many = kernel.spans_of_victims(board, row[kernel.OWN + 4], carrier, spans)
    for k in range(many):
        reasons += abs(spans[k, 1] * hz - spans[k, 0]) < spans[k, 2]
    many = kernel.spans_of(board, row, carrier, spans, kernel.ONCE)
    for k in range(many):
        reasons += abs(spans[k, 1] * hz - spans[k, 0]) < spans[k, 2]
    board.state[COUNT] = last + 1
    for column in range(carrier.size):
        standing[last, column] = standing[slot, column]
        standing[slot, column] = carrier[column]
    return reasons


@compiled
def pick_blocker(board: Board, number: int, at: int, worth: Whole, dice: Whole) -> int:
    """Return the place of the carrier to take away so that another may stand; -1 for none.

    Carriers that have part in many reasons, and whose ``worth`` (P,) by centre is little, come
    first; among equals a random one. Kept ones are never taken.
    """
    count, victims = board.state[COUNT], board.victims.shape[0]
    spans = np.empty((1 + 9 * count + 2 * count * count + victims * (4 + 3 * count), 3), np.int64)
    closed, best, most = board.cover[at] != 0, NOWHERE, -(np.int64(1) << 40)
    for slot in range(count):
        row = board.standing[slot, ROW]
        if row < 0 or board.standing[slot, KEPT] == 1:
            continue
        reasons = 0
        if closed:
            reasons = reasons_of(board, number, at, slot, spans)
            if reasons == 0:
                continue
        elif board.rows[row, NEED] != board.rows[number, NEED]:
            continue
        gain = 4 * reasons - worth[board.standing[slot, AT]] + kernel.throw(dice, 6)
        if gain > most:
            best, most = slot, gain
    return best
