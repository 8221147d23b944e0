"""Performers whose two carriers came too near each other: look for others farther off."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination.names import partner_needs

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from planner.coordination.names import Names, Use
    from planner.coordination.tasks import LineKey, StopTask


def pairs_too_near(
    task: StopTask, names: Iterable[Names], carriers: Mapping[LineKey, Use]
) -> tuple[tuple[str, str, str], ...]:
    """Return need, other need and line of each performer whose carriers are too near."""
    partners = partner_needs(tuple(names))
    found = set()
    for need, others in partners.items():
        for (owner, line), use in carriers.items():
            for other in others if owner == need else ():
                partner = carriers.get((other, line))
                apart = abs(partner.frequency_hz - use.frequency_hz) if partner else None
                if apart is not None and apart < task.separation_hz:
                    found.add((min(need, other), max(need, other), line))
    return tuple(sorted(found))


def moved_apart(
    task: StopTask, near: Iterable[tuple[str, str, str]], carriers: Mapping[LineKey, Use]
) -> Iterator[tuple[StopTask, str]]:
    """Yield the stop's task with one need kept away from all carriers of its partner.

    Yields
    ------
    (StopTask, str)
        The narrower task, and the need that stays where it is; each need in turn.
    """
    for one, two in dict.fromkeys((need, other) for need, other, _ in near):
        for mover, stays in ((two, one), (one, two)):
            centres_hz = sorted(
                {use.frequency_hz for (need, _), use in carriers.items() if need == stays}
            )
            closed = [(hz - task.separation_hz, hz + task.separation_hz) for hz in centres_hz]
            needs = tuple(
                dataclasses.replace(
                    need,
                    choices=tuple(
                        dataclasses.replace(
                            choice,
                            grid=choice.grid.outside(closed),
                            spare_grid=choice.spare_grid.outside(closed),
                        )
                        for choice in need.choices
                    ),
                )
                if need.name == mover
                else need
                for need in task.needs
            )
            yield dataclasses.replace(task, needs=needs), stays
