"""Cells of a text table turned into typed values, faults recorded where they cannot be."""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
import re
from typing import TYPE_CHECKING

from planner.intake.faults import nearest_word
from planner.units import khz_to_hz, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Collection

    from planner.intake.table import TextTable

LIST_SEPARATOR = ";"
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NumberRange:
    """What a number may be.

    Attributes
    ----------
    low, high : float
        Limits, in ``unit``; ``high`` is inclusive, ``low`` too unless ``above``.
    unit : str
        Unit of the limits, empty for a bare number.
    above : bool
        True when the value must lie above ``low``.
    """

    low: float = -math.inf
    high: float = math.inf
    unit: str = ""
    above: bool = False

    def holds(self, value: float) -> bool:
        """Say whether a finite value lies inside."""
        return (self.low < value if self.above else self.low <= value) and value <= self.high

    def text(self, noun: str = "a number") -> str:
        """Return the range in words, e.g. ``"a number from -90 to 90 deg"``."""
        unit = f" {self.unit}" if self.unit else ""
        low = "" if math.isinf(self.low) else f"{self.low:.12g}"
        high = "" if math.isinf(self.high) else f"{self.high:.12g}"
        if self.above and low:
            return f"{noun} above {low}{f' and up to {high}' if high else ''}{unit}"
        if low and high:
            return f"{noun} from {low} to {high}{unit}"
        if low:
            return f"{noun} not below {low}{unit}"
        if high:
            return f"{noun} up to {high}{unit}"
        return f"{noun}, in {self.unit}" if self.unit else noun


ANY_NUMBER = NumberRange()
FREQUENCY_MHZ = NumberRange(low=1.0, high=10_000.0, unit="MHz")
"""Frequencies that a table may hold; wide on purpose, rules narrow it later."""
FREQUENCY_STEP_KHZ = NumberRange(low=0.0, high=1_000_000.0, unit="kHz", above=True)


def plain_number(text: str) -> float | None:
    """Return a finite number written in plain figures, None for anything else."""
    value = float(text) if _NUMBER.fullmatch(text) else math.nan
    return value if math.isfinite(value) else None


class Row:
    """One row of a table: cells by column name, with typed parsers.

    A parser returns its default for an empty cell, and for a cell at fault after it has put the
    fault into the table's list; an empty cell is a fault only when ``required``.

    Attributes
    ----------
    number_in_file : int
        Line of the file, as an editor or a spreadsheet counts it: the header is row 1.
    """

    __slots__ = ("_cells", "_table", "number_in_file")

    def __init__(self, table: TextTable, index: int) -> None:
        self._table = table
        self._cells = table.cells[index]
        self.number_in_file = table.row_numbers[index]

    def text(self, column: str, *, required: bool = False) -> str:
        """Return the cell's text without outer blanks; empty when the column is not there."""
        position = self._table.positions.get(column)
        cell = "" if position is None else self._cells[position]
        if required and not cell and position is not None:
            self.fault(column, allowed="not empty", advice="fill the cell in")
        return cell

    def has(self, column: str) -> bool:
        """Say whether the table has a column."""
        return column in self._table.positions

    def fault(
        self, column: str, *, value: str | None = None, allowed: str = "", advice: str = ""
    ) -> None:
        """Record a fault of this row; ``value`` defaults to the cell's text."""
        if value is None:
            value = self.text(column) or "an empty cell"
        self._table.faults.cell(
            self.number_in_file, column, value=value, allowed=allowed, advice=advice
        )

    def number(
        self, column: str, allowed: NumberRange = ANY_NUMBER, *, required: bool = False
    ) -> float | None:
        """Return a finite number inside ``allowed``, None when empty or at fault."""
        cell = self._filled(column, required=required, allowed=allowed.text())
        return self._number(column, cell, allowed) if cell else None

    def integer(
        self, column: str, allowed: NumberRange = ANY_NUMBER, *, required: bool = False
    ) -> int | None:
        """Return a whole number inside ``allowed``, None when empty or at fault."""
        words = allowed.text("a whole number")
        cell = self._filled(column, required=required, allowed=words)
        if not cell:
            return None
        value = self._number(column, cell, allowed, noun="a whole number")
        if value is None:
            return None
        if value != int(value):
            self.fault(column, allowed=words, advice="write it without decimals")
            return None
        return int(value)

    def word(
        self, column: str, words: Collection[str], *, required: bool = False, default: str = ""
    ) -> str:
        """Return one of ``words`` exactly as written there, ``default`` when empty or at fault."""
        allowed = " / ".join(words)
        cell = self._filled(column, required=required, allowed=allowed)
        if not cell or cell in words:
            return cell or default
        near = nearest_word(cell, words)
        self.fault(
            column, allowed=allowed, advice=f'did you mean "{near}"?' if near else "use one word"
        )
        return default

    def date(self, column: str, *, required: bool = False) -> dt.date | None:
        """Return an ISO date, None when empty or at fault."""
        allowed = "a date as YYYY-MM-DD"
        cell = self._filled(column, required=required, allowed=allowed)
        if not cell:
            return None
        try:
            if _DATE.fullmatch(cell):
                return dt.date.fromisoformat(cell)
        except ValueError:
            self.fault(column, allowed=allowed, advice="no such day in the calendar")
            return None
        self.fault(column, allowed=allowed, advice="write year, month and day, e.g. 2027-03-04")
        return None

    def items(self, column: str, *, required: bool = False) -> tuple[str, ...]:
        """Return the items of a list separated by ``;``, blanks and empty items dropped."""
        cell = self._filled(column, required=required, allowed="a list separated by ;")
        return tuple(item.strip() for item in cell.split(LIST_SEPARATOR) if item.strip())

    def numbers(
        self, column: str, allowed: NumberRange = ANY_NUMBER, *, required: bool = False
    ) -> tuple[float, ...]:
        """Return the numbers of a list separated by ``;``; a bad item is a fault and dropped."""
        parsed = (
            self._number(column, item, allowed) for item in self.items(column, required=required)
        )
        return tuple(value for value in parsed if value is not None)

    def mhz(
        self, column: str, allowed: NumberRange = FREQUENCY_MHZ, *, required: bool = False
    ) -> int | None:
        """Return a frequency written in MHz as whole hertz, None when empty or at fault."""
        cell = self._filled(column, required=required, allowed=allowed.text())
        return self.parse_mhz(column, cell, allowed) if cell else None

    def khz(
        self, column: str, allowed: NumberRange = FREQUENCY_STEP_KHZ, *, required: bool = False
    ) -> int | None:
        """Return a width or step written in kHz as whole hertz, None when empty or at fault."""
        cell = self._filled(column, required=required, allowed=allowed.text())
        if not cell or self._number(column, cell, allowed) is None:
            return None
        try:
            return khz_to_hz(cell)
        except ValueError:
            self.fault(column, allowed="at most three decimals of a kHz", advice="round it")
            return None

    def parse_mhz(self, column: str, text: str, allowed: NumberRange = FREQUENCY_MHZ) -> int | None:
        """Return a piece of a cell, written in MHz, as whole hertz; None when at fault."""
        if self._number(column, text, allowed) is None:
            return None
        try:
            return mhz_to_hz(text)
        except ValueError:
            self.fault(
                column, value=text, allowed="at most six decimals of a MHz", advice="round it"
            )
            return None

    def _filled(self, column: str, *, required: bool, allowed: str) -> str:
        cell = self.text(column)
        if required and not cell and self.has(column):
            self.fault(column, allowed=allowed, advice="fill the cell in")
        return cell

    def _number(
        self, column: str, text: str, allowed: NumberRange, *, noun: str = "a number"
    ) -> float | None:
        advice = ""
        if not _NUMBER.fullmatch(text):
            if _DECIMAL_COMMA.fullmatch(text):
                advice = f"write a decimal point: {text.replace(',', '.')}"
            else:
                advice = "write figures only, without a unit"
        else:
            value = float(text)
            if math.isfinite(value) and allowed.holds(value):
                return value
        self.fault(column, value=text, allowed=allowed.text(noun), advice=advice)
        return None
