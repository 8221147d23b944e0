"""A plan as the document that plan.json holds: schema ``passband-plan/1``."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, Any

import numpy as np

from planner import __version__
from planner.geodesy import RADIALS, outline
from planner.plan import explain
from planner.plan.blocks import lines_of
from planner.plan.buying import buying_document
from planner.plan.document_gear import gear_document
from planner.plan.document_stop import licence_document, stop_document
from planner.plan.hookup import hookup_section
from planner.plan.second_sets import when_lost
from planner.plan.warn import tour_warnings
from planner.plan.world_law import deadlines_document
from planner.spectrum import IntervalSet, common, depth, stop_costs
from planner.units import hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from planner.plan.document_carriers import LastUse
    from planner.plan.pipeline import PlanResult
    from planner.records.hookup import Part

SCHEMA = "passband-plan/1"
_CONTOUR_DECIMALS = 4
"""1e-4 deg is about 11 m."""
_CONTOUR_SHOWN_KM = 50.0
"""Contours are written for stations that some stop comes this near to."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class InputFile:
    """One file the plan was made from; the name as the user wrote it, never absolute."""

    file: str
    sha256: str
    rows: int | None = None
    issued: str | None = None
    coverage: str | None = None


def plan_document(
    result: PlanResult,
    inputs: Sequence[InputFile],
    *,
    previous: Mapping[str, Any] | None = None,
    parts: Sequence[Part] = (),
) -> dict[str, Any]:
    """Return the plan as a document of plain values, keys in the contract's order.

    Parameters
    ----------
    result : PlanResult
        What the stages found.
    inputs : sequence of InputFile
        Files read, for the record.
    previous : mapping or None
        The earlier plan that this one follows; sets ``issue`` and ``replaces``.
    parts : sequence of Part
        The parts catalogue of ``[hookup]``; without parts there is no hook-up in the document.

    Raises
    ------
    PlannerError
        When a set of carriers does not pass the independent verifier.
    """
    warnings = [*tour_warnings(result)]
    stops = []
    last: LastUse = {}
    for index, lost in enumerate(when_lost(result)):
        record, found = stop_document(result, index, last, lost)
        stops.append(record)
        warnings += found
    document = {
        "schema": SCHEMA,
        "tour": _tour(result),
        "made": {
            "version": __version__,
            "seed": 0,
            "effort": result.effort,
            "steps": result.route.steps,
            "issue": 1,
            "replaces": None,
        },
        "inputs": [dataclasses.asdict(row) for row in inputs],
        "transmitters": _transmitters(result),
        "stops": stops,
        "common": _common(result),
        "ranking": _ranking(result),
        "combinations": _combinations(result),
        "hookup": None,
        "deadlines": deadlines_document(result),
        "warnings": warnings,
        "cautions": list(explain.CAUTIONS),
        "needs": [
            {
                "name": need.name,
                "role": need.role,
                "form": need.form,
                "lines": list(need.lines),
                "count": need.count,
                "spares": need.spares,
                "units_per_line": need.units_per_line,
                "stops": list(need.stops),
                "pair_with": need.pair_with or None,
                "ranges_max": need.ranges_max,
                "zone": need.zone,
                "active": list(need.active),
            }
            for need in result.tour.needs
        ],
        "choice": {need: [row.key for row in rows] for need, rows in result.choice.items()},
        "combinations_tried": {
            "tried": result.joint.tried,
            "possible": result.joint.possible,
        },
        "owned": [
            {
                "range": row.range_key,
                "receivers": row.receivers,
                "transmitters": row.transmitters,
            }
            for row in result.tour.owned
        ],
        "gear": gear_document(result.gear),
    }
    document["hookup"], more = hookup_section(result, document, parts)
    warnings += more
    document["buying"] = buying_document(result.tour, result.gear, document)
    _number_issue(document, previous)
    return document


def _number_issue(document: dict[str, Any], previous: Mapping[str, Any] | None) -> None:
    """Count issues: a plan that changes nothing keeps its number."""
    if previous is None:
        return
    made, before = document["made"], previous["made"]
    changed = any(
        document[key] != previous.get(key) for key in document if key not in ("made", "inputs")
    )
    made["issue"] = before["issue"] + 1 if changed else before["issue"]
    made["replaces"] = before["issue"] if changed else before["replaces"]


def _tour(result: PlanResult) -> dict[str, Any]:
    tour = result.tour
    settings = dataclasses.asdict(tour.settings)
    settings["accept_unconfirmed"] = list(tour.settings.accept_unconfirmed)
    return {
        "name": tour.name,
        "licences": [licence_document(row) for row in tour.licences],
        "settings": settings,
        "paper": tour.paper,
        "distances": tour.distances,
    }


def _transmitters(result: PlanResult) -> dict[str, Any]:
    """Return every transmitter that some stop lists, with its contour polygons."""
    rows = sorted(
        {row for occupancy in result.occupancies for ch in occupancy.channels for row in ch.rows}
    )
    reach, stations = result.reach, result.stations
    nearest: dict[int, int] = {}
    for row in rows:
        index = int(reach.station[row])
        if index not in nearest or _gap(result, row) < _gap(result, nearest[index]):
            nearest[index] = row
    order = sorted(nearest)
    shown = [index for index in order if _gap(result, nearest[index]) <= _CONTOUR_SHOWN_KM]
    pick = np.array([nearest[index] for index in shown], dtype=np.int64)
    law, cautious = (
        dict(zip(shown, _outlines(result, pick, radius_km, radii_km), strict=True))
        for radius_km, radii_km in (
            (reach.contour_law_km, reach.law_radii_km),
            (reach.contour_cautious_km, reach.cautious_radii_km),
        )
    )
    return {
        str(stations.station_id[index]): {
            "name": str(stations.name[index]),
            "country": str(stations.country[index]),
            "service": str(stations.service[index]) or None,
            "channel": channel_value(str(stations.channel[index])),
            "low_mhz": hz_to_mhz(int(stations.low_hz[index])),
            "high_mhz": hz_to_mhz(int(stations.high_hz[index])),
            "lat_deg": round(float(stations.lat_deg[index]), 6),
            "lon_deg": round(float(stations.lon_deg[index]), 6),
            "erp_kw": float(stations.erp_kw[index]),
            "haat_m": round(float(reach.haat_m[nearest[index]]), 1),
            "haat_assumed": bool(reach.haat_assumed[nearest[index]]),
            "table": result.stations.files[int(stations.table[index])],
            "pattern": str(stations.pattern[index]) or None,
            "pattern_rotation_deg": (
                float(stations.pattern_rotation_deg[index]) if stations.pattern[index] else None
            ),
            "pattern_known": bool(stations.pattern_curve[index] >= 0),
            "group": str(stations.group_id[index]) or None,
            "contours": (
                {"law": law[index], "cautious": cautious[index]} if index in law else None
            ),
        }
        for index in order
    }


def _gap(result: PlanResult, row: int) -> float:
    """Return how far a stop is outside a contour [km], infinite where there is no contour."""
    gap = float(result.reach.outside_cautious_km[row])
    return math.inf if math.isnan(gap) else gap


def channel_value(label: str) -> int | str | None:
    """Return a channel label as the contract writes it: integer where it is one."""
    return (int(label) if label.isdigit() else label) or None


def _outlines(
    result: PlanResult,
    rows: npt.NDArray[np.int64],
    radius_km: npt.NDArray[np.float64],
    radii_km: npt.NDArray[np.float64],
) -> list[list[list[float]]]:
    """Return the contour of each reach row as longitude and latitude [deg]: circle or polygon."""
    if not rows.size:
        return []
    station = result.reach.station[rows]
    radii = np.repeat(radius_km[rows][:, None], RADIALS, axis=1)
    polygon = result.reach.polygon[rows]
    radii[polygon >= 0] = radii_km[polygon[polygon >= 0]]
    lat, lon = outline(result.stations.lat_deg[station], result.stations.lon_deg[station], radii)
    outlines: list[list[list[float]]] = np.round(
        np.stack([lon, lat], axis=-1), _CONTOUR_DECIMALS
    ).tolist()
    return outlines


def _common(result: PlanResult) -> dict[str, Any]:
    usable = {
        stop.id: IntervalSet(
            span for gear in result.gear for span in result.windows[gear.key, stop.id].clear_hz
        )
        for stop in result.stops
    }
    edges = {e for rules in result.rules for ch in rules.raster for e in (ch.low_hz, ch.high_hz)}
    full = common(list(usable.values()))
    return {
        "full_windows_mhz": [span_mhz(span) for span in full.split(edges)],
        "depth": [
            {
                "low_mhz": hz_to_mhz(row.low_hz),
                "high_mhz": hz_to_mhz(row.high_hz),
                "stops": list(row.stops),
            }
            for row in depth(usable, result.searched)
        ],
        "legs": [
            {
                "first": leg.stop_ids[0],
                "last": leg.stop_ids[-1],
                "house_carriers": [
                    {"need": need, "name": line, "frequency_mhz": hz_to_mhz(use.frequency_hz)}
                    for (need, name), use in leg.carriers.items()
                    for line in lines_of(result, need, name)
                ],
            }
            for leg in result.route.legs
        ],
        "stop_costs_mhz": {stop: hz_to_mhz(cost) for stop, cost in stop_costs(usable).items()},
    }


def span_mhz(span: tuple[int, int]) -> list[float]:
    """Return a span as a pair in MHz."""
    return [hz_to_mhz(span[0]), hz_to_mhz(span[1])]


def _ranking(result: PlanResult) -> list[dict[str, Any]]:
    return [
        {
            "need": row.need,
            "range": row.range_key,
            "rank": row.rank,
            "stops_met": row.stops_met,
            "stops": row.stops,
            "worst_stop": row.worst_stop,
            "worst_headroom": row.worst_headroom,
            "worst_headroom_limit": row.worst_headroom_limit,
            "common_usable_mhz": hz_to_mhz(row.common_usable_hz),
            "why": row.why,
            "headrooms": dict(row.headrooms),
        }
        for rows in result.ranking.values()
        for row in rows
    ]


def _combinations(result: PlanResult) -> list[dict[str, Any]]:
    return [
        {
            "ranges": {need: list(keys) for need, keys in row.ranges.items()},
            "rank": row.rank,
            "stops_met": row.stops_met,
            "worst_stop": row.worst_stop,
            "worst_headroom": dict(row.worst_headroom),
            "retunes": row.retunes,
            "retunes_bound": row.retunes_bound,
            "chance_all_stops": None if chance is None else round(chance, 3),
            "why": row.why,
            "stops": row.stops,
            "confirmed_met": row.confirmed_met,
            "headrooms": {stop: dict(heads) for stop, heads in row.headrooms.items()},
        }
        for row, chance in zip(result.joint.combinations, result.chances.all_stops, strict=True)
    ]
