"""Blocks beside carriers, against a brute-force reading of the definitions on small numbers."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.coordination import (
    Choice,
    Company,
    Grid,
    Group,
    GuardSet,
    Order,
    coordinate,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

NOWHERE = Grid(origin_hz=0, step_hz=1, windows_hz=())
HALF, EDGE, SPACING = 6, 2, 3
"""Half a block, what carriers keep from its edge, their spacing."""
COMPANY = Company(
    groups=(Group(), Group()),
    separations_hz=((1, 0, HALF + EDGE), (1, 1, 2 * HALF)),
    silent=frozenset({1}),
)


def _order(name: str, window: tuple[int, int], guards: GuardSet, count: int, group: int) -> Order:
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=(window,))
    choice = Choice(range_key="r", guards=guards, grid=grid, spare_grid=NOWHERE)
    return Order(name=name, choices=(choice,), count=count, group=group)


def _sound(blocks: Sequence[int], carriers: Sequence[int], guard: int) -> bool:
    """Say by the definitions whether blocks (by their middles) and carriers may stand together."""
    spans = [(hz - HALF, hz + HALF) for hz in blocks]
    overlap = any(b < d and c < a for (b, a), (c, d) in itertools.combinations(sorted(spans), 2))
    near = any(low - EDGE < hz < high + EDGE for low, high in spans for hz in carriers)
    tight = any(abs(a - b) < SPACING for a, b in itertools.combinations(carriers, 2))
    # a block is no source: products of carriers among themselves only
    product = any(abs(2 * a - b - v) < guard for a, b, v in itertools.permutations(carriers, 3))
    return not (overlap or near or tight or product)


@settings(max_examples=40, deadline=None)
@given(st.integers(12, 40), st.integers(1, 2), st.integers(1, 4), st.integers(0, 2))
def test_blocks_and_carriers_are_sound_by_the_definitions(
    high: int, blocks: int, carriers: int, guard: int
) -> None:
    found = coordinate(
        [
            _order("wide", (HALF, high - HALF), GuardSet(spacing_hz=HALF), blocks, 1),
            _order(
                "fine", (0, high), GuardSet(spacing_hz=SPACING, guard_2a_b_hz=guard), carriers, 0
            ),
        ],
        company=COMPANY,
        effort="quick",
    )
    wide, fine = ([row.frequency_hz for row in need.carriers] for need in found.filled)
    assert _sound(wide, fine, guard)
    best = max(
        len(b) + len(c)
        for n in range(blocks + 1)
        for b in itertools.combinations(range(HALF, high - HALF + 1, 1), n)
        if n < 2 or b[1] - b[0] >= 2 * HALF
        for m in range(carriers + 1)
        for c in [_widest(b, m, high, guard)]
        if c is not None
    )
    # the search is no proof: it may lack one carrier of the best
    assert len(wide) + len(fine) >= best - 1


def _widest(blocks: Sequence[int], count: int, high: int, guard: int) -> tuple[int, ...] | None:
    """Return some sound carriers beside blocks, None where there are none."""
    free = [hz for hz in range(high + 1) if _sound(blocks, [hz], guard)]

    def grow(chosen: tuple[int, ...], first: int) -> tuple[int, ...] | None:
        if len(chosen) == count:
            return chosen
        for place in range(first, len(free)):
            longer = (*chosen, free[place])
            if _sound(blocks, longer, guard):
                found = grow(longer, place + 1)
                if found is not None:
                    return found
        return None

    return grow((), 0)
