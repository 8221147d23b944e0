"""Which carriers of a route are for lines and which for spares: those that last are for lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.coordination.linear import least_corner

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination.linear import Row
    from planner.coordination.names import Use

_HALF = 0.5
Place = tuple[str, int]
"""Range and frequency [Hz]."""


def split_roles(
    stops: Sequence[Sequence[Use]],
    lines: Sequence[int],
    *,
    weight: int,
    given: Sequence[Mapping[Place, bool]] | None = None,
) -> tuple[frozenset[Place], ...]:
    """Choose at each stop the carriers for lines, so that moves cost least over the route.

    Parameters
    ----------
    stops : sequence of sequence of Use
        Carriers of one need at its stops, in route order.
    lines : sequence of int
        Lines wanted at each stop; fewer where there are not so many carriers for lines.
    weight : int
        What the move of a line costs; that of a spare costs 1.
    given : sequence of mapping of (str, int) to bool, optional
        By stop: carriers that are a line's (True) or a spare's (False) already.

    Returns
    -------
    tuple of frozenset of (str, int)
        Range and frequency [Hz] of the carriers for lines, one set a stop.

    Notes
    -----
    Let x be 1 where a carrier is a line's. A carrier that stands at two stops on end is kept by
    a line where x x' = 1, by a spare where (1 - x)(1 - x') = 1. With y = x x', kept moves save
    ``weight y + (1 - x - x' + y)``: a sum over single carriers, and ``(weight + 1) y``, y at
    most x and x'. So lines are that many units of flow through the stops, which go on along a
    carrier or change by way of a hub; such a linear programme has whole solutions, and the
    simplex method gives one.
    """
    told = given or [{} for _ in stops]
    index: dict[tuple[int, Place], int] = {}
    cost: list[float] = []
    bounds: list[tuple[float, float]] = []
    for stop, carriers in enumerate(stops):
        for use in carriers:
            index[stop, _place(use)] = len(cost)
            role = told[stop].get(_place(use))
            bounds.append((float(role is True), float(use.main and role is not False)))
            cost.append(0.0)
    kept = [
        (stop, _place(use))
        for stop, (here, last) in enumerate(zip(stops[1:], stops, strict=False), start=1)
        for use in here
        if any(_place(old) == _place(use) and old.power_mw == use.power_mw for old in last)
    ]
    if not kept:
        return tuple(_first(*row) for row in zip(stops, lines, told, strict=True))
    at_most: list[Row] = []
    for stop, place in kept:
        for which in (index[stop, place], index[stop - 1, place]):
            cost[which] += 1.0
            at_most.append(({len(cost): 1.0, which: -1.0}, 0.0))
        cost.append(-(weight + 1.0))
        bounds.append((0.0, 1.0))
    equal: list[Row] = []
    for stop, wanted in enumerate(lines):
        mine = [index[stop, _place(use)] for use in stops[stop]]
        least, most = (sum(bounds[which][end] for which in mine) for end in (0, 1))
        if mine:
            equal.append((dict.fromkeys(mine, 1.0), min(max(float(wanted), least), most)))
    corner = least_corner(cost, at_most=at_most, equal=equal, bounds=bounds)
    if corner is None:  # cannot be: the totals are within the bounds
        return tuple(_first(*row) for row in zip(stops, lines, told, strict=True))
    values = corner.values
    return tuple(
        frozenset(_place(use) for use in here if values[index[stop, _place(use)]] > _HALF)
        for stop, here in enumerate(stops)
    )


def _first(carriers: Sequence[Use], lines: int, told: Mapping[Place, bool]) -> frozenset[Place]:
    """Return the first carriers for lines, told ones before others."""
    able = [use for use in carriers if use.main and told.get(_place(use)) is not False]
    able.sort(key=lambda use: not told.get(_place(use), False))
    return frozenset(_place(use) for use in able[:lines])


def _place(use: Use) -> Place:
    return use.range_key, use.frequency_hz
