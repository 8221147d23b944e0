"""What must be applied for, in the words of sheets and terminal: the earliest first."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import Plan, place_of, rows
from planner.report.views.law import spans

if TYPE_CHECKING:
    from collections.abc import Iterator

NOTHING_LEFT = "nothing of the catalogue"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class DeadlineView:
    """One line of papers and dates.

    Attributes
    ----------
    stop, place, kind, by, to : str
        Stop id, place, kind of licence, last day with its weekday, whom to ask.
    without : str
        Spans of the catalogue that stay lawful without it, in MHz; a dash where a plan of an
        earlier version does not say.
    day : date or None
        The last day; None where no lead time is known.
    """

    stop: str
    place: str
    kind: str
    by: str
    to: str
    without: str
    day: dt.date | None


def deadline_views(plan: Plan, stop_id: str = "") -> tuple[DeadlineView, ...]:
    """Return what must be applied for, of one stop or of all.

    Parameters
    ----------
    plan : mapping
        The plan.
    stop_id : str
        Empty for all stops.
    """
    return tuple(
        DeadlineView(
            stop=words.clean(row["stop"]),
            place=place_of(plan, row["stop"]),
            kind=words.clean(row["licence_kind"]),
            by=words.day(row["apply_by"])
            if row.get("apply_by")
            else "in time, lead time not known",
            to=words.clean(row.get("apply_to")) or "not known",
            without=_without(row.get("lawful_without_mhz")),
            day=words.iso_day(row.get("apply_by")),
        )
        for row in rows(plan, "deadlines")
        if not stop_id or row["stop"] == stop_id
    )


def _without(windows: list[list[float]] | None) -> str:
    if windows is None:
        return words.NONE
    return f"{spans(windows)} MHz" if windows else NOTHING_LEFT


def told_on(views: tuple[DeadlineView, ...], today: dt.date) -> Iterator[str]:
    """Yield a sentence a deadline as it stands on a day: overdue first, then the nearest.

    Parameters
    ----------
    views : tuple of DeadlineView
        From :func:`deadline_views`.
    today : date
        The day on which it is read; a printed sheet, which is read on many, has the date alone.
    """
    for row in sorted(views, key=lambda row: row.day or dt.date.max):
        left = f"without it {row.without} stays lawful there" if row.without != words.NONE else ""
        text = f"Licence of kind {row.kind}, {row.place}: {_when(row, today)}, ask {row.to}"
        yield f"{text}; {left}." if left else f"{text}."


def _when(row: DeadlineView, today: dt.date) -> str:
    if row.day is None:
        return "apply in time, no lead time is known"
    ahead = (row.day - today).days
    if ahead < 0:
        return f"OVERDUE by {words.plural(-ahead, 'day')} (apply by {row.by})"
    if ahead == 0:
        return f"apply today ({row.by})"
    return f"apply by {row.by}, in {words.plural(ahead, 'day')}"
