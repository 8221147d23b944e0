"""What the law asks ahead of a tour: deadlines, and permissions that the user takes on."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import TYPE_CHECKING, Any

from planner.rules.world import WorldRules
from planner.spectrum import IntervalSet
from planner.units import hz_to_mhz, shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.plan.pipeline import PlanResult
    from planner.records import Permission


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Deadline:
    """By when a licence, or the frequencies it names, must be applied for at a stop.

    Attributes
    ----------
    stop, licence_kind : str
        Stop id, kind as the country's rules name it.
    apply_by : date or None
        Last day; None where no lead time is known.
    apply_to : str
        Whom to ask, empty where not known.
    held : bool
        Whether a licence of the kind serves the stop: then its frequencies are to be asked for.
    """

    stop: str
    licence_kind: str
    apply_by: dt.date | None
    apply_to: str
    held: bool


def deadlines(result: PlanResult) -> tuple[Deadline, ...]:
    """Return what must be applied for, the earliest first, those without a date last.

    Only kinds that would open something of the catalogue's span; of kinds that the user does not
    hold only those whose lead time is known.
    """
    found: dict[tuple[str, str], Deadline] = {}
    for index, stop in enumerate(result.stops):
        rules = result.rules[index]
        if not isinstance(rules, WorldRules):
            continue
        held = {row.kind for row in result.occupancies[index].facts.licences}
        for row in rules.rows:
            if not row.licence or not _searched(row, result):
                continue
            mine = row.licence in held
            if row.lead_time_days is None and not (mine and row.names_frequencies):
                continue
            by = None
            if row.lead_time_days is not None:
                by = stop.first_date - dt.timedelta(days=row.lead_time_days)
            new = Deadline(
                stop=stop.id,
                licence_kind=row.licence,
                apply_by=by,
                apply_to=row.apply_to,
                held=mine,
            )
            key = (stop.id, row.licence)
            if key not in found or _when(new) < _when(found[key]):
                found[key] = new
    return tuple(sorted(found.values(), key=_when))


def _when(row: Deadline) -> dt.date:
    return row.apply_by or dt.date.max


def _searched(row: Permission, result: PlanResult) -> bool:
    return bool((IntervalSet([(row.low_hz, row.high_hz)]) & result.searched).spans)


def deadlines_document(result: PlanResult) -> list[dict[str, Any]] | None:
    """Return the deadlines as the document holds them; None where no rules of rows apply."""
    if not any(isinstance(rules, WorldRules) for rules in result.rules):
        return None
    return [
        {
            "stop": row.stop,
            "licence_kind": row.licence_kind,
            "apply_by": row.apply_by.isoformat() if row.apply_by else None,
            "apply_to": row.apply_to or None,
            "lawful_without_mhz": [
                [hz_to_mhz(low), hz_to_mhz(high)] for low, high in _left_without(result, row).spans
            ],
        }
        for row in deadlines(result)
    ]


def law_warnings(result: PlanResult) -> Iterator[dict[str, str]]:
    """Yield a warning for each deadline and each stop where the user takes permissions on."""
    for stop, rules in zip(result.stops, result.rules, strict=True):
        if isinstance(rules, WorldRules) and rules.code in result.tour.settings.accept_unconfirmed:
            yield {"code": "unconfirmed-accepted", "where": stop.id, "text": accepted(rules)}
    for row in deadlines(result):
        what = "its frequencies" if row.held else f"a licence of kind {row.licence_kind}"
        by = f"apply by {row.apply_by}" if row.apply_by else "apply in time, no lead time is known"
        to = f" to {row.apply_to}" if row.apply_to else ""
        left = _told_left(_left_without(result, row))
        yield {
            "code": "apply-by",
            "where": row.stop,
            "text": f"{by}{to} for {what} ({row.licence_kind}); without it {left}",
        }


def _left_without(result: PlanResult, row: Deadline) -> IntervalSet:
    """Return what of the catalogue's spans stays lawful at a stop without a kind of licence."""
    return IntervalSet(
        (span.low_hz, span.high_hz)
        for gear in result.gear
        for span in result.windows[gear.key, row.stop].law
        if span.law == "lawful" and span.licence != row.licence_kind
    )


def _told_left(left: IntervalSet) -> str:
    if not left.spans:
        return "nothing of the catalogue is lawful there"
    listed = ", ".join(f"{shortest_mhz(low)}-{shortest_mhz(high)}" for low, high in left.spans)
    return f"{listed} MHz of the catalogue's spans stay lawful there"


def accepted(rules: WorldRules) -> str:
    """Say that the user takes on the unconfirmed permissions of a country."""
    return (
        f"accept_unconfirmed names {rules.code}: permissions of {rules.name} that no text seen "
        "confirms are planned as lawful on your own responsibility; ask the authority"
    )


def law_asks(result: PlanResult, index: int) -> list[str]:
    """Return what the law asks of the user at a stop, what the user took on first."""
    rules, stop = result.rules[index], result.stops[index]
    lines = list(rules.asks(result.occupancies[index].facts.licences, indoor=stop.indoor))
    if isinstance(rules, WorldRules) and rules.code in result.tour.settings.accept_unconfirmed:
        lines.insert(0, f"{accepted(rules)}.")
    return lines
