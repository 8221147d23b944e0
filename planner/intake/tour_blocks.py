"""What a need says of the loss of a wideband block, checked against the other needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.intake.faults import nearest_word
from planner.intake.tour_checks import some
from planner.ranking import considered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.intake.tour_fields import TomlFields
    from planner.records import GearRange, Need

FALLBACK = "fallback"


def check_block_losses(needs: Sequence[tuple[TomlFields, Need]]) -> None:
    """Fault a ``fallback`` that names no other need, and one of the two keys without the other."""
    for fields, need in needs:
        if need.block_loss != FALLBACK and need.fallback:
            fields.fault(
                "fallback",
                value=f'"{need.fallback}", block_loss "{need.block_loss}"',
                allowed='fallback only beside block_loss = "fallback"',
                advice='write block_loss = "fallback" or take the key out',
            )
        if need.block_loss != FALLBACK:
            continue
        others = [other.name for _, other in needs if other is not need and other.name]
        if need.fallback in others:
            continue
        near = nearest_word(need.fallback, others)
        fields.fault(
            "fallback",
            value=f'"{need.fallback}"',
            allowed=f"the name of the need that takes over a lost block: {some(others)}",
            advice=f'did you mean "{near}"?' if near else "name one, or change block_loss",
        )


def check_fallback_sizes(
    needs: Sequence[tuple[TomlFields, Need]], gear: Sequence[GearRange]
) -> None:
    """Fault a fallback of fewer lines than the largest block that may carry the need holds."""
    by_name = {need.name: need for _, need in needs}
    for fields, need in needs:
        other = by_name.get(need.fallback)
        lost = max((row.links_per_block for row in considered(need, gear)), default=0)
        lost = min(need.count, lost)
        if need.block_loss == FALLBACK and other is not None and other.count < lost:
            fields.fault(
                "fallback",
                value=f'"{other.name}" of {other.count} lines',
                allowed=f"a need of {lost} lines or more, as many as a lost block takes",
                advice="raise its count, or name another need",
            )
