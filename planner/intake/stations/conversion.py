"""One table into our own format: read, checked, written whole with its coverage and report."""

from __future__ import annotations

import csv
import dataclasses
import io
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults, PlannerError
from planner.intake.stations.columns import COLUMNS, station_table_text
from planner.intake.stations.companions import (
    HAAT,
    HAAT_COLUMNS,
    PATTERN_COLUMNS,
    PATTERNS,
    companion_path,
    companion_text,
    read_companions,
)
from planner.intake.stations.coverage import (
    coverage_path,
    coverage_text,
    find_coverage,
    read_coverage,
)
from planner.intake.stations.importers import (
    MAPPED_FORMAT,
    NOTED,
    OWN_FORMAT,
    REFUSED,
    REPAIRED,
    ImportedTable,
    Remark,
    importer,
)
from planner.intake.stations.loading import load_station_tables
from planner.intake.stations.mapped import read_mapped
from planner.intake.stations.mapping import ColumnMapping, MappingWords, parse_mapping
from planner.intake.stations.passband import read_station_rows
from planner.intake.table import read_table, table_from_text
from planner.intake.writing import write_texts_atomically
from planner.rules import rule_country
from planner.spreadsheet import spreadsheet_safe

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

REPORT_COLUMNS = ("row", "station_id", "action", "kind", "column", "value", "text")
ACTIONS = (REFUSED, REPAIRED, NOTED)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Conversion:
    """What was read and where it was written.

    Attributes
    ----------
    table : ImportedTable
        Rows, remarks and coverage.
    coverage_file : Path or None
        The sidecar written; None when the source has no coverage.
    companion_files : tuple of Path
        Patterns and heights by radial written beside the table.
    """

    table: ImportedTable
    coverage_file: Path | None
    companion_files: tuple[Path, ...] = ()


def convert_stations(
    source: Path,
    format_name: str,
    out: Path,
    *,
    report: Path | None = None,
    strict: bool = False,
    mapping: ColumnMapping | None = None,
) -> Conversion:
    """Read a table in a named format and write it as a station table.

    Parameters
    ----------
    source : Path
        The file to read.
    format_name : str
        ``"passband"`` or a name of :data:`planner.intake.stations.importers.IMPORTERS`.
    out : Path
        The station table; its sidecar is written beside it.
    report : Path, optional
        CSV that lists every row repaired, refused or noted.
    strict : bool
        Whether anything repaired or refused is a fault. Notes are none: they tell a gap of the
        source, such as an unknown height, which no reader can mend.
    mapping : ColumnMapping, optional
        Which column is which; for ``"mapped"``, and only for that.

    Raises
    ------
    InputFaults
        When the input is at fault; nothing is written then.
    """
    if format_name == OWN_FORMAT:
        imported = _own_table(source)
    elif format_name == MAPPED_FORMAT:
        imported = read_mapped(source, mapping or parse_mapping(MappingWords()))
    else:
        imported = importer(format_name).read(source)
    if strict:
        _nothing_mended(source, imported.remarks)
    text = station_table_text(imported.rows, imported.extra_columns)
    _reads_back(text, out)
    texts = {out: text}
    companions = {
        companion_path(out, PATTERNS): (PATTERN_COLUMNS, imported.patterns),
        companion_path(out, HAAT): (HAAT_COLUMNS, imported.haats),
    }
    for path, (columns, curves) in companions.items():
        if curves:
            texts[path] = companion_text(columns, curves)
    coverage_file = coverage_path(out)
    if imported.coverage is not None:
        texts[coverage_file] = coverage_text(imported.coverage)
    if report is not None:
        texts[report] = _report_text(imported.remarks)
    _may_write(source, out, report, writes=set(texts))
    write_texts_atomically(texts)
    return Conversion(
        table=imported,
        coverage_file=coverage_file if coverage_file in texts else None,
        companion_files=tuple(path for path in companions if path in texts),
    )


def _own_table(source: Path) -> ImportedTable:
    """Read our own format strictly and put it into its canonical form."""
    load_station_tables([source])
    table = read_table(source, what="station table")
    extra = tuple(name for name, _ in table.unknown_columns(COLUMNS))
    rows = []
    for row in table.rows():
        cells = {name: row.text(name) for name in (*COLUMNS, *extra)}
        cells["country"] = rule_country(cells["country"])
        cells["status"] = cells["status"] or "on-air"
        rows.append(cells)
    remarks = tuple(
        Remark(
            action=NOTED,
            kind="unknown-column",
            row_number=1,
            column=name,
            text="kept, not used" + (f'; did you mean "{near}"?' if near else ""),
        )
        for name, near in table.unknown_columns(COLUMNS)
    )
    sidecar = find_coverage(source)
    directional = any(cells["pattern"] for cells in rows)
    companions = read_companions(source, name=str(source), directional=directional)
    return ImportedTable(
        rows=tuple(rows),
        coverage=None if sidecar is None else read_coverage(sidecar),
        remarks=remarks,
        rows_read=len(rows),
        extra_columns=extra,
        patterns=companions.patterns,
        haats=companions.haats,
    )


def _nothing_mended(source: Path, remarks: Iterable[Remark]) -> None:
    faults = [
        Fault(
            file=str(source),
            where=f"row {remark.row_number}"
            + (f", column {remark.column}" if remark.column else ""),
            value=remark.value,
            advice=f"{remark.action}: {remark.text}; not accepted with --strict",
        )
        for remark in remarks
        if remark.action in {REPAIRED, REFUSED}
    ]
    if faults:
        raise InputFaults(faults)


def _reads_back(text: str, out: Path) -> None:
    table = table_from_text(text, str(out))
    read_station_rows(table)
    if table.faults:
        first = table.faults.faults[0].line()
        raise PlannerError(f"the table made would not be read back, nothing is written: {first}")


def _report_text(remarks: Iterable[Remark]) -> str:
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(REPORT_COLUMNS)
    for remark in remarks:
        cells = (
            str(remark.row_number),
            remark.station_id,
            remark.action,
            remark.kind,
            remark.column,
            remark.value,
            remark.text,
        )
        writer.writerow([spreadsheet_safe(cell, keep_numbers=True) for cell in cells])
    return stream.getvalue()


def _may_write(source: Path, out: Path, report: Path | None, *, writes: set[Path]) -> None:
    """Refuse to write over the source or over files that are not of our making."""
    faults = []
    sidecar = coverage_path(out)
    marks = {
        out: (COLUMNS[0], "--out"),
        sidecar: ("countries", "--out"),
        companion_path(out, PATTERNS): (",".join(PATTERN_COLUMNS), "--out"),
        companion_path(out, HAAT): (",".join(HAAT_COLUMNS), "--out"),
    }
    beside = [path for path in marks if path != out]
    if report is not None:
        marks[report] = (",".join(REPORT_COLUMNS), "--report")
        if report.absolute() in {path.absolute() for path in (out, *beside)}:
            faults.append(_wrong_place("--report", report, "it is written by --out already"))
    for path, (mark, flag) in marks.items():
        if not path.exists():
            continue
        if path.samefile(source):
            faults.append(_wrong_place(flag, path, "it is the file that is read"))
        elif path in beside and path not in writes:
            what = "coverage" if path == sidecar else "companion"
            why = f"it is the {what} of another table and would be taken for this one's"
            faults.append(_wrong_place(flag, path, why))
        elif path.is_file() and not _begins_with(path, mark):
            faults.append(_wrong_place(flag, path, "it holds something else"))
    if faults:
        raise InputFaults(faults)


def _begins_with(path: Path, mark: str) -> bool:
    with path.open("rb") as stream:
        head = stream.read(400)
    first = head.decode("utf-8-sig", errors="replace").lstrip().split("\n", 1)[0]
    return not first or first.lstrip('"').startswith(mark)


def _wrong_place(flag: str, path: Path, why: str) -> Fault:
    return Fault(
        file="command line",
        where=flag,
        value=str(path),
        allowed="a new file, or one that this command wrote",
        advice=f"{why}: name another file",
    )
