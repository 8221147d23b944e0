"""The setting ``interference_time_percent``: the field that disturbs follows it under P.1546."""

from __future__ import annotations

import pytest

from planner.field_strength import p1546
from planner.occupancy import place_reach
from planner.occupancy.interference import arrivals
from planner.reach import ReachTable, compute_reach, level_ground_reach
from planner.records import Settings
from planner.rules import country_rules
from tests.unit.builders import station, stations, stop

pytest.importorskip("global_land_mask", reason="the land and sea mask is not installed")

US, GB = country_rules("US"), country_rules("GB")
HERE = stop(country="GB", lat_deg=52.13, lon_deg=-1.0)
TABLE = stations([station(20, country="GB", lat_deg=52.13, lon_deg=-0.24)])


def reach(percent: float) -> ReachTable:
    return compute_reach([HERE], TABLE, [GB], interference_time_percent=percent)


@pytest.mark.parametrize("percent", [1.0, 5.0, 10.0, 50.0])
def test_the_field_is_that_of_the_recommendation(percent: float) -> None:
    found = reach(percent)
    expected = p1546.field_dbuv_m(
        509e6,
        p1546.Paths(
            distance_km=float(found.distance_km[0]), effective_height_m=float(found.haat_m[0])
        ),
        time_percent=percent,
        erp_kw=float(found.erp_toward_stop_kw[0]),
    )
    assert found.field_interference_dbuv_m[0] == pytest.approx(float(expected), abs=1e-9)
    # what the sheets show, and all else, stays what it was
    usual = reach(10.0)
    assert found.field_50_10_dbuv_m.tolist() == usual.field_50_10_dbuv_m.tolist()
    assert found.sigma_db.tolist() == usual.sigma_db.tolist()
    assert usual.field_interference_dbuv_m.tolist() == usual.field_50_10_dbuv_m.tolist()


def test_a_smaller_share_of_time_is_a_stronger_disturber() -> None:
    powers = [
        float(arrivals(HERE, reach(percent), 0, TABLE, Settings()).power_dbm[0])
        for percent in (1.0, 5.0, 10.0, 50.0)
    ]
    assert powers == sorted(powers, reverse=True)
    assert powers[0] > powers[2] + 0.5  # dB; 52 km over land: some 3 dB by the curves


def test_it_holds_within_the_place_error_and_on_level_ground() -> None:
    vague = [stop(country="GB", lat_deg=52.13, lon_deg=-1.0, location_error_km=5.0)]
    table = stations(
        [
            station(
                20,
                country="GB",
                lat_deg=52.13,
                lon_deg=-0.24,
                haat_m=None,
                antenna_amsl_m=700.0,
                height_agl_m=100.0,
            )
        ]
    )
    for percent, more in ((1.0, True), (10.0, False)):
        found = compute_reach(vague, table, [GB], interference_time_percent=percent)
        worst = place_reach(vague, table, [GB], found)
        level = level_ground_reach(vague, table, [GB], found)
        for one in (found, worst, level):
            above = one.field_interference_dbuv_m[0] - one.field_50_10_dbuv_m[0]
            assert bool(above > 0.5) is more
            assert above >= 0.0
        assert worst.field_interference_dbuv_m[0] > found.field_interference_dbuv_m[0]
        assert level.field_interference_dbuv_m[0] < found.field_interference_dbuv_m[0]


def test_the_fccs_curves_know_ten_per_cent_only() -> None:
    here = stop(lat_deg=39.0, lon_deg=-98.0)
    table = stations([station(20, lat_deg=39.5, lon_deg=-98.0)])
    one, other = (
        compute_reach([here], table, [US], interference_time_percent=percent)
        for percent in (10.0, 1.0)
    )
    assert one.field_interference_dbuv_m.tolist() == other.field_interference_dbuv_m.tolist()
