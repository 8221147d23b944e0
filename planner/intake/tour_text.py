"""A tour file as text: parsed as TOML, its tables checked against those that are known."""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal
from typing import TYPE_CHECKING

from planner.errors import InputFaults
from planner.intake.faults import FaultList, nearest_word, shown
from planner.intake.table import read_text

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

TABLES = (
    "tour",
    "settings",
    "licence",
    "stop",
    "need",
    "fixed",
    "exclude",
    "other",
    "assigned",
    "owned",
    "cleared",
    "reserve",
    "zone_pair",
    "hookup",
)
_PLACE = re.compile(r" \(at (line \d+, column \d+)\)")


def parse_tour(path: Path, faults: FaultList) -> Mapping[str, object]:
    """Return a tour file's tables; numbers with decimals stay exact.

    Unknown tables become faults.

    Raises
    ------
    InputFaults
        One line when the file cannot be read, or is not TOML.
    """
    text = read_text(path, name=faults.file, what="tour file")
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except (ValueError, ArithmeticError, RecursionError) as error:
        reason = str(error) if isinstance(error, tomllib.TOMLDecodeError) else "no such value"
        place = _PLACE.search(reason)
        faults.add(
            place[1] if place else "",
            value=f"text that is not TOML: {_PLACE.sub('', reason)}",
            allowed="a tour file in TOML",
            advice="correct that line; texts stand in quotes",
        )
        raise InputFaults(faults.faults) from None
    for key, value in data.items():
        if key not in TABLES:
            near = nearest_word(key, TABLES)
            faults.add(
                shown(key),
                value="an unknown table" if isinstance(value, (dict, list)) else "an unknown key",
                allowed=", ".join(TABLES),
                advice=f'did you mean "{near}"?' if near else "remove it",
            )
    return data
