"""A route as a table: one row a stop, columns named like the keys of ``[[stop]]``."""

from __future__ import annotations

import datetime as dt
import importlib
import io
from typing import TYPE_CHECKING, Any

from planner.errors import Fault, InputFaults
from planner.intake.faults import FaultList
from planner.intake.table import TextTable, read_table
from planner.intake.tour_fields import SPANS_ALLOWED
from planner.intake.tour_stops import STOP_KEYS
from planner.units import shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from pathlib import Path

    from planner.intake.cells import NumberRange, Row
    from planner.intake.tour_stops import Warning3

WORKBOOK_SUFFIXES = (".xlsx", ".xlsm")


class RowFields:
    """A row of a route, read like a ``[[stop]]`` table; an empty cell is a missing key."""

    def __init__(self, row: Row) -> None:
        self._row = row

    def has(self, key: str) -> bool:
        """Say whether the cell is there and filled."""
        return bool(self._row.text(key))

    def fault(self, key: str, *, value: str, allowed: str, advice: str) -> None:
        """Record a fault at the row's cell."""
        self._row.fault(key, value=value, allowed=allowed, advice=advice)

    def text(self, key: str, *, default: str = "") -> str:
        """Return one line of text."""
        text = self._row.text(key)
        if text.isprintable():
            return text or default
        self._row.fault(
            key, allowed="one line of printable text", advice="take line breaks out of the cell"
        )
        return default

    def word(self, key: str, words: Collection[str], *, default: str) -> str:
        """Return one of the words, the default when empty or at fault."""
        return self._row.word(key, words, default=default)

    def number(self, key: str, allowed: NumberRange) -> float | None:
        """Return a number in the range, None when empty or at fault."""
        return self._row.number(key, allowed)

    def day(self, key: str) -> dt.date | None:
        """Return a date, None when empty or at fault."""
        return self._row.date(key)

    def spans_hz(self, key: str) -> tuple[tuple[int, int], ...]:
        """Return spans written ``512-513;600-601`` in MHz as whole hertz."""
        spans = []
        for item in self._row.items(key):
            parts = [part.strip() for part in item.split("-")]
            if len(parts) != 2 or not all(parts):
                self._row.fault(
                    key, value=item, allowed=SPANS_ALLOWED, advice="write e.g. 512-513;600-601"
                )
                continue
            low_hz, high_hz = (self._row.parse_mhz(key, part) for part in parts)
            if low_hz is None or high_hz is None:
                continue
            if low_hz < high_hz:
                spans.append((low_hz, high_hz))
            else:
                written = f"{shortest_mhz(low_hz)} to {shortest_mhz(high_hz)}"
                self._row.fault(
                    key, value=written, allowed=SPANS_ALLOWED, advice="swap or correct them"
                )
        return tuple(spans)


def read_route(path: Path, *, name: str) -> tuple[TextTable, list[RowFields], list[Warning3]]:
    """Read a route from a CSV file or the first sheet of a workbook.

    A workbook needs the package ``openpyxl``.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        Its name in messages.

    Returns
    -------
    tuple
        The table, in whose list its faults are; its rows; warnings about unknown columns.

    Raises
    ------
    InputFaults
        One line when the file cannot be read at all.
    """
    if path.suffix.casefold() in WORKBOOK_SUFFIXES:
        table = _read_workbook(path, name)
    else:
        table = read_table(path, name=name, what="route")
    _check_columns(table)
    warnings = []
    for column, near in table.unknown_columns(STOP_KEYS):
        hint = f'; did you mean "{near}"?' if near else ""
        warnings.append(("route-column", name, f'column "{column}" is not used{hint}'))
    return table, [RowFields(row) for row in table.rows()], warnings


def _check_columns(table: TextTable) -> None:
    """Fault columns that every stop needs; without them the rows are not looked at."""
    has = table.positions.keys()
    missing = []
    if "place" not in has and not {"lat", "lon"} <= has:
        missing.append(("neither a column place nor columns lat and lon", "place, or lat and lon"))
    if "date" not in has and not {"first_date", "last_date"} <= has:
        missing.append(
            (
                "neither a column date nor columns first_date and last_date",
                "date, or first_date and last_date",
            )
        )
    if missing:
        table.drop_rows()
    for value, allowed in missing:
        table.faults.add(
            f"row {table.header_row}", value=value, allowed=allowed, advice="add the columns"
        )
    if not len(table) and not len(table.faults):
        table.faults.add(
            value="a header and no row",
            allowed="a route with at least one stop",
            advice="add a row for each stop",
        )


def _read_workbook(path: Path, name: str) -> TextTable:
    try:
        openpyxl: Any = importlib.import_module("openpyxl")
    except ImportError:
        raise _unreadable(
            name, "a workbook, but the package openpyxl is not installed", "save it as CSV"
        ) from None
    try:
        data = path.read_bytes()
    except OSError as error:
        reason = "no such file" if isinstance(error, FileNotFoundError) else error.strerror
        raise _unreadable(name, reason or type(error).__name__, "check the path") from None
    try:
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        rows = [tuple(row) for row in book.worksheets[0].iter_rows(values_only=True)]
    except Exception:  # noqa: BLE001 - a broken workbook fails in many ways, all the user's
        raise _unreadable(name, "a workbook that cannot be read", "save it as CSV") from None
    return TextTable(name, _numbered(rows), FaultList(name))


def _numbered(rows: list[tuple[object, ...]]) -> Iterator[tuple[int, list[str]]]:
    """Give rows their number in the sheet; short rows are filled up, as a sheet shows them."""
    width = max((len(row) for row in rows), default=0)
    for number, row in enumerate(rows, start=1):
        cells = [_cell_text(value) for value in row] + [""] * (width - len(row))
        if any(cells):
            yield number, cells


def _cell_text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else value.isoformat()
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, dt.time):
        return value.strftime("%H:%M")
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).strip()


def _unreadable(name: str, value: str, advice: str) -> InputFaults:
    allowed = "a route as CSV, or a workbook"
    return InputFaults([Fault(file=name, value=value, allowed=allowed, advice=advice)])
