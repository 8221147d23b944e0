"""The plan document: figures as they are written, and whose they are."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from planner.geodesy import inverse
from planner.plan.document_stop import _azimuth
from planner.reach import compute_reach
from planner.records.azimuths import AzimuthCurves
from tests.unit.builders import gear, station, stop
from tests.unit.planning import FAR, LAT_DEG, LON_DEG, document, moved, planned

if TYPE_CHECKING:
    from planner.plan import PlanResult


def transmitter(result: PlanResult, station_id: str = "x-20") -> dict[str, Any] | None:
    """Return a station of channel 20 at the first stop, None where it is not listed."""
    (channel,) = (row for row in document(result)["stops"][0]["channels"] if row["channel"] == 20)
    return next((row for row in channel["transmitters"] if row["station_id"] == station_id), None)


def listed(**more: Any) -> dict[str, Any]:
    found = transmitter(planned(rows=[FAR, station(20, **more)]))
    assert found is not None
    return found


# Equal to the digit, no tolerance: the document is read by people and compared by machines
@pytest.mark.parametrize(
    ("km", "written"), [(83.456789, 83.46), (83.454, 83.45), (83.0049, 83.0), (0.0, 0.0)]
)
def test_a_distance_is_written_to_10_metres(km: float, written: float) -> None:
    assert listed(**moved(km))["distance_km"] == written


def test_contour_distances_are_written_to_10_metres() -> None:
    result = planned(rows=[FAR, station(20, **moved(120.0))])
    found = transmitter(result)
    assert found is not None
    (row,) = np.flatnonzero(result.reach.station == 1)
    for name, column in (
        ("contour_law_km", result.reach.contour_law_km),
        ("contour_cautious_km", result.reach.contour_cautious_km),
        ("outside_contour_km", result.reach.outside_cautious_km),
    ):
        assert found[name] == round(float(column[row]), 2)
        assert found[name] != round(float(column[row]), 1)


@pytest.mark.parametrize(
    ("bearing_deg", "written"),
    [(359.96, 0.0), (359.94, 359.9), (0.04, 0.0), (123.456, 123.5)],
)
def test_a_bearing_is_written_to_a_tenth_of_a_degree_below_360(
    bearing_deg: float, written: float
) -> None:
    assert listed(**moved(80.0, bearing_deg))["bearing_from_stop_deg"] == written


def test_an_azimuth_from_the_transmitter_wraps_too() -> None:
    # straight south of the stop, a hair to the east: from there the stop lies at 359.96 deg
    where = moved(80.0, 179.96)
    _, azimuth, _ = inverse(where["lat_deg"], where["lon_deg"], LAT_DEG, LON_DEG)
    assert 359.95 < float(azimuth) < 360.0
    assert listed(**where)["azimuth_from_transmitter_deg"] == 0.0


def test_no_azimuth_is_ever_written_as_360() -> None:
    written = [_azimuth(value) for value in np.linspace(359.9, 360.0, 101)]
    assert {359.9, 0.0} == set(written)


def test_the_distance_outside_the_contour_is_from_the_cautious_one() -> None:
    found = listed(**moved(120.0))
    # 0.02 km: two figures rounded to 0.01 km, and at most 0.005 km between a circle of this size
    # and its polygon of 360 sides, r (1 - cos 0.5 deg)
    assert found["outside_contour_km"] == pytest.approx(
        found["distance_km"] - found["contour_cautious_km"], abs=0.02
    )
    assert found["contour_cautious_km"] - found["contour_law_km"] > 0.5
    inside = listed(**moved(20.0))
    assert inside["outside_contour_km"] < 0


@pytest.mark.parametrize(
    ("valid", "transmits"),
    [
        ({"valid_to": "2027-03-03"}, False),
        ({"valid_to": "2027-03-04"}, True),  # still on the air on the first day
        ({"valid_to": "2027-03-05"}, True),
        ({"valid_to": "2027-03-06"}, True),
        ({"valid_from": "2027-03-06"}, True),  # on the air on the last day
        ({"valid_from": "2027-03-07"}, False),
        ({"valid_from": "2027-03-05", "valid_to": "2027-03-05"}, True),
    ],
)
def test_a_row_valid_on_any_day_of_a_stop_counts(valid: dict[str, str], *, transmits: bool) -> None:
    # the stop lasts from 4 to 6 March
    where = stop(first_date=dt.date(2027, 3, 4), last_date=dt.date(2027, 3, 6))
    result = planned(stops=[where], rows=[FAR, station(20, **moved(30.0), **valid)])
    (channel,) = (row for row in document(result)["stops"][0]["channels"] if row["channel"] == 20)
    assert (transmitter(result) is not None) is transmits
    assert channel["air"] == ("held" if transmits else "quiet")


def test_every_carrier_of_the_document_lies_in_a_window_of_its_range() -> None:
    found = document(planned(rows=[FAR, station(20, **moved(30.0))]))["stops"][0]
    (row,) = found["ranges"].values()
    half_mhz = gear().bandwidth_hz / 2e6
    assert len(found["carriers"]) == 3
    for carrier in found["carriers"]:
        low, high = (carrier["frequency_mhz"] + side * half_mhz for side in (-1, 1))
        # 1e-9 MHz: a thousandth of a hertz, for binary fractions of whole hertz
        assert any(a - 1e-9 <= low and high <= b + 1e-9 for a, b in row["windows_mhz"])


def test_a_document_says_the_status_of_a_stop() -> None:
    stops = [stop(id="a"), dataclasses.replace(stop(id="b"), status="hold")]
    assert [row["status"] for row in document(planned(stops=stops))["stops"]] == [
        "confirmed",
        "hold",
    ]


def test_a_transmitter_tells_its_pattern_and_group_and_draws_its_polygon() -> None:
    result = planned(
        rows=[FAR, station(20, pattern="p", pattern_rotation_deg=90.0, group_id="g", **moved(60.0))]
    )
    pattern = AzimuthCurves.of([[(0.0, 1.0), (180.0, 0.1)]])
    curve = np.array([-1, 0], dtype=np.int64)
    table = dataclasses.replace(result.stations, patterns=pattern, pattern_curve=curve)
    reach = compute_reach(result.stops, table, result.rules)
    found = document(dataclasses.replace(result, stations=table, reach=reach))["transmitters"]
    row = found["x-20"]
    assert (row["pattern"], row["pattern_rotation_deg"], row["group"]) == ("p", 90.0, "g")
    assert row["pattern_known"] is True
    lat, lon = table.lat_deg[1], table.lon_deg[1]
    corners = np.array(row["contours"]["law"])
    km, _, _ = inverse(lat, lon, corners[:, 1], corners[:, 0])
    # the greatest field points east now, the least west; corners are written to 1e-4 deg, 11 m
    assert int(np.argmax(km)) == 90
    assert int(np.argmin(km)) == 270
    assert km == pytest.approx(reach.law_radii_km[reach.polygon[reach.station == 1][0]], abs=0.02)


def test_a_pattern_that_no_table_holds_is_told() -> None:
    result = planned(rows=[FAR, station(20, pattern="lost", **moved(60.0))])
    written = document(result)
    assert written["transmitters"]["x-20"]["pattern_known"] is False
    (told,) = [row for row in written["warnings"] if row["code"] == "pattern-unknown"]
    assert "x-20" in told["text"]
    assert "greatest ERP in every direction" in told["text"]
