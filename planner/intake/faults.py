"""Faults of one file, collected and put in the order in which a reader of the file meets them."""

from __future__ import annotations

import difflib
import re
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults

if TYPE_CHECKING:
    from collections.abc import Iterable

_ROW = re.compile(r"row (\d+)")
_SHOWN_CHARACTERS = 60


class FaultList:
    """Collects the faults of one file until its reader is through.

    Parameters
    ----------
    file : str
        Name of the file as the user gave it.
    """

    def __init__(self, file: str) -> None:
        self.file = file
        self._faults: list[tuple[int, int, Fault]] = []
        self._columns: dict[str, int] = {}

    def set_columns(self, columns: Iterable[str]) -> None:
        """Say in which order columns stand, so that faults of one row follow it."""
        self._columns = {name: place for place, name in enumerate(columns)}

    def add(self, where: str = "", *, value: str = "", allowed: str = "", advice: str = "") -> None:
        """Record a fault at a place given in words, empty for the whole file."""
        row = _ROW.match(where)
        self._put(int(row[1]) if row else 0, -1, where, (value, allowed, advice))

    def cell(
        self,
        row_number: int,
        column: str,
        *,
        value: str = "",
        allowed: str = "",
        advice: str = "",
    ) -> None:
        """Record a fault of one cell; ``row_number`` counts lines, the header is row 1."""
        place = self._columns.get(column, len(self._columns))
        where = f"row {row_number}, column {column}"
        self._put(row_number, place, where, (value, allowed, advice))

    def _put(self, row: int, place: int, where: str, texts: tuple[str, str, str]) -> None:
        value, allowed, advice = texts
        fault = Fault(
            file=self.file, where=where, value=shown(value), allowed=allowed, advice=advice
        )
        self._faults.append((row, place, fault))

    def clear(self) -> None:
        """Forget all faults: one about the whole file says more than they do."""
        self._faults.clear()

    def clear_below(self, row_number: int) -> None:
        """Forget the faults of the rows below one."""
        self._faults = [entry for entry in self._faults if entry[0] <= row_number]

    def __len__(self) -> int:
        return len(self._faults)

    @property
    def faults(self) -> tuple[Fault, ...]:
        """The faults by row and column, each once."""
        ordered = sorted(self._faults, key=lambda entry: entry[:2])
        return tuple(dict.fromkeys(fault for _, _, fault in ordered))

    def since(self, count: int) -> tuple[Fault, ...]:
        """Return the faults recorded after the first ``count``, in the order recorded."""
        return tuple(fault for _, _, fault in self._faults[count:])

    def raise_if_any(self) -> None:
        """Raise all faults at once when there is one.

        Raises
        ------
        InputFaults
            With every fault, by row and column.
        """
        if self._faults:
            raise InputFaults(self.faults)


def counted(count: int, noun: str) -> str:
    """Return a count with its noun, ``"1 row"`` or ``"2 rows"``."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def nearest_word(word: str, known: Iterable[str]) -> str:
    """Return the known word nearest to what was written, empty when none is near."""
    by_folded = {name.casefold(): name for name in known}
    near = difflib.get_close_matches(word.casefold(), by_folded, n=1, cutoff=0.6)
    return by_folded[near[0]] if near else ""


def shown(value: str) -> str:
    """Return a value fit for a message: one line, printable, at most 60 characters."""
    text = "".join(character if character.isprintable() else "?" for character in value)
    if len(text) <= _SHOWN_CHARACTERS:
        return text
    return text[: _SHOWN_CHARACTERS - 3] + "..."
