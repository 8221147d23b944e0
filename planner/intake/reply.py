"""The answer of a coordinator or a licensing office: any list of frequencies, read tolerantly."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.cells import FREQUENCY_MHZ
from planner.intake.faults import counted, nearest_word, shown
from planner.intake.reply_cells import figure, read_raw
from planner.intake.reply_columns import FIELDS, find_columns
from planner.intake.stations.delimited import UNKNOWN
from planner.units import HZ_PER_MHZ, khz_to_hz, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from planner.intake.reply_cells import RawTable
    from planner.intake.reply_columns import Columns

WHAT = "list of frequencies"
UNITS = ("MHz", "kHz", "Hz")
_ADVICE = "say the unit, e.g. --unit kHz, or correct the cell"
_MOST_ROWS = 10_000


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ReplyRow:
    """One row of an answer.

    Attributes
    ----------
    where : str
        Sheet and row of the file.
    frequency_hz : int or None
        Carrier centre [Hz]; None where the cell is empty or says something else.
    came : str
        The cell as it came.
    fault : str
        Why the cell is no frequency; empty where it is one, or is empty.
    name, line, need, role : str
        Whose it is, as far as the answer says.
    power_mw : float or None
        Power that is given [mW].
    reference : str
        Licence number or message.
    """

    where: str
    frequency_hz: int | None
    came: str = ""
    fault: str = ""
    name: str = ""
    line: str = ""
    need: str = ""
    role: str = ""
    power_mw: float | None = None
    reference: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Reply:
    """An answer.

    Attributes
    ----------
    rows : tuple of ReplyRow
        In the file's order.
    notes : tuple of str
        How the file was understood, where somebody might have meant something else.
    """

    rows: tuple[ReplyRow, ...]
    notes: tuple[str, ...] = ()


def read_reply(path: Path, *, stop: str, unit: str = "", mapping: Sequence[str] = ()) -> Reply:
    """Read an answer: a table with or without a header, as CSV or workbook.

    Parameters
    ----------
    path : Path
        The file.
    stop : str
        Rows that name another stop are left out, and counted in a note.
    unit : str
        One of :data:`UNITS`; where it is empty the header's or the cell's own unit holds, then MHz.
    mapping : sequence of str
        ``"frequency=Their column"`` and the like for :data:`FIELDS`.

    Raises
    ------
    InputFaults
        When the file cannot be read, holds no column of frequencies or none that is one, and with
        every word of the mapping that says nothing sensible.
    """
    columns = _mapping(mapping, unit)
    rows: list[ReplyRow] = []
    notes: list[str] = []
    found = _tables(path, columns)
    for table, places in found:
        _refuse_split_figures(table, places, file=str(path))
        more, said = _rows(table, places, unit=unit, stop=stop)
        rows += more
        notes += said
    if not any(row.frequency_hz for row in rows):
        raise InputFaults([_nothing(path, rows, found=bool(found))])
    if len(rows) > _MOST_ROWS:
        raise InputFaults(
            [
                Fault(
                    file=str(path),
                    value=counted(len(rows), "row"),
                    allowed=f"at most {_MOST_ROWS} rows",
                    advice="name the file that holds the answer for this stop",
                )
            ]
        )
    return Reply(rows=tuple(rows), notes=tuple(dict.fromkeys(notes)))


def _tables(path: Path, columns: Mapping[str, str]) -> list[tuple[RawTable, Columns]]:
    """Return the sheets that give frequencies: those whose headers say it most plainly."""
    found = [
        (table, places)
        for table in read_raw(path, what=WHAT)
        if (places := find_columns(table, columns, file=str(path))) is not None
    ]
    surest = max((places.sureness for _, places in found), default=0)
    return [(table, places) for table, places in found if places.sureness == surest]


def _mapping(texts: Sequence[str], unit: str) -> dict[str, str]:
    faults = []
    found: dict[str, str] = {}
    for text in texts:
        field, equals, theirs = (part.strip() for part in text.partition("="))
        if not equals or not theirs or field not in FIELDS:
            near = nearest_word(field, FIELDS)
            faults.append(
                Fault(
                    file="command line",
                    where="--map",
                    value=text,
                    allowed=f"OURS=THEIRS with one of {', '.join(FIELDS)} before the =",
                    advice=f'did you mean "{near}"?' if near else "e.g. --map frequency=MHz",
                )
            )
        else:
            found[field] = theirs
    if unit and unit not in UNITS:
        faults.append(
            Fault(
                file="command line",
                where="--unit",
                value=unit,
                allowed=" / ".join(UNITS),
                advice="use one of these",
            )
        )
    if faults:
        raise InputFaults(faults)
    return found


def _refuse_split_figures(table: RawTable, columns: Columns, *, file: str) -> None:
    """Refuse ``518,100`` cut in two by commas: nobody can tell it from 518 MHz."""
    place = columns.places["frequency"]
    if table.separator != ",":
        return
    pairs = [cells[place : place + 2] for _, cells in table.rows[columns.first :]]
    filled = [pair for pair in pairs if pair and pair[0]]
    if filled and all(len(pair) == 2 and all(c.isdigit() for c in pair) for pair in filled):
        raise InputFaults(
            [
                Fault(
                    file=file,
                    value=f"{','.join(filled[0])}, which may be one figure or two",
                    allowed="commas that part columns, or decimal commas, not both",
                    advice="save it with semicolons between the columns, or with decimal points",
                )
            ]
        )


def _rows(
    table: RawTable, columns: Columns, *, unit: str, stop: str
) -> tuple[list[ReplyRow], list[str]]:
    rows, elsewhere = [], 0
    for number, cells in table.rows[columns.first :]:
        texts = {
            field: cells[place] if place < len(cells) else ""
            for field, place in columns.places.items()
        }
        if texts.get("stop") and texts["stop"].casefold() != stop.casefold():
            elsewhere += 1
            continue
        where = f"sheet {table.name}, row {number}" if table.name else f"row {number}"
        rows.append(_row(where, texts, columns, unit))
    notes = []
    if elsewhere:
        notes.append(f"{counted(elsewhere, 'row')} for other stops left out")
    if "power" in columns.places and not columns.power_unit:
        notes.append("the column of powers names no unit (mW or W) and is not read")
    if not unit and not columns.unit:
        notes.append("frequencies without a unit read as MHz")
    return rows, notes


def _row(where: str, texts: Mapping[str, str], columns: Columns, unit: str) -> ReplyRow:
    came = texts["frequency"]
    frequency_hz, fault = _frequency(came, unit or columns.unit)
    return ReplyRow(
        where=where,
        frequency_hz=frequency_hz,
        came=came,
        fault=fault,
        name=texts.get("name", ""),
        line=texts.get("line", ""),
        need=texts.get("need", ""),
        role=texts.get("role", ""),
        power_mw=_power(texts.get("power", ""), columns.power_unit),
        reference=texts.get("reference", ""),
    )


def _frequency(came: str, unit: str) -> tuple[int | None, str]:
    """Return the hertz of a cell, or why it holds none."""
    if came.casefold() in UNKNOWN:
        return None, ""
    found = figure(came)
    if found is None:
        return None, f'"{shown(came)}" is no frequency'
    text, own = found
    named = (own or unit or "MHz").casefold()
    try:
        if named == "mhz":
            value_hz = mhz_to_hz(text)
        elif named == "khz":
            value_hz = khz_to_hz(text)
        elif named == "hz" and float(text).is_integer():
            value_hz = int(float(text))
        else:
            return None, f'"{shown(came)}" is no frequency in MHz, kHz or whole Hz'
    except ValueError:
        return None, f'"{shown(came)}" is no whole number of hertz'
    if not FREQUENCY_MHZ.holds(value_hz / HZ_PER_MHZ):
        allowed = f"{FREQUENCY_MHZ.low:g} to {FREQUENCY_MHZ.high:g} MHz"
        spelt = next(word for word in UNITS if word.casefold() == named)
        return None, f'"{shown(came)}" read in {spelt} lies outside {allowed}'
    return value_hz, ""


def _power(text: str, unit: str) -> float | None:
    found = figure(text)
    if found is None or float(found[0]) <= 0:
        return None
    named = (found[1] or unit).casefold()
    return {"mw": 1.0, "w": 1000.0}.get(named, 0.0) * float(found[0]) or None


def _nothing(path: Path, rows: Sequence[ReplyRow], *, found: bool) -> Fault:
    if not found:
        return Fault(
            file=str(path),
            value="no column of frequencies",
            allowed='a column named e.g. "frequency [MHz]" or "assigned_mhz", or figures in MHz',
            advice='say which it is, e.g. --map "frequency=Their column"',
        )
    refused = next((row.fault for row in rows if row.fault), "")
    return Fault(
        file=str(path),
        value=f"{counted(len(rows), 'row')} without one frequency"
        + (f", e.g. {refused}" if refused else ""),
        allowed="at least one frequency",
        advice=_ADVICE if refused else "is the column of assigned frequencies filled in?",
    )
