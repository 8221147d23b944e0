"""Wideband blocks in the plan: one entry a line, what is missing in links, the loss of a block."""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from typing import TYPE_CHECKING, Any

from planner.coordination.blocks import (
    ACCEPT,
    FALLBACK,
    SECOND_BLOCK,
    block_products,
    wanted_blocks,
)
from planner.plan.scope import serves, spare_names
from planner.units import format_mhz, hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from planner.coordination.blocks import BlockProduct
    from planner.coordination.tasks import NeedTask, RoutePlan, StopCarriers, StopTask
    from planner.plan.pipeline import PlanResult
    from planner.records import GearRange, Need, Stop

Warning_ = dict[str, str]
"""Code, where, text."""

_SPAN_WARNED = 3
"""Victims of the products of blocks named in a warning."""


def in_links(tasks: Sequence[StopTask], route: RoutePlan) -> RoutePlan:
    """Return the route with what is missing of block needs told in lines and spares.

    Parameters
    ----------
    tasks, route : sequence of StopTask, RoutePlan
        What was asked, and the answer to it.
    """
    if not any(need.holds for task in tasks for need in task.needs):
        return route
    return dataclasses.replace(
        route,
        stops=tuple(
            dataclasses.replace(stop, missing=_missing(task, stop))
            for task, stop in zip(tasks, route.stops, strict=True)
        ),
    )


def _missing(task: StopTask, stop: StopCarriers) -> dict[str, int]:
    found = dict(stop.missing)
    for need in task.needs:
        if need.holds and need.name in found:
            found[need.name] = sum(
                len(need.held(name))
                for name in need.names
                if (need.name, name) not in stop.carriers
            )
    return found


def missing_links(need: NeedTask, blocks: int) -> int:
    """Return how many lines and spares lack a place when so many blocks are missing.

    The last names go first: spare blocks, then the block that is not full.
    """
    if not need.holds:
        return blocks
    return sum(len(need.held(name)) for name in need.names[len(need.names) - blocks :])


def names_of_block(need: Need, gear: GearRange | None, name: str) -> tuple[str, ...]:
    """Return the lines, or spares, in a block of a need; none where it is not in blocks."""
    if gear is None or not gear.links_per_block:
        return ()
    return next(
        (row.holds for row in wanted_blocks(need, gear.links_per_block) if row.name == name), ()
    )


def names_at(result: PlanResult, need: Need) -> tuple[tuple[str, bool], ...]:
    """Return the names a need's carriers go by, those of blocks too, and which are spares."""
    row = block_range(result, need.name)
    if row is not None:
        blocks = wanted_blocks(need, row.links_per_block)
        return tuple((block.name, block.spare) for block in blocks)
    return (
        *((name, False) for name in need.lines),
        *((name, True) for name in spare_names(need)),
    )


def lines_of(result: PlanResult, need: str, name: str) -> tuple[str, ...]:
    """Return the lines, or spares, behind a name of a need: those in a block, or itself."""
    asked = next((row for row in result.tour.needs if row.name == need), None)
    return (names_of_block(asked, block_range(result, need), name) if asked else ()) or (name,)


def one_a_line(record: dict[str, Any], names: Sequence[str]) -> list[dict[str, Any]]:
    """Return the record of a block as one record a line in it.

    Parameters
    ----------
    record : dict
        What the document says of the block, under its name.
    names : sequence of str
        The lines, or spares, in it; empty for a carrier, which stays as it is.
    """
    if not names:
        return [record]
    half_mhz = record["bandwidth_khz"] / 2000
    edges = {
        "block": record["name"],
        "block_low_mhz": round(record["frequency_mhz"] - half_mhz, 6),
        "block_high_mhz": round(record["frequency_mhz"] + half_mhz, 6),
        "block_links": len(names),
    }
    return [{**record, "name": name, **edges} for name in names]


def block_range(result: PlanResult, need: str) -> GearRange | None:
    """Return the row of the blocks that serve a need, None where carriers do."""
    rows = result.choice.get(need, ())
    return rows[0] if rows and rows[0].links_per_block else None


def block_warnings(result: PlanResult) -> Iterator[Warning_]:
    """Yield what the crew must know of blocks: the loss of one, and where another covers it.

    Parameters
    ----------
    result : PlanResult
        The plan.
    """
    for need in result.tour.needs:
        row = block_range(result, need.name)
        if row is None:
            continue
        lost = min(row.links_per_block, need.count)
        some = f"{lost} line{'s' * (lost != 1)} of {need.name}"
        if need.block_loss == FALLBACK:
            yield from _fallback(result, need, some)
        elif need.block_loss == ACCEPT:
            yield _warning(
                "block-loss-accepted",
                need.name,
                f"one lost block takes up to {some}; the tour file accepts that",
            )
        elif not need.block_loss and not need.spares:
            yield _warning(
                "block-loss-not-covered",
                need.name,
                f"one lost block takes up to {some} and nothing is planned for it: write "
                f'block_loss = "{SECOND_BLOCK}", "{FALLBACK}" with the need that takes over, or '
                f'"{ACCEPT}"',
            )


def _fallback(result: PlanResult, need: Need, some: str) -> Iterator[Warning_]:
    """Yield where the need that takes over is itself not there, or not met."""
    other = next((row for row in result.tour.needs if row.name == need.fallback), None)
    for stop, plan in zip(result.stops, result.route.stops, strict=True):
        if not serves(need.stops, stop):
            continue
        why = ""
        if other is None or not serves(other.stops, stop):
            why = "is not asked for here"
        elif other.name not in result.choice:
            why = "has no range"
        elif plan.missing.get(other.name):
            why = f"is {plan.missing[other.name]} short here"
        elif (row := block_range(result, other.name)) is not None and _shares(
            result, stop, (need.name, other.name)
        ):
            why = f"stands in a block of {row.key} in the same TV channel"
        if why:
            yield _warning(
                "block-fallback-short",
                stop.id,
                f"one lost block takes up to {some}, and {need.fallback}, which takes over, {why}",
            )


def _shares(result: PlanResult, stop: Stop, needs: tuple[str, str]) -> bool:
    """Say whether carriers of two needs stand in one TV channel at a stop."""
    index = [row.id for row in result.stops].index(stop.id)
    carriers = result.route.stops[index].carriers
    used = [
        {
            channel.label
            for (own, _), use in carriers.items()
            if own == need
            for channel in result.rules[index].raster
            if channel.low_hz <= use.frequency_hz <= channel.high_hz
        }
        for need in needs
    ]
    return bool(used[0] & used[1])


def product_warnings(
    stop: Stop,
    blocks: Sequence[tuple[int, int]],
    carriers: Sequence[tuple[str, int, int, int]],
) -> Iterator[Warning_]:
    """Yield a warning of the products of blocks that reach protected carriers at a stop.

    Parameters
    ----------
    stop, blocks : Stop, sequence of (int, int)
        The stop; low and high edge of each block [Hz].
    carriers : sequence of (str, int, int, int)
        Name, frequency, guard 2A-B and bandwidth of each carrier [Hz].
    """
    names = {frequency_hz: name for name, frequency_hz, _, _ in carriers}
    reached: defaultdict[int, list[BlockProduct]] = defaultdict(list)
    for product in block_products(blocks, [row[1:] for row in carriers]):
        reached[product.victim_hz].append(product)
    if not reached:
        return
    least_db = min(product.spread_db for rows in reached.values() for product in rows)
    worst = sorted(reached, key=lambda hz: (-len(reached[hz]), hz))[:_SPAN_WARNED]
    named = ", ".join(f"{names[hz]} {format_mhz(hz)} MHz by {len(reached[hz])}" for hz in worst)
    more = " ..." if len(reached) > _SPAN_WARNED else ""
    yield _warning(
        "block-products",
        stop.id,
        f"products of a block and a carrier reach {len(reached)} protected carriers ({named}"
        f"{more}); they are spread over the block's width or twice that, at least "
        f"{least_db:.1f} dB less in a carrier's bandwidth, and are not kept out: listen with all "
        "on",
    )


def block_facts(result: PlanResult, index: int) -> list[dict[str, Any]]:
    """Return the blocks of a stop as the document holds them: where, for whom, which links.

    Parameters
    ----------
    result, index : PlanResult, int
        The plan, and which stop.
    """
    stop = result.stops[index]
    found: list[dict[str, Any]] = []
    for need in result.tour.needs:
        row = block_range(result, need.name)
        if row is None or not serves(need.stops, stop):
            continue
        half_hz = (row.bandwidth_hz + 1) // 2
        for block in wanted_blocks(need, row.links_per_block):
            use = result.route.stops[index].carriers.get((need.name, block.name))
            if use is None:
                continue
            found.append(
                {
                    "block": block.name,
                    "need": need.name,
                    "range": row.key,
                    "low_mhz": hz_to_mhz(use.frequency_hz - half_hz),
                    "high_mhz": hz_to_mhz(use.frequency_hz + half_hz),
                    "links": row.links_per_block,
                    "names": list(block.holds),
                    "spare": block.spare,
                }
            )
    return found


def missing_blocks(result: PlanResult, index: int, need: str) -> dict[str, int]:
    """Return how many blocks of a need are missing at a stop; nothing where it has none."""
    row = block_range(result, need)
    if row is None:
        return {}
    asked = next((task for task in result.tasks[index].needs if task.name == need), None)
    carriers = result.route.stops[index].carriers
    names = asked.names if asked is not None else ()
    return {"missing_blocks": sum((need, name) not in carriers for name in names)}


def expanded(need: NeedTask | None, entry: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return an entry that names a block as one entry a line in it, others as they are."""
    names = need.holds.get(entry["name"]) if need is not None else None
    if not names:
        return [dict(entry)]
    return [{**entry, "name": name, "block": entry["name"]} for name in names]


def _warning(code: str, where: str, text: str) -> Warning_:
    return {"code": code, "where": where, "text": text}
