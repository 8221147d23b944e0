"""The tables that a plan gives to other programs: spreadsheets, analysers, calendars."""

from __future__ import annotations

from planner.report.calendar import deadlines_ics
from planner.report.reach_table import reach_table
from planner.report.reading import Plan, playing_stops, table
from planner.report.tables import carriers_table, plain_list, table_csv
from planner.report.workbook import workbook


def render_tables(plan: Plan, stems: dict[str, str]) -> dict[str, str | bytes]:
    """Return the tables of the whole route, a plain list a stop, and the deadlines.

    Parameters
    ----------
    plan : mapping
        A valid plan.
    stems : dict
        Stem of each stop's files, by stop id.

    Returns
    -------
    dict
        Text or bytes by relative path: ``tables/carriers.csv``, ``tables/carriers.xlsx``,
        ``tables/reach.csv``, ``tables/reach.xlsx``, ``tables/<stem>_mhz.txt``, and
        ``tables/deadlines.ics`` where a deadline has a day.
    """
    stops = playing_stops(plan)
    name = str(table(plan, "tour").get("name") or "")
    out: dict[str, str | bytes] = {}
    for found in (carriers_table(stops), reach_table(plan, stops)):
        out[f"tables/{found.name}.csv"] = table_csv(found)
        out[f"tables/{found.name}.xlsx"] = workbook([found], title=f"{name}: {found.name}")
    for stop in stops:
        out[f"tables/{stems[stop['id']]}_mhz.txt"] = plain_list(stop)
    if calendar := deadlines_ics(plan):
        out["tables/deadlines.ics"] = calendar
    return out
