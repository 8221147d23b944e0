"""Make ``planner/tables/natural_earth_outlines.csv`` from a topology of the world's countries.

Usage: ``python tests/generators/outlines.py countries-50m.json > natural_earth_outlines.csv``

The input is ``countries-50m.json`` of the npm package ``world-atlas`` 2.0.2 (Natural Earth 4.1.0,
1:50m, public domain). Every arc of a topology stands in it once, so a border between two countries
is one line here too. Lines are simplified by shapely and written in hundredths of a degree: the
first point as it is, every other as its step from the one before. Antarctica is left out.
"""

from __future__ import annotations

import itertools
import json
import sys
from collections import Counter
from itertools import accumulate
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shapely.geometry import LineString

if TYPE_CHECKING:
    from collections.abc import Iterator

TOLERANCE_DEG = 0.03
LEAST_EXTENT_DEG = 0.12
"""Smaller islands are left out: about 13 km from north to south."""

SOUTHERNMOST_DEG = -60.0

Point = tuple[float, float]


def arc_uses(arcs: Any) -> Iterator[int]:
    """Give the number of every arc that a geometry uses, whatever its direction."""
    for item in arcs:
        if isinstance(item, int):
            yield item if item >= 0 else ~item
        else:
            yield from arc_uses(item)


def degrees(arc: list[list[int]], scale: Point, origin: Point) -> list[Point]:
    """Undo the differences and the whole-number grid of an arc."""
    columns = (accumulate(step[axis] for step in arc) for axis in (0, 1))
    lon, lat = ([at * scale[i] + origin[i] for at in column] for i, column in enumerate(columns))
    return list(zip(lon, lat, strict=True))


def lines(topology: Any) -> Iterator[tuple[str, list[tuple[int, int]]]]:
    """Give the kind, coast or border, and the points of every line worth drawing."""
    uses: Counter[int] = Counter()
    for country in topology["objects"]["countries"]["geometries"]:
        uses.update(set(arc_uses(country.get("arcs", ()))))
    transform = topology["transform"]
    for index, arc in enumerate(topology["arcs"]):
        points = degrees(arc, tuple(transform["scale"]), tuple(transform["translate"]))
        kind = "border" if uses[index] > 1 else "coast"
        if all(abs(lon) > 179.99 for lon, _ in points):
            continue  # the cut along the 180-degree meridian is no coast
        west, south, east, north = LineString(points).bounds
        closed = points[0] == points[-1]
        if north < SOUTHERNMOST_DEG:
            continue
        if closed and max(east - west, north - south) < LEAST_EXTENT_DEG:
            continue
        thin = LineString(points).simplify(TOLERANCE_DEG, preserve_topology=closed)
        yield kind, [(round(lon * 100), round(lat * 100)) for lon, lat in thin.coords]


def steps(points: list[tuple[int, int]]) -> str:
    """Write the first point and the step to every other; points that fall together are one."""
    out = [f"{points[0][0]} {points[0][1]}"]
    for before, after in itertools.pairwise(points):
        step = (after[0] - before[0], after[1] - before[1])
        if step != (0, 0):
            out.append(f"{step[0]} {step[1]}")
    return " ".join(out)


def main() -> None:
    topology = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    out = ["kind,points"]
    out += [f"{kind},{steps(points)}" for kind, points in lines(topology)]
    sys.stdout.write("\n".join(out) + "\n")


if __name__ == "__main__":
    main()
