"""Every sheet of a foreign workbook, or one CSV file, as rows of text."""

from __future__ import annotations

import csv
import dataclasses
import io
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.table import read_text

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable
    from pathlib import Path

_ZIP = b"PK\x03\x04"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Sheet:
    """One sheet.

    Attributes
    ----------
    name : str
        Its name; empty for a CSV file.
    header : tuple of str
        Cells of the first row, runs of blanks made one; names may repeat.
    rows : tuple of (int, tuple of str)
        Number of the row in the sheet (the header is row 1) and its cells, as many as the header
        has; empty rows are left out.
    """

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def read_sheets(
    path: Path, *, name: str = "", what: str = "table"
) -> tuple[list[Sheet], dt.date | None]:
    """Read a workbook's sheets or a CSV file, by content and not by the name of the file.

    Parameters
    ----------
    path : Path
        XLSX, or CSV in UTF-8 or Windows-1252.
    name, what : str
        Its name and kind in messages.

    Returns
    -------
    list of Sheet
        In the workbook's order.
    date or None
        When the workbook says it was last changed; None for a CSV file.

    Raises
    ------
    InputFaults
        One line when nothing can be read at all.
    """
    name = name or str(path)
    if path.is_file():
        with path.open("rb") as stream:
            if stream.read(4) == _ZIP:
                return _workbook(path, name)
    text = read_text(path, name=name, what=what, fallback="cp1252")
    return [_sheet("", csv.reader(io.StringIO(text, newline="")))], None


def _workbook(path: Path, name: str) -> tuple[list[Sheet], dt.date | None]:
    import openpyxl

    try:
        book = openpyxl.load_workbook(io.BytesIO(path.read_bytes()), read_only=True, data_only=True)
        sheets = [
            _sheet(sheet.title, ([_text(cell) for cell in row] for row in sheet.values))
            for sheet in book.worksheets
        ]
        changed = book.properties.modified
    except Exception:  # noqa: BLE001 - a broken workbook fails in many ways, all the user's
        fault = Fault(
            file=name, value="a workbook that cannot be read", advice="save its sheets as CSV"
        )
        raise InputFaults([fault]) from None
    return sheets, changed.date() if changed else None


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


def _sheet(name: str, lines: Iterable[list[str]]) -> Sheet:
    header: tuple[str, ...] = ()
    rows = []
    for number, line in enumerate(lines, start=1):
        cells = tuple(" ".join(cell.split()) for cell in line)
        if number == 1:
            header = cells
        elif any(cells):
            rows.append((number, (*cells, *[""] * len(header))[: len(header)]))
    return Sheet(name=name, header=header, rows=tuple(rows))
