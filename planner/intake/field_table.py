"""Table of the ``field`` command: rows that ask for a field or a distance, and their answers.

All cells are kept as they came; only the answer's column and the column ``fault`` are written.
"""

from __future__ import annotations

import csv
import dataclasses
import io
import os
from collections import Counter, defaultdict
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import Fault, InputFaults
from planner.field_strength import r6602
from planner.intake import field_paths
from planner.intake.cells import ANY_NUMBER, NumberRange, Row
from planner.intake.faults import FaultList
from planner.intake.table import TextTable, read_text
from planner.intake.writing import write_text_atomically
from planner.tables import read_table
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]

R6602 = "r6602"
P1546 = "p1546"
FREE_SPACE = "free-space"
FIELD = "field"
DISTANCE = "distance"
FAULT_COLUMN = "fault"
ANSWER_COLUMN = {FIELD: "field_dbuvm", DISTANCE: "distance_km"}
_KNOWN_COLUMN = {FIELD: "distance_km", DISTANCE: "field_dbuvm"}
_COLUMNS = {
    R6602: ("curve", "channel", "haat_m", "erp_kw"),
    FREE_SPACE: ("erp_kw",),
    P1546: field_paths.COLUMNS,
}
_ERP_KW = NumberRange(low=0.0, unit="kW", above=True)
_HAAT_M = NumberRange(low=-10_000.0, high=10_000.0, unit="m")


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class FieldTable:
    """A table of questions as it came.

    Attributes
    ----------
    file : str
        Name of the file as the user gave it.
    header : tuple of str
        Column names.
    rows : tuple of tuple of str
        Cells exactly as they came, each row as long as the header.
    row_numbers : tuple of int
        Line of the file of each row; the header is row 1.
    """

    file: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    row_numbers: tuple[int, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class FieldQuestions:
    """The rows that can be answered, in columns of one length.

    Attributes
    ----------
    rows : (k,) int
        Place of each in :attr:`FieldTable.rows`.
    curve : (k,) str
        FCC curve; empty where the model has none.
    frequency_hz : (k,) int64
        Centre of the channel [Hz]; 0 where the model has none.
    haat_m : (k,) float64
        Height above average terrain [m]; NaN where the model has none.
    erp_kw : (k,) float64
        Power [kW].
    known : (k,) float64
        Distance [km] when the field is asked for, field [dB(uV/m)] when the distance is.
    paths : tuple of PathQuestion
        One each for P.1546, which asks with these alone; empty for the other models.
    """

    rows: npt.NDArray[np.intp]
    curve: npt.NDArray[np.str_]
    frequency_hz: npt.NDArray[np.int64]
    haat_m: FloatArray
    erp_kw: FloatArray
    known: FloatArray
    paths: tuple[field_paths.PathQuestion, ...] = ()


def read_field_table(
    path: Path, *, name: str, model: str, solve: str
) -> tuple[FieldTable, FieldQuestions, FaultList]:
    """Read a table of questions.

    Parameters
    ----------
    path : Path
        CSV file, UTF-8 with or without byte order mark.
    name : str
        Its name in messages.
    model : str
        ``"r6602"``, ``"p1546"`` or ``"free-space"``.
    solve : str
        ``"field"`` or ``"distance"``.

    Returns
    -------
    table : FieldTable
    questions : FieldQuestions
        Rows without fault.
    faults : FaultList
        Faults of single rows, by row.

    Raises
    ------
    InputFaults
        One line when the file as a whole cannot be used.
    """
    reading = _numbered_rows(read_text(path, name=name), name)
    first = next(reading, (1, []))
    header = tuple(cell.strip() for cell in first[1])
    known = () if model == P1546 else (_KNOWN_COLUMN[solve],)
    _check_header(name, header, (*_COLUMNS[model], *known))
    numbered = [first, *reading]
    if len(numbered) < 2:
        raise _whole_file(name, "no rows below the header", "one row a question", "add rows")
    table = FieldTable(
        file=name,
        header=header,
        rows=tuple(_fitted(cells, len(header)) for _, cells in numbered[1:]),
        row_numbers=tuple(number for number, _ in numbered[1:]),
    )
    faults = FaultList(name)
    cells = TextTable(name, numbered, faults)
    places = {number: place for place, number in enumerate(cells.row_numbers)}
    asked: list[tuple[int, _Question]] = []
    for place, number in enumerate(table.row_numbers):
        if number in places:
            question = _question(cells.row(places[number]), faults, model=model, solve=solve)
            if question is not None:
                asked.append((place, question))
        elif not any(cell.strip() for cell in table.rows[place]):
            faults.add(f"row {number}", value="an empty row", advice="fill it in or remove it")
    return table, _in_columns(asked), faults


def write_field_table(
    path: Path, table: FieldTable, *, column: str, answers: FloatArray, faults: FaultList
) -> None:
    """Write a table with its answers, whole or not at all.

    Parameters
    ----------
    path : Path
        File to write; an existing one is replaced.
    table : FieldTable
        The questions.
    column : str
        Column of the answers, replaced where the table has it, else added.
    answers : (n,) float64
        One a row of the table, written with four decimals; NaN leaves the cell empty.
    faults : FaultList
        Written as text into the column ``fault``, row by row.

    Raises
    ------
    InputFaults
        When the file cannot be written.
    """
    texts = fault_texts(faults)
    added = [name for name in (column, FAULT_COLUMN) if name not in table.header]
    header = [*table.header, *added]
    answer_place, fault_place = header.index(column), header.index(FAULT_COLUMN)
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(header)
    for number, row, answer in zip(table.row_numbers, table.rows, answers, strict=True):
        cells = [*row, *("" for _ in added)]
        cells[answer_place] = "" if np.isnan(answer) else f"{answer:.4f}"
        cells[fault_place] = texts.get(number, "")
        writer.writerow(cells)
    write_text_atomically(path, stream.getvalue())


def fault_texts(faults: FaultList) -> Mapping[int, str]:
    """Return the faults of each row as one text, by row number."""
    texts: dict[int, list[str]] = defaultdict(list)
    for fault in faults.faults:
        number = int(fault.where.removeprefix("row ").partition(",")[0])
        texts[number].append(dataclasses.replace(fault, file=fault.where, where="").line())
    return {number: " | ".join(parts) for number, parts in texts.items()}


def refuse_same_file(source: Path, target: Path, name: str) -> None:
    """Refuse to write over the table that is read.

    Raises
    ------
    InputFaults
        When both paths lead to one file.
    """
    try:
        same = source.samefile(target)
    except OSError:
        same = os.path.abspath(source) == os.path.abspath(target)  # noqa: PTH100 - links stay
    if same:
        raise _whole_file(
            name, "the input as --out", "another file", "the input is never written over"
        )


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Question:
    curve: str
    frequency_hz: int
    haat_m: float
    erp_kw: float
    known: float
    path: field_paths.PathQuestion | None = None


def _question(row: Row, faults: FaultList, *, model: str, solve: str) -> _Question | None:
    """Read one row; None when something in it is at fault."""
    before = len(faults)
    if model == P1546:
        path = field_paths.read_path(row)
        if len(faults) > before or path is None:
            return None
        return _Question(
            curve="", frequency_hz=0, haat_m=np.nan, erp_kw=1.0, known=path.distance_km, path=path
        )
    curve, frequency_hz, haat_m = "", 0, np.nan
    if model == R6602:
        curve = row.word("curve", r6602.CURVES, required=True)
        frequency_hz = _channel_centre_hz(row)
        haat_m = row.number("haat_m", _HAAT_M, required=True) or 0.0
    erp_kw = row.number("erp_kw", _ERP_KW, required=True)
    allowed = ANY_NUMBER
    if solve == FIELD:
        far_km = r6602.FAR_LIMIT_KM.get(curve, np.inf)
        allowed = NumberRange(low=0.0, high=far_km, unit="km", above=True)
    known = row.number(_KNOWN_COLUMN[solve], allowed, required=True)
    if len(faults) > before or erp_kw is None or known is None:
        return None
    return _Question(
        curve=curve, frequency_hz=frequency_hz, haat_m=haat_m, erp_kw=erp_kw, known=known
    )


def _channel_centre_hz(row: Row) -> int:
    """Return the centre of a row's channel on today's raster [Hz], 0 when at fault."""
    raster = read_table("us_tv_raster")
    for place, channel in enumerate(raster["channel"]):
        if channel == row.text("channel") and raster["status"][place] == "tv":
            return (mhz_to_hz(raster["low_mhz"][place]) + mhz_to_hz(raster["high_mhz"][place])) // 2
    row.fault(
        "channel", allowed="a channel of United States television: 2 to 36", advice="correct it"
    )
    return 0


def _in_columns(asked: Sequence[tuple[int, _Question]]) -> FieldQuestions:
    questions = [question for _, question in asked]
    return FieldQuestions(
        rows=np.array([place for place, _ in asked], dtype=np.intp),
        curve=np.array([question.curve for question in questions], dtype=np.str_),
        frequency_hz=np.array([question.frequency_hz for question in questions], dtype=np.int64),
        haat_m=np.array([question.haat_m for question in questions], dtype=np.float64),
        erp_kw=np.array([question.erp_kw for question in questions], dtype=np.float64),
        known=np.array([question.known for question in questions], dtype=np.float64),
        paths=tuple(question.path for question in questions if question.path is not None),
    )


def _numbered_rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Walk a file's rows with their line numbers; lines without anything are no rows."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        number = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise _whole_file(
                name,
                f"broken quotes at row {number} ({error})",
                'a cell in double quotes, with "" for a quote inside it',
                "close or double the quotes",
            ) from None
        if cells:
            yield number, cells


def _check_header(name: str, header: tuple[str, ...], required: tuple[str, ...]) -> None:
    missing = [column for column in required if column not in header]
    if missing:
        raise _whole_file(
            name,
            f"no column {', '.join(missing)}",
            f"comma-separated columns {', '.join(required)} and any others",
            "add or rename columns",
        )
    twice = [column for column, count in Counter(header).items() if count > 1 and column]
    if twice:
        raise _whole_file(
            name, f"column {', '.join(twice)} twice", "each column once", "rename one of them"
        )


def _fitted(cells: list[str], width: int) -> tuple[str, ...]:
    """Return a row as long as the header; one that is not is at fault, and says so."""
    return tuple((cells + [""] * width)[:width])


def _whole_file(name: str, value: str, allowed: str, advice: str) -> InputFaults:
    return InputFaults([Fault(file=name, value=value, allowed=allowed, advice=advice)])
