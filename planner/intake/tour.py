"""The tour file and every file it names, read into records, or every fault of all of them."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from planner.errors import InputFaults
from planner.intake.faults import FaultList
from planner.intake.route import read_route
from planner.intake.rules_file import own_rules, rule_records
from planner.intake.tour_blocks import check_block_losses, check_fallback_sizes
from planner.intake.tour_checks import (
    check_fixed_against_gear,
    check_needs_against_gear,
    check_pairs,
    check_stop_names,
    check_time_percent,
    check_unique_names,
    licence_warnings,
)
from planner.intake.tour_fields import TomlFields, sub_table, sub_tables
from planner.intake.tour_files import (
    InputRecord,
    NamedFiles,
    file_records,
    load_files,
    sha256_of,
    written_name,
)
from planner.intake.tour_hookup import check_hookup_parts, load_hookup_parts, read_hookup
from planner.intake.tour_sections import (
    EXCLUDE_KEYS,
    FIXED_KEYS,
    LICENCE_KEYS,
    NEED_KEYS,
    SETTINGS_KEYS,
    TOUR_KEYS,
    read_exclude,
    read_fixed,
    read_licence,
    read_need,
    read_settings,
)
from planner.intake.tour_statements import (
    ASSIGNED_KEYS,
    CLEARED_KEYS,
    OTHER_KEYS,
    OWNED_KEYS,
    Statements,
    check_owned_against_gear,
    check_statement_names,
    cleared_warnings,
    read_assigned,
    read_cleared,
    read_other,
    read_owned,
)
from planner.intake.tour_stops import STOP_KEYS, read_stop, route_warnings, stop_ids
from planner.intake.tour_text import parse_tour
from planner.intake.tour_zones import (
    RESERVE_KEYS,
    ZONE_PAIR_KEYS,
    check_reserves_against_gear,
    check_zone_pairs,
    read_reserve,
    read_zone_pair,
)
from planner.records import Tour

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from planner.errors import Fault
    from planner.intake.tour_stops import StopDraft, Warning3
    from planner.records import (
        Exclude,
        FixedCarrier,
        GearRange,
        Licence,
        Need,
        Other,
        Permission,
        Reserve,
        Settings,
        StationTable,
        Stop,
        ZonePair,
    )
    from planner.records.hookup import Part

__all__ = ["InputRecord", "LoadedTour", "load_tour"]

PAPERS = ("a4", "letter")
DISTANCES = ("km", "mi")
Record = TypeVar("Record")
Sections = list[tuple[TomlFields, Record]]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LoadedTour:
    """A tour with everything it names.

    Attributes
    ----------
    tour : Tour
        With located stops and the warnings found while reading.
    stations : StationTable
        All station tables in one.
    gear : tuple of GearRange
        The catalogue.
    inputs : tuple of InputRecord
        Files read: tour, route, station tables with their sidecars, catalogue.
    how_found : tuple of str
        How each stop was located, in the order of the stops.
    parts : tuple of Part
        The parts catalogue of ``[hookup]``; empty without one.
    """

    tour: Tour
    stations: StationTable
    gear: tuple[GearRange, ...]
    inputs: tuple[InputRecord, ...]
    how_found: tuple[str, ...]
    parts: tuple[Part, ...] = ()


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Names:
    """What ``[tour]`` says."""

    name: str
    tables: tuple[str, ...]
    gear: str
    paper: str
    distances: str
    rules: str
    elevation: tuple[str, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Route:
    """The stops as read, with their ids and, when they came from a table of its own, that."""

    drafts: tuple[StopDraft, ...]
    ids: tuple[str, ...]
    file: Path | None = None
    name: str = ""
    faults: tuple[Fault, ...] = ()
    warnings: tuple[Warning3, ...] = ()

    def stops(self) -> tuple[Stop, ...]:
        """Return the records of those stops that have a place and dates."""
        found = (draft.stop(name) for draft, name in zip(self.drafts, self.ids, strict=True))
        return tuple(stop for stop in found if stop is not None)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Parts:
    """Everything else that the tour file says."""

    settings: Settings
    licences: Sections[Licence]
    needs: Sections[Need]
    fixed: Sections[FixedCarrier]
    excludes: Sections[Exclude]
    statements: Statements
    reserves: Sections[Reserve]
    zone_pairs: Sections[ZonePair]


def load_tour(path: Path) -> LoadedTour:
    """Read a tour file and every file it names.

    Paths in the file are relative to it. No file is changed.

    Parameters
    ----------
    path : Path
        The TOML file.

    Raises
    ------
    InputFaults
        With every fault of every file: tour, route, station tables and their sidecars,
        catalogue. Of a file that cannot be read at all, one.
    """
    path = Path(path)
    faults = FaultList(str(path))
    data = parse_tour(path, faults)
    tour = TomlFields(sub_table(data, "tour", faults), "[tour]", faults, known=TOUR_KEYS)
    names = _names(tour, path)
    own, rule_faults = own_rules(path.parent, names.rules)
    route = _route(data, tour, faults, folder=path.parent, own=own)
    parts = _parts(data, faults, route, own)
    files = NamedFiles(
        tables={path.parent / name: name for name in names.tables},
        gear=(path.parent / names.gear, names.gear) if names.gear else None,
        elevation={path.parent / name: name for name in names.elevation},
    )
    stations, gear, file_faults = load_files(files)
    hookup = read_hookup(data, faults, needs=[need.name for _, need in parts.needs])
    catalogue, part_records, part_faults = load_hookup_parts(path.parent, hookup)
    check_hookup_parts(hookup, catalogue, faults)
    warnings = list(route.warnings)
    if gear is not None:
        warnings += check_needs_against_gear(parts.needs, gear)
        warnings += check_fixed_against_gear(parts.fixed, gear)
        check_fallback_sizes(parts.needs, gear)
        check_owned_against_gear(parts.statements.owned, gear)
        check_reserves_against_gear(parts.reserves, gear)
    warnings += route_warnings(route.drafts, route.ids)
    warnings += licence_warnings(parts.licences, route.drafts, route.ids, own)
    warnings += cleared_warnings(parts.statements.cleared)
    found = (*faults.faults, *rule_faults, *route.faults, *file_faults, *part_faults)
    if found or stations is None or gear is None:
        raise InputFaults(found)
    return LoadedTour(
        tour=dataclasses.replace(
            _tour(names, route, parts, gear=gear, warnings=warnings),
            permissions=own,
            hookup=hookup,
        ),
        stations=stations,
        gear=gear,
        inputs=(
            *_own_records(path, route),
            *rule_records(path.parent, names.rules, len(own)),
            *file_records(files, stations, gear),
            *part_records,
        ),
        parts=catalogue,
        how_found=tuple(draft.located.how for draft in route.drafts if draft.located),
    )


def _names(tour: TomlFields, path: Path) -> _Names:
    if tour.has("scans"):
        tour.fault(
            "scans",
            value="scans to be read",
            allowed="no scans in this version",
            advice="this version does not read scans yet; take the key out to plan without them",
        )
    tables: tuple[str, ...] = ()
    if tour.require("station_table", "the name of a station table, or a list of names"):
        tables = tour.text_or_texts("station_table")
    gear = ""
    if tour.require("gear", "the name of a gear catalogue"):
        gear = tour.filled_text("gear")
    return _Names(
        name=tour.text("name") or path.stem,
        tables=tables,
        gear=gear,
        paper=tour.word("paper", PAPERS, default="a4"),
        distances=tour.word("distances", DISTANCES, default="km"),
        rules=tour.filled_text("rules"),
        elevation=tour.text_or_texts("elevation") if tour.has("elevation") else (),
    )


def _route(
    data: Mapping[str, object],
    tour: TomlFields,
    faults: FaultList,
    *,
    folder: Path,
    own: Sequence[Permission],
) -> _Route:
    """Return the stops, from the tour file or from the table it names."""
    tables = sub_tables(data, "stop", faults)
    if not tour.has("route"):
        if not tables:
            faults.add(
                "[[stop]]",
                value="no stops",
                allowed="at least one [[stop]], or route in [tour]",
                advice='add a [[stop]] with e.g. place = "Omaha, NE, US" and date = 2027-03-04',
            )
        drafts = tuple(
            read_stop(TomlFields(values, f"[[stop]] {number}", faults, known=STOP_KEYS), own)
            for number, values in enumerate(tables, start=1)
        )
        return _Route(drafts=drafts, ids=stop_ids(drafts))
    if tables:
        tour.fault(
            "route",
            value=f"a route and {len(tables)} [[stop]]",
            allowed="one of the two",
            advice="remove the key route or the [[stop]] tables",
        )
    name = tour.filled_text("route")
    if not name:
        return _Route(drafts=(), ids=())
    try:
        table, rows, warnings = read_route(folder / name, name=name)
    except InputFaults as error:
        return _Route(drafts=(), ids=(), faults=error.faults)
    drafts = tuple(read_stop(row, own) for row in rows)
    ids = stop_ids(drafts)
    return _Route(
        drafts=drafts,
        ids=ids,
        file=folder / name,
        name=name,
        faults=table.faults.faults,
        warnings=tuple(warnings),
    )


def _parts(
    data: Mapping[str, object], faults: FaultList, route: _Route, own: Sequence[Permission]
) -> _Parts:
    """Read every other table and check the names in them against each other."""
    settings_fields = TomlFields(
        sub_table(data, "settings", faults), "[settings]", faults, known=SETTINGS_KEYS
    )

    def sections(
        name: str, keys: Sequence[str], read: Callable[[TomlFields], Record]
    ) -> Sections[Record]:
        found = []
        for number, values in enumerate(sub_tables(data, name, faults), start=1):
            fields = TomlFields(values, f"[[{name}]] {number}", faults, known=keys)
            found.append((fields, read(fields)))
        return found

    parts = _Parts(
        settings=read_settings(settings_fields),
        licences=sections("licence", LICENCE_KEYS, lambda fields: read_licence(fields, own)),
        needs=sections("need", NEED_KEYS, read_need),
        fixed=sections("fixed", FIXED_KEYS, read_fixed),
        excludes=sections("exclude", EXCLUDE_KEYS, read_exclude),
        statements=Statements(
            others=sections("other", OTHER_KEYS, read_other),
            assigned=sections("assigned", ASSIGNED_KEYS, read_assigned),
            owned=sections("owned", OWNED_KEYS, read_owned),
            cleared=sections("cleared", CLEARED_KEYS, read_cleared),
        ),
        reserves=sections("reserve", RESERVE_KEYS, read_reserve),
        zone_pairs=sections("zone_pair", ZONE_PAIR_KEYS, read_zone_pair),
    )
    if not parts.needs:
        faults.add(
            "[[need]]",
            value="no needs",
            allowed="at least one [[need]]",
            advice='add a [[need]] with e.g. name = "vocals", role = "mic" and count = 4',
        )
    check_time_percent(settings_fields, parts.settings, route.drafts)
    ids = route.ids if all(draft.named for draft in route.drafts) else ()
    placed: Sections[Need | FixedCarrier | Other | Reserve] = []
    placed += [*parts.needs, *parts.fixed]
    placed += [*parts.statements.others, *parts.reserves]
    if ids:
        check_stop_names([*parts.licences, *parts.excludes, *placed], ids)
    check_zone_pairs(parts.zone_pairs, [record.zone for _, record in placed])
    check_statement_names(parts.statements, ids, parts.needs)
    check_unique_names(parts.needs, "need")
    check_unique_names(parts.fixed, "fixed carrier")
    check_pairs(parts.needs)
    check_block_losses(parts.needs)
    return parts


def _tour(
    names: _Names,
    route: _Route,
    parts: _Parts,
    *,
    gear: Sequence[GearRange],
    warnings: Sequence[Warning3],
) -> Tour:
    roles = {row.key: row.role for row in gear}
    return Tour(
        name=names.name,
        station_tables=names.tables,
        gear_file=names.gear,
        paper=names.paper,
        distances=names.distances,
        settings=parts.settings,
        licences=tuple(licence for _, licence in parts.licences),
        stops=route.stops(),
        needs=tuple(need for _, need in parts.needs),
        fixed=tuple(
            dataclasses.replace(carrier, role=carrier.role or roles[carrier.range_key])
            for _, carrier in parts.fixed
        ),
        excludes=tuple(exclude for _, exclude in parts.excludes),
        others=tuple(row for _, row in parts.statements.others),
        assigned=tuple(row for _, row in parts.statements.assigned),
        owned=tuple(row for _, row in parts.statements.owned),
        cleared=tuple(row for _, row in parts.statements.cleared),
        reserves=tuple(row for _, row in parts.reserves),
        zone_pairs=tuple(row for _, row in parts.zone_pairs),
        warnings=tuple(warnings),
    )


def _own_records(path: Path, route: _Route) -> tuple[InputRecord, ...]:
    """Return the records of the tour file and of a route of its own."""
    own = InputRecord(file=path.name, sha256=sha256_of(path), rows=len(route.ids))
    if route.file is None:
        return (own,)
    rows = InputRecord(
        file=written_name(route.name), sha256=sha256_of(route.file), rows=len(route.ids)
    )
    return dataclasses.replace(own, rows=None), rows
