"""The hook-up as tables: parts and levels as CSV, and both in one workbook."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING, Any

from planner.report.reading import Plan, rows
from planner.report.tables import cell, csv_text
from planner.report.words import clean
from planner.spreadsheet import spreadsheet_safe

if TYPE_CHECKING:
    from collections.abc import Sequence

PART_COLUMNS = (
    "part",
    "kind",
    "quantity",
    "spare",
    "rack_units",
    "watts",
    "outlets",
    "available",
    "note",
)
LEVEL_COLUMNS = (
    "branch",
    "stop",
    "receiver",
    "frequency_mhz",
    "changed",
    "step",
    "part",
    "gain_db",
    "far_dbm",
    "near_dbm",
    "total_dbm",
    "p1db_dbm",
    "compression_margin_db",
)
_STAMP = (1980, 1, 1, 0, 0, 0)
"""Date of every member of a workbook, so that the same plan gives the same bytes."""


def _parts(hookup: Plan) -> list[list[Any]]:
    return [[row.get(column) for column in PART_COLUMNS] for row in rows(hookup, "parts")]


def _levels(hookup: Plan) -> list[list[Any]]:
    out = []
    for branch in rows(hookup, "branches"):
        head = [branch[key] for key in ("name", "stop", "receiver", "frequency_mhz", "changed")]
        for number, step in enumerate(rows(branch, "steps"), start=1):
            out.append([*head, number, *(step.get(column) for column in LEVEL_COLUMNS[6:])])
    return out


def parts_csv(hookup: Plan) -> str:
    """Return the parts over all racks as CSV, one row a part."""
    return csv_text(PART_COLUMNS, [[cell(value) for value in row] for row in _parts(hookup)])


def levels_csv(hookup: Plan) -> str:
    """Return every level budget as CSV, one row a step."""
    return csv_text(LEVEL_COLUMNS, [[cell(value) for value in row] for row in _levels(hookup)])


def parts_xlsx(hookup: Plan) -> bytes:
    """Return parts and levels as a workbook with two sheets; the same plan gives the same bytes.

    Texts that a spreadsheet would take for a formula get an apostrophe before them.
    """
    import datetime as dt

    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    fixed = dt.datetime(*_STAMP, tzinfo=dt.UTC).replace(tzinfo=None)
    book.properties.created = book.properties.modified = fixed
    book.remove(book.active)
    for title, header, lines in (
        ("Parts", PART_COLUMNS, _parts(hookup)),
        ("Levels", LEVEL_COLUMNS, _levels(hookup)),
    ):
        sheet = book.create_sheet(title)
        sheet.append(list(header))
        for line in lines:
            sheet.append([_value(value) for value in line])
        for head in sheet[1]:
            head.font = Font(bold=True)
        sheet.freeze_panes = "A2"
        for letter, width in zip("ABCDEFGHIJKLM", _widths(header, lines), strict=False):
            sheet.column_dimensions[letter].width = width
    stream = io.BytesIO()
    book.save(stream)
    return _same_bytes(stream.getvalue())


def _value(value: object) -> object:
    if value is None or isinstance(value, bool | int | float):
        return value
    text = str(value)
    return spreadsheet_safe(clean(text), came=text)


def _widths(header: Sequence[str], lines: Sequence[Sequence[object]]) -> list[float]:
    columns = zip(header, *lines, strict=True) if lines else ([name] for name in header)
    return [min(60.0, 2.0 + max(len(str(value or "")) for value in column)) for column in columns]


def _same_bytes(book: bytes) -> bytes:
    """Return a workbook packed again with one fixed date in every member."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(book)) as source,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        for name in source.namelist():
            data = source.read(name)
            if name == "docProps/core.xml":
                data = _undated(data)
            target.writestr(zipfile.ZipInfo(name, _STAMP), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _undated(core: bytes) -> bytes:
    """Return the properties with the date of saving set to the fixed one."""
    import re

    return re.sub(
        rb"(<dcterms:modified[^>]*>)[^<]*(</dcterms:modified>)",
        rb"\g<1>1980-01-01T00:00:00Z\g<2>",
        core,
    )
