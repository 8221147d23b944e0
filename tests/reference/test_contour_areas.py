"""Whole chain against the regulator's study software: areas inside noise-limited contours.

Source: FCC TV interference study of October 2015, stations and the areas it printed
(``shared/open-tv/us/stations_2015.csv``, ``noise_limited_area_2015.csv``), beside the checkout.
Only stations without a directional pattern, of which the area is that of one radius.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from pyproj import Geod

from planner.field_strength import r6602
from planner.geodesy import outline
from planner.rules import country_rules

SHARED = Path(__file__).resolve().parents[3] / "shared" / "open-tv" / "us"


def test_areas_of_non_directional_stations_agree_with_the_study() -> None:
    if not SHARED.is_dir():
        pytest.skip("needs the folder shared/ beside the checkout")
    with (SHARED / "noise_limited_area_2015.csv").open(encoding="utf-8") as file:
        areas = {row["facility_id"]: float(row["area_km2"]) for row in csv.DictReader(file)}
    with (SHARED / "stations_2015.csv").open(encoding="utf-8") as file:
        rows = [
            row
            for row in csv.DictReader(file)
            if row["facility_id"] in areas
            and row["antenna"] == "ND"
            and float(row["haat_m"]) > 0
            and int(row["channel"]) < 37
        ]
    assert len(rows) > 50
    raster = {ch.label: (ch.low_hz + ch.high_hz) // 2 for ch in country_rules("US").raster}
    centre_hz = np.array([raster[row["channel"]] for row in rows])
    levels = country_rules("US").contour_levels(centre_hz, np.full(len(rows), "atsc1"))
    radius_km = r6602.contour_distance_km(
        "F(50,90)",
        centre_hz,
        haat_m=np.array([float(row["haat_m"]) for row in rows]),
        field_dbuv_m=levels.cautious_dbuv_m,
        erp_kw=np.array([float(row["erp_kw"]) for row in rows]),
    )
    lat, lon = outline(
        np.array([float(row["lat_deg"]) for row in rows]),
        np.array([float(row["lon_deg"]) for row in rows]),
        radius_km[:, None],
    )
    geod = Geod(ellps="WGS84")
    ratio = np.array(
        [
            abs(geod.polygon_area_perimeter(lon[k], lat[k])[0]) / 1e6 / areas[row["facility_id"]]
            for k, row in enumerate(rows)
        ]
    )
    # The study takes HAAT an azimuth from terrain, here it is one mean: the spread is terrain,
    # the middle is the chain. Planning notes found 1 % in the median with patterns included.
    assert abs(float(np.median(ratio)) - 1) < 0.02, np.median(ratio)
    assert float(np.mean(np.abs(ratio - 1) < 0.15)) > 0.75, np.percentile(
        ratio, [5, 25, 50, 75, 95]
    )
