"""Walks over short axes for the packing: what they are started with, and what they prove."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import pack_kernel, pack_walk
from planner.coordination.pack_search import words_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.coordination.pack_search import Ground

NODES_A_STEP = 512
"""So many carriers placed by a walk count as one candidate tried: they take about as long."""

_NODES_FOR_SPANS = 500_000
_WORDS = 2


class Walker:
    """Looks for one carrier more than is known, until it has seen every set.

    Parameters
    ----------
    ground : Ground
        A ground for which :meth:`serves` holds.
    """

    def __init__(self, ground: Ground) -> None:
        guards = ground.guards
        self._rules = ground.units(max(1, guards.spacing_hz)), ground.units(guards.guard_a_b_c_hz)
        self._allowed = words_of(ground.candidates, _WORDS)
        self._last = int(ground.candidates[-1])
        self._least, nodes = least_spans(*self._rules)
        self._steps = nodes // NODES_A_STEP
        self._walk = self._begin(1)
        self.exhausted = False

    @staticmethod
    def serves(ground: Ground) -> bool:
        """Say whether walks serve: a short axis, one guard for differences, nothing fixed."""
        guards = ground.guards
        three = ground.units(guards.guard_a_b_c_hz)
        return (
            not ground.fixed
            and int(ground.candidates[-1]) < pack_walk.LONGEST
            and 0 < three == ground.units(guards.guard_2a_b_hz)
            and three <= ground.units(max(1, guards.spacing_hz))
            and ground.units(max(1, guards.spacing_hz)) <= pack_kernel.BITS
            and guards.guard_3a_2b_hz == 0
        )

    @property
    def steps(self) -> int:
        """Steps so far, those for the least spans included."""
        return self._steps + int(self._walk.state[pack_walk.NODES]) // NODES_A_STEP

    @property
    def wanted(self) -> int:
        """The size looked for."""
        return int(self._walk.state[pack_walk.WANTED])

    def look_for(self, wanted: int) -> None:
        """Begin to look for a set of so many carriers."""
        self._steps = self.steps
        self._walk = self._begin(wanted)

    def go(self, steps: int) -> NDArray[np.int64] | None:
        """Go on for so many steps; return the positions of a set of the wanted size, or None."""
        walk = self._walk
        if pack_walk.go(walk, steps * NODES_A_STEP):
            wanted = int(walk.state[pack_walk.WANTED])
            return walk.stack[:wanted, pack_walk.AT].copy()
        self.exhausted = bool(walk.state[pack_walk.DONE])
        return None

    def _begin(self, wanted: int) -> pack_walk.Walk:
        return _walk(wanted, self._least, self._rules, allowed=self._allowed, last=self._last)


def _walk(
    wanted: int,
    least: tuple[int, ...],
    rules: tuple[int, int],
    *,
    allowed: NDArray[np.int64],
    last: int,
) -> pack_walk.Walk:
    spans = [*least, *(least[-1] + rules[0] * k for k in range(1, wanted + 1))]
    state = np.zeros(6, dtype=np.int64)
    state[pack_walk.WANTED], state[pack_walk.LAST] = wanted, last
    return pack_walk.Walk(
        stack=np.zeros((wanted, 7), dtype=np.int64),
        least=np.array(spans, dtype=np.int64),
        allowed=allowed,
        rules=np.array(rules, dtype=np.int64),
        state=state,
    )


@functools.lru_cache(maxsize=32)
def least_spans(spacing: int, guard: int) -> tuple[tuple[int, ...], int]:
    """Return the least spans of 1, 2, ... carriers, as far as they are soon known [units].

    Parameters
    ----------
    spacing, guard : int
        Spacing and guard of the differences [units], the guard not above the spacing.

    Returns
    -------
    tuple of int, int
        The spans, 0 for one carrier; and the carriers placed to find them.

    Notes
    -----
    Each is found by looking for ever shorter sets on a free axis that begin at its first
    position, until there is none: a set may be moved, so its span does not depend on the
    windows, and windows can only make it longer.
    """
    least: tuple[int, ...] = (0,)
    nodes = 0
    free = words_of(np.arange(pack_walk.LONGEST), _WORDS)
    while nodes < _NODES_FOR_SPANS:
        wanted = len(least) + 1
        walk = _walk(wanted, least, (spacing, guard), allowed=free, last=pack_walk.LONGEST - 1)
        shortest = 0
        while pack_walk.go(walk, _NODES_FOR_SPANS) and walk.state[pack_walk.FIRST] == 1:
            shortest = int(walk.stack[wanted - 1, pack_walk.AT])
            walk.state[pack_walk.LAST] = shortest - 1
        nodes += int(walk.state[pack_walk.NODES])
        seen_all = walk.state[pack_walk.FIRST] > 1 or walk.state[pack_walk.DONE]
        if shortest == 0 or not seen_all:
            break
        least = (*least, shortest)
    return least, nodes
