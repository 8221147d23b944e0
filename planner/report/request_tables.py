"""A request for frequencies as tables: one row a line, as CSV and as a workbook."""

from __future__ import annotations

from planner.report import words
from planner.report.tables import Table, Value, table_csv
from planner.report.views.frequency_request import (
    AskedLine,
    AskedRange,
    FrequencyRequest,
    antenna_place,
    hours,
)
from planner.report.workbook import workbook

LINE_COLUMNS = (
    "stop",
    "first_date",
    "last_date",
    "load_in",
    "hours",
    "place",
    "venue",
    "lat_deg",
    "lon_deg",
    "line",
    "name",
    "need",
    "role",
    "form",
    "zone",
    "count",
    "units",
    "spare",
    "fixed",
    "block",
    "range",
    "tuning_mhz",
    "tuning_origin_mhz",
    "step_khz",
    "bandwidth_khz",
    "spacing_khz",
    "modulation",
    "power_mw",
    "power_kind",
    "power_settings_mw",
    "antenna_place",
    "antenna_height_m",
    "planned_mhz",
    "assigned_mhz",
    "assigned_power_mw",
    "reference",
    "remark",
    "contact_name",
    "contact_phone",
    "contact_email",
)
RANGE_COLUMNS = (
    "need",
    "role",
    "form",
    "zone",
    "hours",
    "count",
    "spares",
    "units_a_line",
    "range",
    "asked_in",
    "tuning_mhz",
    "tuning_origin_mhz",
    "step_khz",
    "bandwidth_khz",
    "spacing_khz",
    "modulation",
    "power_settings_mw",
    "power_kind",
    "links_a_block",
    "only_named_frequencies_mhz",
)
CONTACT = (
    "Requested by",
    "Company",
    "Telephone",
    "E-mail",
    "Contact on the day",
    "Answered by",
    "Reference of the answer",
)
"""What stays blank, to be filled in by hand."""


def spans(pairs: tuple[tuple[float, float], ...]) -> str:
    """Write spans as a cell: ``"470.1-513.9;520-530"``, in MHz."""
    return ";".join(words.mhz_span(low, high).replace(words.EN_DASH, "-") for low, high in pairs)


def _powers(asked: AskedRange) -> str:
    return ";".join(words.short_number(power) for power in asked.powers_mw)


def _line(view: FrequencyRequest, row: AskedLine) -> tuple[Value, ...]:
    stop, asked = view.stop, row.asked
    place = antenna_place(asked)
    values: dict[str, Value] = {
        "stop": stop["id"],
        "first_date": stop["first_date"],
        "last_date": stop["last_date"],
        "load_in": stop.get("load_in"),
        "hours": hours(asked.active),
        "place": stop["place"],
        "venue": stop.get("venue"),
        "lat_deg": stop["lat_deg"],
        "lon_deg": stop["lon_deg"],
        "line": row.line,
        "name": row.name,
        "need": asked.need,
        "role": asked.role,
        "form": asked.form,
        "zone": asked.zone,
        "count": 1,
        "units": asked.units,
        "spare": row.spare,
        "fixed": row.fixed,
        "block": row.block,
        "range": asked.range,
        "tuning_mhz": spans(asked.limits_mhz),
        "tuning_origin_mhz": asked.tuning_origin_mhz,
        "step_khz": asked.step_khz,
        "bandwidth_khz": asked.bandwidth_khz,
        "spacing_khz": asked.spacing_khz,
        "modulation": asked.modulation,
        "power_mw": row.power_mw,
        "power_kind": asked.power_kind,
        "power_settings_mw": _powers(asked),
        "antenna_place": place,
        "antenna_height_m": stop.get("antenna_height_m") if place == "at the racks" else None,
        "planned_mhz": row.planned_mhz,
    }
    return tuple(values.get(column) for column in LINE_COLUMNS)


def lines_table(view: FrequencyRequest) -> Table:
    """Return the lines that are asked for; columns for the answer and the contact are blank."""
    return Table(
        name="lines", columns=LINE_COLUMNS, lines=tuple(_line(view, row) for row in view.lines)
    )


def ranges_table(view: FrequencyRequest) -> Table:
    """Return the ranges that are asked in and those that are possible instead."""
    return Table(
        name="ranges",
        columns=RANGE_COLUMNS,
        lines=tuple(
            (
                row.need,
                row.role,
                row.form,
                row.zone,
                hours(row.active),
                row.lines,
                row.spares,
                row.units,
                row.range,
                "asked in" if row.planned else "possible instead",
                spans(row.limits_mhz),
                row.tuning_origin_mhz,
                row.step_khz,
                row.bandwidth_khz,
                row.spacing_khz,
                row.modulation,
                _powers(row),
                row.power_kind,
                row.links_per_block or None,
                spans(row.on_request_mhz),
            )
            for row in view.ranges
        ),
    )


def _facts_table(view: FrequencyRequest) -> Table:
    blank = tuple((what, None) for what in CONTACT)
    notes = tuple(("Note", text) for text in (*view.notes, words.NOT_A_PERMISSION))
    return Table(
        name="facts",
        columns=("what", "value"),
        lines=(*view.facts, ("Plan", view.issue), *blank, *notes),
    )


def request_csv(view: FrequencyRequest) -> str:
    """Return the lines of a request as CSV."""
    return table_csv(lines_table(view))


def request_xlsx(view: FrequencyRequest) -> bytes:
    """Return a request as a workbook: lines, ranges, and the facts of the stop."""
    return workbook([lines_table(view), ranges_table(view), _facts_table(view)], title=view.title)
