"""What a cleared span means to the law of the United States (47 CFR 74.802(b), 74.803)."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from planner.rules.records import Relief
from planner.units import shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.records import Cleared, Licence
    from planner.rules.records import TvChannel

CONTOUR = "contour"
LAND_MOBILE = "land-mobile"
COORDINATION = "coordination"
LICENCE = "licence"

_WATCHED_DBM = -84.0
"""A TV signal must be measured below this over the whole channel [dBm] (74.802(b))."""
_BY_BASIS = {
    "agreement": (CONTOUR, LAND_MOBILE, COORDINATION),
    "licence": (CONTOUR, LAND_MOBILE, COORDINATION, LICENCE),
}
_RELEASE = {
    CONTOUR: (
        "the station can release it by agreement beforehand, or - indoors, where TV is not "
        "watched off air - a measured TV signal below -84 dBm over the whole channel "
        "(74.802(b))"
    ),
    LAND_MOBILE: (
        "only the land mobile licensees of the area can release it, by agreement; the rule gives "
        "no distance and no measured level (74.803(b))"
    ),
}


def releases(kinds: Sequence[str]) -> str:
    """Say who can release a channel that a contour or land mobile holds."""
    return "; ".join(_RELEASE[kind] for kind in dict.fromkeys(kinds) if kind in _RELEASE)


def lifted(kind: str, reliefs: Sequence[Relief]) -> bool:
    """Say whether one of the reliefs lifts something that stands in the way."""
    return any(kind in row.lifts for row in reliefs)


def reliefs_of(
    row: Cleared,
    licences: Sequence[Licence],
    *,
    indoor: bool,
    raster: Sequence[TvChannel],
) -> tuple[Relief, ...]:
    """Return what a cleared span lifts, span by span over all of it.

    Parameters
    ----------
    row : Cleared
        The statement.
    licences : sequence of Licence
        Those that serve the stop.
    indoor : bool
        Whether the stop is indoors.
    raster : sequence of TvChannel
        The country's channels, ascending.

    Notes
    -----
    Licence-exempt use has no relief. An agreement and a licence lift what the contour of a
    station, land mobile and coordination with others ask for; only a licence stands for a
    licence that names its frequencies. A measurement lifts the contour alone, indoors, below
    -84 dBm, and only over TV channels that were measured whole.

    References
    ----------
    47 CFR 74.802(b) and 74.803 as checked on 2026-06-20; that the same paragraph of 15.236 gives
    unlicensed users no relief is from memory.
    """
    if not any(licence.kind == "part-74" for licence in licences):
        return (
            _nothing(row, "the rule relieves only licence holders, and no part-74 licence serves"),
        )
    if row.basis in _BY_BASIS:
        return (
            Relief(
                low_hz=row.low_hz,
                high_hz=row.high_hz,
                lifts=_BY_BASIS[row.basis],
                ground=row.stated,
                text="agreed or licensed beforehand (74.802(b), 74.803)",
            ),
        )
    if not indoor:
        return (_nothing(row, "a measurement relieves only indoors (74.802(b))"),)
    if row.level_dbm is None:
        return (_nothing(row, "a measurement relieves only with its level (74.802(b))"),)
    if row.level_dbm >= _WATCHED_DBM:
        return (_nothing(row, "the level is not below -84 dBm (74.802(b))"),)
    return _measured(row, raster)


def _measured(row: Cleared, raster: Sequence[TvChannel]) -> tuple[Relief, ...]:
    """Cut a measured span into whole channels, which it relieves, and the rest."""
    edges = {edge for channel in raster for edge in (channel.low_hz, channel.high_hz)}
    inner = sorted(edge for edge in edges if row.low_hz < edge < row.high_hz)
    whole = {(channel.low_hz, channel.high_hz): channel.label for channel in raster}
    found = []
    for low, high in itertools.pairwise((row.low_hz, *inner, row.high_hz)):
        label = whole.get((low, high))
        if label is None:
            text = (
                f"{shortest_mhz(low)}-{shortest_mhz(high)} MHz is not a whole TV channel, and only "
                "a measurement of the whole channel counts (74.802(b))"
            )
        else:
            text = (
                f"channel {label} below -84 dBm indoors; only where TV is not watched off air "
                "(74.802(b))"
            )
        lifts = () if label is None else (CONTOUR,)
        found.append(Relief(low_hz=low, high_hz=high, lifts=lifts, ground=row.stated, text=text))
    return tuple(found)


def _nothing(row: Cleared, why: str) -> Relief:
    return Relief(low_hz=row.low_hz, high_hz=row.high_hz, lifts=(), ground=row.stated, text=why)
