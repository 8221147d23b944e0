"""Duplex gear: the way out and the way back of each line, chosen and verified together.

A need in a duplex range asks for two carriers a line: one in the range itself, and one between the
row's duplex limits. Search, verifier and retunes see the second as a need of its own; here the two
become one again. A line has both or none.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination.two_ways import is_return, return_name
from planner.ranking import RangeCount

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from planner.coordination.tasks import NeedTask
    from planner.records import GearRange, Need

SEND, BACK = "send", "return"
"""Directions of the two carriers of a line in the plan document."""


def return_row(row: GearRange) -> GearRange | None:
    """Return the way back of a duplex row as a range of its own, None for any other row.

    Its grid begins at the lower duplex limit; where the row's own grid does not begin at its lower
    limit, both share it.
    """
    if row.duplex_low_hz is None or row.duplex_high_hz is None:
        return None
    shared = row.tuning_origin_hz != row.low_hz
    return dataclasses.replace(
        row,
        low_hz=row.duplex_low_hz,
        high_hz=row.duplex_high_hz,
        tuning_origin_hz=row.tuning_origin_hz if shared else row.duplex_low_hz,
        pieces_hz=(),
        duplex_low_hz=None,
        duplex_high_hz=None,
        return_of=row.key,
    )


def with_returns(gear: Iterable[GearRange]) -> tuple[GearRange, ...]:
    """Return the rows, then the way back of each duplex row."""
    rows = tuple(gear)
    back = (return_row(row) for row in rows)
    return (*rows, *(row for row in back if row is not None))


def both_ways(counts: Mapping[tuple[str, str], RangeCount]) -> dict[tuple[str, str], RangeCount]:
    """Return counts by (range key, stop id) in which a duplex range counts its lines.

    Parameters
    ----------
    counts : mapping of (range key, stop id)
        Counts of each direction alone.

    Notes
    -----
    A line takes a carrier each way. A line proper takes two clear ones, so there are no more of
    them than the fewer clear; with spares no more than the fewer of all.
    """
    found = {}
    for (key, stop), there in counts.items():
        if is_return(key):
            continue
        back = counts.get((return_name(key), stop))
        found[key, stop] = there if back is None else _lesser(there, back)
    return found


def _lesser(there: RangeCount, back: RangeCount) -> RangeCount:
    clear = min(len(there.clear_hz), len(back.clear_hz))
    every = min(len(there.clear_hz) + len(there.faint_hz), len(back.clear_hz) + len(back.faint_hz))
    limit = min(there.clear_limit, back.clear_limit)
    whole = min(there.clear_limit + there.faint_limit, back.clear_limit + back.faint_limit)
    rest = (*there.clear_hz[clear:], *there.faint_hz)
    return RangeCount(
        clear_hz=there.clear_hz[:clear],
        faint_hz=tuple(sorted(rest[: every - clear])),
        clear_limit=limit,
        faint_limit=whole - limit,
    )


def stands_alone(row: GearRange) -> bool:
    """Say whether a need in this range can have no other beside it: duplex, or in blocks."""
    return row.links_per_block > 0 or return_row(row) is not None


def one_way_or_single(keys: Sequence[str], by_key: Mapping[str, GearRange]) -> tuple[str, ...]:
    """Return the ranges of a choice that can be planned together.

    The two ways of a line belong to one range, and so do the blocks of a need, so that such a
    range stands alone: the first range of a choice decides.
    """
    if not keys:
        return ()
    if stands_alone(by_key[keys[0]]):
        return (keys[0],)
    return tuple(key for key in keys if not stands_alone(by_key[key]))


def single_range(need: Need, considered: Iterable[GearRange]) -> Need:
    """Return the need, with one range at most where some range considered stands alone."""
    if need.ranges_max > 1 and any(stands_alone(row) for row in considered):
        return dataclasses.replace(need, ranges_max=1)
    return need


def way_back(need: NeedTask, like: NeedTask) -> NeedTask:
    """Return the task of the way back of a need.

    Parameters
    ----------
    need : NeedTask
        The way out, in one duplex range.
    like : NeedTask
        The same need asked of the way back of that range.
    """
    return dataclasses.replace(like, name=return_name(need.name), pair_with="", limit=need.limit)
