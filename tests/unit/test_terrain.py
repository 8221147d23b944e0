"""Effective heights over invented ground whose averages are known in closed form."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from planner.field_strength import p1546
from planner.plan.heights import height_warnings
from planner.reach import compute_reach, with_terrain
from planner.reach.heights import haat_toward_m
from planner.reach.terrain import terrain_height_m
from planner.records.elevation import ElevationGrid
from planner.rules import country_rules
from tests.unit.builders import station, stations, stop
from tests.unit.planning import FAR, moved, planned

if TYPE_CHECKING:
    from planner.records import StationTable

pytest.importorskip("global_land_mask", reason="the land and sea mask is not installed")

LAT_DEG, LON_DEG = 39.0, -99.0
KM_A_DEGREE = 6371.0088 * np.pi / 180.0
"""On the sphere on which the ground is sampled [km]."""
STEP_DEG = 0.005
"""0.56 km: the invented grounds are smooth."""


def ground(kind: str, *, half_deg: float = 0.4, **more: Any) -> ElevationGrid:
    """Return ground round the stop of the builders: flat, a slope eastwards, a cone, a bowl."""
    count = round(2 * half_deg / STEP_DEG) + 1
    offset = np.linspace(-half_deg, half_deg, count)
    lat, lon = np.meshgrid(LAT_DEG - offset, LON_DEG + offset, indexing="ij")
    north_km = (lat - LAT_DEG) * KM_A_DEGREE
    east_km = (lon - LON_DEG) * KM_A_DEGREE * np.cos(np.radians(lat))
    away_km = np.hypot(north_km, east_km)
    heights = {
        "flat": np.full(lat.shape, 500.0),
        "slope": 500.0 + 10.0 * east_km,
        "cone": 1000.0 - 20.0 * away_km,
        "bowl": 500.0 + 20.0 * away_km,
    }[kind]
    values: dict[str, Any] = {
        "file": "ground.tif",
        "north_deg": LAT_DEG + half_deg,
        "west_deg": LON_DEG - half_deg,
        "step_lat_deg": STEP_DEG,
        "step_lon_deg": STEP_DEG,
        "heights_m": heights.astype(np.float32),
    }
    return ElevationGrid(**{**values, **more})


def table(kind: str, **more: Any) -> StationTable:
    heights = {"haat_m": None, "antenna_amsl_m": 1100.0}
    return with_terrain(stations([station(20, **{**heights, **more})]), [ground(kind)])


def both(found: StationTable, azimuth_deg: float, distance_km: float) -> tuple[float, float]:
    """Return HAAT and the effective height of P.1546 in one direction [m]."""
    one, azimuth = np.array([0]), np.array([azimuth_deg])
    nothing = np.array([np.nan])
    fcc = haat_toward_m(found, one, azimuth, nothing)[0]
    world = terrain_height_m(found, one, azimuth, np.array([distance_km]), nothing)[0]
    return float(fcc), float(world)


# mean distance of 3.2 to 16.1 km is 9.65 km, of 3 to 15 km 9 km, of a fifth of d to d 0.6 d
@pytest.mark.parametrize(
    ("kind", "azimuth_deg", "distance_km", "haat_m", "effective_m"),
    [
        ("flat", 33.0, 40.0, 600.0, 600.0),
        ("flat", 33.0, 0.5, 600.0, 600.0),
        ("slope", 90.0, 40.0, 600.0 - 96.5, 600.0 - 90.0),
        ("slope", 270.0, 40.0, 600.0 + 96.5, 600.0 + 90.0),
        ("slope", 0.0, 40.0, 600.0, 600.0),
        ("slope", 30.0, 40.0, 600.0 - 48.25, 600.0 - 45.0),
        ("slope", 90.0, 10.0, 600.0 - 96.5, 600.0 - 60.0),
        ("slope", 31.0, 10.0, 600.0 - 96.5 * 0.515038, 600.0 - 60.0 * 0.515038),
        ("cone", 123.0, 40.0, 100.0 + 193.0, 100.0 + 180.0),
        ("cone", 123.0, 5.0, 100.0 + 193.0, 100.0 + 60.0),
        ("bowl", 200.0, 40.0, 600.0 - 193.0, 600.0 - 180.0),
    ],
)
def test_averages_in_closed_form(
    kind: str, azimuth_deg: float, distance_km: float, haat_m: float, effective_m: float
) -> None:
    # 0.5 m: radials 5 degrees apart, cells of 0.5 km, great circles against the plane
    assert both(table(kind), azimuth_deg, distance_km) == pytest.approx(
        (haat_m, effective_m), abs=0.5
    )


def test_an_effective_height_may_be_negative() -> None:
    _, effective_m = both(table("bowl", antenna_amsl_m=550.0), 90.0, 40.0)
    assert effective_m == pytest.approx(550.0 - 680.0, abs=0.5)  # m, as above


def test_height_above_ground_stands_on_the_ground_of_the_file() -> None:
    found = table("cone", antenna_amsl_m=None, height_agl_m=100.0)
    assert found.antenna_amsl_m[0] == pytest.approx(1000.0, abs=101.0)
    assert both(found, 0.0, 40.0)[1] == pytest.approx(280.0, abs=3.0)  # m; the tip of the cone
    assert table("cone", antenna_amsl_m=None).ground_curve.tolist() == [-1]


@pytest.mark.parametrize(
    "more",
    [
        {"haat_m": 250.0},
        moved(60.0),  # outside the file
        moved(30.0),  # inside, but most of the ground round it is not
        {"site_amsl_m": 1101.0},  # the file says 1000 m there
        {"antenna_amsl_m": 720.0, "height_agl_m": 20.0},
    ],
)
def test_what_the_file_does_not_serve_stays_as_it_was(more: dict[str, Any]) -> None:
    found = table("cone", **more)
    assert found.ground_curve.tolist() == [-1]
    assert found.haat_curve.tolist() == [-1]
    before = stations([station(20, **{"haat_m": None, "antenna_amsl_m": 1100.0, **more})])
    here, rules = [stop(lat_deg=39.3)], [country_rules("US")]
    one, other = (compute_reach(here, rows, rules) for rows in (found, before))
    assert one.haat_m.tolist() == other.haat_m.tolist()
    assert one.haat_assumed.tolist() == other.haat_assumed.tolist()


def test_missing_ground_counts_as_the_sea_up_to_a_tenth_of_the_land() -> None:
    def cut(rows: slice) -> StationTable:
        heights = ground("flat").heights_m.copy()
        heights[rows] = np.nan
        grid = ground("flat", heights_m=heights)
        row = station(20, haat_m=None, antenna_amsl_m=1100.0)
        return with_terrain(stations([row]), [grid])

    count = len(ground("flat").heights_m)
    little = cut(slice(0, count // 2 - 24))  # north of 13 km or so
    north, south = both(little, 0.0, 40.0)[1], both(little, 180.0, 40.0)[1]
    assert south == pytest.approx(600.0, abs=0.01)  # m; flat
    assert north > 650.0  # the safe side
    assert cut(slice(0, count // 2 - 2)).ground_curve.tolist() == [-1]


def test_the_first_file_that_tells_a_point_counts() -> None:
    row = stations([station(20, haat_m=None, antenna_amsl_m=1100.0)])
    small = ground("flat", half_deg=0.02)
    found = with_terrain(row, [small, ground("cone")])
    assert both(found, 0.0, 40.0)[1] == pytest.approx(280.0, abs=0.5)  # m, as above
    outside = ground("flat", north_deg=10.0)
    assert with_terrain(row, [outside]).ground_curve.tolist() == [-1]


@pytest.mark.parametrize(("country", "azimuth_deg"), [("GB", 90.0), ("GB", 270.0)])
def test_fields_by_p1546_take_the_ground_toward_the_stop(country: str, azimuth_deg: float) -> None:
    here = stop(country=country, **moved(40.0, azimuth_deg))
    reach = compute_reach([here], table("slope"), [country_rules(country)])
    effective_m = 510.0 if azimuth_deg == 90.0 else 690.0
    assert reach.haat_m[0] == pytest.approx(effective_m, abs=0.5)  # m, as above
    assert not reach.haat_assumed[0]
    expected = p1546.field_dbuv_m(
        509e6,
        p1546.Paths(distance_km=40.0, effective_height_m=float(reach.haat_m[0])),
        erp_kw=100.0,
    )
    assert reach.field_50_50_dbuv_m[0] == pytest.approx(expected, abs=0.001)  # dB; 1 mm


def test_contours_of_the_fcc_take_the_ground_by_azimuth() -> None:
    places = [stop(id=str(azimuth), **moved(40.0, azimuth)) for azimuth in (90.0, 270.0)]
    reach = compute_reach(places, table("slope"), [country_rules("US")] * 2)
    assert reach.haat_m.tolist() == pytest.approx([503.5, 696.5], abs=0.5)  # m, as above
    assert reach.contour_law_km[1] > reach.contour_law_km[0] + 3.0
    for height_m, radius_km in zip(reach.haat_m, reach.contour_law_km, strict=True):
        known = stations([station(20, haat_m=float(height_m))])
        alone = compute_reach(places[:1], known, [country_rules("US")])
        assert radius_km == pytest.approx(alone.contour_law_km[0], abs=0.01)  # km; direction


def test_the_plan_tells_whose_heights_were_computed() -> None:
    lacking = {"haat_m": None, "antenna_amsl_m": 1100.0}
    rows = [
        station(20, **lacking, **moved(3.0)),
        station(21, station_id="b", **lacking, **moved(60.0)),
        FAR,
    ]
    result = planned(rows=rows, grids=[ground("cone")])
    told = {row["code"]: row for row in height_warnings(result)}
    assert told["heights-from-elevation"]["where"] == "ground.tif"
    assert told["heights-from-elevation"]["text"].startswith("1 transmitters that matter")
    assert "; 1 more have none in the table" in told["heights-from-elevation"]["text"]
    assert told["haat-assumed"]["text"].endswith(": b")
