"""Frequencies to ask for instead: quiet, openable by the rules, free of products beside all."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import Choice, Grid, PlacedCarrier, coordinate, require_sound
from planner.coordination.records import Order, Wish
from planner.occupancy.records import QUIET, UNLISTED
from planner.plan.placed import placed_at
from planner.plan.scope import excluded_at, others_at
from planner.plan.tasks import other_carrier
from planner.ranking import grid_of, guards_of
from planner.rules import lawful_power_mw
from planner.rules.records import BARRED, LAWFUL
from planner.spectrum import IntervalSet, shrink, split_spans
from planner.spectrum.grids import intersect_closed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.plan.pipeline import PlanResult
    from planner.records import GearRange
    from planner.rules import LawSpan

_WISHES = 16
"""Carriers on either side of a refused one that are looked at first."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Try:
    """A frequency that would do.

    Attributes
    ----------
    frequency_hz : int
        Carrier centre [Hz].
    range_key : str
        The range it is for.
    lawful : bool
        Whether the rules allow it as they are; otherwise only where somebody names it.
    checked : bool
        Whether a loaded table covers the services of its spectrum.
    """

    frequency_hz: int
    range_key: str
    lawful: bool
    checked: bool


def standing_at(result: PlanResult, index: int) -> list[PlacedCarrier]:
    """Return everything that is on the air at a stop, blocks of others too.

    Parameters
    ----------
    result, index : PlanResult, int
        The plan, and which stop.
    """
    blocks = (
        other_carrier(row, group)
        for row, group in zip(
            others_at(result.tour, result.stops[index]), result.companies[index].others, strict=True
        )
        if row.frequency_hz is None
    )
    return [
        *(row.on_air for row in placed_at(result, index)),
        *(carrier for carrier in blocks if carrier is not None),
    ]


def find_tries(
    result: PlanResult, index: int, wanted: Mapping[str, tuple[int, Sequence[int]]]
) -> dict[str, list[Try]]:
    """Return frequencies that would fit beside everything at a stop, and beside each other.

    Parameters
    ----------
    result, index : PlanResult, int
        The plan, and which stop.
    wanted : mapping of str to (int, sequence of int)
        By need: how many, and frequencies to which they had better be near [Hz].

    Returns
    -------
    dict of str to list of Try
        By need, ascending; fewer than wanted where no more were found. Needs that are served by
        wideband blocks get none.

    Raises
    ------
    BrokenSet
        When the independent verifier refuses a frequency found.
    """
    orders, rows = [], {}
    company = result.companies[index]
    for need, (count, near_hz) in wanted.items():
        ranges = [row for row in result.choice.get(need, ()) if not row.links_per_block]
        if not ranges or count <= 0:
            continue
        choices = tuple(_choice(result, index, row) for row in ranges)
        group = company.group(need, ranges[0])
        orders.append(
            Order(
                name=need,
                choices=choices,
                count=count,
                wishes=_wishes(choices, near_hz),
                group=group,
            )
        )
        rows[need] = {row.key: row for row in ranges}, group
    if not orders:
        return {}
    standing = standing_at(result, index)
    answer = coordinate(orders, standing, company=company.company, effort="quick")
    found: dict[str, list[Try]] = {}
    placed = []
    for order, filled in zip(orders, answer.filled, strict=True):
        by_key, group = rows[order.name]
        for carrier in sorted(filled.carriers, key=lambda one: one.frequency_hz):
            row = by_key[carrier.range_key]
            placed.append(
                PlacedCarrier(frequency_hz=carrier.frequency_hz, guards=guards_of(row), group=group)
            )
            found.setdefault(order.name, []).append(_try(result, index, row, carrier.frequency_hz))
    require_sound(placed, standing, company.company)
    return found


def _may_be_named(span: LawSpan, gear: GearRange) -> bool:
    """Say whether a use could be permitted in a span, with one of its settings."""
    return (
        span.law != BARRED
        and span.limit_mw is not None
        and lawful_power_mw(
            gear.powers_mw, gear.power_kind, limit_mw=span.limit_mw, limit_kind=span.limit_kind
        )
        is not None
    )


def _choice(result: PlanResult, index: int, gear: GearRange) -> Choice:
    """Return where a range could stand if somebody named the frequency: open and quiet."""
    stop, rules = result.stops[index], result.rules[index]
    law = [span for span in result.windows[gear.key, stop.id].law if _may_be_named(span, gear)]
    opened = IntervalSet((span.low_hz, span.high_hz) for span in law)
    unlisted = result.tour.settings.plan_unlisted
    quiet = IntervalSet(
        (span.low_hz, span.high_hz)
        for span in result.occupancies[index].spans
        if span.air == QUIET or (span.air == UNLISTED and (unlisted or not span.table_possible))
    )
    edges = {edge for row in rules.raster for edge in (row.low_hz, row.high_hz)}
    edges |= {edge for span in law for edge in (span.low_hz, span.high_hz)}
    parts = split_spans(((opened & quiet) - excluded_at(result.tour, stop)).spans, edges)
    wide = [span for span in parts if span[1] - span[0] >= gear.bandwidth_hz]
    centres = intersect_closed(shrink(wide, bandwidth_hz=gear.bandwidth_hz), gear.centre_spans_hz)
    grid = grid_of(gear, rules.carrier_raster_hz, centres)
    return Choice(
        range_key=gear.key,
        guards=guards_of(gear),
        grid=grid,
        spare_grid=Grid(origin_hz=grid.origin_hz, step_hz=grid.step_hz, windows_hz=()),
    )


def _wishes(choices: Sequence[Choice], near_hz: Sequence[int]) -> tuple[Wish, ...]:
    """Return the carriers nearest to each frequency, the nearest first."""
    found: dict[tuple[str, int], None] = {}
    for hz in near_hz:
        around = []
        for choice in choices:
            grid = choice.grid
            first = hz - (hz - grid.origin_hz) % grid.step_hz
            for k in range(-_WISHES, _WISHES + 1):
                place = first + k * grid.step_hz
                if any(low <= place <= high for low, high in grid.windows_hz):
                    around.append((abs(place - hz), place, choice.range_key))
        found |= {(key, place): None for _, place, key in sorted(around)}
    return tuple(Wish(range_key=key, frequency_hz=place) for key, place in found)


def _try(result: PlanResult, index: int, gear: GearRange, frequency_hz: int) -> Try:
    half = (gear.bandwidth_hz + 1) // 2
    low, high = frequency_hz - half, frequency_hz + half
    law = [
        span
        for span in result.windows[gear.key, result.stops[index].id].law
        if span.low_hz < high and low < span.high_hz
    ]
    air = [
        span
        for span in result.occupancies[index].spans
        if span.low_hz < high and low < span.high_hz
    ]
    return Try(
        frequency_hz=frequency_hz,
        range_key=gear.key,
        lawful=all(span.law == LAWFUL for span in law),
        checked=all(span.air == QUIET for span in air),
    )
