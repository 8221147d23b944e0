"""Place error: the worst within it is planned, the point given is told beside it."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from planner.geodesy import direct, inverse
from planner.occupancy import error_km, place_points, place_reach
from planner.plan import plan_document, run_plan
from planner.plan.survey import at_risk, survey
from planner.reach import compute_reach
from planner.records import Licence, Stop
from planner.rules import country_rules
from planner.tables import read_table
from tests.unit.builders import gear, need, nobody_near, station, stations, stop, tour

US = country_rules("US")
PART_74 = Licence(country="US", kind="part-74", holder="Rig Hire")
FAR = station(14, erp_kw=0.1, haat_m=30.0, station_id="far", lat_deg=19.4, lon_deg=-140.0)
"""Covers the country and reaches nobody."""
PITTSBURGH = {"lat_deg": 40.4406, "lon_deg": -79.9959}
MILWAUKEE = {"lat_deg": 43.0389, "lon_deg": -87.9065}
CLEVELAND = {"lat_deg": 41.4993, "lon_deg": -81.6944}
DETROIT = {"lat_deg": 42.3314, "lon_deg": -83.0458}


def moved(km: float, azimuth_deg: float = 90.0) -> dict[str, float]:
    lat, lon = direct(39.0, -99.0, azimuth_deg, km)
    return {"lat_deg": float(lat), "lon_deg": float(lon)}


def document(
    *rows: dict[str, Any], where: Stop, licences: tuple[Licence, ...] = ()
) -> dict[str, Any]:
    """Return the one stop of a quick plan."""
    result = run_plan(
        tour([where], [need()], licences=licences),
        stations([FAR, *rows]),
        [gear()],
        countries_near=nobody_near,
        effort="quick",
    )
    found: dict[str, Any] = plan_document(result, [])["stops"][0]
    return found


def channel(record: dict[str, Any], number: int) -> dict[str, Any]:
    return next(row for row in record["channels"] if row["channel"] == number)


def risks(record: dict[str, Any]) -> dict[int, tuple[str, str, str, str]]:
    return {
        row["channel"]: (row["air"], row["air_at_point"], row["law"], row["law_at_point"])
        for row in record["verdicts_at_risk"]
    }


def test_nine_points_lie_on_the_radius_45_degrees_apart() -> None:
    here = stop(location_error_km=15.0)
    points = place_points(here)
    assert points[0] is here
    lat = np.array([point.lat_deg for point in points[1:]])
    lon = np.array([point.lon_deg for point in points[1:]])
    km, azimuth, _ = inverse(np.full(8, here.lat_deg), np.full(8, here.lon_deg), lat, lon)
    # 1e-6 km and degrees: rounding of the geodesic there and back
    assert km == pytest.approx(np.full(8, 15.0), abs=1e-6)
    turned = (azimuth - np.arange(0, 360, 45) + 180) % 360 - 180
    assert turned == pytest.approx(np.zeros(8), abs=1e-6)


@pytest.mark.parametrize(("given_km", "taken_km", "points"), [(0.0, 0.0, 1), (0.009, 0.0, 1)])
def test_a_place_known_to_10_m_is_one_point(given_km: float, taken_km: float, points: int) -> None:
    here = stop(location_error_km=given_km)
    assert error_km(here) == taken_km
    assert len(place_points(here)) == points
    table = stations([station(20, **moved(60))])
    reach = compute_reach([here], table, [US])
    assert place_reach([here], table, [US], reach) is reach
    assert len(place_points(stop(location_error_km=0.01))) == 9


def test_fields_are_the_greatest_of_nine_and_contours_end_nearer_by_the_radius() -> None:
    here = stop(location_error_km=15.0)
    # one on an azimuth of the ring, one between two, one inside the place error
    table = stations(
        [
            station(20, station_id="ring", **moved(120, 45)),
            station(21, station_id="between", **moved(120, 67.5)),
            station(22, station_id="inside", **moved(10, 67.5)),
        ]
    )
    reach = compute_reach([here], table, [US])
    worst = place_reach([here], table, [US], reach)
    single = [compute_reach([point], table, [US]) for point in place_points(here)]
    fields = np.array([one.field_50_10_dbuv_m for one in single])
    # 1e-9 dB: the same figures through the same curves
    assert worst.field_50_10_dbuv_m[:2] == pytest.approx(fields.max(axis=0)[:2], abs=1e-9)
    assert (worst.field_50_10_dbuv_m[:2] > reach.field_50_10_dbuv_m[:2] + 1).all()
    beside = compute_reach(
        [stop(**moved(11, 67.5))], stations([station(22, **moved(10, 67.5))]), [US]
    )
    # 0.01 dB: geodesics of 1 km laid off twice
    assert worst.field_50_10_dbuv_m[2] == pytest.approx(beside.field_50_10_dbuv_m[0], abs=0.01)
    assert worst.outside_law_km == pytest.approx(reach.outside_law_km - 15.0, abs=1e-9)
    assert worst.outside_cautious_km == pytest.approx(reach.outside_cautious_km - 15.0, abs=1e-9)
    # never more favourable than any of the nine points, in steps of the method's own rounding
    outside = np.array([one.outside_cautious_km for one in single])
    assert (worst.outside_cautious_km <= outside.min(axis=0) + 1e-3).all()


def test_every_stop_has_its_own_place_error() -> None:
    stops = [
        stop(id="known", location_error_km=0.0),
        stop(id="vague", location_error_km=15.0),
        stop(id="less", location_error_km=5.0),
    ]
    table = stations([station(20, **moved(80)), station(21, **moved(95, 200))])
    reach = compute_reach(stops, table, [US] * 3)
    worst = place_reach(stops, table, [US] * 3, reach)
    gained = (worst.field_50_10_dbuv_m - reach.field_50_10_dbuv_m).reshape(3, 2)
    assert (gained[0] == 0).all()
    assert (gained[1] > gained[2]).all()
    assert (gained[2] > 0).all()


def test_a_contour_within_the_place_error_holds_and_says_so() -> None:
    contour_km = float(
        compute_reach([stop()], stations([station(20)]), [US]).contour_cautious_km[0]
    )
    row = station(20, **moved(contour_km + 12))
    record = document(row, where=stop(location_error_km=15.0))
    assert risks(record)[20] == ("held", "quiet", "barred", "lawful")
    texts = [reason["text"] for reason in channel(record, 20)["reasons"]]
    assert any("within the place error of 15 km" in text for text in texts)
    assert any("outside it at the point, place error 15 km" in text for text in texts)
    # what reaches the stop is told at the point given
    (told,) = channel(record, 20)["transmitters"]
    # 0.01 km: the last digit told
    assert told["distance_km"] == pytest.approx(contour_km + 12, abs=0.01)
    known = document(row, where=stop(location_error_km=0.1))
    assert risks(known) == {}
    assert channel(known, 20)["air"] == "quiet"
    assert channel(known, 20)["law"] == "lawful"


def test_noise_within_the_place_error_is_told_beside_that_at_the_point() -> None:
    roof = stop(location_error_km=20.0, setting="outdoor", antenna_height_m=9.0)
    row = station(20, service="land-mobile", erp_kw=0.3, haat_m=60.0, **moved(60))
    record = document(row, where=roof)
    assert risks(record)[20] == ("faint", "quiet", "lawful", "lawful")
    (text,) = (
        reason["text"]
        for reason in channel(record, 20)["reasons"]
        if reason["code"] == "noise-rise"
    )
    assert "within the place error of 20 km" in text
    assert "dB at the point" in text


def test_pittsburgh_14_and_18_are_barred_without_and_on_request_with_a_licence() -> None:
    where = stop(location_error_km=8.0, **PITTSBURGH)
    for licences, law in (((), "barred"), ((PART_74,), "on-request")):
        record = document(where=where, licences=licences)
        for number in (14, 18):
            assert (channel(record, number)["air"], channel(record, number)["law"]) == ("held", law)
            assert number not in risks(record)


def test_milwaukee_is_near_chicagos_land_mobile_by_its_point_and_in_it_by_its_name() -> None:
    # the centre of Milwaukee lies 131 km from Chicago's: between 129 and 134 km
    by_point = document(where=stop(location_error_km=0.1, **MILWAUKEE))
    by_name = document(where=stop(location_error_km=15.0, **MILWAUKEE))
    for number in (14, 15):
        assert channel(by_point, number)["air"] == "quiet"
        assert channel(by_point, number)["law"] == "lawful"
        assert any(
            reason["code"] == "land-mobile-near" and "131.2 km" in reason["text"]
            for reason in channel(by_point, number)["reasons"]
        )
        assert (channel(by_name, number)["air"], channel(by_name, number)["law"]) == (
            "held",
            "barred",
        )
        assert any(
            "131.2 km from the centre, held to 129 km, reached within the place error of 15 km"
            in reason["text"]
            for reason in channel(by_name, number)["reasons"]
        )
    assert by_point["verdicts_at_risk"] == []
    assert risks(by_name) == dict.fromkeys((14, 15), ("held", "quiet", "barred", "lawful"))
    with_licence = document(where=stop(location_error_km=15.0, **MILWAUKEE), licences=(PART_74,))
    assert risks(with_licence)[14] == ("held", "quiet", "on-request", "lawful")


@pytest.mark.parametrize(
    ("where", "numbers"), [(CLEVELAND, (14, 15)), (DETROIT, (15, 16))], ids=["cleveland", "detroit"]
)
def test_areas_not_in_use_are_protected_on_paper(
    where: dict[str, float], numbers: tuple[int, ...]
) -> None:
    record = document(where=stop(**where))
    for number in numbers:
        found = channel(record, number)
        assert (found["air"], found["law"]) == ("held", "barred")
        assert any("not in use until the FCC says so" in row["text"] for row in found["reasons"])


def test_clevelands_centre_is_downtown_not_where_90_303_prints_it() -> None:
    # 47 CFR 90.303(b) prints 81 49 49.5 W, 90.741 prints 81 41 49.5 W: 8 minutes, 11 km apart
    table = read_table("us_land_mobile")
    (lon_deg,) = {
        float(lon)
        for area, lon in zip(table["area"], table["center_lon_deg"], strict=True)
        if area.startswith("Cleveland")
    }
    # 1e-6 deg: half the last digit of the table
    assert lon_deg == pytest.approx(-(81 + 41 / 60 + 49.5 / 3600), abs=1e-6)
    # east of it, where the misprinted centre would leave channel 15 free: 139 km and more
    for km, kind in ((128.5, "held"), (129.5, "caution"), (134.5, None)):
        lat, lon = direct(41.497556, -81.697083, 90.0, km)
        kinds = [note.kind for note in US.channel_notes(lat, lon) if note.label == "15"]
        assert kinds == ([kind] if kind else [])


@pytest.mark.parametrize(
    ("where", "label"),
    [({"lat_deg": 18.0, "lon_deg": -159.5}, "17"), ({"lat_deg": 29.05, "lon_deg": -157.0}, "17")],
)
def test_hawaii_reaches_as_far_as_the_place_error(where: dict[str, float], label: str) -> None:
    near = US.channel_notes(where["lat_deg"], where["lon_deg"], within_km=10.0)
    assert label in {note.label for note in near if note.kind == "closed"}
    beyond = US.channel_notes(29.2, -157.0, within_km=10.0)
    assert label not in {note.label for note in beyond if note.kind == "closed"}


def test_a_foreign_country_within_the_place_error_must_be_covered() -> None:
    def near(lat_deg: float, lon_deg: float, radius_km: float) -> dict[str, float]:
        del lat_deg, lon_deg
        return {"US": 1.0} | ({"CA": 110.0} if radius_km >= 110 else {})

    vague = tour([stop(location_error_km=15.0)], [need()])
    found = survey(vague, stations([FAR]), [gear()], countries_near=near)
    assert found.neighbours == (("CA",),)
    (rows,) = at_risk(found, [gear()])
    assert {(row.air, row.air_at_point) for row in rows} == {("unlisted", "quiet")}
    known = dataclasses.replace(vague, stops=(stop(),))
    assert survey(known, stations([FAR]), [gear()], countries_near=near).neighbours == ((),)


def test_the_law_at_risk_is_the_same_with_and_without_the_windows_at_hand() -> None:
    where = stop(location_error_km=15.0, **MILWAUKEE)
    rows = [gear(), gear(family="Birch", powers_mw=(100.0,)), gear(family="Cedar", role="in-ear")]
    one = tour([where], [need()], licences=(PART_74,))
    table = stations([FAR, station(30, lat_deg=42.2, lon_deg=-88.0, erp_kw=1.0)])
    result = run_plan(one, table, rows, countries_near=nobody_near, effort="quick")
    found = survey(one, table, rows, countries_near=nobody_near)
    assert result.at_risk == at_risk(found, rows)
    assert result.at_risk[0]
