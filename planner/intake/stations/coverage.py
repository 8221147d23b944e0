"""The coverage sidecar of a station table: what the table claims to hold."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from decimal import Decimal
from typing import TYPE_CHECKING

from planner.intake.cells import FREQUENCY_MHZ
from planner.intake.countries import ALLOWED, COUNTRY_CODES, country_advice
from planner.intake.faults import FaultList, nearest_word
from planner.intake.stations.columns import SERVICES, SYSTEMS
from planner.intake.table import read_text
from planner.records import Coverage
from planner.units import mhz_to_hz, shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from pathlib import Path

KEYS = ("countries", "services", "systems", "low_mhz", "high_mhz", "issued", "missing_note")
REQUIRED_KEYS = ("countries", "services", "low_mhz", "high_mhz")
_SUFFIX = ".coverage.toml"
_AT_LINE = re.compile(r"\(at line (\d+)")


def coverage_path(table: Path) -> Path:
    """Return where the sidecar of a table is written: ``us.csv`` has ``us.csv.coverage.toml``."""
    return table.with_name(table.name + _SUFFIX)


def find_coverage(table: Path) -> Path | None:
    """Return the sidecar that lies beside a table, None without one.

    ``us.coverage.toml`` is accepted too when ``us.csv.coverage.toml`` is not there.
    """
    for candidate in (coverage_path(table), table.with_name(table.stem + _SUFFIX)):
        if candidate.exists():
            return candidate
    return None


def read_coverage(path: Path, *, name: str = "") -> Coverage:
    """Read a coverage sidecar.

    Parameters
    ----------
    path : Path
        The TOML file.
    name : str
        Its name in messages; ``path`` when empty.

    Raises
    ------
    InputFaults
        With every fault of the file.
    """
    name = name or str(path)
    text = read_text(path, name=name, what="coverage sidecar")
    faults = FaultList(name)
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        at = _AT_LINE.search(str(error))
        reason = str(error)[: at.start()].strip() if at else str(error)
        faults.add(
            f"row {at[1]}" if at else "",
            value=f"broken TOML: {reason}",
            allowed="key = value, texts in quotes",
            advice="correct that line",
        )
        faults.raise_if_any()
        raise
    for key in data:
        if key not in KEYS:
            near = nearest_word(key, [known for known in KEYS if known not in data] or KEYS)
            faults.add(
                key,
                value="an unknown key",
                allowed=", ".join(KEYS),
                advice=f'did you mean "{near}"?' if near else "remove it",
            )
    for key in REQUIRED_KEYS:
        if key not in data:
            faults.add(value=f"no key {key}", allowed=f"a key {key}", advice="add it")
    low_hz, high_hz = _mhz(data, "low_mhz", faults), _mhz(data, "high_mhz", faults)
    if low_hz and high_hz and low_hz >= high_hz:
        faults.add(
            "low_mhz",
            value=f"{shortest_mhz(low_hz)}, high_mhz {shortest_mhz(high_hz)}",
            allowed="low_mhz below high_mhz",
            advice="swap or correct them",
        )
    coverage = Coverage(
        countries=_countries(data, faults),
        services=_words(data, "services", SERVICES, faults),
        systems=_words(data, "systems", SYSTEMS, faults),
        low_hz=low_hz,
        high_hz=high_hz,
        issued=_issued(data, faults),
        missing_note=_note(data, faults),
    )
    faults.raise_if_any()
    return coverage


def coverage_text(coverage: Coverage) -> str:
    """Return a sidecar as text that :func:`read_coverage` reads back to the same record."""
    lines = [
        f"countries = {_toml_list(coverage.countries)}",
        f"services = {_toml_list(coverage.services)}",
        f"systems = {_toml_list(coverage.systems)}",
        f"low_mhz = {shortest_mhz(coverage.low_hz)}",
        f"high_mhz = {shortest_mhz(coverage.high_hz)}",
    ]
    if coverage.issued is not None:
        lines.append(f"issued = {coverage.issued.isoformat()}")
    lines.append(f"missing_note = {_toml_text(coverage.missing_note)}")
    return "\n".join(lines) + "\n"


def _texts(data: Mapping[str, object], key: str, faults: FaultList) -> tuple[str, ...]:
    value = data.get(key, [])
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        if not value and key in data and key in REQUIRED_KEYS:
            faults.add(key, value="an empty list", allowed="at least one word", advice="fill it in")
        return tuple(value)
    faults.add(key, value=str(value), allowed="a list of words", advice='write e.g. ["full"]')
    return ()


def _words(
    data: Mapping[str, object], key: str, known: Collection[str], faults: FaultList
) -> tuple[str, ...]:
    words = _texts(data, key, faults)
    for word in words:
        if word not in known:
            near = nearest_word(word, known)
            faults.add(
                key,
                value=word,
                allowed=" / ".join(known),
                advice=f'did you mean "{near}"?' if near else "use one of the words",
            )
    return words


def _countries(data: Mapping[str, object], faults: FaultList) -> tuple[str, ...]:
    codes = _texts(data, "countries", faults)
    for code in codes:
        if code not in COUNTRY_CODES:
            faults.add("countries", value=code, allowed=ALLOWED, advice=country_advice(code))
    return codes


def _mhz(data: Mapping[str, object], key: str, faults: FaultList) -> int:
    value = data.get(key)
    if value is None:
        return 0
    allowed = FREQUENCY_MHZ.text() + ", at most six decimals"
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        try:
            if FREQUENCY_MHZ.holds(float(value)):
                return mhz_to_hz(value)
        except ValueError:
            pass
    faults.add(key, value=str(value), allowed=allowed, advice="write e.g. 54")
    return 0


def _issued(data: Mapping[str, object], faults: FaultList) -> dt.date | None:
    value = data.get("issued")
    if value is None:
        return None
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value
    faults.add(
        "issued", value=str(value), allowed="a date without quotes", advice="write e.g. 2027-03-04"
    )
    return None


def _note(data: Mapping[str, object], faults: FaultList) -> str:
    value = data.get("missing_note", "")
    if isinstance(value, str):
        return value
    faults.add("missing_note", value=str(value), allowed="a text in quotes", advice="quote it")
    return ""


def _toml_list(words: tuple[str, ...]) -> str:
    return "[" + ", ".join(_toml_text(word) for word in words) + "]"


def _toml_text(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    safe = "".join(
        character
        if character.isprintable()
        else f"\\u{ord(character):04X}"
        if ord(character) <= 0xFFFF
        else f"\\U{ord(character):08X}"
        for character in escaped
    )
    return f'"{safe}"'
