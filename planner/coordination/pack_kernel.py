"""The packing kernel: many carriers of one guard set on one lattice, in whole units.

All functions are plain Python that can be compiled; both give the same sets. Positions are whole
units above the lowest candidate. With carriers a, b, c, d that are all different, spacing s and
guards g of 2A-B, h of A+B-C, f of 3A-2B:

- ``|a - b| >= s``; ``|2a - b - c| >= g``; ``|3a - 2b - c| >= f``: solved for a candidate, each pair
  that stands closes a few short spans, whose number at each candidate is kept in ``cover``;
- ``|a + b - c - d| >= h``: the differences of all pairs keep h from each other. So a candidate x is
  closed when x - y is nearer than h to a difference for some y that stands. ``apart`` holds a bit
  for each such distance, and whole words of candidates are sifted at once. A difference that
  shares y with x - y is a case of 2A-B or of spacing, so this way needs ``h <= min(s, g)``;
  otherwise the spans of all triples are kept in ``cover`` too.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.coordination.compiled import compiled

Whole = NDArray[np.int64]
BITS = 62
"""Candidates a word holds: words stay above 0."""
FULL = (1 << BITS) - 1
COUNT, STEPS, MOST, GOAL, FIXED, TOP, DICE, GONE, CHANCE = range(9)
"""Places in ``state``: carriers that stand; candidates tried, and most of them; carriers wanted;
carriers never taken out (the first ones); size of the best set met; the random number; most
carriers taken out at once; how often in 1000 one carrier less than the best is put up with."""
SPACING, TWO, THREE, FIVE, SIFTS, REACH = range(6)
"""Places in ``rules``: spacing and guards [units]; 1 where differences are sifted by words; the
greatest difference that is kept [units]."""
AT, WORD, SHIFT = range(3)
"""Columns of ``standing``: position; where in ``apart`` its view of the candidates begins."""
PLACES = np.array([next((k for k in range(BITS) if 2**k % 67 == rest), 0) for rest in range(67)])
"""The exponent of the power of two that leaves each rest when divided by 67."""
MOST_GONE = 6
"""Most carriers that a move takes out."""


class Lattice(NamedTuple):
    """The state of a packing: P positions in W words, room for M carriers.

    ``allowed`` (W,), words of the candidates that may ever stand; ``cover`` (P,), spans that close
    each; ``near`` (2 * reach + 1,), differences within the guard of each distance, and ``apart``,
    its words; ``standing`` (M, 3); ``best`` (M,), positions of the best set met; ``live`` (W, 2),
    room for words of open candidates; ``rules`` (6,); ``state`` (9,).
    """

    allowed: Whole
    cover: Whole
    near: Whole
    apart: Whole
    standing: Whole
    best: Whole
    live: Whole
    rules: Whole
    state: Whole


CHANGING = ("cover", "near", "apart")
"""What a fresh start clears, beside the number of carriers; the best set met stays."""


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
def lowest_bit(word: int) -> int:
    """Return the place of the lowest bit set of a word above 0.

    The powers of two up to the 61st leave different rests when divided by 67.
    """
    return PLACES[(word & -word) % 67]  # type: ignore[no-any-return]


@compiled
def close(cover: Whole, low: int, high: int, weight: int) -> None:
    """Count a reason at the candidates from ``low`` to ``high``; -1 takes it away."""
    for k in range(max(low, 0), min(high, cover.size - 1) + 1):
        cover[k] += weight


@compiled
def note_difference(near: Whole, apart: Whole, place: int, guard: int, weight: int) -> None:
    """Count a difference at all distances nearer than the guard A+B-C; -1 takes it away."""
    for k in range(max(place - guard + 1, 0), min(place + guard, near.size)):
        near[k] += weight
        word = k // BITS
        bit = 1 << (k - word * BITS)
        if near[k] > 0:
            apart[word] |= bit
        else:
            apart[word] &= ~bit


@compiled
def count_reasons(lattice: Lattice, x: int, weight: int) -> None:
    """Add the reasons that a carrier brings together with all others that stand."""
    rules, standing, cover = lattice.rules, lattice.standing, lattice.cover
    two, three, five, sifts = rules[TWO], rules[THREE], rules[FIVE], rules[SIFTS]
    near, apart, reach = lattice.near, lattice.apart, rules[REACH]
    side, outer, inner = rules[SPACING] - 1, two - 1, five - 1
    ends = two > 0 and (sifts == 0 or two > three)
    close(cover, x - side, x + side, weight)
    for k in range(lattice.state[COUNT]):
        y = standing[k, AT]
        if two > 0:
            close(cover, (x + y - outer + 1) >> 1, (x + y + outer) >> 1, weight)
        if ends:
            close(cover, 2 * x - y - outer, 2 * x - y + outer, weight)
            close(cover, 2 * y - x - outer, 2 * y - x + outer, weight)
        if five > 0:
            close(cover, 3 * x - 2 * y - inner, 3 * x - 2 * y + inner, weight)
            close(cover, 3 * y - 2 * x - inner, 3 * y - 2 * x + inner, weight)
            close(cover, (3 * x - y - inner + 1) >> 1, (3 * x - y + inner) >> 1, weight)
            close(cover, (3 * y - x - inner + 1) >> 1, (3 * y - x + inner) >> 1, weight)
            close(cover, (x + 2 * y - inner + 2) // 3, (x + 2 * y + inner) // 3, weight)
            close(cover, (y + 2 * x - inner + 2) // 3, (y + 2 * x + inner) // 3, weight)
        if sifts:
            note_difference(near, apart, reach + x - y, three, weight)
            note_difference(near, apart, reach + y - x, three, weight)
        elif three > 0:
            for p in range(k):
                z = standing[p, AT]
                for place in (x + y - z, x - y + z, y + z - x):
                    close(cover, place - three + 1, place + three - 1, weight)


@compiled
def put(lattice: Lattice, x: int) -> None:
    """Let one more carrier stand; the caller looks whether it may."""
    count_reasons(lattice, x, 1)
    count = lattice.state[COUNT]
    lattice.standing[count, AT] = x
    start = lattice.rules[REACH] - x
    lattice.standing[count, WORD] = start // BITS
    lattice.standing[count, SHIFT] = start - start // BITS * BITS
    lattice.state[COUNT] += 1


@compiled
def take(lattice: Lattice, which: int) -> int:
    """Take away the carrier at a place of ``standing``; the last one moves there."""
    lattice.state[COUNT] -= 1
    last, standing = lattice.state[COUNT], lattice.standing
    x = standing[which, AT]
    for column in range(3):
        standing[which, column] = standing[last, column]
    count_reasons(lattice, x, -1)
    return x  # type: ignore[no-any-return]


@compiled
def sift_word(lattice: Lattice, word: int, found: int) -> int:
    """Return those of some candidates of a word that may stand now."""
    standing, apart, cover = lattice.standing, lattice.apart, lattice.cover
    if lattice.rules[SIFTS]:
        for k in range(lattice.state[COUNT]):
            if found == 0:
                return found
            place, shift = word + standing[k, WORD], standing[k, SHIFT]
            found &= ~((apart[place] >> shift) | (apart[place + 1] << (BITS - shift)))
    base, rest = word * BITS, found
    while rest:
        bit = rest & -rest
        if cover[base + lowest_bit(rest)] > 0:
            found ^= bit
        rest ^= bit
    return found


@compiled
def highest_bit(word: int) -> int:
    """Return the place of the highest bit set of a word above 0."""
    place = 0
    for width in (32, 16, 8, 4, 2, 1):
        if word >> width:
            word >>= width
            place += width
    return place


@compiled
def is_over(state: Whole, room: int) -> bool:
    """Say whether enough carriers stand, or no more may be tried."""
    enough = state[COUNT] >= state[GOAL] or state[COUNT] >= room
    return bool(enough or state[STEPS] >= state[MOST])


@compiled
def note_best(lattice: Lattice) -> None:
    """Remember what stands when it is more than ever before."""
    count = lattice.state[COUNT]
    if count > lattice.state[TOP]:
        lattice.state[TOP] = count
        for k in range(count):
            lattice.best[k] = lattice.standing[k, AT]


@compiled
def try_all(lattice: Lattice, wanted: Whole) -> None:
    """Put carriers at those of the wanted positions that are candidates and may stand, in order."""
    for k in range(wanted.size):
        if is_over(lattice.state, lattice.standing.shape[0]):
            return
        word = wanted[k] // BITS
        bit = 1 << (wanted[k] - word * BITS)
        if sift_word(lattice, word, lattice.allowed[word] & bit):
            put(lattice, wanted[k])
            lattice.state[STEPS] += 1


@compiled
def fill_part(lattice: Lattice, low: int, high: int, down: int) -> None:
    """Fill candidates ``low`` to ``high - 1`` first-fit, downwards where ``down`` is 1."""
    if low >= high:
        return
    first, last = low // BITS, (high - 1) // BITS
    for turn in range(last - first + 1):
        word = last - turn if down else first + turn
        found = lattice.allowed[word]
        if word == first:
            found = found >> (low - first * BITS) << (low - first * BITS)
        if word == last:
            found &= FULL >> (BITS - (high - last * BITS))
        found = sift_word(lattice, word, found)
        while found:
            if is_over(lattice.state, lattice.standing.shape[0]):
                return
            bit = highest_bit(found) if down else lowest_bit(found)
            put(lattice, word * BITS + bit)
            lattice.state[STEPS] += 1
            found = sift_word(lattice, word, found)


@compiled
def fill(lattice: Lattice, start: int, down: int) -> None:
    """Fill first-fit from a candidate on, around to where it began."""
    size = lattice.cover.size
    if down:
        fill_part(lattice, 0, start, 1)
        fill_part(lattice, start, size, 1)
    else:
        fill_part(lattice, start, size, 0)
        fill_part(lattice, 0, start, 0)
    note_best(lattice)


@compiled
def pick(lattice: Lattice, many: int) -> int:
    """Return a random candidate at an edge of those that may stand."""
    live = lattice.live
    k = throw(lattice.state, many)
    word, found = live[k, 0], live[k, 1]
    below = 0
    above = 0
    if k > 0 and live[k - 1, 0] == word - 1:
        below = live[k - 1, 1] >> (BITS - 1)
    if k + 1 < many and live[k + 1, 0] == word + 1:
        above = live[k + 1, 1] & 1
    inner = ((found << 1) | below) & ((found >> 1) | (above << (BITS - 1)))
    edges = found & ~inner
    if edges == 0:
        edges = found
    turn = throw(lattice.state, BITS)
    if edges >> turn:
        return word * BITS + turn + lowest_bit(edges >> turn)  # type: ignore[no-any-return]
    return word * BITS + lowest_bit(edges)  # type: ignore[no-any-return]


@compiled
def pick_fresh(lattice: Lattice, many: int, barred: Whole) -> int:
    """Pick a candidate that is not one just left, as far as four tries find one."""
    x = pick(lattice, many)
    for _ in range(3):
        clash = False
        for k in range(barred.size):
            if barred[k] == x:
                clash = True
        if not clash:
            return x
        x = pick(lattice, many)
    return x


@compiled
def refill(lattice: Lattice, barred: Whole) -> None:
    """Put carriers at edges of what is open, at random, until nothing is."""
    live, many = lattice.live, 0
    for word in range(lattice.allowed.size):
        found = sift_word(lattice, word, lattice.allowed[word])
        if found:
            live[many, 0], live[many, 1] = word, found
            many += 1
    fresh = True
    while many > 0 and not is_over(lattice.state, lattice.standing.shape[0]):
        x = pick_fresh(lattice, many, barred) if fresh else pick(lattice, many)
        fresh = False
        put(lattice, x)
        lattice.state[STEPS] += 1
        left = 0
        for k in range(many):
            found = sift_word(lattice, live[k, 0], live[k, 1])
            if found:
                live[left, 0], live[left, 1] = live[k, 0], found
                left += 1
        many = left


@compiled
def stir(lattice: Lattice, times: int) -> int:
    """Take some carriers out and refill otherwise, again and again; return how often it was done.

    What is no worse is kept, and now and then what is one short of the best. Ends early when
    enough carriers stand, no more may be tried, or nothing may be taken out.
    """
    state, standing = lattice.state, lattice.standing
    fixed = state[FIXED]
    barred = np.empty(MOST_GONE, dtype=np.int64)
    for turn in range(times):
        before = state[COUNT]
        if before == fixed or is_over(state, standing.shape[0] + 1):
            return turn
        gone = min(1 + throw(state, state[GONE]), before - fixed, state[MOST] - state[STEPS])
        barred[:] = -1
        for k in range(gone):
            barred[k] = take(lattice, fixed + throw(state, state[COUNT] - fixed))
            state[STEPS] += 1
        kept = state[COUNT]
        refill(lattice, barred)
        after = state[COUNT]
        if after >= before or (after >= state[TOP] - 1 and throw(state, 1000) < state[CHANCE]):
            note_best(lattice)
            continue
        while state[COUNT] > kept:
            take(lattice, state[COUNT] - 1)
        for k in range(gone):
            put(lattice, barred[k])
    return times
