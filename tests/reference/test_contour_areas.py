"""Whole chain against the regulator's study software: areas inside noise-limited contours.

Source: FCC TV interference study of October 2015: stations, horizontal patterns and the areas it
printed (``shared/open-tv/us/stations_2015.csv``, ``patterns_2015.csv``,
``noise_limited_area_2015.csv``), beside the checkout. The tables give no rotation: it does not
change an area.
"""

from __future__ import annotations

import csv
import functools
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from pyproj import Geod

from planner.field_strength import r6602
from planner.geodesy import RADIALS, outline
from planner.records.azimuths import AzimuthCurves
from planner.rules import country_rules

SHARED = Path(__file__).resolve().parents[3] / "shared" / "open-tv" / "us"
WORST = 10
BORDER = "the contour crosses a border and the study prints the area inside the country only"
LOW = "mean height near 30 m: on most azimuths the terrain is far from the mean"
CLASS_A = "a Class A station, judged by the contour of its own class"
REASONS = {
    "WAGM-TV": BORDER,
    "KGNS-TV": BORDER,
    "WMED-TV": BORDER,
    "KVEO-TV": BORDER,
    "WNLO": BORDER,
    "KGBT-TV": BORDER,
    "WWUP-TV": BORDER,
    "WYLN-LP": CLASS_A,
    "KREY-TV": LOW,
    "KWHD": LOW,
}
"""The ten worst; reasons from each station's place, height and class, not from the study."""


def read(name: str) -> list[dict[str, str]]:
    with (SHARED / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@functools.cache
def ratios(
    *, directional: bool, ignore: bool = False
) -> tuple[list[dict[str, str]], npt.NDArray[np.float64]]:
    """Return stations with HAAT of 30 m or more, and our area over the study's."""
    areas = {
        row["facility_id"]: float(row["area_km2"]) for row in read("noise_limited_area_2015.csv")
    }
    raster = {ch.label: (ch.low_hz + ch.high_hz) // 2 for ch in country_rules("US").raster}
    rows = [
        row
        for row in read("stations_2015.csv")
        if row["facility_id"] in areas
        and float(row["haat_m"] or 0) >= r6602.LOWEST_HAAT_M
        and row["erp_kw"]
        and int(row["channel"]) < 37
        and (directional or row["antenna"] == "ND")
    ]
    points: dict[str, list[tuple[float, float]]] = {"": [(0.0, 1.0)]}
    for row in read("patterns_2015.csv"):
        points.setdefault(row["facility_id"], []).append(
            (float(row["azimuth_deg"]), float(row["relative_field"]))
        )
    names = {name: k for k, name in enumerate(points)}
    which = np.array(
        [names[r["facility_id"]] if r["antenna"] == "DA" and not ignore else 0 for r in rows]
    )
    bearings = np.arange(RADIALS, dtype=np.float64)
    field = AzimuthCurves.of(points.values()).at(which[:, None], bearings[None, :])
    centre_hz = np.array([raster[row["channel"]] for row in rows])
    levels = country_rules("US").contour_levels(centre_hz, np.full(len(rows), "atsc1"))
    erp_kw = np.array([float(row["erp_kw"]) for row in rows])[:, None] * field**2
    radii_km = r6602.contour_radii_km(
        "F(50,90)",
        centre_hz.astype(np.float64),
        haat_m=np.array([float(row["haat_m"]) for row in rows]),
        field_dbuv_m=levels.cautious_dbuv_m[:, None] - 10 * np.log10(erp_kw),
    )
    lat, lon = outline(
        np.array([float(row["lat_deg"]) for row in rows]),
        np.array([float(row["lon_deg"]) for row in rows]),
        radii_km,
    )
    geod = Geod(ellps="WGS84")
    return rows, np.array(
        [
            abs(geod.polygon_area_perimeter(lon[k], lat[k])[0]) / 1e6 / areas[row["facility_id"]]
            for k, row in enumerate(rows)
        ]
    )


def worst(rows: list[dict[str, str]], ratio: npt.NDArray[np.float64]) -> list[dict[str, str]]:
    """Return the stations furthest from the study, as rows with their ratio."""
    order = np.argsort(-np.abs(np.log(ratio)))[:WORST]
    return [{**rows[k], "ratio": f"{ratio[k]:.3f}"} for k in order]


@pytest.mark.parametrize("directional", [True, False], ids=["patterns", "non-directional only"])
def test_areas_agree_with_the_study(*, directional: bool) -> None:
    if not SHARED.is_dir():
        pytest.skip("needs the folder shared/ beside the checkout")
    rows, ratio = ratios(directional=directional)
    assert len(rows) > (400 if directional else 50)
    # 1 %: the study takes the height an azimuth from terrain, here one mean stands for all; the
    # middle is the chain
    assert abs(float(np.median(ratio)) - 1) < 0.01, np.median(ratio)
    # 90 % within 5 %: the rest is terrain, and contours that cross a border (see below)
    assert float(np.mean(np.abs(ratio - 1) < 0.05)) >= 0.90, np.percentile(ratio, [5, 50, 95])


def test_the_ten_worst_have_a_reason() -> None:
    if not SHARED.is_dir():
        pytest.skip("needs the folder shared/ beside the checkout")
    for row in worst(*ratios(directional=True)):
        reason = REASONS.get(row["call"])
        assert reason is not None, row
        assert (float(row["ratio"]) > 1) == (reason != LOW), row


def test_a_pattern_left_out_is_seen() -> None:
    """Seeded fault: taken as non-directional, directional stations are far too large."""
    if not SHARED.is_dir():
        pytest.skip("needs the folder shared/ beside the checkout")
    rows, ratio = ratios(directional=True)
    _, circles = ratios(directional=True, ignore=True)
    shaped = np.array([row["antenna"] == "DA" for row in rows])
    assert abs(float(np.median(ratio[shaped])) - 1) < 0.01
    # some 10 to 40 % of area, from what directional antennas leave out
    assert float(np.median(circles[shaped])) > 1.05
