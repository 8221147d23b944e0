"""Reach: what arrives and from where."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from planner.geodesy import direct, inverse
from planner.reach import MODEL_LIMIT_KM, compute_reach
from planner.rules import country_rules
from tests.unit.builders import station, stations, stop

US = country_rules("US")


def moved(km: float, azimuth_deg: float = 90.0) -> dict[str, float]:
    lat, lon = direct(39.0, -99.0, azimuth_deg, km)
    return {"lat_deg": float(lat), "lon_deg": float(lon)}


def test_distance_and_both_azimuths_are_geodesic() -> None:
    table = compute_reach([stop()], stations([station(20, **moved(80, 60))]), [US])
    assert table.distance_km[0] == pytest.approx(80, abs=1e-6)  # km; direct and inverse agree
    # 1e-6 deg, 1 mm across at 80 km: rounding of direct and inverse
    assert table.bearing_from_stop_deg[0] == pytest.approx(60, abs=1e-6)
    _, back, _ = inverse(*moved(80, 60).values(), 39.0, -99.0)
    # 1e-9 deg: the same inverse the other way round, its rounding only
    assert table.azimuth_from_transmitter_deg[0] == pytest.approx(float(back), abs=1e-9)


def test_a_contour_of_the_rule_and_a_larger_cautious_one() -> None:
    # ch 20, 500 kW, HAAT 300 m, 41 dBu F(50,90): 90.563 km (FCC contour code, commit b9c92ea)
    table = compute_reach(
        [stop()], stations([station(20, erp_kw=500.0, haat_m=300.0, **moved(100))]), [US]
    )
    # 0.05 km is 0.025 dB there: two interpolations of the curves differ by 0.15 dB at most
    assert table.contour_law_km[0] == pytest.approx(90.563, abs=0.05)
    assert table.contour_cautious_km[0] > table.contour_law_km[0]
    # a circle's polygon of 360 sides lies at most r (1 - cos 0.5 deg) = 0.004 km inside it
    assert table.outside_law_km[0] == pytest.approx(100 - table.contour_law_km[0], abs=0.005)


def test_nothing_beyond_500_km_and_nothing_lost_within() -> None:
    near, far = moved(MODEL_LIMIT_KM - 0.01, 17), moved(MODEL_LIMIT_KM + 0.01, 17)
    rows = [station(20, station_id="near", **near), station(21, station_id="far", **far)]
    table = compute_reach([stop()], stations(rows), [US])
    assert table.station.tolist() == [0]


@pytest.mark.parametrize(
    ("more", "counted"),
    [
        ({}, True),
        ({"status": "permit"}, True),
        ({"status": "application"}, False),
        ({"status": "off"}, False),
        ({"valid_to": "2027-03-03"}, False),
        ({"valid_to": "2027-03-04"}, True),
        ({"valid_from": "2027-03-05"}, False),
        ({"shared_with": "x-21"}, True),
    ],
)
def test_which_rows_transmit_during_the_stop(more: dict[str, str], *, counted: bool) -> None:
    table = stations([station(20, **more), station(21)])
    assert (0 in compute_reach([stop()], table, [US]).station) is counted


def test_a_permit_that_begins_on_the_last_day_counts() -> None:
    long_stop = stop(last_date=dt.date(2027, 3, 6))
    table = stations([station(20, valid_from="2027-03-06")])
    assert len(compute_reach([long_stop], table, [US])) == 1


def test_a_service_without_a_contour_has_none() -> None:
    table = compute_reach([stop()], stations([station(20, service="land-mobile")]), [US])
    assert np.isnan(table.contour_law_km[0])
    assert np.isnan(table.outside_cautious_km[0])
    assert table.field_50_10_dbuv_m[0] > 100  # it still arrives


def test_columns_are_read_only() -> None:
    table = compute_reach([stop()], stations([station(20)]), [US])
    with pytest.raises(ValueError, match="read-only"):
        table.distance_km[0] = 1.0


def test_a_row_outside_the_curves_frequencies_has_no_field_and_breaks_nothing() -> None:
    base = station(20, service="mobile", low_hz=1_800_000_000, high_hz=1_805_000_000)
    table = compute_reach([stop()], stations([base, station(21)]), [US])
    assert np.isnan(table.field_50_10_dbuv_m).tolist() == [True, False]
