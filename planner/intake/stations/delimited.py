"""Foreign delimited tables and figures, read tolerantly."""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING

from planner.intake.cells import plain_number
from planner.intake.table import read_text, table_from_text

if TYPE_CHECKING:
    from pathlib import Path

    from planner.intake.table import TextTable

UNKNOWN = frozenset({"", "-", "null", "none", "n/a", "nan"})
"""Cells that say nothing, in any case."""
_SEPARATORS = (",", ";", "\t", "|")
_UNIT = re.compile(r"\s*[A-Za-z]+$")
_DECIMAL_COMMA = re.compile(r"[+-]?\d*,\d+")


def read_delimited(path: Path, *, name: str = "", what: str = "table") -> TextTable:
    """Read a table with a header, separated by commas, semicolons, tabs or bars.

    Parameters
    ----------
    path : Path
        UTF-8 or Windows-1252.
    name, what : str
        Its name and kind in messages.

    Raises
    ------
    InputFaults
        One line when nothing can be read at all.
    """
    text = read_text(path, name=name, what=what, fallback="cp1252")
    first = text.lstrip("\r\n").split("\n", 1)[0]
    separator = max(_SEPARATORS, key=first.count)
    if separator == ",":
        return table_from_text(text, name or str(path))
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerows(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    return table_from_text(stream.getvalue(), name or str(path))


def loose_number(text: str, unit: str = "") -> float | None:
    """Return a number as registers write it: ``850``, ``.5``, ``200. kW``, ``0,2``.

    Parameters
    ----------
    text : str
        The cell.
    unit : str
        Unit that may stand behind it.

    Returns
    -------
    float or None
        None when it is no number, or stands with another unit.
    """
    tail = _UNIT.search(text)
    if tail and unit and tail[0].strip().casefold() == unit.casefold():
        text = text[: tail.start()]
    if _DECIMAL_COMMA.fullmatch(text):
        text = text.replace(",", ".")
    return plain_number(text.strip())
