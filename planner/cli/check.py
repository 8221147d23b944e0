"""``passband check``: what was understood of a tour and of every file it names."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from rich.console import Console

    from planner.errors import Fault
    from planner.intake.tour import LoadedTour
    from planner.records import Tour


def check_command(
    tour: Annotated[Path, typer.Argument(help="The tour file (TOML).")],
    strict: Annotated[bool, typer.Option("--strict", help="Warnings are faults: exit 2.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Read a tour and every file it names; show what was understood, or every fault.

    Stops whose verdicts hang on the venue's coordinates are listed, with what those would free.

    Example: passband check tour.toml
    """
    from planner.cli.running import console, print_json, strict_exit
    from planner.errors import InputFaults
    from planner.intake.tour import load_tour

    try:
        loaded = load_tour(tour)
    except InputFaults as error:
        if as_json:
            print_json(fault_document(error.faults))
        raise
    document = check_document(loaded, strict=strict)
    if as_json:
        print_json(document)
    else:
        _print(console(), loaded, document)
    strict_exit(document, strict=strict)


def check_document(loaded: LoadedTour, *, strict: bool = False) -> dict[str, Any]:
    """Return what was understood as plain values, for ``--json``.

    Parameters
    ----------
    loaded : LoadedTour
        A tour without a fault.
    strict : bool
        Whether warnings make it not ok.
    """
    from planner.units import hz_to_mhz

    tour = loaded.tour
    risk = _at_risk(loaded)
    return {
        "ok": not (strict and tour.warnings),
        "tour": tour.name,
        "settings": dataclasses.asdict(tour.settings),
        "licences": [_dated(row) for row in tour.licences],
        "stops": [
            {
                "id": stop.id,
                "place": stop.place,
                "venue": stop.venue,
                "country": stop.country,
                "region": stop.region,
                "lat_deg": stop.lat_deg,
                "lon_deg": stop.lon_deg,
                "location_error_km": stop.location_error_km,
                "found": how,
                "first_date": stop.first_date.isoformat(),
                "last_date": stop.last_date.isoformat(),
                "load_in": stop.load_in,
                "setting": stop.setting,
                "antenna_height_m": stop.antenna_height_m,
                "rig": stop.rig,
                "status": stop.status,
                "exclude_mhz": [
                    (hz_to_mhz(low_hz), hz_to_mhz(high_hz)) for low_hz, high_hz in stop.exclude_hz
                ],
                "verdicts_at_risk": risk.get(stop.id, []),
            }
            for stop, how in zip(tour.stops, loaded.how_found, strict=True)
        ],
        "needs": [dataclasses.asdict(need) for need in tour.needs],
        "fixed": [
            {
                "name": row.name,
                "role": row.role,
                "frequency_mhz": hz_to_mhz(row.frequency_hz),
                "gear": row.range_key,
                "stops": row.stops,
                "zone": row.zone,
                "active": row.active,
            }
            for row in tour.fixed
        ],
        "excludes": [
            {
                "low_mhz": hz_to_mhz(row.low_hz),
                "high_mhz": hz_to_mhz(row.high_hz),
                "reason": row.reason,
                "stops": row.stops,
            }
            for row in tour.excludes
        ],
        "reserves": [dataclasses.asdict(row) for row in tour.reserves],
        "zone_pairs": [dataclasses.asdict(row) for row in tour.zone_pairs],
        "ranges": [row.key for row in loaded.gear],
        "inputs": [dataclasses.asdict(row) for row in loaded.inputs],
        "warnings": [
            {"code": code, "where": where, "text": text} for code, where, text in tour.warnings
        ],
        "faults": [],
    }


def _at_risk(loaded: LoadedTour) -> dict[str, list[dict[str, Any]]]:
    """Return the channels whose verdict hangs on the venue's coordinates, by stop."""
    from planner.places import countries_within
    from planner.plan.document_stop import at_risk_document
    from planner.plan.survey import at_risk, survey

    if all(stop.status == "cancelled" for stop in loaded.tour.stops):
        return {}
    found = survey(loaded.tour, loaded.stations, loaded.gear, countries_near=countries_within)
    return {
        stop.id: [at_risk_document(row) for row in rows]
        for stop, rows in zip(found.stops, at_risk(found, loaded.gear), strict=True)
    }


def fault_document(faults: Iterable[Fault]) -> dict[str, Any]:
    """Return every fault as plain values, for ``--json``."""
    return {
        "ok": False,
        "stops": [],
        "needs": [],
        "inputs": [],
        "warnings": [],
        "faults": [dataclasses.asdict(fault) | {"line": fault.line()} for fault in faults],
    }


def _dated(record: Any) -> dict[str, Any]:  # noqa: ANN401 - any record of the tour
    """Return a record as plain values, dates as ISO text."""
    return {
        key: value.isoformat() if hasattr(value, "isoformat") else value
        for key, value in dataclasses.asdict(record).items()
    }


def _print(screen: Console, loaded: LoadedTour, document: dict[str, Any]) -> None:
    """Print the route, the needs, the files and the warnings."""
    from planner.intake.faults import counted
    from planner.units import format_mhz, shortest_mhz

    tour = loaded.tour
    counts = f"{counted(len(tour.stops), 'stop')}, {counted(len(tour.needs), 'need')}"
    _say(screen, f"{tour.name}: {counts}", style="bold")
    _say(screen)
    _grid(
        screen,
        ("stop", "place; venue; how it was found", "in", "dates", "setting", "+-km"),
        [
            (
                row["id"] if row["status"] == "confirmed" else f"{row['id']} ({row['status']})",
                f"{row['place']}\n  {row['venue']}{'; ' if row['venue'] else ''}{row['found']}",
                row["country"],
                _days(row["first_date"], row["last_date"]),
                row["setting"],
                f"{row['location_error_km']:g}",
            )
            for row in document["stops"]
        ],
    )
    _grid(
        screen,
        ("need", "role", "form", "lines", "spares", "gear", "stops"),
        [
            (
                need.name,
                need.role,
                need.form or "any",
                str(need.count),
                str(need.spares),
                ", ".join(need.gear) or "any of the role",
                ", ".join(need.stops) or "all",
            )
            for need in tour.needs
        ],
    )
    for licence in tour.licences:
        where = ", ".join(licence.stops) or f"all stops in {licence.country}"
        _say(screen, f"Licence: {licence.kind}, {licence.holder or 'no holder named'}; {where}")
    if not tour.licences:
        _say(screen, "Licence: none, so licence-exempt use only")
    for fixed in tour.fixed:
        where = ", ".join(fixed.stops) or "all stops"
        frequency = format_mhz(fixed.frequency_hz)
        _say(screen, f"Fixed: {fixed.name}, {frequency} MHz, {fixed.range_key}; {where}")
    for exclude in tour.excludes:
        where = ", ".join(exclude.stops) or "all stops"
        span = f"{shortest_mhz(exclude.low_hz)}-{shortest_mhz(exclude.high_hz)} MHz"
        _say(screen, f"Excluded: {span}; {where}; {exclude.reason or 'no reason given'}")
    for line in _zones_and_reserves(tour):
        _say(screen, line)
    _say(screen)
    _grid(
        screen,
        ("file", "rows", "issued", "coverage"),
        [
            (
                record.file,
                "" if record.rows is None else str(record.rows),
                record.issued or "",
                record.coverage or "",
            )
            for record in loaded.inputs
        ],
    )
    _print_at_risk(screen, document["stops"])
    for code, where, text in tour.warnings:
        _say(screen, f"warning {code}: {where + ': ' if where else ''}{text}")
    _say(screen, f"No faults, {counted(len(tour.warnings), 'warning')}.", style="bold")


def _zones_and_reserves(tour: Tour) -> Iterator[str]:
    """Yield what is kept free for people who turn up, and what lies between zones."""
    for reserve in tour.reserves:
        where = ", ".join(reserve.stops) or "all stops"
        width = f"{reserve.bandwidth_hz / 1000:g} kHz wide"
        yield f"Kept free: {reserve.count} of role {reserve.role}, {width}; {where}"
    for pair in tour.zone_pairs:
        between = (
            f"{pair.distance_m:g} m apart"
            if pair.isolation_db is None
            else f"{pair.isolation_db:g} dB of loss"
        )
        yield f"Zones: {pair.a} and {pair.b}, {between}"


def _print_at_risk(screen: Console, stops: Sequence[dict[str, Any]]) -> None:
    """Print the stops whose verdicts hang on the venue's coordinates."""
    from planner.intake.faults import counted

    hanging = [row for row in stops if row["verdicts_at_risk"]]
    if not hanging:
        return
    _say(
        screen,
        "Verdicts that hang on the venue's coordinates: the worst within the place error is "
        "planned. Its lat and lon, if it stands at the point given, would free (they never cost "
        "any):",
    )
    _grid(
        screen,
        ("stop", "+-km", "frees", "TV channels, by what changes"),
        [
            (
                row["id"],
                f"{row['location_error_km']:g}",
                counted(len(row["verdicts_at_risk"]), "channel"),
                "\n".join(_changes(row["verdicts_at_risk"])),
            )
            for row in hanging
        ],
    )


def _changes(rows: Sequence[dict[str, Any]]) -> list[str]:
    """Return one line for each change of verdict with its channels."""
    found: dict[str, list[str]] = {}
    for row in rows:
        words = [
            f"{row[now]} to {row[point]}"
            for now, point in (("air", "air_at_point"), ("law", "law_at_point"))
            if row[now] != row[point]
        ]
        found.setdefault(", ".join(words), []).append(str(row["channel"]))
    return [f"{words}: {', '.join(channels)}" for words, channels in found.items()]


def _days(first: str, last: str) -> str:
    return first if first == last else f"{first}\n{last}"


def _say(screen: Console, text: str = "", *, style: str = "") -> None:
    from rich.text import Text

    screen.print(Text(_fit(screen, text), style=style))


def _grid(screen: Console, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    grid = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 1, 0, 0))
    for column in columns:
        grid.add_column(Text(column), overflow="fold")
    for row in rows:
        grid.add_row(*(Text(_fit(screen, cell)) for cell in row))
    screen.print(grid)
    _say(screen)


def _fit(screen: Console, text: str) -> str:
    """Return text that the console's encoding can write."""
    return text.encode(screen.encoding, "replace").decode(screen.encoding)
