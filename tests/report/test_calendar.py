"""Deadlines as iCalendar text, by RFC 5545."""

from __future__ import annotations

from typing import Any

import pytest

from planner.report.calendar import deadlines_ics
from planner.report.files import render_all

Plan = dict[str, Any]


def _deadline(**more: Any) -> Plan:
    values = {
        "stop": "omaha-1",
        "licence_kind": "event",
        "apply_by": "2027-02-28",
        "apply_to": "the invented office",
    }
    return values | more


def _unfolded(text: str) -> list[str]:
    return text.replace("\r\n ", "").split("\r\n")


def test_one_event_a_dated_deadline(plan: Plan) -> None:
    plan["deadlines"] = [_deadline(), _deadline(licence_kind="other", apply_by=None)]
    lines = _unfolded(deadlines_ics(plan))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]
    assert lines.count("BEGIN:VEVENT") == 1
    assert "DTSTART;VALUE=DATE:20270228" in lines
    assert "DTEND;VALUE=DATE:20270301" in lines  # the end of an all-day event is the day after
    newest = max(row["issued"] for row in plan["inputs"] if row.get("issued"))
    assert f"DTSTAMP:{newest.replace('-', '')}T000000Z" in lines
    assert "SUMMARY:Apply by today: event\\, Omaha" in lines
    assert deadlines_ics(plan) == deadlines_ics(plan)


@pytest.mark.parametrize("name", ["a;b,c\\d", "Ünïcødé 漢字 " * 30, "END:VCALENDAR\r\nX:1"])
def test_lines_are_short_whole_and_escaped(plan: Plan, name: str) -> None:
    plan["deadlines"] = [_deadline(apply_to=name)]
    text = deadlines_ics(plan)
    for line in text.split("\r\n"):
        assert len(line.encode()) <= 75
        assert "\n" not in line
    lines = _unfolded(text)
    assert lines.count("END:VCALENDAR") == 1
    assert not any(line.startswith("X:1") for line in lines)
    if name.startswith("a;"):
        assert any("a\\;b\\,c\\\\d" in line for line in lines)


def test_an_issue_after_moves_the_same_event(plan: Plan) -> None:
    plan["deadlines"] = [_deadline()]
    first = _unfolded(deadlines_ics(plan))
    plan["made"]["issue"] = plan["made"]["issue"] + 1
    plan["deadlines"] = [_deadline(apply_by="2027-02-20")]
    second = _unfolded(deadlines_ics(plan))
    uid = [next(line for line in text if line.startswith("UID:")) for text in (first, second)]
    assert uid[0] == uid[1]
    numbers = [
        int(next(line for line in text if line.startswith("SEQUENCE:")).split(":")[1])
        for text in (first, second)
    ]
    assert numbers[1] == numbers[0] + 1
    assert "DTSTART;VALUE=DATE:20270220" in second


def test_two_stops_have_two_names(plan: Plan) -> None:
    plan["deadlines"] = [_deadline(), _deadline(stop="chicago-1")]
    names = {line for line in _unfolded(deadlines_ics(plan)) if line.startswith("UID:")}
    assert len(names) == 2


def test_no_file_without_a_date(plan: Plan) -> None:
    assert "tables/deadlines.ics" not in render_all(plan)
    plan["deadlines"] = [_deadline(apply_by=None)]
    assert "tables/deadlines.ics" not in render_all(plan)
    plan["deadlines"] = [_deadline()]
    assert str(render_all(plan)["tables/deadlines.ics"]).startswith("BEGIN:VCALENDAR\r\n")
