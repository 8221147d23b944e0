"""One need over the stops of its rig: its carriers, and where they are on the stops' boards."""

from __future__ import annotations

import dataclasses
import itertools
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import kernel
from planner.coordination.names import LINE_WEIGHT, MOST_UNITS
from planner.coordination.night_kernel import NOWHERE, Flags

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.coordination.kernel import Board
    from planner.coordination.search import Search
    from planner.coordination.tasks import StopTask

    Whole = NDArray[np.int64]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Course:
    """One need over the stops of its rig: K carriers by S stops.

    Attributes
    ----------
    name : str
        Name of the need.
    keys : tuple of (str, int)
        Range and frequency [Hz] of each carrier, ascending in frequency.
    where : mapping of (str, int) to int
        The carrier of a range and frequency.
    chain : array of int
        Stops at which the need is on the air, -1 before the first and after the last.
    number, before, after : array of int, shape (S,)
        The need's number at a stop, and its neighbouring stops; -1 for none.
    place, row : array of int, shape (S, K)
        Centre and row of each carrier on a stop's board, -1 for none.
    free, held : array of int8, shape (S, K)
        Whether a carrier may stand; stands.
    weight : int
        Cost of a line's move; a spare's is 1.
    """

    name: str
    keys: tuple[tuple[str, int], ...]
    where: dict[tuple[str, int], int]
    chain: Whole
    number: Whole
    before: Whole
    after: Whole
    place: Whole
    row: Whole
    free: Flags
    held: Flags
    weight: int


def course_of(
    name: str, tasks: Sequence[StopTask], searches: Sequence[Search], boards: Sequence[Board]
) -> Course:
    """Return one need over all stops, nothing standing yet.

    Parameters
    ----------
    name : str
        Name of the need.
    tasks, searches, boards : sequence of StopTask, of Search, of Board
        One a stop, in route order.
    """
    needs = [next((need for need in task.needs if need.name == name), None) for task in tasks]
    stops = [stop for stop, need in enumerate(needs) if need is not None]
    rows = [
        (stop, number, row)
        for stop in stops
        for number, row in enumerate(searches[stop].rows)
        if searches[stop].orders[row.need].name == name
    ]
    ranges = sorted({row.choice.range_key for _, _, row in rows})
    codes = {
        key: np.unique(
            np.concatenate([r.points_hz for _, _, r in rows if r.choice.range_key == key])
        )
        for key in ranges
    }
    # one number a carrier: frequency first, then range
    many = max(1, len(ranges))
    every = np.sort(
        np.concatenate(
            [np.empty(0, np.int64), *(codes[key] * many + n for n, key in enumerate(ranges))]
        )
    )
    keys = tuple((ranges[code % many], code // many) for code in every.tolist())
    shape = (len(tasks), len(keys))
    place, row_of = (np.full(shape, NOWHERE, dtype=np.int64) for _ in range(2))
    for stop, number, row in rows:
        code = row.points_hz * many + ranges.index(row.choice.range_key)
        mine = np.searchsorted(every, code)
        place[stop, mine] = int(boards[stop].rows[number, kernel.BEGIN]) + np.arange(mine.size)
        row_of[stop, mine] = number
    before, after, number_at = (np.full(len(tasks), NOWHERE, dtype=np.int64) for _ in range(3))
    for one, two in itertools.pairwise(stops):
        before[two], after[one] = one, two
    for stop in stops:
        number_at[stop] = [need.name for need in tasks[stop].needs].index(name)
    units = max((need.units for need in needs if need is not None), default=1)
    return Course(
        name=name,
        keys=keys,
        where={key: k for k, key in enumerate(keys)},
        chain=np.array([NOWHERE, *stops, NOWHERE], dtype=np.int64),
        number=number_at,
        before=before,
        after=after,
        place=place,
        row=row_of,
        free=np.zeros(shape, dtype=np.int8),
        held=np.zeros(shape, dtype=np.int8),
        weight=LINE_WEIGHT * min(units, MOST_UNITS),
    )
