"""The carriers of one stop in the plan document: verified, explained, compared with before."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from planner.coordination import PlacedCarrier, nearest_products
from planner.coordination.verify import violations
from planner.errors import PlannerError
from planner.plan import explain
from planner.plan.scope import excluded_at, fixed_at, serves, spare_names
from planner.ranking import guards_of
from planner.spectrum import IntervalSet
from planner.units import format_mhz, hz_to_mhz

if TYPE_CHECKING:
    from planner.plan.pipeline import PlanResult
    from planner.records import FixedCarrier, GearRange, Need, Stop

LastUse = dict[tuple[str, str, str], dict[str, Any]]
"""Rig, need, line: the carrier record of the last stop at which that rig used the line."""
Warnings = list[dict[str, str]]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Placed:
    """One carrier on the air at the stop, ours to choose or fixed."""

    name: str
    need: Need | None
    fixed: FixedCarrier | None
    gear: GearRange
    frequency_hz: int
    spare: bool

    @property
    def occupied_hz(self) -> tuple[int, int]:
        """Edges of the occupied bandwidth [Hz]."""
        half = (self.gear.bandwidth_hz + 1) // 2
        return self.frequency_hz - half, self.frequency_hz + half


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


def carriers_document(
    result: PlanResult, index: int, last: LastUse
) -> tuple[list[dict[str, Any]], Warnings]:
    """Return the carriers of a stop and the warnings about them.

    Parameters
    ----------
    result, index : PlanResult, int
        The plan, and which stop.
    last : dict
        What each rig used last; brought up to date here.

    Raises
    ------
    PlannerError
        When the independent verifier refuses a chosen carrier.
    """
    stop = result.stops[index]
    placed = _placed(result, index)
    on_air = [
        PlacedCarrier(frequency_hz=row.frequency_hz, guards=guards_of(row.gear)) for row in placed
    ]
    warnings = _verified(result, index, placed, on_air)
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
        elif why := _not_clear(result, index, row, record):
            text = (
                f"fixed carrier {row.name} on {format_mhz(row.frequency_hz)} MHz: {why}; it stays "
                "as source and victim"
            )
            warnings.append(_warning("fixed-not-clear", stop, text))
        records.append(record)
    return records, warnings


def _not_clear(result: PlanResult, index: int, row: _Placed, record: dict[str, Any]) -> str:
    """Say why a fixed carrier does not stand in usable spectrum, empty where it does."""
    low, high = row.occupied_hz
    why = []
    if record["air"] != "quiet" or record["law"] != "lawful":
        why.append(f"air {record['air']}, law {record['law']}")
    if not _on(row.frequency_hz, result.rules[index].carrier_raster_hz):
        why.append("off the law's raster")
    if record["channel"] is None and any(
        ch.low_hz < high and low < ch.high_hz for ch in result.rules[index].raster
    ):
        why.append("not inside one TV channel")
    if excluded_at(result.tour, result.stops[index]) & IntervalSet([(low, high)]):
        why.append("inside spectrum that the tour file excludes")
    return ", ".join(why)


def _verified(
    result: PlanResult, index: int, placed: list[_Placed], on_air: list[PlacedCarrier]
) -> Warnings:
    """Pass the set through the independent verifier; only fixed carriers may clash."""
    stop = result.stops[index]
    fixed = {row.frequency_hz for row in placed if row.fixed is not None}
    chosen = {row.frequency_hz for row in placed if row.fixed is None}
    if fixed & chosen:
        raise PlannerError(f"{stop.id}: a chosen carrier stands on a fixed one: {fixed & chosen}")
    warnings: Warnings = []
    for clash in violations(on_air):
        if chosen & {clash.victim_hz, *clash.sources_hz}:
            raise PlannerError(f"the verifier refuses the set of {stop.id}: {clash.line()}")
        warnings.append(_warning("fixed-clash", stop, f"fixed carriers clash: {clash.line()}"))
    raster = result.rules[index].carrier_raster_hz
    for row in placed:
        windows = result.windows[row.gear.key, stop.id]
        allowed = (*windows.centres_hz, *(windows.faint_centres_hz if row.spare else ()))
        if row.fixed is None and not (
            any(low <= row.frequency_hz <= high for low, high in allowed)
            and _on(row.frequency_hz, (row.gear.tuning_origin_hz, row.gear.step_hz))
            and _on(row.frequency_hz, raster)
        ):
            raise PlannerError(
                f"{stop.id}: {row.name} on {row.frequency_hz} Hz leaves its windows or its grid"
            )
    return warnings


def _on(frequency_hz: int, grid_hz: tuple[int, int]) -> bool:
    return (frequency_hz - grid_hz[0]) % grid_hz[1] == 0


def _warning(code: str, stop: Stop, text: str) -> dict[str, str]:
    return {"code": code, "where": stop.id, "text": text}


def _carrier(result: PlanResult, index: int, row: _Placed) -> dict[str, Any]:
    stop, occupancy = result.stops[index], result.occupancies[index]
    low, high = row.occupied_hz
    law = next(
        (
            span
            for span in result.windows[row.gear.key, stop.id].law
            if span.low_hz <= row.frequency_hz <= span.high_hz
            and (span.low_hz <= low and high <= span.high_hz)
        ),
        None,
    )
    if not _on(row.frequency_hz, result.rules[index].carrier_raster_hz):
        law = None  # the law's raster has no carrier there
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
