"""The setting ``field_model``: whose curves give the fields, and what stays on the rule's own."""

from __future__ import annotations

import numpy as np
import pytest

from planner.field_strength import p1546, r6602
from planner.field_strength.height import height_correction_db
from planner.occupancy import place_reach
from planner.plan.warn import tour_warnings
from planner.reach import ReachTable, compute_reach, level_ground_reach, stops_by_p1546
from planner.records import Settings
from planner.rules import country_rules
from planner.rules.television import held_level_dbuv_m
from tests.unit.builders import need, station, stations, stop
from tests.unit.planning import FAR, document, moved, planned

pytest.importorskip("global_land_mask", reason="the land and sea mask is not installed")

US, GB = country_rules("US"), country_rules("GB")
KANSAS = stop()
ENGLAND = stop(country="GB", id="b", lat_deg=52.13, lon_deg=-1.0)
TABLE = stations(
    [
        station(20, **moved(60)),
        station(20, station_id="gb", country="GB", lat_deg=52.13, lon_deg=-0.24),
    ]
)
MODELS = ("auto", "r6602", "p1546")


def reach(model: str) -> ReachTable:
    return compute_reach([KANSAS, ENGLAND], TABLE, [US, GB], field_model=model)


def test_auto_goes_by_the_country_the_others_do_not() -> None:
    rules = [US, GB, country_rules("CA"), country_rules("FR")]
    found = {model: stops_by_p1546(rules, model).tolist() for model in MODELS}
    assert found["auto"] == [False, True, False, True]
    assert found["r6602"] == [False] * 4
    assert found["p1546"] == [True] * 4


def test_auto_is_the_default() -> None:
    plain = compute_reach([KANSAS, ENGLAND], TABLE, [US, GB])
    assert plain.field_50_10_dbuv_m.tolist() == reach("auto").field_50_10_dbuv_m.tolist()
    assert Settings().field_model == "auto"


def test_fields_are_those_of_the_model_asked_for() -> None:
    fcc, world = reach("r6602"), reach("p1546")
    assert fcc.field_height_m.tolist() == [9.0, 9.0]
    assert world.field_height_m.tolist() == [10.0, 10.0]
    for row in (0, 1):
        distance_km = float(fcc.distance_km[row])
        by_fcc = r6602.field_dbuv_m(
            "F(50,10)", 509e6, haat_m=300.0, distance_km=distance_km, erp_kw=100.0
        )
        by_world = p1546.field_dbuv_m(
            509e6,
            p1546.Paths(distance_km=distance_km, effective_height_m=300.0),
            time_percent=10.0,
            erp_kw=100.0,
        )
        # 1e-9 dB: the same functions
        assert fcc.field_50_10_dbuv_m[row] == pytest.approx(by_fcc, abs=1e-9)
        assert world.field_50_10_dbuv_m[row] == pytest.approx(by_world, abs=1e-9)


def test_a_contour_that_a_rule_defines_stays_on_its_curves() -> None:
    for name in ("contour_law_km", "contour_cautious_km", "outside_law_km"):
        columns = [getattr(reach(model), name)[0] for model in MODELS]
        assert columns[0] == columns[1] == columns[2], name


def test_a_planning_level_goes_with_the_model() -> None:
    auto, fcc, world = (reach(model) for model in MODELS)
    assert world.contour_law_km[1] == auto.contour_law_km[1] != fcc.contour_law_km[1]
    # at the contour the FCC's field at 9 m, brought to 10 m, meets the level
    field = r6602.field_dbuv_m(
        "F(50,50)",
        509e6,
        haat_m=300.0,
        distance_km=float(fcc.contour_law_km[1]),
        erp_kw=100.0,
    ) + height_correction_db(509e6, 10.0, 9.0)
    level = float(held_level_dbuv_m(np.array([509e6]))[0])
    assert field == pytest.approx(level, abs=0.001)  # dB; the radius is found to a millimetre
    assert fcc.outside_law_km[1] == pytest.approx(
        fcc.distance_km[1] - fcc.contour_law_km[1], abs=1e-9
    )


def test_the_model_holds_within_the_place_error_and_on_level_ground() -> None:
    vague = [stop(location_error_km=5.0)]
    table = stations([station(20, haat_m=None, antenna_amsl_m=700.0, **moved(60))])
    for model, height_m in (("r6602", 9.0), ("p1546", 10.0)):
        found = compute_reach(vague, table, [US], field_model=model)
        near = [stop(**moved(5.0, 90.0))]
        worst = place_reach(vague, table, [US], found).field_50_10_dbuv_m[0]
        there = compute_reach(near, table, [US], field_model=model).field_50_10_dbuv_m[0]
        assert worst == pytest.approx(there, abs=0.001)  # dB; the ring's own point
        level = level_ground_reach(vague, table, [US], found)
        assert level.field_height_m[0] == height_m
        assert level.field_50_10_dbuv_m[0] < found.field_50_10_dbuv_m[0]


@pytest.mark.parametrize(("model", "told"), [("auto", ""), ("r6602", ""), ("p1546", "here")])
def test_another_model_than_the_rules_is_told(model: str, told: str) -> None:
    result = planned(needs=[need()], rows=[FAR], settings=Settings(field_model=model))
    where = {row["code"]: row["where"] for row in tour_warnings(result)}
    assert where.get("field-model", "") == told
    assert document(result)["tour"]["settings"]["field_model"] == model
