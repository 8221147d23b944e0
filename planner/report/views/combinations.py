"""The combinations of ranges over all needs, as text."""

from __future__ import annotations

import dataclasses

from planner.report import words
from planner.report.reading import Plan, place_of, rows, table


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CombinationView:
    """One combination: its ranges and headrooms need by need, and why it stands there.

    Attributes
    ----------
    ranges : tuple of (str, str)
        Need and its ranges.
    headrooms : tuple of str
        Headroom of each need at the worst stop, in the same order.
    """

    rank: str
    ranges: tuple[tuple[str, str], ...]
    met: str
    worst_stop: str
    headrooms: tuple[str, ...]
    retunes: str
    chance: str
    why: str


def combination_views(plan: Plan, most: int) -> tuple[tuple[CombinationView, ...], int]:
    """Return the leading combinations and how many more there are."""
    every = sorted(rows(plan, "combinations"), key=lambda row: row["rank"])
    return tuple(_combination(plan, row) for row in every[:most]), max(0, len(every) - most)


def _combination(plan: Plan, row: Plan) -> CombinationView:
    ranges = table(row, "ranges")
    heads = table(row, "worst_headroom")
    met = words.whole(row["stops_met"])
    return CombinationView(
        rank=str(row["rank"]),
        ranges=tuple(
            (words.clean(need), " with ".join(words.clean(key) for key in keys))
            for need, keys in ranges.items()
        ),
        met=f"{met} of {row['stops']}" if row.get("stops") is not None else met,
        worst_stop=place_of(plan, row["worst_stop"]) or words.NONE,
        headrooms=tuple(words.whole(heads.get(need), sign=True) for need in ranges),
        retunes=words.whole(row["retunes"]),
        chance=words.chance(row.get("chance_all_stops")),
        why=words.clean(row["why"]),
    )
