"""What the map of the tour page shows: transmitters that matter, their contours, outlines."""

from __future__ import annotations

import dataclasses
import functools
import itertools
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import Plan, rows, table
from planner.tables import read_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

GRID = 100
"""Points are drawn to 1/100 of a degree, about 1 km."""

MARGIN_DEG = 6.0
"""Outlines are kept this far around what is drawn."""

Steps = tuple[int, ...]
"""Longitude and latitude in 1/100 deg: the first point, then the step to each next one."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StationPart:
    """A transmitter that a reason of some stop names.

    Attributes
    ----------
    at : tuple of float
        Longitude and latitude [deg].
    air, law : Steps
        The cautious contour, which decides the air, and the flat one, which decides the law;
        empty where the plan holds none.
    """

    name: str
    what: str
    at: tuple[float, float]
    air: Steps
    law: Steps


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class MapPart:
    """Stations and outlines of the map."""

    stations: tuple[StationPart, ...]
    coasts: tuple[Steps, ...]
    borders: tuple[Steps, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Places:
    """The map, and where each station stands in it by its id."""

    part: MapPart
    index: Mapping[str, int]


def named_stations(parts: Iterable[Plan]) -> dict[str, None]:
    """Return the ids of the stations that reasons of spans or channels name, in order."""
    return {
        reason["station_id"]: None
        for part in parts
        for reason in rows(part, "reasons")
        if isinstance(reason, dict) and reason.get("station_id")
    }


def steps(ring: Sequence[Sequence[float]]) -> Steps:
    """Thin a ring of longitude and latitude [deg] to the grid and write it as steps.

    Fewer than four points are no ring; it stays empty.
    """
    if len(ring) < 4:
        return ()
    import shapely

    line = shapely.LineString(ring).simplify(0.6 / GRID)
    grid = [(round(lon * GRID), round(lat * GRID)) for lon, lat in line.coords]
    out = [*grid[0]]
    for before, after in itertools.pairwise(grid):
        if before != after:
            out += [after[0] - before[0], after[1] - before[1]]
    return tuple(out)


def _station(row: Plan) -> StationPart:
    contours = table(row, "contours")
    channel = words.clean(row.get("channel"))
    span = words.mhz_span(row["low_mhz"], row["high_mhz"])
    parts = [f"{span} MHz", f"TV channel {channel}" if channel else ""]
    parts.append(f"{words.short_number(row['erp_kw'])} kW" if row.get("erp_kw") else "")
    return StationPart(
        name=words.clean(row["name"]),
        what=", ".join(part for part in parts if part),
        at=(row["lon_deg"], row["lat_deg"]),
        air=steps(rows(contours, "cautious")),
        law=steps(rows(contours, "law")),
    )


@functools.cache
def _outlines() -> tuple[tuple[str, Steps, tuple[int, int, int, int]], ...]:
    """Return kind, steps and bounds of every outline, in 1/100 deg."""
    columns = read_table("natural_earth_outlines")
    out = []
    for kind, text in zip(columns["kind"], columns["points"], strict=True):
        figures = tuple(int(figure) for figure in text.split())
        lon = list(itertools.accumulate(figures[0::2]))
        lat = list(itertools.accumulate(figures[1::2]))
        out.append((kind, figures, (min(lon), min(lat), max(lon), max(lat))))
    return tuple(out)


def _near(points: Sequence[tuple[float, float]]) -> list[tuple[str, Steps]]:
    """Return the outlines around points; all of them when the points cross the 180th meridian."""
    margin = MARGIN_DEG * GRID
    lons, lats = [lon * GRID for lon, _ in points], [lat * GRID for _, lat in points]
    whole = max(lons) - min(lons) > 180 * GRID
    return [
        (kind, line)
        for kind, line, (west, south, east, north) in _outlines()
        if south <= max(lats) + margin
        and north >= min(lats) - margin
        and (whole or (west <= max(lons) + margin and east >= min(lons) - margin))
    ]


def map_part(plan: Plan, stops: Sequence[Plan]) -> Places:
    """Collect the stations that any stop's reasons name, and the outlines around the route."""
    listed = table(plan, "transmitters")
    named = named_stations(
        part for stop in stops for key in ("channels", "spans") for part in rows(stop, key)
    )
    kept = [key for key in named if key in listed]
    stations = tuple(_station(listed[key]) for key in kept)
    points = [(float(stop["lon_deg"]), float(stop["lat_deg"])) for stop in stops]
    points += [station.at for station in stations]
    outlines = _near(points) if points else []
    return Places(
        part=MapPart(
            stations=stations,
            coasts=tuple(line for kind, line in outlines if kind == "coast"),
            borders=tuple(line for kind, line in outlines if kind == "border"),
        ),
        index={key: index for index, key in enumerate(kept)},
    )
