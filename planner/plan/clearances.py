"""What people stated for a stop, as the plan document holds it, and the warnings it gives."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from planner.plan.scope import others_at, serves
from planner.plan.zones import assumptions_text
from planner.rules.records import BARRED
from planner.spectrum import IntervalSet
from planner.units import hz_to_mhz, shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from planner.occupancy import Clearance
    from planner.plan.company import StopCompany
    from planner.plan.pipeline import PlanResult
    from planner.records import Cleared, Stop
    from planner.rules import LawSpan

_EARLIEST_DAYS = 30
"""A clearance older than this at the stop's first day is told; our own limit."""
_NAMED = 5
"""Stops named in a warning; the rest is counted."""


def cleared_document(result: PlanResult, index: int) -> list[dict[str, Any]]:
    """Return the cleared spans of a stop, each with what it did."""
    return [
        {
            "low_mhz": hz_to_mhz(found.row.low_hz),
            "high_mhz": hz_to_mhz(found.row.high_hz),
            "basis": found.row.basis,
            "level_dbm": found.row.level_dbm,
            "date": found.row.date.isoformat() if found.row.date else None,
            "by": found.row.by or None,
            "text": _effect(result, index, found),
        }
        for found in result.occupancies[index].cleared
    ]


def others_document(result: PlanResult, index: int) -> list[dict[str, Any]]:
    """Return what others use at a stop."""
    return [
        {
            "owner": row.owner,
            "frequency_mhz": None if row.frequency_hz is None else hz_to_mhz(row.frequency_hz),
            "low_mhz": hz_to_mhz(row.low_hz),
            "high_mhz": hz_to_mhz(row.high_hz),
            "active": list(row.active),
            "protect": row.protect,
            "zone": row.zone,
        }
        for row in others_at(result.tour, result.stops[index])
    ]


def zones_document(company: StopCompany) -> list[dict[str, Any]]:
    """Return the products between zones that are left out at a stop, and by how much."""
    return [
        {
            "victim": row.victim,
            "sources": list(row.sources),
            "under_floor_db": row.under_floor_db,
            "text": row.text(),
            "basis": assumptions_text(company.lowest_hz),
        }
        for row in company.left_out
    ]


def statement_warnings(result: PlanResult) -> Iterator[dict[str, str]]:
    """Yield the warnings about cleared spans and about licences that nobody holds."""
    for index, stop in enumerate(result.stops):
        for found in result.occupancies[index].cleared:
            if found.doubt:
                yield _warning("cleared-level", stop.id, f"{_named(found.row)}: {found.doubt}")
            if text := _no_effect(result, index, found):
                yield _warning("cleared-no-effect", stop.id, f"{_named(found.row)}: {text}")
            if text := _wrong_day(found.row, stop):
                yield _warning("cleared-date", stop.id, f"{_named(found.row)}: {text}")
    yield from _holders(result)


def _warning(code: str, where: str, text: str) -> dict[str, str]:
    return {"code": code, "where": where, "text": text}


def _named(row: Cleared) -> str:
    return f"cleared {shortest_mhz(row.low_hz)}-{shortest_mhz(row.high_hz)} MHz"


def _law_at(result: PlanResult, index: int, row: Cleared) -> list[LawSpan]:
    """Return the law of every range over a cleared span."""
    stop = result.stops[index]
    return [
        span
        for gear in result.gear
        for span in result.windows[gear.key, stop.id].law
        if span.low_hz < row.high_hz and row.low_hz < span.high_hz
    ]


def _spans(law: Iterable[LawSpan]) -> IntervalSet:
    return IntervalSet((span.low_hz, span.high_hz) for span in law)


def _lifted(found: Clearance, law: Sequence[LawSpan]) -> IntervalSet:
    """Return where this clearance, by its own reliefs, changed the law of some range."""
    reliefs = IntervalSet((row.low_hz, row.high_hz) for row in found.reliefs if row.lifts)
    return _spans(span for span in law if span.law_before) & reliefs


def _effect(result: PlanResult, index: int, found: Clearance) -> str:
    """Say in a sentence what a cleared span did to the air and to the law."""
    changed = {word: width for word, width in found.air_before_hz.items() if word != "quiet"}
    if changed:
        parts = ", ".join(f"{width / 1e6:g} MHz {word}" for word, width in changed.items())
        air = f"air quiet by this statement, {parts} before"
    elif found.air_before_hz:
        air = "air quiet without it"
    else:
        air = "no range of the catalogue reaches it"
    lifted = _lifted(found, _law_at(result, index, found.row))
    law = f"lawful in {_listed(lifted)} MHz, on-request before" if lifted else "law unchanged"
    without = dict.fromkeys(row.text for row in found.reliefs if not row.lifts)
    return "; ".join((air, law, *without))


def _no_effect(result: PlanResult, index: int, found: Clearance) -> str:
    """Say why a cleared span changes nothing, or where the law bars it still."""
    if not found.air_before_hz:
        return "no range of the catalogue can tune there; it changes nothing"
    law = _law_at(result, index, found.row)
    inside = IntervalSet([(found.row.low_hz, found.row.high_hz)])
    barred = (_spans(law) & inside) - _spans(span for span in law if span.law != BARRED)
    if barred:
        why = dict.fromkeys(
            span.text or span.rule
            for span in law
            if span.law == BARRED and barred & IntervalSet([(span.low_hz, span.high_hz)])
        )
        return f"{_listed(barred)} MHz stays barred, which no statement lifts: {'; '.join(why)}"
    if set(found.air_before_hz) == {"quiet"} and not _lifted(found, law):
        return "the air is quiet and the law the same without it; it changes nothing"
    return ""


def _listed(spans: IntervalSet) -> str:
    return ", ".join(f"{shortest_mhz(low)}-{shortest_mhz(high)}" for low, high in spans)


def _wrong_day(row: Cleared, stop: Stop) -> str:
    """Say why a clearance was not made for the days of a stop, empty where it was."""
    if row.date is None:
        return ""
    if row.date > stop.last_date:
        return f"dated {row.date}, after the stop's last day {stop.last_date}"
    if row.date < stop.first_date - dt.timedelta(days=_EARLIEST_DAYS):
        days = (stop.first_date - row.date).days
        return f"dated {row.date}, {days} days before the stop; ask or measure again"
    return ""


def _holders(result: PlanResult) -> Iterator[dict[str, str]]:
    """Yield a warning for each kind of licence that opens spectrum and has no holder."""
    stops: dict[str, list[str]] = {}
    for stop in result.stops:
        roles = {need.role for need in result.tour.needs if serves(need.stops, stop)}
        kinds = {
            span.licence
            for gear in result.gear
            if gear.role in roles
            for span in result.windows[gear.key, stop.id].law
            if span.licence and not span.holder and span.law != BARRED
        }
        for kind in sorted(kinds):
            stops.setdefault(kind, []).append(stop.id)
    for kind, names in stops.items():
        more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
        yield _warning(
            "licence-holder-missing",
            ", ".join(names[:_NAMED]) + more,
            f"whose licence is it? {kind} opens spectrum here and has no holder; write holder in "
            "[[licence]], for the sheet and for whoever asks on site",
        )
