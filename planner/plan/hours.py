"""Times of day as slots: who is ever on at the same time."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

_MINUTES = 60
_HOURS = 24


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Slots:
    """The day cut wherever anybody begins or ends.

    Attributes
    ----------
    cuts : tuple of int
        Minutes after midnight, ascending, each once; a slot runs from one cut to the next, the
        last one over midnight to the first. Empty: one slot, the whole day.
    """

    cuts: tuple[int, ...] = ()

    @classmethod
    def of(cls, times: Iterable[tuple[str, ...]]) -> Slots:
        """Cut the day at every begin and end.

        Parameters
        ----------
        times : iterable of tuple of str
            ``"HH:MM"`` from and to, or empty for the whole day.
        """
        return cls(cuts=tuple(sorted({_minute(text) for pair in times for text in pair})))

    def mask(self, active: tuple[str, ...]) -> int:
        """Return the slots of a time as a bit mask; all of them for the whole day.

        Parameters
        ----------
        active : tuple of str
            From and to, both among the cuts; past midnight where the second is the earlier one.
        """
        if not active:
            return (1 << max(1, len(self.cuts))) - 1
        begin, end = (self.cuts.index(_minute(text)) for text in active)
        mask = 0
        while begin != end:
            mask |= 1 << begin
            begin = (begin + 1) % len(self.cuts)
        return mask


def ever_together(one: tuple[str, ...], two: tuple[str, ...]) -> bool:
    """Say whether two times of day overlap; an end and a begin at one minute do not."""
    slots = Slots.of((one, two))
    return bool(slots.mask(one) & slots.mask(two))


def _minute(text: str) -> int:
    hours, minutes = text.split(":")
    return int(hours) % _HOURS * _MINUTES + int(minutes)
