"""The search kernel: which centres are free, filling them, taking some out to fill better.

All functions are plain Python that can be compiled; both give the same answers.
With carriers a, b, c, d that are all different, and the guards of the victim:

- 2A-B: ``2a - b`` on ``v`` and ``2a - v`` on ``b`` are one condition, ``|2a - b - v|`` at least
  the larger guard of b and v;
- A+B-C: ``a + b - c`` on ``d`` is the same for every way to name the four, so ``|a + b - c - d|``
  is at least the largest guard of the four;
- 3A-2B: ``|3a - 2b - v|`` is at least the guard of v.

A candidate may stand in any of the places. Solved for it each condition closes a span of whole
hertz; where it counts twice or three times the span is divided, edges rounded inwards, because a
distance equal to the guard is allowed. ``cover`` counts how many such spans hold each centre.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.coordination.closing import View, close_spans, close_triples, open_centres
from planner.coordination.compiled import compiled

Whole = NDArray[np.int64]
COUNT, STEPS, DICE, FLOOR = range(4)
"""Places in ``state``: carriers that stand, candidates tried so far, the random number, and how
much is proven to be missing from every set, as ``shortage`` counts."""
HZ, SPACING, TWO, THREE, FIVE, GROUP, ROW, AT, KEPT = range(9)
"""Columns of ``standing``: frequency, spacing, the guards 2A-B, A+B-C, 3A-2B [Hz], group, row (-1:
fixed), index of the centre, 1 where it must not be taken out. ``victims`` has the first six."""
BEGIN, END, RANK, FACTOR, SHIFT, NEED, CAP, HELD_BY, CHANNELS, WIDTH, RECEIVERS, OWN = range(12)
"""Columns of ``rows``: first centre and the one after the last; first place in ``rank``, factor and
power of two that find a place there (see ``closing``); need; most carriers; carriers that stand;
channels of a receiver, the span they share [Hz], how many receivers (0 channels: no such limit);
from OWN on spacing and guards of the candidates [Hz], and their group."""
LINES, SPARES, ON_MAIN, ON_EXTRA, RESERVED, LINKS = range(6)
"""Columns of ``needs``: lines and spares wanted; carriers on main centres and on those for spares
only; how many of the former are kept for spares; links that a carrier for lines brings."""
POINT, MAIN, LINKED = range(3)
"""Columns of ``centres``: frequency [Hz], 1 where lines may stand, 1 where the centre below is one
step below."""


ONCE: int = np.int64(1)  # type: ignore[assignment]
TWICE: int = np.int64(2)  # type: ignore[assignment]
THRICE: int = np.int64(3)  # type: ignore[assignment]
AWAY: int = np.int64(-1)  # type: ignore[assignment]
"""Small numbers as the compiler should see them, or it makes one function for each."""


class Board(NamedTuple):
    """The state of a search: R rows of candidates with P centres, G needs, room for M carriers.

    ``centres`` (P, 3), ascending in each row; ``cover`` (P,), reasons that close each, 0 is free;
    ``rank``, what finds the centres of each row by frequency; ``rows`` (R, 16); ``needs`` (G, 6);
    ``victims`` (V, 6), receivers to be protected that are no sources; ``standing`` (M, 9);
    ``state`` (4,). For C groups of carriers: ``apart`` (C, C), least distance beside spacing [Hz],
    -1 for two never on together; ``two_heard`` and ``three_heard``, victim first, 1 where its guard
    holds against such sources.
    """

    centres: Whole
    cover: Whole
    rank: Whole
    rows: Whole
    needs: Whole
    victims: Whole
    standing: Whole
    state: Whole
    apart: Whole
    two_heard: Whole
    three_heard: Whole


CHANGING = ("cover", "rows", "needs", "standing", "state")
"""What a search changes."""


@compiled
def throw(state: Whole, limit: int) -> int:
    """Return a random number from 0 to ``limit - 1`` (Marsaglia 2003, xorshift 13, 17, 5)."""
    x = state[DICE]
    x ^= (x << 13) & 0xFFFFFFFF
    x ^= x >> 17
    x ^= (x << 5) & 0xFFFFFFFF
    state[DICE] = x
    return x % limit  # type: ignore[no-any-return]


@compiled
def view_of(board: Board, number: int) -> View:
    """Return where the centres of a row are that has some."""
    row = board.rows[number]
    begin, end = row[BEGIN], row[END]
    lowest = board.centres[begin, POINT]
    width = board.centres[end - 1, POINT] - lowest
    return begin, end - begin, lowest, width, row[RANK], row[FACTOR], row[SHIFT]


@compiled
def fill_span(spans: Whole, n: int, total: int, times: int, guard: int) -> int:
    """Write one span into a list of them when its guard is above 0; return the new length."""
    if guard <= 0:
        return n
    spans[n, 0], spans[n, 1], spans[n, 2] = total, times, guard
    return n + 1


@compiled
def spans_of_victims(board: Board, group: int, carrier: Whole, spans: Whole) -> int:
    """Write what a new source and one candidate, or another source too, send onto receivers.

    The candidate is of the given group.
    """
    n = ONCE - 1
    new, own = carrier[HZ], carrier[GROUP]
    for v in range(board.victims.shape[0]):
        victim, hearer = board.victims[v, HZ], board.victims[v, GROUP]
        heard = board.two_heard[hearer, own, group]
        two, five = heard * board.victims[v, TWO], heard * board.victims[v, FIVE]
        n = fill_span(spans, n, 2 * new - victim, ONCE, two)
        n = fill_span(spans, n, new + victim, TWICE, two)
        n = fill_span(spans, n, 3 * new - victim, TWICE, five)
        n = fill_span(spans, n, victim + 2 * new, THRICE, five)
        for o in range(board.state[COUNT]):
            other = board.standing[o, HZ]
            three = board.three_heard[hearer, own, group, board.standing[o, GROUP]]
            three *= board.victims[v, THREE]
            n = fill_span(spans, n, new + other - victim, ONCE, three)
            n = fill_span(spans, n, victim - new + other, ONCE, three)
            n = fill_span(spans, n, victim - other + new, ONCE, three)
    return n


@compiled
def spans_of(board: Board, row: Whole, carrier: Whole, spans: Whole, triples: int) -> int:
    """Write the spans that a carrier closes for a row together with all others that stand.

    Those of A+B-C only where ``triples`` is 1.
    """
    standing, heard, among = board.standing, board.two_heard, board.three_heard
    new, first, group = carrier[HZ], carrier[GROUP], row[OWN + 4]
    n, apart = ONCE - 1, board.apart[first, group]
    if apart >= 0:
        n = fill_span(spans, n, new, ONCE, max(carrier[SPACING], row[OWN], apart, 1))
    for o in range(board.state[COUNT]):
        other, second = standing[o, HZ], standing[o, GROUP]
        # whether the candidate, the new carrier and the other one hear the two others
        hears, new_hears = heard[group, first, second], heard[first, second, group]
        other_hears = heard[second, first, group]
        ours, mine = hears * row[OWN + 1], new_hears * carrier[TWO]
        theirs = other_hears * standing[o, TWO]
        n = fill_span(spans, n, 2 * new - other, ONCE, max(theirs, ours))
        n = fill_span(spans, n, 2 * other - new, ONCE, max(mine, ours))
        n = fill_span(spans, n, other + new, TWICE, max(theirs, mine))
        ours, mine = hears * row[OWN + 3], new_hears * carrier[FIVE]
        theirs = other_hears * standing[o, FIVE]
        n = fill_span(spans, n, 3 * new - 2 * other, ONCE, ours)
        n = fill_span(spans, n, 3 * other - 2 * new, ONCE, ours)
        n = fill_span(spans, n, new + 2 * other, THRICE, mine)
        n = fill_span(spans, n, 3 * other - new, TWICE, mine)
        n = fill_span(spans, n, other + 2 * new, THRICE, theirs)
        n = fill_span(spans, n, 3 * new - other, TWICE, theirs)
        for p in range(o * triples):
            third, last = standing[p, HZ], standing[p, GROUP]
            guard = max(
                among[group, first, second, last] * row[OWN + 2],
                among[first, second, last, group] * carrier[THREE],
                among[second, first, last, group] * standing[o, THREE],
                among[last, first, second, group] * standing[p, THREE],
            )
            if guard > 0:
                n = fill_span(spans, n, other - third + new, ONCE, guard)
                n = fill_span(spans, n, third - other + new, ONCE, guard)
                n = fill_span(spans, n, other + third - new, ONCE, guard)
    return n


@compiled
def count_reasons(board: Board, carrier: Whole, weight: int) -> None:
    """Add the reasons that a carrier brings together with all others that stand."""
    count, victims, among = board.state[COUNT], board.victims.shape[0], board.three_heard
    together = among.size == 1 and among[0, 0, 0, 0] == 1
    most = 1 + 9 * count + victims * (4 + 3 * count)
    spans = np.empty((most if together else most + 3 * count * count // 2, 3), dtype=np.int64)
    alike = np.empty((2, count if together else 0), dtype=np.int64)
    for k in range(alike.shape[1]):
        alike[0, k], alike[1, k] = board.standing[k, HZ], board.standing[k, THREE]
    for number in range(board.rows.shape[0]):
        row = board.rows[number]
        if row[BEGIN] < row[END]:
            view = view_of(board, number)
            n = spans_of_victims(board, row[OWN + 4], carrier, spans)
            close_spans(board.cover, board.rank, view, spans[:n], weight)
            n = spans_of(board, row, carrier, spans, ONCE - together)
            close_spans(board.cover, board.rank, view, spans[:n], weight)
            least = max(row[OWN + 2], carrier[THREE])
            close_triples(board.cover, board.rank, view, alike, carrier[HZ], least, weight)


@compiled
def put(board: Board, carrier: Whole) -> None:
    """Let one more carrier stand; the caller looks whether it may."""
    count_reasons(board, carrier, ONCE)
    for column in range(carrier.size):
        board.standing[board.state[COUNT], column] = carrier[column]
    board.state[COUNT] += 1


@compiled
def take(board: Board, which: int) -> None:
    """Take away the carrier at a place of ``standing``; the last one moves there."""
    board.state[COUNT] -= 1
    last = board.state[COUNT]
    carrier = np.empty(9, dtype=np.int64)
    for column in range(carrier.size):
        carrier[column] = board.standing[which, column]
        board.standing[which, column] = board.standing[last, column]
    count_reasons(board, carrier, AWAY)
    if carrier[ROW] >= 0:
        row = board.rows[carrier[ROW]]
        row[HELD_BY] -= 1
        on = ON_MAIN if board.centres[carrier[AT], MAIN] else ON_EXTRA
        board.needs[row[NEED], on] -= 1


@compiled
def receivers_needed(standing: Whole, row: Whole, number: int, new_hz: int) -> int:
    """Return the receivers that the carriers of a row and one more need.

    Each receiver takes the lowest left and what follows within its span and channels; no other way
    needs fewer, as an exchange of neighbours shows.
    """
    needed, held, lowest, last = 0, 0, 0, -1
    while True:
        following = -1
        if new_hz > last:
            following = new_hz
        for k in range(standing.shape[0]):
            hz = standing[k, HZ]
            if standing[k, ROW] == number and hz > last and (following < 0 or hz < following):
                following = hz
        if following < 0:
            return needed
        if needed == 0 or held == row[CHANNELS] or following - lowest > row[WIDTH]:
            needed, held, lowest = needed + 1, 0, following
        held += 1
        last = following


@compiled
def may_stand(board: Board, number: int, k: int) -> bool:
    """Say whether a centre is free and the row's gear has a carrier left for it."""
    row, count = board.rows[number], board.state[COUNT]
    if board.cover[k] != 0 or row[HELD_BY] >= row[CAP] or count >= board.standing.shape[0]:
        return False
    if row[CHANNELS] == 0:
        return True
    new_hz = board.centres[k, POINT]
    needed = receivers_needed(board.standing[:count], row, number, new_hz)
    return bool(needed <= row[RECEIVERS])


@compiled
def stand(board: Board, number: int, k: int, kept: int) -> None:
    """Put a carrier on a centre, and count it as tried."""
    row = board.rows[number]
    carrier = np.empty(9, dtype=np.int64)
    for column in range(5):
        carrier[SPACING + column] = row[OWN + column]
    carrier[HZ], carrier[ROW], carrier[AT] = board.centres[k, POINT], number, k
    carrier[KEPT] = kept
    put(board, carrier)
    row[HELD_BY] += 1
    board.needs[row[NEED], ON_MAIN if board.centres[k, MAIN] else ON_EXTRA] += 1
    board.state[STEPS] += 1


@compiled
def room(need: Whole, spare: int) -> tuple[int, int]:
    """Return how many more carriers a need takes on main centres and on those for spares only."""
    total = need[LINES] + need[SPARES] - need[ON_MAIN] - need[ON_EXTRA]
    if spare == 1:
        return total, min(need[SPARES] - need[ON_EXTRA], total)
    return min(need[LINES] + need[RESERVED] - need[ON_MAIN], total), total - total


@compiled
def shortage(needs: Whole) -> tuple[int, int]:
    """Return what is missing, all needs together: lines in links, and spares, each as one.

    No spare is worth a line, not even one that could stand in for a block of many links.
    """
    lines = 0
    spares = 0
    for k in range(needs.shape[0]):
        need = needs[k]
        short = max(0, need[LINES] - need[ON_MAIN])
        total = need[LINES] + need[SPARES] - need[ON_MAIN] - need[ON_EXTRA]
        lines += short * need[LINKS]
        spares += max(0, total - short)
    return lines, spares


@compiled
def fill(board: Board, number: int, start: int, down: int, spare: int, most: int) -> None:
    """Fill a row first-fit from a place, around to where it began.

    Downwards where ``down`` is 1. Lines take main centres; with ``spare`` 1 those for spares only
    come after them. Ends when ``most`` candidates were tried.
    """
    row = board.rows[number]
    low, size = row[BEGIN], row[END] - row[BEGIN]
    need = board.needs[row[NEED]]
    for extra in range(1 + spare):
        place = start if down == 0 else start - 1
        for _ in range(size):
            place += -size if place >= size else size * (place < 0)
            k = low + place
            place += 1 - 2 * down
            if board.centres[k, MAIN] == extra or board.cover[k] != 0:
                continue
            if room(need, spare)[extra] <= 0 or board.state[STEPS] >= most:
                break
            if may_stand(board, number, k):
                stand(board, number, k, 0)


@compiled
def is_edge(centres: Whole, cover: Whole, row: Whole, k: int) -> bool:
    """Say whether a free centre lies beside a closed one or beside a gap."""
    if k == row[BEGIN] or k == row[END] - 1 or centres[k, LINKED] * centres[k + 1, LINKED] == 0:
        return True
    return bool(cover[k - 1] != 0 or cover[k + 1] != 0)


@compiled
def refill(board: Board, number: int, place: int, spare: int, barred: Whole, most: int) -> None:
    """Take free centres at edges, from a random place on; the first is not one just left.

    Ends when ``most`` candidates were tried.
    """
    centres, cover, row = board.centres, board.cover, board.rows[number]
    need = board.needs[row[NEED]]
    if max(room(need, spare)) <= 0 or board.state[STEPS] >= most:
        return
    opened = open_centres(
        cover, row[BEGIN], row[END], place
    )  # nothing that is closed now opens meanwhile
    fresh = True
    turn = 0
    while turn < opened.size and board.state[STEPS] < most:
        on_main, on_extra = room(need, spare)
        if on_main <= 0 and on_extra <= 0:
            return
        while turn < opened.size:
            k = opened[turn]
            turn += 1
            if cover[k] != 0 or (on_main if centres[k, MAIN] else on_extra) <= 0:
                continue
            if not is_edge(centres, cover, row, k):
                continue
            if fresh and (barred[0] == k or barred[1] == k or barred[2] == k):
                continue
            if may_stand(board, number, k):
                stand(board, number, k, 0)
                # the new carrier makes edges behind us too
                fresh = False
                turn = 0
                break


@compiled
def pick_loose(board: Board) -> int:
    """Return the place of a random carrier that may be taken out, -1 when there is none."""
    many = 0
    for k in range(board.state[COUNT]):
        if board.standing[k, ROW] >= 0 and board.standing[k, KEPT] == 0:
            many += 1
    if many == 0:
        return -1
    which = throw(board.state, many)
    for k in range(board.state[COUNT]):
        if board.standing[k, ROW] >= 0 and board.standing[k, KEPT] == 0:
            if which == 0:
                return k
            which -= 1
    return -1


@compiled
def stir(board: Board, memory: Board, order: Whole, times: int, most: int) -> int:
    """Take up to three carriers out, refill otherwise, keep what is no worse; again and again.

    Rows are refilled in ``order``; ``memory`` is room to remember the state. Ends after so many
    ``times``, when no set can lack less, or when ``most`` candidates were tried; returns how often
    it was done.
    """
    barred = np.full(3, -1, dtype=np.int64)
    for turn in range(times):
        before = shortage(board.needs)
        if before[0] + before[1] <= board.state[FLOOR] or board.state[STEPS] >= most:
            return turn
        remember(board, memory)
        barred[0], barred[1], barred[2] = -1, -1, -1
        for gone in range(1 + throw(board.state, THRICE)):
            which = pick_loose(board)
            if which >= 0 and board.state[STEPS] < most:
                barred[gone] = board.standing[which, AT]
                take(board, which)
                board.state[STEPS] += 1
        place = throw(board.state, ONCE << 30)
        for spare in range(2):
            for k in range(order.size):
                row = board.rows[order[k]]
                size = row[END] - row[BEGIN]
                if size > 0:
                    refill(board, order[k], place % size, spare, barred, most)
        if shortage(board.needs) > before:
            dice, steps = board.state[DICE], board.state[STEPS]
            remember(memory, board)
            board.state[DICE], board.state[STEPS] = dice, steps
    return times


@compiled
def remember(board: Board, other: Board) -> None:
    """Copy what changes in a search from one board to another of the same needs."""
    for k in range(board.cover.size):
        other.cover[k] = board.cover[k]
    for source, target, size in (
        (board.rows, other.rows, board.rows.shape[0]),
        (board.needs, other.needs, board.needs.shape[0]),
        (board.standing, other.standing, board.state[COUNT]),
    ):
        for k in range(size):
            for column in range(source.shape[1]):
                target[k, column] = source[k, column]
    for k in range(board.state.size):
        other.state[k] = board.state[k]
