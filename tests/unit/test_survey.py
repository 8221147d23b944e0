"""The survey: the same answer again when only licences are others."""

from __future__ import annotations

import dataclasses

import pytest

from planner.plan.survey import occupancy_with, survey
from planner.records import Cleared, Licence
from tests.unit.builders import gear, need, nobody_near, station, stations, stop, tour

TABLE = stations(
    [
        station(30, lat_deg=42.2, lon_deg=-88.0, erp_kw=1.0),
        station(32, lat_deg=43.0, lon_deg=-87.9, erp_kw=10.0, station_id="near"),
    ]
)
PART_74 = Licence(country="US", kind="part-74", holder="Rig Hire")
ELSEWHERE = dataclasses.replace(PART_74, stops=("b",))
CLEARED = Cleared(
    stop="a", low_hz=578_000_000, high_hz=584_000_000, basis="agreement", by="Invented Coordinator"
)
"""Channel 32: an agreement counts for the law where a licence is held."""
MILWAUKEE = {"lat_deg": 43.0389, "lon_deg": -87.9065}


@pytest.mark.parametrize("error_km", [0.0, 15.0])
@pytest.mark.parametrize("cleared", [(), (CLEARED,)])
@pytest.mark.parametrize("licences", [(PART_74,), (ELSEWHERE,), ()])
def test_with_other_licences_as_if_surveyed_anew(
    licences: tuple[Licence, ...], cleared: tuple[Cleared, ...], error_km: float
) -> None:
    stops = [
        stop(id="a", location_error_km=error_km, **MILWAUKEE),
        stop(id="b", location_error_km=error_km, **MILWAUKEE),
        stop(id="c", status="cancelled", **MILWAUKEE),
    ]
    before = tour(stops, [need()], cleared=cleared)
    after = dataclasses.replace(before, licences=licences)
    found = survey(before, TABLE, [gear()], countries_near=nobody_near)
    anew = survey(after, TABLE, [gear()], countries_near=nobody_near)
    for index, row in enumerate(found.stops):
        assert occupancy_with(found, after, row) == anew.occupancies[index]
    if licences == (PART_74,):
        assert occupancy_with(found, after, found.stops[0]) != found.occupancies[0]


def test_the_air_before_a_clearance_is_kept() -> None:
    one = tour([stop(id="a", location_error_km=0.0, **MILWAUKEE)], [need()], cleared=(CLEARED,))
    found = survey(one, TABLE, [gear()], countries_near=nobody_near)
    span = [row for row in found.predicted[0].spans if row.low_hz == 578_000_000]
    assert [row.air for row in span] == ["held"]
    assert found.occupancies[0] is found.point_occupancies[0]
    assert found.occupancies[0] != found.predicted[0]
