"""What heights that had to be assumed change: the other bound, every such mast on level ground."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, Any

from planner.occupancy import CoverageMap, compute_occupancy, error_km
from planner.reach import level_ground_reach

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.plan.pipeline import PlanResult
    from planner.plan.survey import Survey
    from planner.reach import ReachTable
    from planner.records import StationTable, Tour

_QUIET = "quiet"
_CHANNELS, _STATIONS = 12, 5
"""Channels and stations named in a sentence; the rest is counted."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class HeightEffect:
    """What assumed heights change at one stop.

    Attributes
    ----------
    transmitters, assumed : int
        Transmitters that some channel lists, and those of them without a HAAT.
    air : mapping of str to str
        Air of each TV channel on level ground, by its label.
    quiet : tuple of str
        Channels planned as held, unlisted or faint that would be quiet on level ground.
    """

    transmitters: int
    assumed: int
    air: dict[str, str]
    quiet: tuple[str, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LevelGround:
    """The other bound of a tour.

    Attributes
    ----------
    reach : ReachTable
        Of :func:`planner.reach.level_ground_reach`.
    effects : tuple of HeightEffect or None
        One a stop, None where no transmitter that matters has an assumed height.
    """

    reach: ReachTable
    effects: tuple[HeightEffect | None, ...]


def level_ground(found: Survey, tour: Tour, stations: StationTable) -> LevelGround:
    """Judge the air again as if every mast without a HAAT stood on level ground.

    Parameters
    ----------
    found : Survey
        The stops, judged by the cautious heights.
    tour, stations : Tour, StationTable
        What it was found from.

    Notes
    -----
    Within the place error the fields and distances of the worst point are shifted by what the
    heights change at the point given. Nothing is planned by this bound: it only says how much of
    what is held or faint hangs on heights that nobody gave.
    """
    reach = level_ground_reach(found.stops, stations, found.rules, found.reach)
    if reach is found.reach:
        return LevelGround(reach=reach, effects=(None,) * len(found.stops))
    place = dataclasses.replace(
        found.place,
        **{
            name: getattr(found.place, name) + getattr(reach, name) - getattr(found.reach, name)
            for name in (
                "field_50_10_dbuv_m",
                "field_interference_dbuv_m",
                "outside_law_km",
                "outside_cautious_km",
            )
        },
    )
    coverage = CoverageMap(stations)
    effects: list[HeightEffect | None] = []
    for index, stop in enumerate(found.stops):
        planned = found.occupancies[index]
        rows = {row for channel in planned.channels for row in channel.rows}
        assumed = sum(bool(found.reach.haat_assumed[row]) for row in rows)
        if not assumed:
            effects.append(None)
            continue
        level = compute_occupancy(
            stop,
            reach=reach,
            stop_index=index,
            stations=stations,
            rules=found.rules[index],
            neighbours=found.neighbours[index],
            coverage=coverage,
            licences=(),
            settings=tour.settings,
            searched=found.searched,
            place=place if error_km(stop) else None,
        )
        air = {channel.label: channel.air for channel in level.channels}
        effects.append(
            HeightEffect(
                transmitters=len(rows),
                assumed=assumed,
                air=air,
                quiet=tuple(
                    channel.label
                    for channel in planned.channels
                    if channel.air != _QUIET and air[channel.label] == _QUIET
                ),
            )
        )
    return LevelGround(reach=reach, effects=tuple(effects))


def height_warnings(result: PlanResult) -> Iterator[dict[str, str]]:
    """Yield what assumed heights change, one warning for the tour and one a stop."""
    reach, stations = result.reach, result.stations
    named = sorted(
        {
            str(stations.station_id[reach.station[row]])
            for occupancy in result.occupancies
            for channel in occupancy.channels
            for row in channel.rows
            if reach.haat_assumed[row]
        }
    )
    if named:
        yield {
            "code": "haat-assumed",
            "where": ", ".join(stations.files),
            "text": f"{len(named)} transmitters that matter have no HAAT in the table; the safe "
            "side was assumed: the height above sea level, less the lowest terrain that nearby "
            "stations tell where the FCC's curves serve, 800 m where that is not known either: "
            f"{', '.join(named[:_STATIONS])}{' ...' * (len(named) > _STATIONS)}",
        }
    yield from _about_terrain(result)
    for stop, effect in zip(result.stops, result.level.effects, strict=True):
        if effect is not None:
            yield {"code": "heights-assumed", "where": stop.id, "text": _effect_text(effect)}


def _about_terrain(result: PlanResult) -> Iterator[dict[str, str]]:
    """Yield for how many transmitters that matter the elevation files told the height."""
    stations = result.stations
    if not stations.grids:
        return
    rows = {row for found in result.occupancies for ch in found.channels for row in ch.rows}
    mine = sorted({int(result.reach.station[row]) for row in rows})
    told = sum(bool(stations.ground_curve[k] >= 0) for k in mine)
    silent = sum(bool(math.isnan(stations.haat_m[k]) and stations.haat_curve[k] < 0) for k in mine)
    yield {
        "code": "heights-from-elevation",
        "where": ", ".join(grid.file for grid in stations.grids),
        "text": f"{told} transmitters that matter have their height computed from the ground of "
        f"this file; {silent} more have none in the table and none could be computed: outside "
        "it, without heights for a tenth of the land around, or its ground is more than 100 m "
        "from the table's. Nothing here checks the file itself",
    }


def _effect_text(effect: HeightEffect) -> str:
    one = effect.assumed == 1
    lack = (
        f"{effect.assumed} of the {effect.transmitters} transmitters that matter here "
        f"{'has' if one else 'have'} no HAAT and {'counts' if one else 'count'} with an assumed "
        "one, on the safe side"
    )
    if not effect.quiet:
        return f"{lack}; on level ground no other TV channel would be quiet"
    more = len(effect.quiet) - _CHANNELS
    listed = ", ".join(effect.quiet[:_CHANNELS]) + (f" and {more} more" if more > 0 else "")
    return (
        f"{lack}; {len(effect.quiet)} of {len(effect.air)} TV channels would be quiet if each of "
        f"those masts stood on level ground, so look there first or ask for the heights: {listed}"
    )


def height_document(effect: HeightEffect) -> dict[str, Any]:
    """Return what assumed heights change at a stop as the document holds it."""
    return {
        "transmitters": effect.transmitters,
        "assumed": effect.assumed,
        "quiet_on_level_ground": [
            int(label) if label.isdigit() else label for label in effect.quiet
        ],
    }


def bounds_document(result: PlanResult, row: int) -> dict[str, float | None]:
    """Return both bounds of a reach row whose height was assumed; nothing for the others."""
    if not result.reach.haat_assumed[row]:
        return {}
    level = result.level.reach
    return {
        "haat_low_m": round(float(level.haat_m[row]), 1),
        "haat_high_m": round(float(result.reach.haat_m[row]), 1),
        "field_50_50_low_dbuv_m": _field(level.field_50_50_dbuv_m[row]),
        "field_50_10_low_dbuv_m": _field(level.field_50_10_dbuv_m[row]),
    }


def _field(value: float) -> float | None:
    return None if math.isnan(value) else round(float(value), 1)
