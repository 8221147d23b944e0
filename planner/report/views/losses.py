"""What a sheet says for the day spectrum is lost: channel by channel, and a second set."""

from __future__ import annotations

import dataclasses
from collections import Counter
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import Plan, rows, table

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LossRow:
    """The loss of one TV channel.

    Attributes
    ----------
    channel, span : str
        The channel, a dash outside TV; its edges in MHz.
    lost : str
        How many carriers of each need are in it.
    moves : tuple of (str, str, str)
        Name, old and new MHz.
    missing : str
        Names left without, empty for none.
    """

    channel: str
    span: str
    lost: str
    moves: tuple[tuple[str, str, str], ...]
    missing: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class SecondNeed:
    """A need in the second set.

    Attributes
    ----------
    carriers : tuple of (str, str)
        Name and MHz.
    """

    need: str
    channels: str
    carriers: tuple[tuple[str, str], ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LossesView:
    """Second set and losses.

    Attributes
    ----------
    computed : bool
        False for a plan that holds neither.
    second : str
        What the second set is worth, one sentence.
    """

    computed: bool
    losses: tuple[LossRow, ...]
    second: str
    needs: tuple[SecondNeed, ...]


def losses_view(stop: Plan) -> LossesView:
    """Make the view of a stop's second set and of the loss of each channel."""
    losses = tuple(_loss(row) for row in rows(stop, "channel_losses"))
    second = table(stop, "second_set")
    carriers = rows(second, "carriers")
    names = dict.fromkeys(row["need"] for row in carriers)
    return LossesView(
        computed="channel_losses" in stop and bool(rows(stop, "carriers")),
        losses=losses,
        second=_second(second, bool(carriers)),
        needs=tuple(
            _need(name, [row for row in carriers if row["need"] == name]) for name in names
        ),
    )


def _loss(row: Plan) -> LossRow:
    channel = row.get("channel")
    return LossRow(
        channel=words.NONE if channel is None else words.clean(channel),
        span=words.mhz_span(row["low_mhz"], row["high_mhz"]),
        lost=words.listed(
            f"{count} of {words.clean(need)}"
            for need, count in Counter(name["need"] for name in rows(row, "lost")).items()
        ),
        moves=tuple(
            (
                words.clean(move["name"]) + _way(move),
                words.mhz(move["from_mhz"]),
                words.mhz(move["to_mhz"]),
            )
            for move in rows(row, "moves")
        ),
        missing=words.listed(
            words.clean(name["name"]) + _way(name) for name in rows(row, "missing")
        ),
    )


def _second(second: Plan, some: bool) -> str:  # noqa: FBT001 - a word of the one caller
    if not some:
        return "Nothing fits in other TV channels than those in use."
    if second.get("complete"):
        return "Everything fits a second time, in other TV channels than those in use."
    missing = words.listed(
        f"{count} of {words.clean(need)}" for need, count in table(second, "missing").items()
    )
    return f"In other TV channels than those in use a part fits a second time; missing: {missing}."


def _need(name: str, carriers: Iterable[Plan]) -> SecondNeed:
    own = list(carriers)
    channels = dict.fromkeys(row["channel"] for row in own if row.get("channel") is not None)
    return SecondNeed(
        need=words.clean(name),
        channels=words.listed(words.clean(channel) for channel in channels) or words.NONE,
        carriers=tuple(
            (words.clean(row["name"]) + _way(row), words.mhz(row["frequency_mhz"])) for row in own
        ),
    )


def _way(row: Plan) -> str:
    return f" ({row['direction']})" if row.get("direction") else ""
