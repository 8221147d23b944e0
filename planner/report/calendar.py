"""Deadlines as a calendar that any calendar program reads."""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import Plan, place_of, rows, table

if TYPE_CHECKING:
    from collections.abc import Iterator

_LINE_OCTETS = 75
"""Longest line without its end (RFC 5545, section 3.1)."""
_ESCAPES = str.maketrans({"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"})


def deadlines_ics(plan: Plan) -> str:
    """Return the dated deadlines of a plan as iCalendar text; empty when there are none.

    Parameters
    ----------
    plan : mapping
        A valid plan.

    Notes
    -----
    One all-day event a deadline. The time stamp that the format demands is midnight UTC of the
    first stop's first day, so that the same plan gives the same bytes; it says nothing.

    References
    ----------
    RFC 5545, "Internet Calendaring and Scheduling Core Object Specification", sections 3.1
    (lines of 75 octets), 3.3.11 (escapes), 3.6.1 (event), 3.8.4.7 and 3.8.7.2 (UID, DTSTAMP).
    """
    dated = [row for row in rows(plan, "deadlines") if row.get("apply_by")]
    if not dated:
        return ""
    first = min(dt.date.fromisoformat(stop["first_date"]) for stop in rows(plan, "stops"))
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//passband//deadlines//EN"]
    for row in dated:
        lines += _event(plan, row, stamp=f"{first:%Y%m%d}T000000Z")
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _event(plan: Plan, row: Plan, *, stamp: str) -> list[str]:
    day = dt.date.fromisoformat(row["apply_by"])
    kind, stop = words.clean(row["licence_kind"]), words.clean(row["stop"])
    place = words.clean(place_of(plan, row["stop"])) or stop
    to = f" to {words.clean(row['apply_to'])}" if row.get("apply_to") else ""
    tour = words.clean(table(plan, "tour").get("name"))
    name = hashlib.sha256(f"{tour}|{stop}|{kind}".encode()).hexdigest()[:24]
    about = (
        f"{tour}: last day to apply{to} for the licence of kind {kind}, stop {stop}. "
        "Lead times are readings of rules: ask earlier."
    )
    return [
        "BEGIN:VEVENT",
        f"UID:{name}@passband.invalid",
        f"DTSTAMP:{stamp}",
        f"DTSTART;VALUE=DATE:{day:%Y%m%d}",
        f"DTEND;VALUE=DATE:{day + dt.timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{f'Apply: {kind} for {place}'.translate(_ESCAPES)}",
        f"DESCRIPTION:{about.translate(_ESCAPES)}",
        "END:VEVENT",
    ]


def _folded(line: str) -> Iterator[str]:
    """Cut a line at 75 octets, never inside a character; each rest starts with a blank."""
    part = ""
    for character in line:
        if len((part + character).encode()) > _LINE_OCTETS:
            yield part
            part = " "
        part += character
    yield part
