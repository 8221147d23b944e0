"""The least span of a few carriers by exhaustive search, compiled.

Plain whole-number code, so that compiled and plain give the same numbers. The search drops a few
constraints that a spacing above the guards gives anyway; what it refutes is refuted all the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

HOLDS = 1
"""Such a set was found."""
NONE = 0
"""There is no such set."""
OPEN = -1
"""The steps ended before that was known."""


@compiled
def shut(row: NDArray[np.int8], low: int, high: int) -> None:
    """Close the positions from low to high, both included, as far as the row goes."""
    for place in range(max(low, 0), min(high, row.size - 1) + 1):
        row[place] = 1


@compiled
def shut_thirds(row: NDArray[np.int8], triple: int, guard: int, first: int) -> None:
    """Close the positions q from ``first`` on with abs(3 q - triple) < guard."""
    shut(row, max(first, (triple - guard) // 3 + 1), (triple + guard - 1) // 3)


@compiled
def shut_beside(
    row: NDArray[np.int8], placed: NDArray[np.int64], count: int, guards: NDArray[np.int64]
) -> None:
    """Close what the last of ``count`` placed carriers and those below it leave no room for.

    Parameters
    ----------
    row : array
        Closed positions [units]; its last one is a carrier too.
    placed : array
        Carriers from 0 on, ascending [units].
    count : int
        How many are placed.
    guards : array
        2A-B, A+B-C, 3A-2B [units], 0 where not protected.
    """
    chain, cross, fifth = guards[0], guards[1], guards[2]
    last = placed[count - 1]
    end = row.size - 1
    rest = end - last
    if chain > 0:
        shut(row, max(last + 1, last + (rest - chain) // 2 + 1), last + (rest + chain - 1) // 2)
    if fifth > 0:
        shut_thirds(row, end + 2 * last, fifth, last + 1)
        shut_thirds(row, 2 * end + last, fifth, last + 1)
    for i in range(count - 1):
        gap = last - placed[i]
        if chain > 0:
            shut(row, max(last + 1, last + gap - chain + 1), last + gap + chain - 1)
        if fifth > 0:
            shut(row, max(last + 1, last + 2 * gap - fifth + 1), last + 2 * gap + fifth - 1)
            low = last + (gap - fifth) // 2 + 1
            shut(row, max(last + 1, low), last + (gap + fifth - 1) // 2)
        if cross > 0:
            for j in range(i):
                place = last + placed[i] - placed[j]
                shut(row, max(last + 1, place - cross + 1), place + cross - 1)
            place = end - gap
            shut(row, max(last + 1, place - cross + 1), place + cross - 1)


@compiled
def span_holds(
    gaps: int,
    span: int,
    least: NDArray[np.int64],
    guards: NDArray[np.int64],
    most_steps: int,
) -> tuple[int, int]:
    """Look for a valid set of ``gaps`` + 1 carriers, the first at 0 and the last at ``span``.

    Parameters
    ----------
    gaps : int
        Carriers less one, 2 or more.
    span : int
        Place of the last carrier [units].
    least : array
        Proven least spans of 0, 1, ... ``gaps`` - 1 gaps [units].
    guards : array
        2A-B, A+B-C, 3A-2B [units], 0 where not protected.
    most_steps : int
        Carriers that may be placed.

    Returns
    -------
    (int, int)
        ``HOLDS``, ``NONE`` or ``OPEN``, and the carriers placed.

    Notes
    -----
    Carriers are placed from the left, each time at the next open position, and taken back when
    there is none. For three carriers with gaps p, q: abs(p - q) is kept from the 2A-B guard,
    abs(p - 2 q) and abs(q - 2 p) from that of 3A-2B; for four, w < x < y < z, abs(z + w - x - y)
    from that of A+B-C. A set and its mirror image are one, so that the last gap may be taken not
    to be shorter than the first.
    """
    closed = np.zeros((gaps + 1, span + 1), dtype=np.int8)
    placed = np.zeros(gaps + 1, dtype=np.int64)
    following = np.zeros(gaps + 1, dtype=np.int64)
    last = np.zeros(gaps + 1, dtype=np.int64)
    steps, number = 0, 1
    shut_beside(closed[1], placed, number, guards)
    following[1], last[1] = least[1], span - least[gaps - 1]
    while number >= 1:
        row, place = closed[number], following[number]
        while place <= last[number] and row[place]:
            place += 1
        if place > last[number]:
            number -= 1
            continue
        following[number] = place + 1
        placed[number] = place
        steps += 1
        if number == gaps - 1:
            if gaps == 2 or span - place >= placed[1]:
                return HOLDS, steps
            continue
        if steps >= most_steps:
            return OPEN, steps
        above = closed[number + 1]
        # a loop: the same in one statement takes twice as long to compile
        for spot in range(span + 1):
            above[spot] = row[spot]
        number += 1
        shut_beside(above, placed, number, guards)
        following[number] = max(place + least[1], least[number])
        last[number] = span - max(least[gaps - number], least[gaps - number - 1] + placed[1])
    return NONE, steps
