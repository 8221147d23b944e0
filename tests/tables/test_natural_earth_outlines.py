"""Outlines for the map: known capes and rivers lie where an atlas has them."""

from __future__ import annotations

from importlib import resources
from itertools import accumulate, pairwise

import pytest

from planner.tables import read_table

Point = tuple[float, float]


def lines(kind: str) -> list[list[Point]]:
    table = read_table("natural_earth_outlines")
    out = []
    for word, text in zip(table["kind"], table["points"], strict=True):
        figures = [int(figure) for figure in text.split()]
        lon, lat = accumulate(figures[0::2]), accumulate(figures[1::2])
        if word == kind:
            out.append([(x / 100, y / 100) for x, y in zip(lon, lat, strict=True)])
    return out


def test_every_line_has_two_points_on_the_globe_and_a_known_kind() -> None:
    assert set(read_table("natural_earth_outlines")["kind"]) == {"coast", "border"}
    for line in (*lines("coast"), *lines("border")):
        assert len(line) >= 2
        assert all(-180 <= lon <= 180 and -60.5 <= lat <= 84 for lon, lat in line)


def test_the_table_is_small() -> None:
    file = resources.files("planner.tables") / "natural_earth_outlines.csv"
    assert len(file.read_bytes()) <= 300_000


@pytest.mark.parametrize(
    ("name", "kind", "place"),
    [  # read off other maps, to a tenth of a degree
        ("Land's End", "coast", (-5.7, 50.1)),
        ("Cape Horn", "coast", (-67.3, -55.9)),
        ("Cape Agulhas", "coast", (20.0, -34.8)),
        ("Key Largo to Miami", "coast", (-80.2, 25.7)),
        ("Niagara Falls", "border", (-79.1, 43.1)),
        ("Rio Grande at El Paso", "border", (-106.5, 31.8)),
        ("Rhine at Basel", "border", (7.6, 47.6)),
    ],
)
def test_landmarks_lie_on_a_line(name: str, kind: str, place: Point) -> None:
    # 0.35 deg: the source's scale, the simplification and the points' own spacing
    nearest = min(
        max(abs(lon - place[0]), abs(lat - place[1])) for line in lines(kind) for lon, lat in line
    )
    assert nearest <= 0.35, name


def test_no_line_jumps_across_the_globe() -> None:
    for line in (*lines("coast"), *lines("border")):
        for (west, _), (east, _) in pairwise(line):
            step = abs(east - west)
            assert min(step, 360 - step) < 30  # a step may cross the 180-degree meridian
