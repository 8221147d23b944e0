"""Effective heights that had to be assumed: both bounds, and what they change."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from planner.field_strength import p1546
from planner.plan.heights import height_warnings
from planner.reach import assumed_haat_m, compute_reach, level_ground_reach
from planner.reach.heights import path_height_m
from planner.rules import country_rules
from tests.unit.builders import gear, station, stations, stop
from tests.unit.planning import FAR, document, moved, planned

pytest.importorskip("global_land_mask", reason="the land and sea mask is not installed")

INLAND = {"lat_deg": 52.13, "lon_deg": -0.24}
"""In England, all land to the stop 30 km west of it."""
HERE = stop(country="GB", lat_deg=52.13, lon_deg=-0.678)
GB = country_rules("GB")
HILL = station(
    20,
    country="GB",
    system="dvb-t2",
    haat_m=None,
    site_amsl_m=600.0,
    height_agl_m=100.0,
    **INLAND,
)
"""A mast of 100 m on a hill of 600 m."""


def test_a_known_haat_is_never_touched() -> None:
    table = stations([station(20, haat_m=-45.0, antenna_amsl_m=900.0, height_agl_m=0.0)])
    for level_ground in (False, True):
        haat, assumed = assumed_haat_m(table, level_ground=level_ground)
        assert haat.tolist() == [-45.0]
        assert not assumed.any()
        path = path_height_m(table, np.array([0]), haat, np.array([0.5]), level_ground=level_ground)
        assert path.tolist() == [-45.0]


ROWS: list[tuple[dict[str, Any], float, float]] = [
    ({"antenna_amsl_m": 900.0}, 500.0, 30.0),  # less the terrain that a neighbour tells
    ({"antenna_amsl_m": 120.0}, 120.0, 30.0),  # below that terrain: above the sea
    ({"antenna_amsl_m": 650.0}, 300.0, 30.0),  # on ground of its neighbour: 300 m at least
    ({"antenna_amsl_m": 650.0, "height_agl_m": 310.0}, 310.0, 310.0),
    ({"antenna_amsl_m": 900.0, "height_agl_m": 20.0}, 500.0, 20.0),
    ({"site_amsl_m": 800.0, "height_agl_m": 100.0}, 500.0, 100.0),
    ({"height_agl_m": 200.0}, 800.0, 200.0),  # nothing known above the sea
    ({}, 800.0, 30.0),
    ({"antenna_amsl_m": 20.0}, 20.0, 20.0),
    ({"antenna_amsl_m": 900.0, **moved(300)}, 900.0, 30.0),  # nobody near tells the ground
    ({"antenna_amsl_m": -5.0, "height_agl_m": 15.0}, 15.0, 15.0),  # on ground below the sea
]


@pytest.mark.parametrize(("heights", "cautious_m", "level_m"), ROWS)
def test_an_unknown_haat_has_two_bounds(
    heights: dict[str, Any], cautious_m: float, level_m: float
) -> None:
    neighbour = station(21, haat_m=200.0, antenna_amsl_m=600.0)  # terrain 400 m
    table = stations([neighbour, station(20, haat_m=None, **heights)])
    for level_ground, expected_m in ((False, cautious_m), (True, level_m)):
        haat, assumed = assumed_haat_m(table, level_ground=level_ground)
        assert haat.tolist() == [200.0, expected_m]
        assert assumed.tolist() == [False, True]


def test_another_neighbour_can_only_raise_the_cautious_height() -> None:
    wanted = station(20, haat_m=None, antenna_amsl_m=900.0)
    rows = [wanted, station(21, haat_m=200.0, antenna_amsl_m=600.0)]
    low = station(22, haat_m=200.0, antenna_amsl_m=250.0)
    high = station(23, haat_m=200.0, antenna_amsl_m=1900.0)
    heights = [assumed_haat_m(stations([*rows, *more]))[0][0] for more in ([], [low], [high])]
    assert heights == [500.0, 850.0, 500.0]


def test_the_height_toward_a_stop_is_above_the_sea_unless_on_level_ground() -> None:
    table = stations([HILL])
    one = np.array([0, 0, 0])
    share = np.array([0.0, 0.25, 1.0])
    cautious = path_height_m(table, one, np.full(3, 300.0), share)
    level = path_height_m(table, one, np.full(3, 100.0), share, level_ground=True)
    assert cautious.tolist() == [700.0, 700.0, 700.0]
    assert level.tolist() == [100.0, 250.0, 700.0]


def test_a_hill_mast_over_low_land_counts_from_the_sea() -> None:
    reach = compute_reach([HERE], stations([HILL]), [GB])
    level = level_ground_reach([HERE], stations([HILL]), [GB], reach)
    assert reach.haat_assumed.tolist() == level.haat_assumed.tolist() == [True]
    assert reach.haat_m.tolist() == [700.0]
    assert level.haat_m.tolist() == [100.0]
    for table, height_m in ((reach, 700.0), (level, 100.0)):
        for time, field in ((50.0, table.field_50_50_dbuv_m), (10.0, table.field_50_10_dbuv_m)):
            expected = p1546.field_dbuv_m(
                509e6,
                p1546.Paths(distance_km=float(table.distance_km[0]), effective_height_m=height_m),
                time_percent=time,
                erp_kw=100.0,
            )
            assert field[0] == pytest.approx(expected, abs=1e-9)  # dB; the same function
    assert level.outside_cautious_km[0] > reach.outside_cautious_km[0] + 10.0  # km


def test_where_every_height_is_known_the_other_bound_is_the_table_itself() -> None:
    table = stations([{**HILL, "haat_m": 250.0}])
    reach = compute_reach([HERE], table, [GB])
    assert level_ground_reach([HERE], table, [GB], reach) is reach


def test_rows_that_give_their_height_keep_their_figures_on_level_ground() -> None:
    known = {**HILL, "haat_m": 250.0, "station_id": "known", "lat_deg": 52.4}
    table = stations([HILL, known, {**HILL, "station_id": "off", "status": "off"}])
    here, off = stop(country="GB", id="b", lat_deg=52.5, lon_deg=-1.0), HERE
    reach = compute_reach([off, here], table, [GB, GB])
    level = level_ground_reach([off, here], table, [GB, GB], reach)
    given = ~reach.haat_assumed
    assert given.tolist() == [False, True, False, True]
    for name in ("haat_m", "field_50_10_dbuv_m", "outside_law_km", "contour_law_km"):
        same = getattr(level, name) == getattr(reach, name)
        assert same.tolist() == given.tolist(), name


def test_a_group_stays_united_on_level_ground() -> None:
    rows = [
        {**HILL, "group_id": "one"},
        {**HILL, "haat_m": 250.0, "station_id": "near", "group_id": "one", "lon_deg": -0.5},
    ]
    table = stations(rows)
    reach = compute_reach([HERE], table, [GB])
    level = level_ground_reach([HERE], table, [GB], reach)
    assert len(set(reach.outside_law_km.tolist())) == len(set(level.outside_law_km.tolist())) == 1
    alone = compute_reach([HERE], stations(rows[1:]), [GB])
    assert level.outside_law_km[0] == alone.outside_law_km[0] >= reach.outside_law_km[0]


def lacking(**more: Any) -> dict[str, Any]:
    """Return a station 90 km away without a HAAT, held from sea level, quiet on level ground."""
    heights = {"haat_m": None, "antenna_amsl_m": 700.0, "height_agl_m": 40.0}
    return station(20, erp_kw=20.0, **{**heights, **moved(90), **more})


@pytest.mark.parametrize("error_km", [0.0, 2.0])
def test_the_plan_goes_by_the_cautious_bound_and_tells_the_other(error_km: float) -> None:
    result = planned(stops=[stop(location_error_km=error_km)], rows=[lacking(), FAR])
    record = document(result)["stops"][0]
    channel = next(row for row in record["channels"] if row["channel"] == 20)
    assert channel["air"] != "quiet"
    assert channel["air_level_ground"] == "quiet"
    assert record["heights"] == {
        "transmitters": 1,
        "assumed": 1,
        "quiet_on_level_ground": [20],
    }
    mast = channel["transmitters"][0]
    assert (mast["haat_low_m"], mast["haat_high_m"]) == (40.0, 700.0)
    assert mast["field_50_10_low_dbuv_m"] < mast["field_50_10_dbuv_m"]
    told = {row["code"]: row for row in height_warnings(result)}
    assert told["haat-assumed"]["text"].endswith(": x-20")
    assert told["heights-assumed"]["where"] == "here"
    assert "1 of 23 TV channels would be quiet if each" in told["heights-assumed"]["text"]


def test_no_effect_is_told_too() -> None:
    result = planned(rows=[lacking(**moved(5)), FAR])
    told = {row["code"]: row["text"] for row in height_warnings(result)}
    assert "no other TV channel would be quiet" in told["heights-assumed"]


def test_known_heights_leave_no_key_and_no_warning() -> None:
    result = planned(rows=[lacking(haat_m=300.0), FAR], ranges=[gear()])
    assert not list(height_warnings(result))
    record = document(result)["stops"][0]
    assert "heights" not in record
    for channel in record["channels"]:
        assert "air_level_ground" not in channel
        assert not any("haat_low_m" in row for row in channel["transmitters"])
