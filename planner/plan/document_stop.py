"""One stop of the plan document: channels, spans, ranges, carriers, shortages."""

from __future__ import annotations

import bisect
import itertools
import math
from typing import TYPE_CHECKING, Any

from planner.occupancy import surroundings
from planner.plan import explain
from planner.plan.blocks import block_facts, missing_blocks
from planner.plan.clearances import cleared_document, others_document, zones_document
from planner.plan.document_carriers import carriers_document
from planner.plan.heights import bounds_document, height_document
from planner.plan.reserves import reserve_warnings, reserves_document
from planner.plan.scope import closed_at, serves
from planner.plan.world_law import law_asks
from planner.rules.records import LAW_ORDER
from planner.spectrum import split_spans
from planner.units import hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.occupancy import AirSpan, ChannelOccupancy, VerdictAtRisk
    from planner.plan.document_carriers import LastUse, Warnings
    from planner.plan.pipeline import PlanResult
    from planner.plan.scope import ClosedSpan
    from planner.records import GearRange, Licence, Stop
    from planner.rules import LawSpan


def stop_document(
    result: PlanResult, index: int, last: LastUse, when_lost: dict[str, Any]
) -> tuple[dict[str, Any], Warnings]:
    """Return the record of one stop and the warnings found on the way.

    Parameters
    ----------
    result : PlanResult
        The plan.
    index : int
        Which stop.
    last : dict
        What each rig used last; brought up to date here.
    when_lost : dict
        This stop's part of :func:`planner.plan.second_sets.when_lost`.
    """
    stop, occupancy = result.stops[index], result.occupancies[index]
    law, chances = _LawMap(result, stop), result.chances.channels[index].chance
    carriers, assignments, warnings = carriers_document(result, index, last)
    document: dict[str, Any] = {
        "id": stop.id,
        "place": stop.place,
        "venue": stop.venue or None,
        "country": stop.country,
        "lat_deg": round(stop.lat_deg, 6),
        "lon_deg": round(stop.lon_deg, 6),
        "location_error_km": stop.location_error_km,
        "first_date": stop.first_date.isoformat(),
        "last_date": stop.last_date.isoformat(),
        "setting": stop.setting,
        "rig": stop.rig,
        "verdicts_at_risk": [at_risk_document(row) for row in result.at_risk[index]],
        "channels": [
            _channel(result, channel, law, chance=chances[channel.label])
            for channel in occupancy.channels
        ],
        "spans": _spans(occupancy.spans, law, closed_at(result.tour, stop)),
        "ranges": {gear.key: _range(result, gear, stop) for gear in result.gear},
        "carriers": carriers,
        "blocks": block_facts(result, index),
        "short": _short(result, index),
        "status": stop.status,
        "load_in": stop.load_in or None,
        "antenna_height_m": stop.antenna_height_m,
        "noise_environment": surroundings(stop, result.tour.settings),
        "neighbours": list(result.neighbours[index]),
        "licences": [licence_document(row) for row in occupancy.facts.licences],
        "law_asks": law_asks(result, index),
        "coverage_notes": list(explain.coverage_notes(result, index)),
        "cleared": cleared_document(result, index),
        "others": others_document(result, index),
        "assignments": assignments,
        "reserves": reserves_document(result.reserves[index]),
        "zones": zones_document(result.companies[index]),
        "retunes": {
            name: getattr(result.retunes[index], name)
            for name in ("lines", "spares", "forced", "units", "bound")
        },
        **when_lost,
    }
    effect = result.level.effects[index]
    if effect is not None:
        document["heights"] = height_document(effect)
        for record in document["channels"]:
            record["air_level_ground"] = effect.air[str(record["channel"])]
    return document, [*warnings, *reserve_warnings(stop.id, result.reserves[index])]


def at_risk_document(row: VerdictAtRisk) -> dict[str, Any]:
    """Return a channel whose verdict hangs on the venue's coordinates as the document holds it."""
    return {
        "channel": _label(row.label),
        "low_mhz": hz_to_mhz(row.low_hz),
        "high_mhz": hz_to_mhz(row.high_hz),
        "air": row.air,
        "air_at_point": row.air_at_point,
        "law": row.law,
        "law_at_point": row.law_at_point,
    }


def _label(label: str) -> int | str:
    """Return a channel as a number where it is one."""
    return int(label) if label.isdigit() else label


def licence_document(row: Licence) -> dict[str, Any]:
    """Return a licence as the document holds it."""
    return {
        "country": row.country,
        "kind": row.kind,
        "holder": row.holder,
        "valid_from": row.valid_from.isoformat() if row.valid_from else None,
        "valid_to": row.valid_to.isoformat() if row.valid_to else None,
        "stops": list(row.stops),
    }


class _LawMap:
    """The best law any catalogue use gets, span by span."""

    def __init__(self, result: PlanResult, stop: Stop) -> None:
        spans = [span for gear in result.gear for span in result.windows[gear.key, stop.id].law]
        self.edges = sorted({edge for span in spans for edge in (span.low_hz, span.high_hz)})
        self._best: list[LawSpan | None] = [None] * len(self.edges)
        for span in spans:
            first = bisect.bisect_left(self.edges, span.low_hz)
            for k in range(first, bisect.bisect_left(self.edges, span.high_hz)):
                known = self._best[k]
                if known is None or LAW_ORDER.index(span.law) > LAW_ORDER.index(known.law):
                    self._best[k] = span

    def parts(self, low_hz: int, high_hz: int) -> list[tuple[int, int, LawSpan | None]]:
        """Return the span cut where the answer may change, with the best law of each part."""
        first = bisect.bisect_right(self.edges, low_hz)
        inner = self.edges[first : bisect.bisect_left(self.edges, high_hz)]
        cuts = [low_hz, *inner, high_hz]
        return [
            (low, high, self._best[max(0, bisect.bisect_right(self.edges, low) - 1)])
            for low, high in itertools.pairwise(cuts)
        ]


def _law_reasons(span: LawSpan | None) -> list[dict[str, Any]]:
    if span is None:
        return [{"code": "law", "text": "no rule opens this span", "station_id": None}]
    text = f"{span.law} by {span.rule}" + (f": {span.text}" if span.text else "")
    found = [{"code": "law", "text": text, "station_id": None}]
    if span.cleared:
        found.append({"code": "cleared", "text": f"law: {span.cleared}", "station_id": None})
    return found


def _reasons(span: AirSpan | ChannelOccupancy) -> list[dict[str, Any]]:
    return [
        {"code": row.code, "text": row.text, "station_id": row.station_id or None}
        for row in span.reasons
    ]


def _spans(
    spans: tuple[AirSpan, ...], law: _LawMap, closed: Sequence[ClosedSpan]
) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    edges = [edge for row in closed for edge in (row.low_hz, row.high_hz)]
    for span in spans:
        for part_low, part_high, best in law.parts(span.low_hz, span.high_hz):
            for low, high in split_spans([(part_low, part_high)], edges):
                by = [row for row in closed if row.low_hz <= low and high <= row.high_hz]
                record = {
                    "low_mhz": hz_to_mhz(low),
                    "high_mhz": hz_to_mhz(high),
                    "air": span.air,
                    "law": best.law if best else "barred",
                    "reasons": [
                        *(
                            {"code": row.code, "text": row.text, "station_id": None}
                            for row in dict.fromkeys(by)
                        ),
                        *_reasons(span),
                        *_law_reasons(best),
                    ],
                    "coverage": span.coverage,
                    "noise_rise_db": span.noise_rise_db,
                    "table_possible": span.table_possible,
                    "excluded": bool(by),
                }
                if found and _continues(found[-1], record):
                    found[-1]["high_mhz"] = record["high_mhz"]
                else:
                    found.append(record)
    return found


def _continues(before: dict[str, Any], record: dict[str, Any]) -> bool:
    return before["high_mhz"] == record["low_mhz"] and all(
        before[key] == record[key] for key in record if not key.endswith("_mhz")
    )


def _channel(
    result: PlanResult, channel: ChannelOccupancy, law: _LawMap, *, chance: float | None
) -> dict[str, Any]:
    answers = [best for _, _, best in law.parts(channel.low_hz, channel.high_hz) if best]
    best = max(answers, key=lambda span: LAW_ORDER.index(span.law), default=None)
    return {
        "channel": _label(channel.label),
        "low_mhz": hz_to_mhz(channel.low_hz),
        "high_mhz": hz_to_mhz(channel.high_hz),
        "air": channel.air,
        "law": best.law if best else "barred",
        "coverage": channel.coverage,
        "reasons": [*_reasons(channel), *_law_reasons(best)],
        "chance_clear": None if chance is None else round(chance, 3),
        "noise_rise_least_db": channel.noise_rise_least_db,
        "noise_rise_most_db": channel.noise_rise_most_db,
        "transmitters": [_transmitter(result, row) for row in channel.rows],
        "transmitters_not_listed": channel.others,
    }


def _transmitter(result: PlanResult, row: int) -> dict[str, Any]:
    reach = result.reach
    return {
        "station_id": str(result.stations.station_id[reach.station[row]]),
        "distance_km": _rounded(reach.distance_km[row], 2),
        "bearing_from_stop_deg": _azimuth(reach.bearing_from_stop_deg[row]),
        "azimuth_from_transmitter_deg": _azimuth(reach.azimuth_from_transmitter_deg[row]),
        "erp_toward_stop_kw": float(f"{reach.erp_toward_stop_kw[row]:.6g}"),
        "field_50_50_dbuv_m": _rounded(reach.field_50_50_dbuv_m[row], 1),
        "field_50_10_dbuv_m": _rounded(reach.field_50_10_dbuv_m[row], 1),
        "field_height_m": float(reach.field_height_m[row]),
        "sigma_db": _rounded(reach.sigma_db[row], 1),
        "contour_law_km": _rounded(reach.contour_law_km[row], 2),
        "contour_cautious_km": _rounded(reach.contour_cautious_km[row], 2),
        "outside_contour_km": _rounded(reach.outside_cautious_km[row], 2),
        **bounds_document(result, row),
    }


def _rounded(value: float, digits: int) -> float | None:
    number = float(value)
    return None if math.isnan(number) else round(number, digits)


def _azimuth(value: float) -> float:
    return round(float(value), 1) % 360.0


def _range(result: PlanResult, gear: GearRange, stop: Stop) -> dict[str, Any]:
    windows = result.windows[gear.key, stop.id]
    count = result.counts[gear.key, stop.id]
    found = count.links * (len(count.clear_hz) + len(count.faint_hz))
    limit = count.limit(_spares(result, gear))
    return {
        "law_spans": [
            {
                "low_mhz": hz_to_mhz(span.low_hz),
                "high_mhz": hz_to_mhz(span.high_hz),
                "law": span.law,
                "limit_mw": span.limit_mw,
                "limit_kind": span.limit_kind or None,
                "rule": span.rule,
                "licence": span.licence or None,
                "holder": span.holder or None,
                "power_mw": span.power_mw,
                "text": span.text,
                "cleared": span.cleared or None,
            }
            for span in windows.law
        ],
        "windows_mhz": [[hz_to_mhz(low), hz_to_mhz(high)] for low, high in windows.clear_hz],
        "usable_mhz": hz_to_mhz(sum(high - low for low, high in windows.clear_hz)),
        "carriers_found": found,
        "carriers_limit": limit,
        "proven": found == limit,
        "faint_windows_mhz": [[hz_to_mhz(low), hz_to_mhz(high)] for low, high in windows.faint_hz],
        "carriers_mhz": [hz_to_mhz(frequency) for frequency in count.clear_hz],
        "faint_carriers_mhz": [hz_to_mhz(frequency) for frequency in count.faint_hz],
    }


def _spares(result: PlanResult, gear: GearRange) -> int:
    return max((need.spares for need in result.tour.needs if need.role == gear.role), default=0)


def _short(result: PlanResult, index: int) -> list[dict[str, Any]]:
    stop = result.stops[index]
    missing = dict(result.route.stops[index].missing)
    for need in result.tour.needs:
        if serves(need.stops, stop) and need.name not in result.choice:
            missing[need.name] = need.count + need.spares
    return [
        {
            "need": need,
            "missing": count,
            **missing_blocks(result, index, need),
            "binding": explain.binding(result, index, need),
            "cures": [
                {"cure": row.cure, "text": row.text, "missing_after": row.missing_after}
                for row in result.cures.get((stop.id, need), ())
            ],
        }
        for need, count in missing.items()
        if count
    ]
