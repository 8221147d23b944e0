"""Strict tables: a CSV file read into text cells, and every fault of it collected.

A table is read with :func:`read_table`; a reader then walks its rows, asks each cell for a typed
value, and calls ``table.faults.raise_if_any()`` once at the end, so that the user sees every
fault of the file in one go.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.cells import ANY_NUMBER, FREQUENCY_MHZ, NumberRange, Row
from planner.intake.faults import FaultList, counted, nearest_word

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence
    from pathlib import Path

__all__ = [
    "ANY_NUMBER",
    "FREQUENCY_MHZ",
    "FaultList",
    "NumberRange",
    "Row",
    "TextTable",
    "nearest_word",
    "read_table",
    "read_text",
    "table_from_text",
]


class TextTable:
    """A table as text cells, with the list into which its faults go.

    Attributes
    ----------
    file : str
        Name of the file as the user gave it.
    header : tuple of str
        Column names in the file's order.
    positions : dict of str to int
        Place of each column in a row.
    cells : list of sequence of str
        Rows of stripped cells, each as long as the header; blank rows are left out.
    row_numbers : list of int
        Line of the file of each row; the header is row 1.
    header_row : int
        Line of the file of the header: 1 unless blank lines stand before it.
    faults : FaultList
        Where every fault of this table is collected.
    """

    def __init__(
        self, file: str, numbered_rows: Iterable[tuple[int, Sequence[str]]], faults: FaultList
    ) -> None:
        self.file = file
        self.faults = faults
        rows = iter(numbered_rows)
        number, header = next(rows, (1, ()))
        self.header_row = number
        self.header = tuple(name.strip() for name in header)
        while self.header and not self.header[-1]:
            self.header = self.header[:-1]
        self.positions = {name: place for place, name in enumerate(self.header) if name}
        faults.set_columns(self.header)
        for place, name in enumerate(self.header):
            if name and self.positions[name] != place:
                faults.add(
                    f"row {number}, column {name}",
                    value="the column twice",
                    allowed="each column once",
                    advice="remove or rename one of them",
                )
        self.cells: list[Sequence[str]] = []
        self.row_numbers: list[int] = []
        for row_number, cells in rows:
            self._append(row_number, [cell.strip() for cell in cells])

    def _append(self, row_number: int, cells: list[str]) -> None:
        if not any(cells):
            return
        width = len(self.header)
        while len(cells) > width and not cells[-1]:
            cells.pop()
        if len(cells) == width:
            self.cells.append(cells)
            self.row_numbers.append(row_number)
            return
        self.faults.add(
            f"row {row_number}",
            value=counted(len(cells), "cell"),
            allowed=f"{counted(width, 'cell')}, as many as the header",
            advice="put a cell that holds a comma in double quotes"
            if len(cells) > width
            else "leave unknown cells empty but keep their commas",
        )

    def drop_rows(self) -> None:
        """Forget every row and its faults: with a header at fault they say nothing new."""
        self.cells, self.row_numbers = [], []
        self.faults.clear_below(self.header_row)

    def __len__(self) -> int:
        return len(self.cells)

    def row(self, index: int) -> Row:
        """Return one row by its place in ``cells``."""
        return Row(self, index)

    def rows(self) -> Iterator[Row]:
        """Walk the rows in the file's order."""
        return (Row(self, index) for index in range(len(self.cells)))

    def column(self, name: str) -> list[str]:
        """Return all cells of a column, empty texts when the column is not there."""
        position = self.positions.get(name)
        if position is None:
            return [""] * len(self.cells)
        return [cells[position] for cells in self.cells]

    def require_columns(
        self,
        required: Sequence[str],
        known: Collection[str] = (),
        *,
        what: str = "table",
        hint: str = "check the path",
    ) -> None:
        """Record a fault for each required column that is missing, naming the nearest one.

        When more than half of them are missing it is another kind of file: that is the only
        fault then, and the rows are dropped.

        Parameters
        ----------
        required : sequence of str
            Columns that must be there.
        known : collection of str
            All columns of the format; one of these, rightly named, is no candidate.
        what : str
            What the file should be, in messages.
        hint : str
            What to do with another kind of file.
        """
        missing = [name for name in required if name not in self.positions]
        if len(missing) > len(required) / 2:
            self.cells, self.row_numbers = [], []
            self.faults.clear()
            self.faults.add(
                "row 1",
                value=",".join(self.header),
                allowed=f"a {what} with the columns {', '.join(required)}",
                advice=f"this is another kind of file: {hint}",
            )
            return
        spare = [name for name in self.positions if name not in known]
        for name in missing:
            near = nearest_word(name, spare)
            self.faults.add(
                "row 1",
                value=f"no column {name}",
                allowed=f"a column named {name}",
                advice=f'rename column "{near}"?' if near else "add the column",
            )

    def unknown_columns(self, known: Collection[str]) -> tuple[tuple[str, str], ...]:
        """Return columns outside ``known``, each with the nearest known one that is missing."""
        missing = [name for name in known if name not in self.positions]
        return tuple(
            (name, nearest_word(name, missing)) for name in self.positions if name not in known
        )


def read_text(path: Path, *, name: str = "", what: str = "table", fallback: str = "") -> str:
    """Read a text file in UTF-8, with or without a byte order mark.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        Its name in messages; ``path`` when empty.
    what : str
        What the file is, in messages: ``"station table"``.
    fallback : str
        Encoding to try when the file is not UTF-8; none for our own formats.

    Raises
    ------
    InputFaults
        One line when the file is missing, unreadable, empty, binary or not UTF-8.
    """
    name = name or str(path)
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise _whole_file(name, "no such file", f"a {what}", "check the path") from None
    except IsADirectoryError:
        raise _whole_file(name, "a folder", f"a {what}", "name the file in it") from None
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise _whole_file(name, reason, f"a readable {what}", "check the path") from None
    if not data.strip():
        raise _whole_file(name, "an empty file", f"a {what}", "check the path or save it again")
    if b"\0" in data:
        advice = "export it as CSV" if data[:2] == b"PK" else "save it as text in UTF-8"
        raise _whole_file(name, "a binary file", f"a {what} in plain text, UTF-8", advice)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if fallback:
            return data.decode(fallback, errors="replace")
        line = data.count(b"\n", 0, error.start) + 1
        fault = Fault(
            file=name,
            where=f"row {line}",
            value=f"byte 0x{data[error.start]:02X}, which is not UTF-8",
            allowed=f"a {what} in UTF-8",
            advice='save it again with the encoding "UTF-8"',
        )
        raise InputFaults([fault]) from None


def read_table(path: Path, *, name: str = "", what: str = "table", fallback: str = "") -> TextTable:
    """Read a comma-separated file into text cells.

    Blank rows are skipped and counted. A row with too few or too many cells, a repeated column
    and broken quotes are put into the table's faults.

    Parameters
    ----------
    path, name, what, fallback
        As for :func:`read_text`.

    Raises
    ------
    InputFaults
        One line when nothing can be read at all.
    """
    name = name or str(path)
    return table_from_text(read_text(path, name=name, what=what, fallback=fallback), name)


def table_from_text(text: str, name: str) -> TextTable:
    """Cut comma-separated text into cells; see :func:`read_table`."""
    first = text.lstrip("\r\n").split("\n", 1)[0]
    separators = {mark: first.count(mark) for mark in (";", "\t", "|")}
    mark = max(separators, key=lambda key: separators[key])
    if "," not in first and separators[mark]:
        shown = {"\t": "tabs"}.get(mark, f'"{mark}"')
        raise _whole_file(
            name, f"columns separated by {shown}", "commas", "save it as comma-separated text"
        )
    faults = FaultList(name)
    return TextTable(name, _numbered_rows(text, faults), faults)


def _numbered_rows(text: str, faults: FaultList) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        number = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            faults.add(
                f"row {number}",
                value=f"broken quotes ({error})",
                allowed='a cell in double quotes, with "" for a quote inside it',
                advice="close or double the quotes in this row",
            )
            continue
        if any(cell.strip() for cell in cells):
            yield number, cells


def _whole_file(name: str, value: str, allowed: str, advice: str) -> InputFaults:
    return InputFaults([Fault(file=name, value=value, allowed=allowed, advice=advice)])
