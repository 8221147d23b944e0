"""Tables as workbooks (XLSX): typed cells, frozen header rows, same bytes for the same plan."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.tables import FREQUENCIES, Table, Value

if TYPE_CHECKING:
    from collections.abc import Sequence

_EPOCH = (1980, 1, 1, 0, 0, 0)
"""Earliest date that a ZIP archive can hold."""
_WRITTEN = dt.datetime(1980, 1, 1)  # noqa: DTZ001 - a workbook's dates have no zone
_DATES = re.compile(rb"(<dcterms:(created|modified)[^>]*>)[^<]*(</dcterms:)")
_LONGEST_CELL = 32_767
"""Characters that a cell may hold (ECMA-376, and every spreadsheet)."""
_WIDEST, _NARROWEST = 42, 8
_MHZ = "0.000###"
_SPELT = {
    "erp": "ERP",
    "haat": "HAAT",
    "tv": "TV",
    "lat": "latitude",
    "lon": "longitude",
    "50 50": "F(50,50)",
    "50 10": "F(50,10)",
}
_SPELT_WORD = re.compile(rf"\b({'|'.join(_SPELT)})\b")


def workbook(tables: Sequence[Table], *, title: str) -> bytes:
    """Return a workbook, one sheet a table.

    Parameters
    ----------
    tables : sequence of Table
        Names of sheets have at most 31 characters.
    title : str
        Title among the workbook's properties.

    Returns
    -------
    bytes
        XLSX. Numbers are numbers; every text is a text, marked so that a spreadsheet takes it for
        none of its formulas even when it is edited; yes and no are words. No time is in it.
    """
    import openpyxl
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = openpyxl.Workbook(write_only=True)
    book.properties.title = words.clean(title)
    book.properties.creator = "passband"
    bold, top = Font(bold=True), Alignment(vertical="top", wrap_text=True)
    for found in tables:
        sheet = book.create_sheet(found.name)
        sheet.freeze_panes = "A2"
        for place, width in enumerate(_widths(found), start=1):
            sheet.column_dimensions[get_column_letter(place)].width = width
        head = []
        for column in found.columns:
            one = WriteOnlyCell(sheet, value=header(column))
            one.font, one.alignment = bold, top
            head.append(one)
        sheet.append(head)
        for line in found.lines:
            sheet.append(
                [
                    _cell(sheet, column, value)
                    for column, value in zip(found.columns, line, strict=True)
                ]
            )
    raw = io.BytesIO()
    book.save(raw)
    return _without_times(raw.getvalue())


def header(column: str) -> str:
    """Return a column's name for people: ``"frequency [MHz]"``."""
    return _SPELT_WORD.sub(lambda found: _SPELT[found[0]], words.setting_name(column))


def _cell(sheet: Any, column: str, value: Value) -> Any:  # noqa: ANN401 - openpyxl has no types
    from openpyxl.cell import WriteOnlyCell

    if value is None or value == "":
        return None
    if isinstance(value, int | float) and not isinstance(value, bool):
        if column not in FREQUENCIES:
            return value
        one = WriteOnlyCell(sheet, value=value)
        one.number_format = _MHZ
        return one
    text = ("yes" if value else "no") if isinstance(value, bool) else words.clean(value)
    one = WriteOnlyCell(sheet, value=words.cut(text, _LONGEST_CELL))
    one.data_type = "s"
    one.quotePrefix = True
    return one


def _widths(found: Table) -> list[int]:
    """Return the width of each column in characters, by its longest cell."""
    widths = [min(len(header(column)), _WIDEST // 2) for column in found.columns]
    for line in found.lines:
        for place, value in enumerate(line):
            widths[place] = max(widths[place], len(str(value)) if value is not None else 0)
    return [max(_NARROWEST, min(_WIDEST, width + 2)) for width in widths]


def _without_times(raw: bytes) -> bytes:
    """Return the archive with one date for all: nothing of it hangs on the hour."""
    out = io.BytesIO()
    stamp = _WRITTEN.isoformat().encode() + b"Z"
    with (
        zipfile.ZipFile(io.BytesIO(raw)) as came,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made,
    ):
        for name in came.namelist():
            data = came.read(name)
            if name == "docProps/core.xml":
                data = _DATES.sub(rb"\g<1>" + stamp + rb"\g<3>", data)
            entry = zipfile.ZipInfo(name, date_time=_EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o600 << 16
            made.writestr(entry, data)
    return out.getvalue()
