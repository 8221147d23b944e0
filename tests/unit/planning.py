"""Whole plans of invented records, without files or processes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.geodesy import direct
from planner.plan import PlanResult, Previous, plan_document, run_plan
from planner.reach import with_terrain
from tests.unit.builders import gear, need, nobody_near, station, stations, stop, tour

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.records import GearRange, Need, Stop
    from planner.records.elevation import ElevationGrid

LAT_DEG, LON_DEG = 39.0, -99.0
"""Where the stop of the builders lies."""


def moved(km: float, azimuth_deg: float = 90.0) -> dict[str, float]:
    """Return the point so far from the stop of the builders."""
    lat, lon = direct(LAT_DEG, LON_DEG, azimuth_deg, km)
    return {"lat_deg": float(lat), "lon_deg": float(lon)}


FAR = station(14, erp_kw=0.1, haat_m=30.0, station_id="far", **moved(400))
"""Makes its country covered and raises no noise at the stop."""


def planned(
    *,
    stops: list[Stop] | None = None,
    needs: list[Need] | None = None,
    rows: list[dict[str, Any]] | None = None,
    ranges: list[GearRange] | None = None,
    previous: dict[str, Any] | None = None,
    grids: Sequence[ElevationGrid] = (),
    **more: Any,
) -> PlanResult:
    """Return a quick plan; one stop, one need and one range over UHF where nothing is given."""
    return run_plan(
        tour(stops or [stop()], needs or [need()], **more),
        with_terrain(stations([FAR] if rows is None else rows), grids),
        ranges or [gear()],
        countries_near=nobody_near,
        effort="quick",
        previous=None if previous is None else Previous(document=previous),
    )


def document(result: PlanResult) -> dict[str, Any]:
    """Return the plan document of a result."""
    return plan_document(result, [])


def carriers(record: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return the carriers of one stop of a document by name, fixed ones left out."""
    return {row["name"]: row for row in record["carriers"] if not row["fixed"]}


def frequencies_mhz(record: dict[str, Any]) -> dict[str, float]:
    """Return the frequency of every line and spare of one stop of a document [MHz]."""
    return {name: row["frequency_mhz"] for name, row in carriers(record).items()}
