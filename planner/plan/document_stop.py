"""One stop of the plan document: channels, spans, ranges, carriers, shortages."""

from __future__ import annotations

import bisect
import dataclasses
import itertools
import math
from typing import TYPE_CHECKING, Any

from planner.coordination import PlacedCarrier, nearest_products
from planner.coordination.verify import violations
from planner.errors import PlannerError
from planner.field_strength.height import FCC_CURVE_HEIGHT_M
from planner.plan import explain
from planner.plan.pipeline import fixed_at, serves, spare_names
from planner.ranking import guards_of
from planner.rules.records import LAW_ORDER
from planner.units import hz_to_mhz

if TYPE_CHECKING:
    from planner.occupancy import AirSpan, ChannelOccupancy
    from planner.plan.pipeline import PlanResult
    from planner.records import FixedCarrier, GearRange, Need, Stop
    from planner.rules import LawSpan

LastUse = dict[tuple[str, str, str], dict[str, Any]]
"""Rig, need, line: the carrier record of the last stop at which that rig used the line."""
Warnings = list[dict[str, str]]


def stop_document(result: PlanResult, index: int, last: LastUse) -> tuple[dict[str, Any], Warnings]:
    """Return the record of one stop and the warnings found on the way.

    Parameters
    ----------
    result : PlanResult
        The plan.
    index : int
        Which stop.
    last : dict
        What each rig used last; brought up to date here.
    """
    stop, occupancy = result.stops[index], result.occupancies[index]
    law = _LawMap(result, stop)
    carriers, warnings = _carriers(result, index, last)
    document = {
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
        "verdicts_at_risk": None,
        "channels": [_channel(result, channel, law) for channel in occupancy.channels],
        "spans": _spans(occupancy.spans, law),
        "ranges": {gear.key: _range(result, gear, stop) for gear in result.gear},
        "carriers": carriers,
        "short": _short(result, index),
        "status": stop.status,
        "load_in": stop.load_in or None,
        "antenna_height_m": stop.antenna_height_m,
        "neighbours": list(result.neighbours[index]),
        "law_asks": list(result.rules[index].asks(occupancy.facts.licences, indoor=stop.indoor)),
        "coverage_notes": list(explain.coverage_notes(result, index)),
    }
    return document, warnings


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


def _law_reason(span: LawSpan | None) -> dict[str, Any]:
    if span is None:
        return {"code": "law", "text": "no rule opens this span", "station_id": None}
    text = f"{span.law} by {span.rule}" + (f": {span.text}" if span.text else "")
    return {"code": "law", "text": text, "station_id": None}


def _reasons(span: AirSpan | ChannelOccupancy) -> list[dict[str, Any]]:
    return [
        {"code": row.code, "text": row.text, "station_id": row.station_id or None}
        for row in span.reasons
    ]


def _spans(spans: tuple[AirSpan, ...], law: _LawMap) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for span in spans:
        for low, high, best in law.parts(span.low_hz, span.high_hz):
            record = {
                "low_mhz": hz_to_mhz(low),
                "high_mhz": hz_to_mhz(high),
                "air": span.air,
                "law": best.law if best else "barred",
                "reasons": [*_reasons(span), _law_reason(best)],
                "coverage": span.coverage,
                "noise_rise_db": span.noise_rise_db,
                "table_possible": span.table_possible,
            }
            previous = found[-1] if found else None
            if (
                previous
                and all(previous[key] == record[key] for key in record if not key.endswith("_mhz"))
                and previous["high_mhz"] == record["low_mhz"]
            ):
                previous["high_mhz"] = record["high_mhz"]
            else:
                found.append(record)
    return found


def _channel(result: PlanResult, channel: ChannelOccupancy, law: _LawMap) -> dict[str, Any]:
    answers = [best for _, _, best in law.parts(channel.low_hz, channel.high_hz) if best]
    best = max(answers, key=lambda span: LAW_ORDER.index(span.law), default=None)
    return {
        "channel": int(channel.label) if channel.label.isdigit() else channel.label,
        "low_mhz": hz_to_mhz(channel.low_hz),
        "high_mhz": hz_to_mhz(channel.high_hz),
        "air": channel.air,
        "law": best.law if best else "barred",
        "coverage": channel.coverage,
        "reasons": [*_reasons(channel), _law_reason(best)],
        "chance_clear": None,
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
        "erp_toward_stop_kw": float(reach.erp_toward_stop_kw[row]),
        "field_50_50_dbuv_m": _rounded(reach.field_50_50_dbuv_m[row], 1),
        "field_50_10_dbuv_m": _rounded(reach.field_50_10_dbuv_m[row], 1),
        "field_height_m": FCC_CURVE_HEIGHT_M,
        "sigma_db": _rounded(reach.sigma_db[row], 1),
        "contour_law_km": _rounded(reach.contour_law_km[row], 2),
        "contour_cautious_km": _rounded(reach.contour_cautious_km[row], 2),
        "outside_contour_km": _rounded(reach.outside_cautious_km[row], 2),
    }


def _rounded(value: float, digits: int) -> float | None:
    number = float(value)
    return None if math.isnan(number) else round(number, digits)


def _azimuth(value: float) -> float:
    return round(float(value), 1) % 360.0


def _range(result: PlanResult, gear: GearRange, stop: Stop) -> dict[str, Any]:
    windows = result.windows[gear.key, stop.id]
    count = result.counts[gear.key, stop.id]
    found = len(count.clear_hz) + len(count.faint_hz)
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


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Placed:
    """One carrier on the air at the stop, ours to choose or fixed."""

    name: str
    need: Need | None
    fixed: FixedCarrier | None
    gear: GearRange
    frequency_hz: int
    spare: bool


def _placed(result: PlanResult, index: int) -> list[_Placed]:
    stop, chosen = result.stops[index], result.route.stops[index].carriers
    by_key = {gear.key: gear for gear in result.gear}
    found: list[_Placed] = []
    for need in result.tour.needs:
        if not serves(need.stops, stop) or need.name not in result.choice:
            continue
        spares = spare_names(need)
        found += [
            _Placed(
                name=name,
                need=need,
                fixed=None,
                gear=result.choice[need.name],
                frequency_hz=chosen[need.name, name],
                spare=name in spares,
            )
            for name in (*need.lines, *spares)
            if (need.name, name) in chosen
        ]
    found += [
        _Placed(
            name=row.name,
            need=None,
            fixed=row,
            gear=by_key[row.range_key],
            frequency_hz=row.frequency_hz,
            spare=False,
        )
        for row in fixed_at(result.tour, stop)
    ]
    return found


def _carriers(
    result: PlanResult, index: int, last: LastUse
) -> tuple[list[dict[str, Any]], Warnings]:
    stop = result.stops[index]
    placed = _placed(result, index)
    on_air = [
        PlacedCarrier(frequency_hz=row.frequency_hz, guards=guards_of(row.gear)) for row in placed
    ]
    warnings = _verified(result, stop, placed, on_air)
    products = nearest_products(on_air)
    records = []
    for row, product in zip(placed, products, strict=True):
        record = _carrier(result, index, row)
        if product is not None:
            record["nearest_product"] = {
                "order": product.order,
                "formula": product.formula,
                "offset_khz": round(product.offset_hz / 1000, 3),
            }
        if row.fixed is None:
            _mark_retune(result, stop, row, record, last)
        elif record["air"] != "quiet" or record["law"] != "lawful":
            warnings.append(
                {
                    "code": "fixed-not-clear",
                    "where": stop.id,
                    "text": f"fixed carrier {row.name} on {record['frequency_mhz']:.3f} MHz: air "
                    f"{record['air']}, law {record['law']}; it stays as source and victim",
                }
            )
        records.append(record)
    return records, warnings


def _verified(
    result: PlanResult, stop: Stop, placed: list[_Placed], on_air: list[PlacedCarrier]
) -> Warnings:
    """Pass the set through the independent verifier; only fixed carriers may clash."""
    fixed = {row.frequency_hz for row in placed if row.fixed is not None}
    warnings: Warnings = []
    for clash in violations(on_air):
        if {clash.victim_hz, *clash.sources_hz} <= fixed:
            warnings.append(
                {
                    "code": "fixed-clash",
                    "where": stop.id,
                    "text": f"fixed carriers clash: {clash.kind} at "
                    f"{clash.product_hz / 1e6:.3f} MHz, {clash.distance_hz / 1e3:g} kHz from "
                    f"{clash.victim_hz / 1e6:.3f} MHz (guard {clash.guard_hz / 1e3:g} kHz)",
                }
            )
        else:
            raise PlannerError(f"the verifier refuses the set of {stop.id}: {clash}")
    for row in placed:
        windows = result.windows[row.gear.key, stop.id]
        allowed = (*windows.centres_hz, *(windows.faint_centres_hz if row.spare else ()))
        if row.fixed is None and not any(low <= row.frequency_hz <= high for low, high in allowed):
            raise PlannerError(f"{stop.id}: {row.name} on {row.frequency_hz} Hz leaves its windows")
    return warnings


def _carrier(result: PlanResult, index: int, row: _Placed) -> dict[str, Any]:
    stop, occupancy = result.stops[index], result.occupancies[index]
    half = (row.gear.bandwidth_hz + 1) // 2
    low, high = row.frequency_hz - half, row.frequency_hz + half
    law = next(
        (
            span
            for span in result.windows[row.gear.key, stop.id].law
            if span.low_hz <= row.frequency_hz <= span.high_hz
            and (span.low_hz <= low and high <= span.high_hz)
        ),
        None,
    )
    air = explain.worst_air(occupancy.spans, low, high)
    channel = next(
        (ch.label for ch in result.rules[index].raster if ch.low_hz <= low and high <= ch.high_hz),
        None,
    )
    need = row.need
    return {
        "name": row.name,
        "need": need.name if need else None,
        "role": need.role if need else (row.fixed.role if row.fixed else row.gear.role),
        "form": (need.form if need else row.gear.form) or None,
        "zone": need.zone if need else None,
        "range": row.gear.key,
        "frequency_mhz": hz_to_mhz(row.frequency_hz),
        "bandwidth_khz": row.gear.bandwidth_hz / 1000,
        "power_mw": law.power_mw if law else None,
        "power_kind": row.gear.power_kind,
        "law": law.law if law else "barred",
        "rule": law.rule if law else None,
        "channel": int(channel) if channel and channel.isdigit() else channel,
        "spare": row.spare,
        "spare_grade": need.spare_grade if need and row.spare else None,
        "stands_in_for": list(need.lines) if need and row.spare else [],
        "fixed": row.fixed is not None,
        "other": False,
        "assigned": False,
        "retuned": False,
        "forced": False,
        "previous_frequency_mhz": None,
        "nearest_product": None,
        "noise_rise_db": air.noise_rise_db if air else None,
        "working_range_m": None,
        "air": air.air if air else "unlisted",
        "holder": (law.holder or None) if law else None,
    }


def _mark_retune(
    result: PlanResult, stop: Stop, row: _Placed, record: dict[str, Any], last: LastUse
) -> None:
    """Compare with the last stop at which the same rig used the line."""
    key = (stop.rig, row.need.name if row.need else "", row.name)
    before = last.get(key)
    if before is not None:
        record["previous_frequency_mhz"] = before["frequency_mhz"]
        record["retuned"] = any(
            before[name] != record[name]
            for name in ("frequency_mhz", "power_mw", "power_kind", "range")
        )
        windows = result.windows[row.gear.key, stop.id]
        allowed = (*windows.centres_hz, *(windows.faint_centres_hz if row.spare else ()))
        old_hz = before["_frequency_hz"]
        record["forced"] = record["retuned"] and not any(
            low <= old_hz <= high for low, high in allowed
        )
    last[key] = {**record, "_frequency_hz": row.frequency_hz}


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
            "binding": explain.binding(result, index, need),
            "cures": None,
        }
        for need, count in missing.items()
        if count
    ]
