"""The state of a search: what stands, and for each row how often each centre is closed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.products import ClosedSpans, Standing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.coordination.records import GuardSet, PlacedCarrier

_LONGEST_TABLE = 4_000_000


class Row:
    """The candidates of one row: centres on one raster, and how many reasons close each.

    Parameters
    ----------
    points_hz : numpy.ndarray
        Centres, ascending, each once [Hz].
    step_hz : int
        Raster of the centres, at most their least distance [Hz].
    guards : GuardSet
        Guards of the row.

    Attributes
    ----------
    cover : numpy.ndarray
        Number of reasons that close each centre; 0 is free.
    apart : numpy.ndarray
        True between two neighbours that are not one step apart, one shorter than the centres.
    """

    def __init__(self, points_hz: NDArray[np.int64], *, step_hz: int, guards: GuardSet) -> None:
        self.points_hz = points_hz
        self.guards = guards
        self.cover = np.zeros(points_hz.size, dtype=np.int64)
        self.apart = np.diff(points_hz) != step_hz
        self._step_hz = step_hz
        self._ranks: NDArray[np.int64] | None = None
        if points_hz.size:
            length = int(points_hz[-1] - points_hz[0]) // step_hz + 1
            if length <= _LONGEST_TABLE:
                present = np.zeros(length + 1, dtype=np.int64)
                np.add.at(present, (points_hz - points_hz[0]) // step_hz + 1, 1)
                self._ranks = np.cumsum(present)

    def copy(self) -> Row:
        """Return a row with the same centres and its own ``cover``."""
        twin = Row.__new__(Row)
        twin.points_hz = self.points_hz
        twin.guards = self.guards
        twin.cover = self.cover.copy()
        twin.apart = self.apart
        twin._step_hz = self._step_hz  # noqa: SLF001 - a twin of the same class
        twin._ranks = self._ranks  # noqa: SLF001
        return twin

    def close(self, low_hz: NDArray[np.int64], high_hz: NDArray[np.int64], *, weight: int) -> None:
        """Add ``weight`` reasons to the centres in each closed span (-1 takes one away)."""
        size = self.points_hz.size
        if not size:
            return
        first = self._index(low_hz)
        last = np.maximum(self._index(high_hz + 1), first)
        change = np.bincount(first, minlength=size + 1) - np.bincount(last, minlength=size + 1)
        np.cumsum(change, out=change)
        if weight > 0:
            self.cover += change[:size]
        else:
            self.cover -= change[:size]

    def is_free(self, frequency_hz: int) -> bool:
        """Say whether a frequency is one of the centres and nothing closes it."""
        index = int(np.searchsorted(self.points_hz, frequency_hz))
        return (
            index < self.points_hz.size
            and int(self.points_hz[index]) == frequency_hz
            and int(self.cover[index]) == 0
        )

    def _index(self, value_hz: NDArray[np.int64]) -> NDArray[np.int64]:
        """Return the index of the first centre at or above each value."""
        ranks = self._ranks
        if ranks is None:
            return np.searchsorted(self.points_hz, value_hz)
        # the k-th raster line from the first centre is at or above the value from this k on
        steps = (value_hz - (self.points_hz[0] - self._step_hz + 1)) // self._step_hz
        index: NDArray[np.int64] = ranks[np.minimum(np.maximum(steps, 0), ranks.size - 1)]
        return index


class Board:
    """Carriers that stand, and the rows in which more are looked for.

    Parameters
    ----------
    rows : sequence of Row
        Fresh rows; the board keeps their ``cover`` up to date.
    fixed : sequence of PlacedCarrier
        Carriers that stand from the start; they may violate each other.
    """

    def __init__(self, rows: Sequence[Row], fixed: Sequence[PlacedCarrier] = ()) -> None:
        self.rows = tuple(rows)
        self._guards: list[GuardSet] = []
        self._values = np.empty((4, 64), dtype=np.int64)
        for carrier in fixed:
            self.add(carrier.frequency_hz, carrier.guards)

    def copy(self) -> Board:
        """Return a board that can go its own way."""
        twin = Board([row.copy() for row in self.rows])
        twin._guards = list(self._guards)
        twin._values = self._values.copy()
        return twin

    def add(self, frequency_hz: int, guards: GuardSet) -> None:
        """Let one more carrier stand; the caller looks whether it may."""
        self._count(frequency_hz, guards, weight=1)
        count = len(self._guards)
        if count == self._values.shape[1]:
            self._values = np.concatenate([self._values, np.empty_like(self._values)], axis=1)
        self._values[:, count] = (
            frequency_hz,
            guards.guard_2a_b_hz,
            guards.guard_a_b_c_hz,
            guards.guard_3a_2b_hz,
        )
        self._guards.append(guards)

    def remove(self, frequency_hz: int) -> None:
        """Take away the carrier that was added last at a frequency.

        Raises
        ------
        ValueError
            When none stands there.
        """
        count = len(self._guards)
        where = np.flatnonzero(self._values[0, :count] == frequency_hz)
        if not where.size:
            raise ValueError(f"no carrier stands at {frequency_hz} Hz")
        index = int(where[-1])
        guards = self._guards.pop(index)
        self._values[:, index : count - 1] = self._values[:, index + 1 : count].copy()
        self._count(frequency_hz, guards, weight=-1)

    def _count(self, frequency_hz: int, guards: GuardSet, *, weight: int) -> None:
        values = self._values[:, : len(self._guards)]
        spans = ClosedSpans(
            frequency_hz,
            guards,
            Standing(
                frequency_hz=values[0],
                guard_2a_b_hz=values[1],
                guard_a_b_c_hz=values[2],
                guard_3a_2b_hz=values[3],
            ),
        )
        for row in self.rows:
            row.close(*spans.for_row(row.guards), weight=weight)
