"""Deadlines as a calendar file: RFC 5545, all-day events, the same bytes for the same plan."""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import Plan, place_of, rows, table

if TYPE_CHECKING:
    from collections.abc import Iterator

_LONGEST_LINE = 75
"""Octets of a line, its break apart (RFC 5545, section 3.1)."""
_ESCAPED = str.maketrans({"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"})


def deadlines_ics(plan: Plan) -> str:
    """Return the plan's deadlines as a calendar; empty where none has a date.

    Parameters
    ----------
    plan : mapping
        The plan. A deadline without a day (no lead time is known) has no event.

    Notes
    -----
    One all-day event a deadline. ``UID`` stays the same over the issues of a plan and
    ``SEQUENCE`` counts them, so that a calendar that is read in again moves its events.
    ``DTSTAMP`` is the newest day of the tables the plan was made from, as a plan holds no time.

    References
    ----------
    RFC 5545 (September 2009), sections 3.1 (lines, folding), 3.3.11 (escaping), 3.6.1 (events),
    3.8.7 (DTSTAMP, SEQUENCE).
    """
    events = [row for row in rows(plan, "deadlines") if words.iso_day(row.get("apply_by"))]
    if not events:
        return ""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//passband//deadlines//EN"]
    lines.append("CALSCALE:GREGORIAN")
    for row in events:
        lines += _event(plan, row)
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line))


def _event(plan: Plan, row: Plan) -> Iterator[str]:
    day = words.iso_day(row["apply_by"])
    if day is None:
        return
    tour, issue = words.clean(table(plan, "tour").get("name")), table(plan, "made").get("issue")
    kind, place = words.clean(row["licence_kind"]), place_of(plan, row["stop"])
    to = words.clean(row.get("apply_to"))
    told = f"Last day to apply for the stop {words.clean(row['stop'])} of {tour}"
    told += f", to {to}." if to else "; whom to ask is not known."
    told += " Reckoned from the lead time that the rules file or table gives; ask whether it holds."
    yield "BEGIN:VEVENT"
    yield f"UID:{_identity(tour, row)}@passband.invalid"
    yield f"DTSTAMP:{_stamp(plan)}"
    yield f"SEQUENCE:{max(0, int(issue or 1) - 1)}"
    yield f"DTSTART;VALUE=DATE:{day:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{day + dt.timedelta(days=1):%Y%m%d}"
    yield f"SUMMARY:{escaped(f'Apply by today: {kind}, {place}')}"
    yield f"DESCRIPTION:{escaped(told)}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _identity(tour: str, row: Plan) -> str:
    text = "\n".join((tour, str(row["stop"]), str(row["licence_kind"])))
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _stamp(plan: Plan) -> str:
    days = [words.iso_day(row.get("issued")) for row in rows(plan, "inputs")]
    if not any(days):
        days = [words.iso_day(stop["first_date"]) for stop in rows(plan, "stops")[:1]]
    newest = max((day for day in days if day), default=dt.date(1980, 1, 1))
    return f"{newest:%Y%m%d}T000000Z"


def escaped(text: str) -> str:
    """Return a text as a calendar holds it: backslash, semicolon, comma and breaks escaped."""
    return text.translate(_ESCAPED)


def _folded(line: str) -> Iterator[str]:
    """Cut a line at 75 octets, never inside a character; what follows begins with a blank."""
    part, size = "", 0
    for character in line:
        width = len(character.encode())
        if size + width > _LONGEST_LINE:
            yield part
            part, size = " ", 1
        part += character
        size += width
    yield part
