"""Deal the carriers of a need to its lines and spares so that wished ones stay where they were."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination.records import Filled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.records import Order
    from planner.coordination.search import Draft


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Wish:
    """A line or spare that would like to keep a frequency.

    Attributes
    ----------
    index, slot : int
        Number of the need, and of the line in it; spares count on after the lines.
    frequency_hz : int
        The frequency [Hz].
    spare : bool
        Whether it is a spare's.
    """

    index: int
    slot: int
    frequency_hz: int
    spare: bool


def wishes_of(orders: Sequence[Order]) -> tuple[Wish, ...]:
    """Return the wishes of all needs: lines in order, then spares."""
    found = [
        Wish(index=index, slot=slot, frequency_hz=hz, spare=slot >= order.count)
        for index, order in enumerate(orders)
        for slot, hz in enumerate(order.preferred_hz)
        if hz is not None
    ]
    return tuple(sorted(found, key=lambda wish: wish.spare))


def deal(orders: Sequence[Order], draft: Draft) -> tuple[Filled, ...]:
    """Give each need's carriers to its lines, then to its spares.

    Carriers of one need are alike, so a line takes its wished one where it is there; a spare
    takes its own only while the lines are not left short by it. Centres for spares only never
    go to a line.
    """
    return tuple(
        _deal_need(order, set(main), set(extra))
        for order, main, extra in zip(orders, draft.main, draft.extra, strict=True)
    )


def changed(wishes: Sequence[Wish], filled: Sequence[Filled]) -> int:
    """Return how many wishes were not met."""
    return sum(
        (*filled[wish.index].lines_hz, *filled[wish.index].spares_hz)[wish.slot]
        != wish.frequency_hz
        for wish in wishes
    )


def _deal_need(order: Order, main: set[int], extra: set[int]) -> Filled:
    lines: list[int | None] = [None] * order.count
    spares: list[int | None] = [None] * order.spares
    wished = (*order.preferred_hz, *(None,) * (order.count + order.spares))
    for slot in range(order.count):
        hz = wished[slot]
        if hz in main and hz is not None:
            lines[slot] = hz
            main.discard(hz)
    for slot in range(order.spares):
        hz = wished[order.count + slot]
        if hz in main and hz is not None and len(main) > lines.count(None):
            spares[slot] = hz
            main.discard(hz)
        elif hz in extra and hz is not None:
            spares[slot] = hz
            extra.discard(hz)
    left = sorted(main, reverse=True)
    for slot, hz in enumerate(lines):
        if hz is None and left:
            lines[slot] = left.pop()
    rest = [*sorted(extra, reverse=True), *left]
    for slot, hz in enumerate(spares):
        if hz is None and rest:
            spares[slot] = rest.pop()
    return Filled(name=order.name, lines_hz=tuple(lines), spares_hz=tuple(spares))
