"""The set of carriers of one stop, not yet dealt to names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.coordination.first_fit import coordinate
from planner.coordination.records import Effort, Grid, Order, PlacedCarrier, Wish
from planner.coordination.verify import violations

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination.names import Use
    from planner.coordination.tasks import LineKey, StopTask

Sets = dict[str, set[tuple[str, int, bool]]]
"""By need: range, frequency [Hz], whether lines may stand there."""

Lack = tuple[int, int]
"""Missing lines, in links, and missing spares, all needs of a stop together."""


def orders_of(task: StopTask, wishes: Mapping[str, Sequence[Wish]]) -> list[Order]:
    """Return what the needs of a stop ask the search for."""
    orders = []
    for need in task.needs:
        keys = {choice.range_key for choice in need.choices}
        orders.append(
            Order(
                name=need.name,
                choices=need.choices,
                count=len(need.lines),
                spares=len(need.spares),
                wishes=tuple(wish for wish in wishes.get(need.name, ()) if wish.range_key in keys),
                limit=need.limit,
                group=need.group,
                links=need.most_held,
            )
        )
    return orders


def solve(
    task: StopTask, wishes: Mapping[str, Sequence[Wish]], *, effort: Effort
) -> tuple[Sets, Lack, int]:
    """Return the carriers of each need, what is missing, and the steps."""
    answer = coordinate(orders_of(task, wishes), task.fixed, company=task.company, effort=effort)
    found = {
        filled.name: {
            (chosen.range_key, chosen.frequency_hz, chosen.main) for chosen in filled.carriers
        }
        for filled in answer.filled
    }
    pairs = list(zip(task.needs, answer.filled, strict=True))
    lack = (
        sum(filled.missing_lines * need.most_held for need, filled in pairs),
        sum(filled.missing_spares for filled in answer.filled),
    )
    return found, lack, answer.steps


def links_of(task: StopTask, sets: Sets) -> int:
    """Return how much the carriers of a stop bring: lines their links, spares 1 each."""
    total = 0
    for need in task.needs:
        rows = sets.get(need.name, ())
        lines = min(len(need.lines), sum(main for _, _, main in rows))
        total += need.most_held * lines + len(rows) - lines
    return total


def is_fuller(one: Lack, two: Lack) -> bool:
    """Say whether a set lacks less than another: fewer carriers, or as few and fewer lines."""
    return (sum(one), one) < (sum(two), two)


def wishes_of(task: StopTask, kept: Mapping[LineKey, Use]) -> dict[str, tuple[Wish, ...]]:
    """Return what the names of each need would like to keep, each carrier once."""
    found: dict[str, tuple[Wish, ...]] = {}
    for need in task.needs:
        keys = {choice.range_key for choice in need.choices}
        mine: dict[tuple[str, int], Wish] = {}
        for name in need.names:
            use = kept.get((need.name, name))
            if use is not None and use.range_key in keys:
                wish = Wish(
                    range_key=use.range_key,
                    frequency_hz=use.frequency_hz,
                    spare=name in need.spares,
                )
                mine.setdefault((use.range_key, use.frequency_hz), wish)
        found[need.name] = tuple(mine.values())
    return found


def wishes_for(sets: Sets) -> dict[str, tuple[Wish, ...]]:
    """Return a set of carriers as wishes; those on centres for spares only are for spares."""
    return {
        need: tuple(
            Wish(range_key=key, frequency_hz=hz, spare=not main)
            for key, hz, main in sorted(carriers)
        )
        for need, carriers in sets.items()
    }


def known_wishes(task: StopTask) -> dict[str, tuple[Wish, ...]]:
    """Return a set found before for a stop as wishes."""
    return {
        need.name: tuple(
            Wish(range_key=row.range_key, frequency_hz=row.frequency_hz, spare=not row.main)
            for row in task.known.get(need.name, ())
        )
        for need in task.needs
    }


def is_sound(task: StopTask, carriers: Mapping[LineKey, Use]) -> bool:
    """Say whether carriers of an earlier plan stand in their windows and clear of each other."""
    placed = []
    for need in task.needs:
        choices = {choice.range_key: choice for choice in need.choices}
        for name in need.names:
            use = carriers.get((need.name, name))
            if use is None:
                continue
            choice = choices.get(use.range_key)
            if choice is None or not (
                _holds(choice.grid, use.frequency_hz)
                or (name in need.spares and _holds(choice.spare_grid, use.frequency_hz))
            ):
                return False
            placed.append(
                PlacedCarrier(frequency_hz=use.frequency_hz, guards=choice.guards, group=need.group)
            )
    ours = {row.frequency_hz for row in placed}
    return not any(
        ours & {clash.victim_hz, *clash.sources_hz}
        for clash in violations([*placed, *task.fixed], company=task.company)
    )


def _holds(grid: Grid, hz: int) -> bool:
    return (hz - grid.origin_hz) % grid.step_hz == 0 and any(
        low <= hz <= high for low, high in grid.windows_hz
    )
