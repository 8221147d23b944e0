"""A walk through all sets of a short axis: it finds what a search misses, or proves there is none.

Where 2A-B and A+B-C have one guard h, not above the spacing, a set is valid exactly when its
differences keep h from each other. Carriers are placed upwards. From the last one on, an offset is
closed when it is below the spacing, or within h of a difference of those that stand; what closed
the offsets from an earlier carrier is shifted along. A difference that came later closes nothing
new from an earlier carrier: ``x - y`` near ``p - q`` is ``x - p`` near ``y - q``. This is the
common backtracking for Golomb rulers (bit vectors: Rankin 1993), here with a guard and windows.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.coordination.compiled import compiled
from planner.coordination.pack_kernel import BITS, FULL, lowest_bit

Whole = NDArray[np.int64]
LONGEST = 2 * BITS
"""Most positions of an axis that can be walked."""
PLACED, WANTED, LAST, NODES, DONE, FIRST = range(6)
"""Places in ``state``: carriers that stand, carriers wanted; highest position that may be used;
carriers placed so far; 1 when everything was seen; the next position to begin at."""
LOW, HIGH, HELD_LOW, HELD_HIGH, NEW_LOW, NEW_HIGH, AT = range(7)
"""Columns of ``stack``: words of the offsets closed, of the differences with their guard, and of
those to the last carrier; the position."""


class Walk(NamedTuple):
    """Where a walk has come to.

    ``stack`` (M, 7), one row a carrier; ``least`` (M,), the least span of k + 1 carriers, k from 0;
    ``allowed`` (2,), words of the candidates; ``rules`` (2,), spacing and guard [units];
    ``state`` (6,).
    """

    stack: Whole
    least: Whole
    allowed: Whole
    rules: Whole
    state: Whole


@compiled
def place_next(walk: Walk, depth: int, offset: int) -> None:
    """Let one more carrier stand above the last one, ``depth`` of which stand."""
    stack, guard = walk.stack, walk.rules[1]
    low, high = stack[depth - 1, LOW], stack[depth - 1, HIGH]
    new_low, new_high = stack[depth - 1, NEW_LOW], stack[depth - 1, NEW_HIGH]
    if offset < BITS:
        low = (low >> offset) | ((high << (BITS - offset)) & FULL)
        high >>= offset
        new_high = ((new_high << offset) & FULL) | (new_low >> (BITS - offset))
        new_low = (new_low << offset) & FULL
    else:
        low, high = high >> (offset - BITS), 0
        new_high, new_low = (new_low << (offset - BITS)) & FULL, 0
    for bit in range(max(offset - guard + 1, 0), min(offset + guard, 2 * BITS)):
        if bit < BITS:
            new_low |= 1 << bit
        else:
            new_high |= 1 << (bit - BITS)
    held_low, held_high = (
        stack[depth - 1, HELD_LOW] | new_low,
        stack[depth - 1, HELD_HIGH] | new_high,
    )
    stack[depth, LOW], stack[depth, HIGH] = low | held_low, high | held_high
    stack[depth, HELD_LOW], stack[depth, HELD_HIGH] = held_low, held_high
    stack[depth, NEW_LOW], stack[depth, NEW_HIGH] = new_low, new_high
    stack[depth, AT] = stack[depth - 1, AT] + offset


@compiled
def place_first(walk: Walk, at: int) -> None:
    """Begin at a position."""
    stack, spacing = walk.stack, walk.rules[0]
    stack[0, :] = 0
    stack[0, AT] = at
    low, high = ~walk.allowed[0] & FULL, ~walk.allowed[1] & FULL
    if at < BITS:
        low = (low >> at) | ((high << (BITS - at)) & FULL)
        high >>= at
    else:
        low, high = high >> (at - BITS), 0
    held_low, held_high = FULL, 0
    if spacing < BITS:
        held_low = (1 << spacing) - 1
    else:
        held_high = (1 << (spacing - BITS)) - 1
    stack[0, LOW], stack[0, HIGH] = low | held_low, high | held_high
    stack[0, HELD_LOW], stack[0, HELD_HIGH] = held_low, held_high


@compiled
def go(walk: Walk, nodes: int) -> bool:
    """Go on for about so many carriers placed; say whether as many as wanted stand now.

    Called again after that, it goes on to the next such set. ``DONE`` is 1 after the last one.
    """
    stack, least, state = walk.stack, walk.least, walk.state
    wanted, last = state[WANTED], state[LAST]
    end = state[NODES] + nodes
    depth = state[PLACED]
    while state[NODES] < end:
        if depth == 0:
            at = state[FIRST]
            if at + least[wanted - 1] > last:
                state[DONE], state[PLACED] = 1, 0
                return False
            state[FIRST] += 1
            if (walk.allowed[at // BITS] >> (at % BITS)) & 1 == 0:
                continue
            place_first(walk, at)
            state[NODES] += 1
            depth = 1
        else:
            found = ~stack[depth - 1, LOW] & FULL
            if found:
                offset = lowest_bit(found)
                stack[depth - 1, LOW] |= found & -found
            else:
                found = ~stack[depth - 1, HIGH] & FULL
                offset = LONGEST
                if found:
                    offset = BITS + lowest_bit(found)
                    stack[depth - 1, HIGH] |= found & -found
            if stack[depth - 1, AT] + offset + least[wanted - depth - 1] > last:
                depth -= 1
                continue
            state[NODES] += 1
            place_next(walk, depth, offset)
            depth += 1
        if depth == wanted:
            state[PLACED] = depth - 1
            return True
    state[PLACED] = depth
    return False
