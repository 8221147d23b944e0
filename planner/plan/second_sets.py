"""When spectrum is lost on the day, in the plan document: the second set, channel by channel."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.coordination.second_set import channel_losses, second_set
from planner.coordination.two_ways import is_return
from planner.plan.blocks import expanded, missing_links
from planner.plan.duplex import BACK, SEND
from planner.records.gear import RETURN
from planner.units import hz_to_mhz
from planner.workers import shared_out

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.coordination.names import Use
    from planner.coordination.second_set import Loss
    from planner.coordination.tasks import LineKey, StopCarriers, StopTask
    from planner.plan.pipeline import PlanResult
    from planner.rules import TvChannel


def when_lost(result: PlanResult) -> list[dict[str, Any]]:
    """Return for each stop its second set, and what the loss of each channel asks for."""
    asked = [
        (task, stop, result.effort != "quick")
        for task, stop in zip(result.tasks, result.route.stops, strict=True)
    ]
    return [
        {
            "second_set": _second_set(result, index, second),
            "channel_losses": _channel_losses(result, index, losses),
        }
        for index, (second, losses) in enumerate(shared_out(_searched, asked))
    ]


def _searched(
    asked: tuple[StopTask, StopCarriers, bool],
) -> tuple[StopCarriers | None, tuple[Loss, ...]]:
    """Return the second set of a stop and its losses, looked at thoroughly or not."""
    task, stop, thorough = asked
    return second_set(task, stop, effort="quick"), channel_losses(task, stop, thorough=thorough)


def _second_set(
    result: PlanResult, index: int, found: StopCarriers | None
) -> dict[str, Any] | None:
    """Return another set for a stop outside all TV channels of the first; None where none fits."""
    if found is None:
        return None
    task, raster = result.tasks[index], result.rules[index].raster
    missing: dict[str, int] = {}
    for need, count in found.missing.items():
        own = need.removesuffix(RETURN)
        links = next((missing_links(row, count) for row in task.needs if row.name == need), count)
        missing[own] = max(missing.get(own, 0), links)
    return {
        "complete": not missing,
        "missing": missing,
        "carriers": [
            line
            for key, use in found.carriers.items()
            for line in _lines(
                task,
                key,
                {
                    **_name(task, key),
                    "range": use.range_key.removesuffix(RETURN),
                    "frequency_mhz": hz_to_mhz(use.frequency_hz),
                    "power_mw": use.power_mw,
                    "channel": _channel(raster, use.frequency_hz, use.frequency_hz),
                    "spare": _is_spare(task, key),
                    "stands_in_for": list(found.stand_ins.get(key, ())),
                },
            )
        ],
    }


def _channel_losses(result: PlanResult, index: int, losses: Sequence[Loss]) -> list[dict[str, Any]]:
    """Return what moves where when a whole TV channel is lost, for each one in use."""
    task, stop = result.tasks[index], result.route.stops[index]
    raster = result.rules[index].raster
    return [
        {
            "channel": _channel(raster, loss.low_hz, loss.high_hz),
            "low_mhz": hz_to_mhz(loss.low_hz),
            "high_mhz": hz_to_mhz(loss.high_hz),
            "lost": [row for key in loss.lost for row in _lines(task, key, _name(task, key))],
            "moves": [
                row
                for key, use in loss.moves.items()
                for row in _lines(task, key, _move(task, stop, loss, key, use))
            ],
            "missing": [row for key in loss.missing for row in _lines(task, key, _name(task, key))],
        }
        for loss in losses
    ]


def _move(task: StopTask, stop: StopCarriers, loss: Loss, key: LineKey, use: Use) -> dict[str, Any]:
    return {
        **_name(task, key),
        "range": use.range_key.removesuffix(RETURN),
        "from_mhz": hz_to_mhz(stop.carriers[key].frequency_hz),
        "to_mhz": hz_to_mhz(use.frequency_hz),
        "power_mw": use.power_mw,
        "spare": _is_spare(task, key),
        "forced": key in loss.lost,
    }


def _lines(task: StopTask, key: LineKey, entry: dict[str, Any]) -> list[dict[str, Any]]:
    """Return an entry once for each line in its block, once where it is a carrier."""
    return expanded(next((row for row in task.needs if row.name == key[0]), None), entry)


def _name(task: StopTask, key: LineKey) -> dict[str, Any]:
    """Return need and name, and the direction where gear is duplex."""
    need, name = key
    found: dict[str, Any] = {"need": need.removesuffix(RETURN), "name": name}
    if any(row.name == need and row.two_way for row in task.needs):
        found["direction"] = BACK if is_return(need) else SEND
    return found


def _is_spare(task: StopTask, key: LineKey) -> bool:
    return not any(row.name == key[0] and key[1] in row.lines for row in task.needs)


def _channel(raster: tuple[TvChannel, ...], low_hz: int, high_hz: int) -> int | str | None:
    """Return the TV channel that holds a span, None outside the raster."""
    label = next((ch.label for ch in raster if ch.low_hz <= low_hz and high_hz <= ch.high_hz), None)
    return int(label) if label and label.isdigit() else label
