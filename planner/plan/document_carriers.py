"""The carriers of one stop in the plan document: verified, explained, compared with before."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.coordination import PlacedCarrier
from planner.coordination.names import Use, is_retune
from planner.coordination.two_ways import return_name
from planner.coordination.verify import violations
from planner.errors import PlannerError
from planner.occupancy import CarrierLink, carrier_range_m, carrier_rise_db
from planner.plan import explain
from planner.plan.assignments import assignment_rows, assignment_warnings
from planner.plan.blocks import one_a_line, product_warnings
from planner.plan.document_pairs import mark_pairs
from planner.plan.document_spares import (
    FULL,
    STAND_IN,
    products_of,
    stand_in_warnings,
    verify_stand_ins,
)
from planner.plan.duplex import BACK
from planner.plan.placed import Placed, placed_at
from planner.plan.retunes import may_stay
from planner.plan.scope import excluded_at, others_at
from planner.plan.tasks import other_carrier
from planner.ranking import guards_of
from planner.spectrum import IntervalSet
from planner.units import format_mhz, hz_to_mhz, mhz_to_hz

if TYPE_CHECKING:
    from planner.plan.pipeline import PlanResult
    from planner.records import Stop
    from planner.rules import LawSpan

LastUse = dict[tuple[str, str, str], Use]
"""Rig, need, line: what the line used at the last stop of that rig."""
Warnings = list[dict[str, str]]


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
    company = result.companies[index]
    placed = placed_at(result, index)
    blocks = [
        carrier
        for row, group in zip(others_at(result.tour, stop), company.others, strict=True)
        if row.frequency_hz is None and (carrier := other_carrier(row, group)) is not None
    ]
    on_air = [row.on_air for row in placed]
    replaced = [_replaced(placed, row) for row in placed]
    together = [row for row, lines in zip(on_air, replaced, strict=True) if not lines]
    warnings = _verified(result, index, placed, [*together, *blocks])
    verify_stand_ins(on_air, replaced, blocks=blocks, company=company.company)
    warnings += stand_in_warnings(stop, result.tour.needs, result.route.stops[index])
    products = products_of(on_air, replaced, company.company)
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
        records += one_a_line(record, row.holds)
    warnings += mark_pairs(result, stop, records)
    warnings += product_warnings(stop, *_blocks_and_carriers(placed))
    assignments, more = _assignments(result, index, placed, [*together, *blocks])
    return records, assignments, [*warnings, *more]


def _blocks_and_carriers(
    placed: list[Placed],
) -> tuple[list[tuple[int, int]], list[tuple[str, int, int, int]]]:
    """Return the edges of the blocks of a stop, and its carriers with guard and bandwidth."""
    blocks, carriers = [], []
    for row in placed:
        if row.gear is not None and row.gear.links_per_block:
            blocks.append(row.occupied_hz)
        elif row.frequency_hz:
            guard_hz, (low, high) = row.on_air.guards.guard_2a_b_hz, row.occupied_hz
            carriers.append((row.name, row.frequency_hz, guard_hz, max(1, high - low)))
    return blocks, carriers


def _replaced(placed: list[Placed], spare: Placed) -> tuple[int, ...]:
    """Return the places of the lines that a spare stands in for."""
    return tuple(
        place
        for place, row in enumerate(placed)
        if row.name in spare.stands_in_for and row.need is spare.need and not row.spare
    )


def _assignments(
    result: PlanResult, index: int, placed: list[Placed], on_air: list[PlacedCarrier]
) -> tuple[list[dict[str, Any]], Warnings]:
    """Return every assigned frequency of the stop: who uses it, or why it goes back."""
    found: list[dict[str, Any]] = []
    warnings: Warnings = []
    stop, company = result.stops[index], result.companies[index]
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
                group = company.group(need, result.choice[need][0])
                mine = PlacedCarrier(frequency_hz=frequency_hz, guards=guards, group=group)
                clash = next(
                    (
                        v
                        for v in violations([*on_air, mine], company.company)
                        if frequency_hz in v.carriers_hz
                    ),
                    None,
                )
                if clash is not None:
                    row["why"] = f"clashes with the carriers chosen: {clash.line()}"
        found += rows
        warnings += [
            {"code": code, "where": where, "text": text}
            for code, where, text in assignment_warnings(judged, users)
        ]
    return found, warnings


def _not_clear(result: PlanResult, index: int, row: Placed, record: dict[str, Any]) -> str:
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
    result: PlanResult, index: int, placed: list[Placed], on_air: list[PlacedCarrier]
) -> Warnings:
    """Pass the set through the independent verifier; only what is not ours may clash."""
    stop = result.stops[index]
    company = result.tasks[index].company
    chosen = {row.frequency_hz for row in placed if row.ours}
    both = {
        row.frequency_hz
        for row in placed
        for given in placed
        if (row.ours and not given.ours and row.frequency_hz == given.frequency_hz)
        and company.together((row.group, given.group))
    }
    if both:
        raise PlannerError(f"{stop.id}: a chosen carrier stands on a fixed one: {both}")
    warnings: Warnings = []
    for clash in violations(on_air, company):
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


def _stands(result: PlanResult, index: int, row: Placed) -> bool:
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


def _law_at(result: PlanResult, index: int, row: Placed) -> LawSpan | None:
    """Return the law in which the whole bandwidth of a carrier of ours lies."""
    if row.gear is None or not _on(row.frequency_hz, result.rules[index].carrier_raster_hz):
        return None  # the law's raster has no carrier there
    low, high = row.occupied_hz
    windows = result.windows[row.gear.key, result.stops[index].id]
    return next((span for span in windows.law if span.low_hz <= low and high <= span.high_hz), None)


def _power_mw(row: Placed, law: LawSpan | None) -> float | None:
    return row.use.power_mw if row.use else (law.power_mw if law else None)


def _link(result: PlanResult, index: int, row: Placed, law: LawSpan | None) -> CarrierLink:
    form = (row.need.form if row.need else "") or (row.gear.form if row.gear else "")
    role = row.need.role if row.need else (row.fixed.role if row.fixed else "")
    return CarrierLink(
        power_mw=_power_mw(row, law),
        form=form,
        role=role,
        stop=result.stops[index],
        settings=result.tour.settings,
    )


def _carrier(result: PlanResult, index: int, row: Placed) -> dict[str, Any]:
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
        "range": (gear.return_of or gear.key) if gear else None,
        "frequency_mhz": hz_to_mhz(row.frequency_hz),
        "bandwidth_khz": (high - low) / 1000 if gear is None else gear.bandwidth_hz / 1000,
        "power_mw": _power_mw(row, law),
        "power_kind": gear.power_kind if gear else None,
        "law": law.law if law else "barred",
        "rule": law.rule if law else None,
        "channel": int(channel) if channel and channel.isdigit() else channel,
        "spare": row.spare,
        "spare_grade": (STAND_IN if row.stands_in_for else FULL) if row.spare else None,
        "stands_in_for": list(row.stands_in_for or need.lines) if need and row.spare else [],
        "fixed": row.fixed is not None,
        "other": row.other is not None,
        "assigned": row.point is not None,
        "retuned": False,
        "forced": False,
        "previous_frequency_mhz": None,
        "nearest_product": None,
        "noise_rise_db": carrier_rise_db(
            gear, occupancy, air=air, span_hz=(low, high), settings=result.tour.settings
        ),
        "working_range_m": None,
        "working_range_why": None,
        "air": air.air if air else "unlisted",
        "licence": (law.licence or None) if law else None,
        "holder": (law.holder or None) if law else None,
        "pair": None,
        "reference": row.point.row.reference or None if row.point else None,
    }
    range_m, why = carrier_range_m(
        gear, occupancy, air=air, span_hz=(low, high), link=_link(result, index, row, law)
    )
    record["working_range_m"], record["working_range_why"] = range_m, why or None
    if row.point is not None and record["law"] == "on-request":
        record["law"] = "lawful"
    if row.other is not None:
        record["law"] = None
    if row.direction:
        record["direction"] = row.direction
    return record


def _mark_retune(
    result: PlanResult, stop: Stop, row: Placed, record: dict[str, Any], last: LastUse
) -> None:
    """Compare with the last stop at which the same rig used the line."""
    if row.need is None or row.use is None:
        return
    name = return_name(row.need.name) if row.direction == BACK else row.need.name
    key = (stop.rig, name, row.name)
    before = last.get(key)
    last[key] = row.use
    if before is None:
        return
    record["previous_frequency_mhz"] = hz_to_mhz(before.frequency_hz)
    record["retuned"] = is_retune(before, row.use)
    if record["retuned"]:
        tasks = {task.stop_id: task for task in result.tasks}
        need = next(task for task in tasks[stop.id].needs if task.name == name)
        record["forced"] = not may_stay(need, before, spare=row.spare)
