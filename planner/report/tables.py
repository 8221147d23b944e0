"""CSV texts: numbers stay numbers, units stand in headers, no cell runs as a formula."""

from __future__ import annotations

import csv
import dataclasses
import io
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import Plan, air_of, rows, table
from planner.report.views.carriers import AIR_REMARKS
from planner.spreadsheet import spreadsheet_safe

if TYPE_CHECKING:
    from collections.abc import Iterable

CARRIER_COLUMNS = (
    "first_date",
    "last_date",
    "stop",
    "place",
    "name",
    "need",
    "role",
    "form",
    "zone",
    "range",
    "frequency_mhz",
    "bandwidth_khz",
    "power_mw",
    "power_kind",
    "tv_channel",
    "air",
    "law",
    "rule",
    "remark",
    "spare",
    "spare_grade",
    "stands_in_for",
    "fixed",
    "other",
    "assigned",
    "retuned",
    "forced",
    "previous_frequency_mhz",
    "nearest_product",
    "nearest_product_formula",
    "nearest_product_offset_khz",
    "noise_rise_db",
    "working_range_m",
    "licence",
    "holder",
    "pair_with",
    "pair_separation_mhz",
    "pair_kept",
)


Value = str | int | float | bool | None
"""What a cell may hold before it is written."""

FREQUENCIES = frozenset(
    {
        "frequency_mhz",
        "previous_frequency_mhz",
        "planned_mhz",
        "assigned_mhz",
        "try_mhz",
    }
)
"""Columns that hold carriers: three decimals at least."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A table to be written as CSV or as one sheet of a workbook.

    Attributes
    ----------
    name : str
        Name of the sheet.
    columns : tuple of str
        Each with its unit at the end.
    lines : tuple of tuple
        Values, as many as there are columns; texts as the user wrote them.
    """

    name: str
    columns: tuple[str, ...]
    lines: tuple[tuple[Value, ...], ...]


def table_csv(found: Table) -> str:
    """Return a table as CSV."""
    return csv_text(
        found.columns,
        [
            [
                words.mhz(value)
                if column in FREQUENCIES and isinstance(value, int | float)
                else cell(value)
                for column, value in zip(found.columns, line, strict=True)
            ]
            for line in found.lines
        ],
    )


def cell(value: object) -> str:
    """Write one cell.

    Numbers print as numbers, yes and no as words, None as an empty cell. A text whose first
    character a spreadsheet would take for the start of a formula gets an apostrophe before it,
    full-width twins of those characters included.
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return repr(value)
    text = str(value)
    return spreadsheet_safe(words.clean(text), came=text)


def csv_text(header: tuple[str, ...], lines: list[list[str]]) -> str:
    """Return a CSV text with line feeds; ``lines`` are finished cells."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(lines)
    return out.getvalue()


def _carrier_values(stop: Plan, carrier: Plan) -> tuple[Value, ...]:
    product, pair = carrier.get("nearest_product") or {}, table(carrier, "pair")
    partner = [words.clean(pair.get(key)) for key in ("need", "name")]
    air = air_of(stop, carrier)
    values = {key: carrier.get(key) for key in CARRIER_COLUMNS}
    if carrier.get("direction") == "return":
        values["name"] = f"{carrier['name']} (return)"
    values |= {
        "first_date": stop["first_date"],
        "last_date": stop["last_date"],
        "stop": stop["id"],
        "place": stop["place"],
        "tv_channel": carrier.get("channel"),
        "air": air or None,
        "remark": AIR_REMARKS.get(air),
        "stands_in_for": ";".join(words.clean(n) for n in rows(carrier, "stands_in_for")),
        "nearest_product": product.get("order"),
        "nearest_product_formula": product.get("formula"),
        "nearest_product_offset_khz": product.get("offset_khz"),
        "pair_with": " ".join(word for word in partner if word),
        "pair_separation_mhz": pair.get("separation_mhz"),
        "pair_kept": pair.get("kept"),
    }
    return tuple(values[column] for column in CARRIER_COLUMNS)


def carriers_table(stops: Iterable[Plan]) -> Table:
    """Return the carriers of some stops, one row a carrier in the plan's order."""
    return Table(
        name="carriers",
        columns=CARRIER_COLUMNS,
        lines=tuple(
            _carrier_values(stop, carrier) for stop in stops for carrier in rows(stop, "carriers")
        ),
    )


def carriers_csv(stop: Plan) -> str:
    """Return the carriers of a stop as CSV, one row a carrier in the plan's order."""
    return table_csv(carriers_table([stop]))


def plain_list(stop: Plan) -> str:
    """Return our carriers of a stop in MHz, one a line, ascending, each once.

    Spares and carriers that cannot be retuned are in it, other people's are not. Nothing but
    figures, so that any analyser or spreadsheet takes it.
    """
    ours = {row["frequency_mhz"] for row in rows(stop, "carriers") if not row.get("other")}
    return "".join(f"{words.mhz(value)}\n" for value in sorted(ours - {None}))
