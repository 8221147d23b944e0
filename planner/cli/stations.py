"""``passband stations``: a regulator's table into a station table."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.intake.stations.conversion import Conversion
    from planner.intake.stations.importers import Remark

_EXAMPLES_SHOWN = 3


def stations_command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The table to read.")],
    *,
    from_format: Annotated[
        str,
        typer.Option(
            "--from",
            metavar="FORMAT",
            help="fcc-post-auction, ofcom, mapped (any table, see --map), or passband (our own).",
        ),
    ],
    out: Annotated[Path, typer.Option("--out", metavar="CSV", help="The station table to write.")],
    report: Annotated[
        Path | None,
        typer.Option("--report", metavar="CSV", help="List every row repaired, refused or noted."),
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="Write nothing when a row was repaired or refused.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--map",
            metavar="OURS=THEIRS",
            help="mapped: our column is theirs; OURS==TEXT puts one text on every row.",
        ),
    ] = None,
    unit: Annotated[
        list[str] | None,
        typer.Option(
            "--unit",
            metavar="OURS=UNIT",
            help="mapped: kW W dBk / m ft / MHz kHz Hz / deg DDMMSS.",
        ),
    ] = None,
    word: Annotated[
        list[str] | None,
        typer.Option("--word", metavar="OURS:THEIRS=WORD", help="mapped: their word in our words."),
    ] = None,
    west_positive: Annotated[
        bool, typer.Option("--west-positive", help="mapped: longitudes count westwards.")
    ] = False,
    zero_unknown: Annotated[
        bool, typer.Option("--zero-unknown", help="mapped: a height of 0 means unknown.")
    ] = False,
    raster: Annotated[
        str,
        typer.Option(
            "--raster", metavar="COUNTRY", help="mapped: channel numbers are those of this country."
        ),
    ] = "",
    patterns: Annotated[
        Path | None,
        typer.Option("--patterns", metavar="FILE", help="mapped: their table of antenna patterns."),
    ] = None,
    pattern_column: Annotated[
        list[str] | None,
        typer.Option(
            "--pattern-map",
            metavar="OURS=THEIRS",
            help="mapped: columns of --patterns (pattern, azimuth_deg, relative_field).",
        ),
    ] = None,
    covers: Annotated[
        list[str] | None,
        typer.Option(
            "--covers",
            metavar="SERVICE",
            help="mapped: a service of which the table holds all; without it nothing is claimed.",
        ),
    ] = None,
    issued: Annotated[
        str, typer.Option("--issued", metavar="DATE", help="mapped: date of the data, YYYY-MM-DD.")
    ] = "",
    missing_note: Annotated[
        str, typer.Option("--missing", metavar="TEXT", help="mapped: what the table lacks.")
    ] = "",
) -> None:
    """Turn a regulator's table into a station table with its coverage sidecar.

    Example: passband stations post_auction_parameters.csv --from fcc-post-auction --out us.csv

    ofcom: the workbook (both sheets), or one of its sheets as CSV; a site becomes up to six
    transmitters, full power all round.

    Example: passband stations transmitters.xlsx --from ofcom --out gb.csv

    Any other table: say which column is which. Our column stands before the =, theirs after it.

    Example: passband stations list.csv --from mapped --out us.csv --map station_id=facility
    --map country==US --map channel=ch --map lat_deg=lat --map lon_deg=lon --map erp_kw=erp
    --unit erp_kw=W --map haat_m=haat --zero-unknown --covers full --issued 2026-10-01

    Canada and Mexico as the FCC's studies list them (facility_id, call, country, channel, lat_deg,
    lon_deg, rcamsl_m, haat_m, erp_kw): their channels are those of the US raster (--raster US), a
    HAAT of 0 is unknown, channels above 36 are kept and marked off.

    Example: passband stations ca.csv --from mapped --out ca-stations.csv
    --map station_id=facility_id --map name=call --map country=country --map channel=channel
    --map lat_deg=lat_deg --map lon_deg=lon_deg --map antenna_amsl_m=rcamsl_m --map haat_m=haat_m
    --zero-unknown --map erp_kw=erp_kw --map service==full --raster US --covers full
    --issued 2015-10-01 --missing "no antenna patterns; stations may have moved since"
    """
    from planner.intake.stations.conversion import convert_stations
    from planner.intake.stations.mapping import MappingWords, mapping_of

    mapping = mapping_of(
        from_format,
        MappingWords(
            columns=column or (),
            units=unit or (),
            words=word or (),
            west_positive=west_positive,
            zero_unknown=zero_unknown,
            raster=raster,
            covers=covers or (),
            issued=issued,
            missing_note=missing_note,
            patterns=patterns,
            pattern_columns=pattern_column or (),
        ),
    )
    done = convert_stations(file, from_format, out, report=report, strict=strict, mapping=mapping)
    groups = _grouped(done.table.remarks)
    for line in _remark_lines(groups, report):
        typer.echo(line, err=True)
    if as_json:
        from planner.cli.running import print_json

        print_json(_answer(done, groups, file=file, from_format=from_format, out=out))
        return
    for line in _summary_lines(done, file, out, from_format):
        typer.echo(line)


def _grouped(remarks: Sequence[Remark]) -> dict[tuple[str, str], list[Remark]]:
    """Return remarks by action and kind, refusals first."""
    from planner.intake.stations.conversion import ACTIONS

    groups: dict[tuple[str, str], list[Remark]] = {}
    for remark in sorted(remarks, key=lambda remark: ACTIONS.index(remark.action)):
        groups.setdefault((remark.action, remark.kind), []).append(remark)
    return groups


def _remark_lines(groups: dict[tuple[str, str], list[Remark]], report: Path | None) -> list[str]:
    from planner.intake.faults import counted

    lines = []
    for (action, kind), remarks in groups.items():
        lines.append(f"{action}: {kind}, {counted(len(remarks), 'row')}")
        for remark in remarks[:_EXAMPLES_SHOWN]:
            place = ", ".join(
                part
                for part in (f"row {remark.row_number}", remark.station_id, remark.column)
                if part
            )
            got = f" got {remark.value};" if remark.value else ""
            lines.append(f"  {place}:{got} {remark.text}")
        if len(remarks) > _EXAMPLES_SHOWN:
            where = f"all in {report}" if report else "--report FILE lists all"
            lines.append(f"  and {len(remarks) - _EXAMPLES_SHOWN} more; {where}")
    return lines


def _summary_lines(done: Conversion, file: Path, out: Path, from_format: str) -> list[str]:
    from planner.intake.faults import counted
    from planner.intake.stations.importers import REFUSED, REPAIRED

    table = done.table
    written = counted(len(table.rows), "transmitter")
    read = counted(table.rows_read, "row")
    mended = f"{table.count(REPAIRED)} repaired, {table.count(REFUSED)} refused"
    lines = [f"{out}: {written}, from {read} of {file}; {mended}"]
    lines += [f"{path}: its companion table" for path in done.companion_files]
    if done.coverage_file is None and from_format != "mapped":
        lines.append(f"No coverage sidecar beside {file}: plans call this table partial.")
    elif done.coverage_file is None:
        lines.append("No coverage sidecar (give --covers): plans call this table partial.")
    elif table.coverage is not None:
        issued = table.coverage.issued or "on a day that the file does not tell"
        lines.append(f"{done.coverage_file}: what the table covers, issued {issued}")
        lines.append(table.coverage.missing_note)
    return [line for line in lines if line]


def _answer(
    done: Conversion,
    groups: dict[tuple[str, str], list[Remark]],
    *,
    file: Path,
    from_format: str,
    out: Path,
) -> dict[str, Any]:
    from planner.intake.stations.importers import REFUSED, REPAIRED
    from planner.units import hz_to_mhz

    table = done.table
    coverage = table.coverage
    return {
        "file": str(file),
        "format": from_format,
        "out": str(out),
        "coverage_file": str(done.coverage_file) if done.coverage_file else None,
        "companion_files": [str(path) for path in done.companion_files],
        "rows_read": table.rows_read,
        "rows_written": len(table.rows),
        "repaired": table.count(REPAIRED),
        "refused": table.count(REFUSED),
        "coverage": None
        if coverage is None
        else {
            "countries": list(coverage.countries),
            "services": list(coverage.services),
            "systems": list(coverage.systems),
            "low_mhz": hz_to_mhz(coverage.low_hz),
            "high_mhz": hz_to_mhz(coverage.high_hz),
            "issued": coverage.issued.isoformat() if coverage.issued else None,
            "missing_note": coverage.missing_note,
        },
        "remarks": [
            {
                "action": action,
                "kind": kind,
                "rows": len(remarks),
                "examples": [
                    {
                        "row": remark.row_number,
                        "station_id": remark.station_id,
                        "column": remark.column,
                        "value": remark.value,
                        "text": remark.text,
                    }
                    for remark in remarks[:_EXAMPLES_SHOWN]
                ],
            }
            for (action, kind), remarks in groups.items()
        ],
    }
