"""The carriers of one stop in the plan document: verified, explained, compared with before."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from planner.coordination import GuardSet, PlacedCarrier, nearest_products
from planner.coordination.names import Use, is_retune
from planner.coordination.verify import violations
from planner.errors import PlannerError
from planner.plan import explain
from planner.plan.assignments import assignment_rows, assignment_warnings
from planner.plan.retunes import may_stay
from planner.plan.scope import excluded_at, fixed_at, others_at, serves, spare_names
from planner.plan.tasks import other_carrier
from planner.ranking import guards_of
from planner.spectrum import IntervalSet
from planner.units import format_mhz, hz_to_mhz, mhz_to_hz

if TYPE_CHECKING:
    from planner.plan.assignments import AssignedPoint
    from planner.plan.pipeline import PlanResult
    from planner.records import FixedCarrier, GearRange, Need, Other, Stop
    from planner.rules import LawSpan

LastUse = dict[tuple[str, str, str], Use]
"""Rig, need, line: what the line used at the last stop of that rig."""
Warnings = list[dict[str, str]]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Placed:
    """One carrier on the air at the stop: ours to choose, fixed, or somebody else's."""

    name: str
    need: Need | None
    fixed: FixedCarrier | None
    other: Other | None
    gear: GearRange | None
    frequency_hz: int
    spare: bool = False
    use: Use | None = None
    point: AssignedPoint | None = None

    @property
    def ours(self) -> bool:
        """Whether it is ours to choose."""
        return self.need is not None

    @property
    def occupied_hz(self) -> tuple[int, int]:
        """Edges of the occupied bandwidth [Hz]."""
        if self.other is not None:
            return self.other.low_hz, self.other.high_hz
        half = (self.gear.bandwidth_hz + 1) // 2 if self.gear else 0
        return self.frequency_hz - half, self.frequency_hz + half

    @property
    def on_air(self) -> PlacedCarrier:
        """What coordination sees of it."""
        if self.other is not None:
            carrier = other_carrier(self.other)
            if carrier is not None:
                return carrier
        guards = guards_of(self.gear) if self.gear else GuardSet(spacing_hz=0)
        return PlacedCarrier(frequency_hz=self.frequency_hz, guards=guards)


def _placed(result: PlanResult, index: int) -> list[_Placed]:
    stop, chosen = result.stops[index], result.route.stops[index].carriers
    by_key = {gear.key: gear for gear in result.gear}
    found: list[_Placed] = []
    for need in result.tour.needs:
        if not serves(need.stops, stop) or need.name not in result.choice:
            continue
        spares = spare_names(need)
        assigned = result.assigned.get((stop.id, need.name), ())
        for name in (*need.lines, *spares):
            use = chosen.get((need.name, name))
            if use is None:
                continue
            points = (points.at(use.frequency_hz) for points in assigned)
            found.append(
                _Placed(
                    name=name,
                    need=need,
                    fixed=None,
                    other=None,
                    gear=by_key[use.range_key],
                    frequency_hz=use.frequency_hz,
                    spare=name in spares,
                    use=use,
                    point=next((point for point in points if point and not point.refusal), None),
                )
            )
    found += [
        _Placed(
            name=row.name,
            need=None,
            fixed=row,
            other=None,
            gear=by_key[row.range_key],
            frequency_hz=row.frequency_hz,
        )
        for row in fixed_at(result.tour, stop)
    ]
    found += [
        _Placed(
            name=row.owner,
            need=None,
            fixed=None,
            other=row,
            gear=None,
            frequency_hz=row.frequency_hz,
        )
        for row in others_at(result.tour, stop)
        if row.frequency_hz is not None
    ]
    return found


def carriers_document(
    result: PlanResult, index: int, last: LastUse
) -> tuple[list[dict[str, Any]], list[dict[str, Any]], Warnings]:
    """Return the carriers of a stop, what became of assigned frequencies, and the warnings.

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
    blocks = [
        carrier
        for row in others_at(result.tour, stop)
        if row.frequency_hz is None and (carrier := other_carrier(row)) is not None
    ]
    on_air = [row.on_air for row in placed]
    warnings = _verified(result, index, placed, [*on_air, *blocks])
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
        if row.ours:
            _mark_retune(result, stop, row, record, last)
        elif row.fixed is not None and (why := _not_clear(result, index, row, record)):
            text = (
                f"fixed carrier {row.name} on {format_mhz(row.frequency_hz)} MHz: {why}; it stays "
                "as source and victim"
            )
            warnings.append(_warning("fixed-not-clear", stop, text))
        records.append(record)
    warnings += mark_pairs(result, stop, records)
    assignments, more = _assignments(result, stop, placed, [*on_air, *blocks])
    return records, assignments, [*warnings, *more]


def _assignments(
    result: PlanResult, stop: Stop, placed: list[_Placed], on_air: list[PlacedCarrier]
) -> tuple[list[dict[str, Any]], Warnings]:
    """Return every assigned frequency of the stop: who uses it, or why it goes back."""
    found: list[dict[str, Any]] = []
    warnings: Warnings = []
    for (stop_id, need), judged in result.assigned.items():
        if stop_id != stop.id:
            continue
        users = {row.frequency_hz: row.name for row in placed if row.need and row.need.name == need}
        rows = assignment_rows(judged, users)
        guards = guards_of(result.choice[need][0])
        free = {hz for points in judged for hz in points.usable_hz} - set(users)
        for row in rows:
            frequency_hz = mhz_to_hz(row["frequency_mhz"])
            if frequency_hz in free:
                mine = PlacedCarrier(frequency_hz=frequency_hz, guards=guards)
                clash = next(
                    (v for v in violations([*on_air, mine]) if frequency_hz in v.carriers_hz), None
                )
                if clash is not None:
                    row["why"] = f"clashes with the carriers chosen: {clash.line()}"
        found += rows
        warnings += [
            {"code": code, "where": where, "text": text}
            for code, where, text in assignment_warnings(judged, users)
        ]
    return found, warnings


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
    """Pass the set through the independent verifier; only what is not ours may clash."""
    stop = result.stops[index]
    given = {row.frequency_hz for row in placed if not row.ours}
    chosen = {row.frequency_hz for row in placed if row.ours}
    if given & chosen:
        raise PlannerError(f"{stop.id}: a chosen carrier stands on a fixed one: {given & chosen}")
    warnings: Warnings = []
    for clash in violations(on_air):
        if chosen & {clash.victim_hz, *clash.sources_hz}:
            raise PlannerError(f"the verifier refuses the set of {stop.id}: {clash.line()}")
        text = f"carriers that are not ours to move clash: {clash.line()}"
        warnings.append(_warning("fixed-clash", stop, text))
    for row in placed:
        if row.ours and not _stands(result, index, row):
            raise PlannerError(
                f"{stop.id}: {row.name} on {row.frequency_hz} Hz leaves its windows or its grid"
            )
    return warnings


def _stands(result: PlanResult, index: int, row: _Placed) -> bool:
    """Say whether a carrier of ours stands in its windows, or where it is assigned, on its grid."""
    if row.gear is None or row.need is None:
        return False
    stop = result.stops[index]
    windows = result.windows[row.gear.key, stop.id]
    if (stop.id, row.need.name) in result.assigned:
        inside = row.point is not None
    else:
        allowed = (*windows.centres_hz, *(windows.faint_centres_hz if row.spare else ()))
        inside = any(low <= row.frequency_hz <= high for low, high in allowed)
    return (
        inside
        and _on(row.frequency_hz, (row.gear.tuning_origin_hz, row.gear.step_hz))
        and _on(row.frequency_hz, result.rules[index].carrier_raster_hz)
    )


def _on(frequency_hz: int, grid_hz: tuple[int, int]) -> bool:
    return (frequency_hz - grid_hz[0]) % grid_hz[1] == 0


def _warning(code: str, stop: Stop, text: str) -> dict[str, str]:
    return {"code": code, "where": stop.id, "text": text}


def _law_at(result: PlanResult, index: int, row: _Placed) -> LawSpan | None:
    """Return the law in which the whole bandwidth of a carrier of ours lies."""
    if row.gear is None or not _on(row.frequency_hz, result.rules[index].carrier_raster_hz):
        return None  # the law's raster has no carrier there
    low, high = row.occupied_hz
    windows = result.windows[row.gear.key, result.stops[index].id]
    return next((span for span in windows.law if span.low_hz <= low and high <= span.high_hz), None)


def _carrier(result: PlanResult, index: int, row: _Placed) -> dict[str, Any]:
    occupancy = result.occupancies[index]
    low, high = row.occupied_hz
    law = _law_at(result, index, row)
    air = explain.worst_air(occupancy.spans, low, high)
    channel = next(
        (ch.label for ch in result.rules[index].raster if ch.low_hz <= low and high <= ch.high_hz),
        None,
    )
    need, gear = row.need, row.gear
    record = {
        "name": row.name,
        "need": need.name if need else None,
        "role": need.role if need else (row.fixed.role if row.fixed else "other"),
        "form": (need.form if need else (gear.form if gear else None)) or None,
        "zone": need.zone if need else (row.other.zone if row.other else None),
        "range": gear.key if gear else None,
        "frequency_mhz": hz_to_mhz(row.frequency_hz),
        "bandwidth_khz": (high - low) / 1000 if gear is None else gear.bandwidth_hz / 1000,
        "power_mw": row.use.power_mw if row.use else (law.power_mw if law else None),
        "power_kind": gear.power_kind if gear else None,
        "law": law.law if law else "barred",
        "rule": law.rule if law else None,
        "channel": int(channel) if channel and channel.isdigit() else channel,
        "spare": row.spare,
        "spare_grade": need.spare_grade if need and row.spare else None,
        "stands_in_for": list(need.lines) if need and row.spare else [],
        "fixed": row.fixed is not None,
        "other": row.other is not None,
        "assigned": row.point is not None,
        "retuned": False,
        "forced": False,
        "previous_frequency_mhz": None,
        "nearest_product": None,
        "noise_rise_db": air.noise_rise_db if air else None,
        "working_range_m": None,
        "air": air.air if air else "unlisted",
        "licence": (law.licence or None) if law else None,
        "holder": (law.holder or None) if law else None,
        "pair": None,
        "reference": row.point.row.reference or None if row.point else None,
    }
    if row.point is not None and record["law"] == "on-request":
        record["law"] = "lawful"
    if row.other is not None:
        record["law"] = None
    return record


def _mark_retune(
    result: PlanResult, stop: Stop, row: _Placed, record: dict[str, Any], last: LastUse
) -> None:
    """Compare with the last stop at which the same rig used the line."""
    if row.need is None or row.use is None:
        return
    key = (stop.rig, row.need.name, row.name)
    before = last.get(key)
    last[key] = row.use
    if before is None:
        return
    record["previous_frequency_mhz"] = hz_to_mhz(before.frequency_hz)
    record["retuned"] = is_retune(before, row.use)
    if record["retuned"]:
        tasks = {task.stop_id: task for task in result.tasks}
        need = next(task for task in tasks[stop.id].needs if task.name == row.need.name)
        record["forced"] = not may_stay(need, before, spare=row.spare)


def mark_pairs(result: PlanResult, stop: Stop, records: list[dict[str, Any]]) -> Warnings:
    """Write down the distance of each performer's two carriers; warn where it is too small."""
    least_mhz = result.tour.settings.pair_separation_mhz
    close: list[str] = []
    by_name = {(row["need"], row["name"]): row for row in records if not row["spare"]}
    for need in result.tour.needs:
        for line in need.lines if need.pair_with else ():
            mine, other = by_name.get((need.name, line)), by_name.get((need.pair_with, line))
            if mine is None or other is None:
                continue
            apart = round(abs(mine["frequency_mhz"] - other["frequency_mhz"]), 6)
            for one, two in ((mine, other), (other, mine)):
                one["pair"] = {
                    "need": two["need"],
                    "name": two["name"],
                    "separation_mhz": apart,
                    "kept": apart >= least_mhz,
                }
            if apart < least_mhz:
                close.append(f"{line} ({apart:g} MHz)")
    if not close:
        return []
    text = (
        f"carriers of one performer nearer than {least_mhz:g} MHz: {', '.join(close)}; the "
        "microphone beside the pack may deafen it: try before the show"
    )
    return [_warning("pair-close", stop, text)]
