"""CSV texts: numbers stay numbers, units stand in headers, no cell runs as a formula."""

from __future__ import annotations

import csv
import io

from planner.report import words
from planner.report.reading import Plan, air_of, rows, table
from planner.report.views.carriers import AIR_REMARKS
from planner.spreadsheet import spreadsheet_safe

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


def _frequency(value_mhz: float | None) -> str:
    return "" if value_mhz is None else words.mhz(value_mhz)


def _carrier_cells(stop: Plan, carrier: Plan) -> dict[str, str]:
    product, pair = carrier.get("nearest_product") or {}, table(carrier, "pair")
    partner = [words.clean(pair.get(key)) for key in ("need", "name")]
    air = air_of(stop, carrier)
    cells = {key: cell(carrier.get(key)) for key in CARRIER_COLUMNS}
    if carrier.get("direction") == "return":
        cells["name"] += " (return)"
    return cells | {
        "first_date": cell(stop["first_date"]),
        "last_date": cell(stop["last_date"]),
        "stop": cell(stop["id"]),
        "place": cell(stop["place"]),
        "frequency_mhz": _frequency(carrier["frequency_mhz"]),
        "tv_channel": cell(carrier.get("channel")),
        "air": cell(air),
        "remark": cell(AIR_REMARKS.get(air)),
        "stands_in_for": cell(";".join(words.clean(n) for n in rows(carrier, "stands_in_for"))),
        "previous_frequency_mhz": _frequency(carrier.get("previous_frequency_mhz")),
        "nearest_product": cell(product.get("order")),
        "nearest_product_formula": cell(product.get("formula")),
        "nearest_product_offset_khz": cell(product.get("offset_khz")),
        "pair_with": cell(" ".join(word for word in partner if word)),
        "pair_separation_mhz": cell(pair.get("separation_mhz")),
        "pair_kept": cell(pair.get("kept")),
    }


def carriers_csv(stop: Plan) -> str:
    """Return the carriers of a stop as CSV, one row a carrier in the plan's order."""
    lines = []
    for carrier in rows(stop, "carriers"):
        cells = _carrier_cells(stop, carrier)
        lines.append([cells[column] for column in CARRIER_COLUMNS])
    return csv_text(CARRIER_COLUMNS, lines)


def plain_list(stop: Plan) -> str:
    """Return our carriers of a stop in MHz, one a line, ascending, each once.

    Spares and carriers that cannot be retuned are in it, other people's are not. Nothing but
    figures, so that any analyser or spreadsheet takes it.
    """
    ours = {row["frequency_mhz"] for row in rows(stop, "carriers") if not row.get("other")}
    return "".join(f"{words.mhz(value)}\n" for value in sorted(ours - {None}))


REACH_COLUMNS = (
    "first_date",
    "stop",
    "place",
    "tv_channel",
    "low_mhz",
    "high_mhz",
    "air",
    "law",
    "station_id",
    "station",
    "country",
    "service",
    "distance_km",
    "bearing_from_stop_deg",
    "erp_toward_stop_kw",
    "field_50_50_dbuv_m",
    "field_50_10_dbuv_m",
    "field_height_m",
    "sigma_db",
    "contour_law_km",
    "contour_cautious_km",
    "outside_contour_km",
)


def reach_csv(plan: Plan, stops: list[Plan]) -> str:
    """Return what reaches the stops as CSV, one row a stop, TV channel and station listed.

    A channel without a listed station has one row with the station's columns empty.
    """
    lines = []
    for stop in stops:
        start = {key: cell(stop[key]) for key in ("first_date", "place")}
        start["stop"] = cell(stop["id"])
        for channel in rows(stop, "channels"):
            verdict = {key: cell(channel[key]) for key in ("low_mhz", "high_mhz", "air", "law")}
            verdict["tv_channel"] = cell(channel["channel"])
            for row in rows(channel, "transmitters") or [{}]:
                station = table(table(plan, "transmitters"), row.get("station_id") or "")
                cells = {key: cell(row.get(key)) for key in REACH_COLUMNS}
                cells |= {key: cell(station.get(key)) for key in ("country", "service")}
                cells["station"] = cell(station.get("name"))
                cells |= start | verdict
                lines.append([cells[key] for key in REACH_COLUMNS])
    return csv_text(REACH_COLUMNS, lines)
