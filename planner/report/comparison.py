"""What changed between two plans, on a terminal of 80 columns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.console import grid, say

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rich.console import Console

Row = dict[str, Any]
_ROWS_SHOWN = 12
_VALUES = 60


def print_comparison(console: Console, told: Mapping[str, Any]) -> None:
    """Print a ``passband-compare/1`` document.

    Parameters
    ----------
    console : Console
        Printed on; nothing is wider than it.
    told : mapping
        What :func:`planner.plan.compare.compare_plans` gives.
    """
    made = [_fact(row) for row in told["made"] if row["key"] in ("version", "effort")]
    if told["same"]:
        say(console, "Nothing changed: route, verdicts, ranking and carriers are the same.")
        if made:
            say(console, f"Made otherwise: {'; '.join(made)}.")
        return
    _print_counts(console, told)
    if made:
        say(console, f"Made otherwise: {'; '.join(made)}.")
    _print_inputs(console, told)
    _print_route(console, told["route"])
    _print_choice(console, told)
    _print_stations(console, told["stations"])
    for stop in told["verdicts"]:
        _print_verdicts(console, stop)
    for stop in told["short"]:
        _print_short(console, stop)
    for stop in told["carriers"]:
        _print_carriers(console, stop)
    _print_rest(console, told)


def _print_counts(console: Console, told: Mapping[str, Any]) -> None:
    counts = told["counts"]
    lines = counts["carriers"]
    say(
        console,
        f"{words.plural(counts['old_stops'], 'stop')} before, {counts['new_stops']} now; "
        f"carriers at the same stops: {lines['retuned']} set otherwise, {lines['new']} new, "
        f"{lines['gone']} gone, {lines['other']} with another rule or kind; "
        f"{words.plural(counts['stops_with_other_verdicts'], 'stop')} with another verdict; "
        f"retunes on the route: {counts['old_retunes']} before, {counts['new_retunes']} now.",
        style="bold",
    )


def _heading(console: Console, text: str) -> None:
    say(console)
    say(console, text, style="bold")


def _print_inputs(console: Console, told: Mapping[str, Any]) -> None:
    lines = [
        *(f"file {_input(row)}" for row in told["inputs"]),
        *(f"tour, {_fact(row)}" for row in told["tour"]),
        *(f"setting, {_fact(row)}" for row in told["settings"]),
        *(_statement(row) for row in told["statements"]),
        *(f"need {words.clean(row['need'])} {_change(row)}" for row in told["needs"]),
    ]
    if lines:
        _heading(console, "What was given")
    for line in lines:
        say(console, line, indent=2)


def _input(row: Mapping[str, Any]) -> str:
    name = words.clean(row["file"])
    if row["change"] != "changed":
        return f"{name} {row['change']}"
    issued = [_fact(fact) for fact in row["facts"] if fact["key"] in ("issued", "rows")]
    return f"{name} changed{': ' if issued else ''}{'; '.join(issued)}"


def _print_route(console: Console, route: Mapping[str, Any]) -> None:
    if not any(route.values()):
        return
    _heading(console, "Route")
    for word in ("dropped", "added"):
        for row in route[word]:
            days = words.days(str(row["first_date"]), str(row["last_date"]))
            say(console, f"{word}: {_where(row['id'], row['place'])}, {days}", indent=2)
    for row in route["changed"]:
        moved = "moved; " if row["moved"] else ""
        facts = "; ".join([*map(_fact, row["facts"]), *map(_statement, row["statements"])])
        say(console, f"{_where(row['stop'], row['place'])}: {moved}{facts}", indent=2)
    if route["reordered"]:
        say(console, f"in another order: {words.listed(route['reordered'])}", indent=2)


def _print_choice(console: Console, told: Mapping[str, Any]) -> None:
    for row in told["choice"]:
        old, new = (", ".join(row[key]) or "none" for key in ("old", "new"))
        _heading(console, f"Choice for {words.clean(row['need'])}: {old} -> {new}")
    rows = [*told["ranking"], *told["combinations"]]
    if not rows:
        return
    _heading(console, "Order of ranges and of combinations")
    for row in rows[:_ROWS_SHOWN]:
        name = row.get("range") or " + ".join(
            ", ".join(keys) if isinstance(keys, list) else str(keys)
            for keys in row["ranges"].values()
        )
        head = f"{words.clean(row['need'])}: " if "need" in row else ""
        places = f"{_place(row['old_rank'])} -> {_place(row['new_rank'])}"
        if row["old_rank"] == row["new_rank"]:
            places = f"still {_place(row['new_rank'])}"
        facts = [
            _fact(fact) for fact in row["facts"] if fact["key"] in ("stops_met", "worst_headroom")
        ]
        say(console, f"{head}{words.clean(name)}: {'; '.join([places, *facts])}", indent=2)
        say(console, words.clean(row["why"]), indent=4)
    _more(console, len(rows))


def _place(rank: int | None) -> str:
    return "not there" if rank is None else f"place {rank}"


def _print_stations(console: Console, rows: Sequence[Row]) -> None:
    if rows:
        _heading(console, "Stations listed at the stops")
    for row in rows[:_ROWS_SHOWN]:
        name = words.clean(row["row"].get("name") or row["station_id"])
        channel = row["row"].get("channel")
        on = "" if channel is None else f", TV {channel}"
        say(console, f"{name} ({words.clean(row['station_id'])}{on}) {_change(row)}", indent=2)
    _more(console, len(rows))


def _print_verdicts(console: Console, stop: Mapping[str, Any]) -> None:
    _heading(console, f"Verdicts at {_where(stop['stop'], stop['place'])}")
    for row in stop["here"]:
        say(console, f"here: {_fact(row)}", indent=2)
    for row in stop["searched"]:
        which = "now" if row["change"] == "came" else "no longer"
        say(console, f"{words.mhz_span(row['low_mhz'], row['high_mhz'])} MHz: {which} searched")
    for row in stop["spans"][:_ROWS_SHOWN]:
        changes = [
            f"{key} {row[f'old_{key}']} -> {row[f'new_{key}']}"
            for key in ("air", "law")
            if row[f"old_{key}"] != row[f"new_{key}"]
        ]
        if row.get("old_excluded") != row.get("new_excluded"):
            changes.append("now excluded" if row["new_excluded"] else "no longer excluded")
        span = words.mhz_span(row["low_mhz"], row["high_mhz"])
        say(console, f"{span} MHz: {', '.join(changes)}", indent=2)
        for reason in row["why"]:
            of = f" (station {reason['station']})" if reason["station"] else ""
            say(console, f"{reason['change']}{of}: {words.clean(reason['text'])}", indent=4)
    _more(console, len(stop["spans"]))


def _print_short(console: Console, stop: Mapping[str, Any]) -> None:
    say(console)
    for row in stop["rows"]:
        binds = f"; what binds: {words.clean(row['binding'])}" if row["binding"] else ""
        say(
            console,
            f"Missing at {_where(stop['stop'], stop['place'])}, {words.clean(row['need'])}: "
            f"{row['old_missing']} before, {row['new_missing']} now{binds}",
            style="bold",
        )


def _print_carriers(console: Console, stop: Mapping[str, Any]) -> None:
    _heading(console, f"Carriers at {_where(stop['stop'], stop['place'])}")
    lines = [
        [
            words.cut(words.clean(row["name"]), 20),
            words.cut(words.clean(row["need"]), 10) or "fixed",
            f"{_setting(row['old'], row)} -> {_setting(row['new'], row)}",
            words.clean(row["why"]),
        ]
        for row in stop["rows"]
    ]
    grid(console, ("Line", "Need", "MHz", "Why"), lines)


def _setting(one: Mapping[str, Any] | None, row: Mapping[str, Any]) -> str:
    """Write a frequency, with its range and power where they changed."""
    if one is None:
        return "none"
    text = words.mhz(one["frequency_mhz"])
    changed = {fact["key"] for fact in row["facts"]}
    if "power_mw" in changed or "power_kind" in changed:
        text += f" {words.power(one['power_mw'], one['power_kind'])}"
    return f"{text} {words.clean(one['range'])}" if "range" in changed else text


def _print_rest(console: Console, told: Mapping[str, Any]) -> None:
    rows = [(key, row) for key in ("warnings", "cautions") for row in told[key]]
    if rows:
        _heading(console, "Warnings and cautions")
    for key, row in rows[:_ROWS_SHOWN]:
        text = row["row"] if isinstance(row["row"], str) else row["row"].get("text")
        say(console, f"{key[:-1]} {row['change']}: {words.clean(text)}", indent=2)
    _more(console, len(rows))
    if told["elsewhere"]:
        shown = told["elsewhere"][:_ROWS_SHOWN]
        more = len(told["elsewhere"]) - len(shown)
        say(console)
        say(
            console,
            f"Figures also differ in: {', '.join(map(words.clean, shown))}"
            f"{f' and {more} more' if more else ''}.",
        )


def _more(console: Console, count: int) -> None:
    if count > _ROWS_SHOWN:
        say(console, f"and {count - _ROWS_SHOWN} more; all of them with --json", indent=2)


def _where(stop_id: object, place: object) -> str:
    return f"{words.town(place)} ({words.clean(stop_id)})" if place else words.clean(stop_id)


def _change(row: Mapping[str, Any]) -> str:
    facts = "; ".join(_fact(fact) for fact in row["facts"])
    return f"{row['change']}{': ' if facts else ''}{facts}"


def _fact(row: Mapping[str, Any]) -> str:
    name = words.setting_name(row["key"])
    if row["old"] is None and row["new"] is None:
        return f"{name} changed"
    return f"{name} {_value(row['old'])} -> {_value(row['new'])}"


def _value(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.6f}".rstrip("0").rstrip(".")
    if isinstance(value, dict):
        return words.cut(_pairs(value), _VALUES)
    if isinstance(value, list) and any(isinstance(item, dict) for item in value):
        parts = (_pairs(item) if isinstance(item, dict) else str(item) for item in value)
        return words.cut(" | ".join(parts), _VALUES)
    return words.cut(words.setting_value(value), _VALUES)


def _statement(row: Mapping[str, Any]) -> str:
    return f"{words.clean(row['what'])} {row['change']}: {_pairs(row['row'])}"


def _pairs(row: Mapping[str, Any]) -> str:
    """Write a small record, its empty values left out."""
    return ", ".join(
        f"{words.setting_name(str(key))} {_value(value)}"
        for key, value in row.items()
        if value not in (None, "", [])
    )
