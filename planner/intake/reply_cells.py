"""Any list of frequencies as rows of text: CSV with any separator, or a workbook."""

from __future__ import annotations

import csv
import dataclasses
import io
import re
from collections import Counter
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.table import read_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

_ZIP = b"PK\x03\x04"
_MARKS = ("\t", ";", "|")
_DECIMAL_COMMA = re.compile(r"\s*\d{1,5},\d{1,6}\s*")
_BLANKS = re.compile(r"(?<=\d)[ \u00a0\u2009\u202f'\u2019](?=\d)")
_FIGURE = re.compile(r"(\d+(?:\.\d*)?|\.\d+)\s*([A-Za-z]*)")


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RawTable:
    """One sheet, or one text file.

    Attributes
    ----------
    name : str
        Of the sheet; empty for a text file.
    rows : tuple of (int, tuple of str)
        Number of the row in the file and its cells; empty rows are left out.
    separator : str
        Of a text file; empty for a sheet.
    """

    name: str
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    separator: str = ""


def read_raw(path: Path, *, what: str) -> list[RawTable]:
    """Read a workbook's sheets or a text file, by content and not by the name of the file.

    Parameters
    ----------
    path : Path
        XLSX, or text in UTF-8 or Windows-1252 whose columns are separated by tabs, semicolons,
        bars or commas; one column alone may have decimal commas.
    what : str
        What the file is, in messages.

    Raises
    ------
    InputFaults
        One line when nothing can be read at all.
    """
    if path.is_file():
        with path.open("rb") as stream:
            if stream.read(4) == _ZIP:
                return _workbook(path)
    text = read_text(path, what=what, fallback="cp1252")
    separator = _separator([line for line in text.splitlines() if line.strip()])
    if not separator:
        rows: Iterable[Sequence[str]] = ([line] for line in text.splitlines())
    else:
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    return [RawTable(name="", rows=_numbered(rows), separator=separator)]


def _separator(lines: Sequence[str]) -> str:
    """Return what separates columns; empty where there is one column only.

    It is the mark that parts most lines into the same number of columns: a cell may hold a list of
    figures with semicolons, or a decimal comma. Of equals the comma comes last.
    """
    plain = sum(_DECIMAL_COMMA.fullmatch(line) is not None for line in lines)
    # a header may stand above figures with decimal commas
    single = bool(plain) and plain >= len(lines) - 1
    marks = _MARKS if single else (*_MARKS, ",")
    alike = {mark: _lines_alike(lines, mark) for mark in marks}
    best = max(marks, key=lambda mark: alike[mark])
    if alike[best] * 2 > len(lines):
        return best
    return "," if not single and alike[","] else ""


def _lines_alike(lines: Sequence[str], mark: str) -> int:
    """Return how many lines a mark parts into the number of columns that is the commonest."""
    widths = Counter(len(cells) for cells in csv.reader(lines, delimiter=mark) if len(cells) > 1)
    return max(widths.values(), default=0)


def _workbook(path: Path) -> list[RawTable]:
    import openpyxl

    try:
        book = openpyxl.load_workbook(io.BytesIO(path.read_bytes()), read_only=True, data_only=True)
        return [
            RawTable(
                name=str(sheet.title),
                rows=_numbered([_text(value) for value in row] for row in sheet.values),
            )
            for sheet in book.worksheets
        ]
    except Exception:  # noqa: BLE001 - a broken workbook fails in many ways, all the user's
        fault = Fault(
            file=str(path), value="a workbook that cannot be read", advice="save it as CSV"
        )
        raise InputFaults([fault]) from None


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


def _numbered(rows: Iterable[Sequence[str]]) -> tuple[tuple[int, tuple[str, ...]], ...]:
    found = []
    for number, row in enumerate(rows, start=1):
        cells = tuple(" ".join(cell.split()) for cell in row)
        if any(cells):
            found.append((number, cells))
    return tuple(found)


def figure(text: str) -> tuple[str, str] | None:
    """Return a figure in plain form and the unit behind it: ``"518,1 MHz"`` to ``518.1``, ``MHz``.

    One comma alone is a decimal mark; of commas and points together the last is, the others part
    thousands, as blanks and apostrophes between figures do.

    Returns
    -------
    tuple of str or None
        None where the text is no positive figure.
    """
    text = _BLANKS.sub("", text.strip())
    marks = [mark for mark in text if mark in ",."]
    if marks:
        head, _, tail = text.rpartition(marks[-1])
        head = re.sub(r"[,.]", "", head)
        if len(marks) > 1 and len(set(marks)) == 1:
            return None
        text = f"{head}.{tail}"
    found = _FIGURE.fullmatch(text)
    return (found[1], found[2]) if found else None
