"""Which column of an answer holds what: by its name, or as the user says."""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.faults import nearest_word
from planner.intake.reply_cells import figure

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.intake.reply_cells import RawTable

FIELDS = ("frequency", "name", "line", "need", "role", "power", "reference", "stop")
"""Columns that ``--map`` may name."""

_ASSIGNED, _NAMED, _BARE = 3, 2, 1
_GIVEN = re.compile(r"assigned|allocated|granted|licensed|approved")
_FREQUENCY = re.compile(r"freq|fréq|frec|frekv|carrier|träger")
_UNIT = re.compile(r"(?<![a-z])(mhz|khz|hz)(?![a-z])")
_POWER = re.compile(r"power|(?<![a-z])(erp|eirp)(?![a-z])")
_POWER_UNIT = re.compile(r"(?<![a-z])(mw|w)(?![a-z])")
_NOT_A_CARRIER = re.compile(
    r"planned|proposed|requested|previous|tuning|step|width|spacing|origin|setting|power|offset"
    r"|range|named|(?<![a-z])(low|high|from|to|min|max|erp|eirp)(?![a-z])"
)
_NOT_A_POWER = re.compile(r"setting|kind|requested|planned")
_WORDS = {
    "name": r"name|names|label|line name|performer|artist|user|description|device|use",
    "line": r"line|line (no|number|id)",
    "need": r"need",
    "role": r"role|service|type",
    "reference": r"(assigned )?(reference|ref|licen[cs]e|permit)( (no|number))?\.?",
    "stop": r"stop",
}
_HEADER_WITHIN = 20
"""Rows from the top among which a header is looked for."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Columns:
    """Where things stand in a table.

    Attributes
    ----------
    first : int
        Place of the first row below the header.
    places : mapping of str to int
        Column of each field found; ``"frequency"`` is always among them.
    unit, power_unit : str
        As the header says: ``"mhz"``, ``"khz"``, ``"hz"``; ``"mw"``, ``"w"``; else empty.
    sureness : int
        How plainly the header says that frequencies are given; 0 without a header.
    """

    first: int
    places: Mapping[str, int]
    unit: str = ""
    power_unit: str = ""
    sureness: int = 0


def find_columns(table: RawTable, mapping: Mapping[str, str], *, file: str) -> Columns | None:
    """Return the columns of a table; None where it holds no frequencies.

    Parameters
    ----------
    table : RawTable
        The table.
    mapping : mapping of str to str
        One of :data:`FIELDS` to the name of a column, as the user says.
    file : str
        Name of the file in messages.

    Raises
    ------
    InputFaults
        When several columns may hold the frequencies, or a column that the user names is missing.
    """
    candidates = []
    for place, (_, cells) in enumerate(table.rows[:_HEADER_WITHIN]):
        found = _by_header(cells, mapping, file=file)
        if found is not None:
            candidates.append(dataclasses.replace(found, first=place + 1))
            if mapping or _holds_figures(table, candidates[-1]):
                return candidates[-1]
    if candidates:
        return candidates[0]
    return None if mapping else _without_header(table)


def _holds_figures(table: RawTable, columns: Columns) -> bool:
    """Say whether figures stand below a header: a title may speak of frequencies too."""
    place = columns.places["frequency"]
    below = [cells[place] for _, cells in table.rows[columns.first :] if place < len(cells)]
    filled = [cell for cell in below if cell]
    return sum(figure(cell) is not None for cell in filled) * 2 > len(filled) > 0


def _words_of(cell: str) -> str:
    text = re.sub(r"[_\[\]()/:#*,]+", " ", cell.casefold())
    return " ".join(text.split())


def _by_header(cells: Sequence[str], mapping: Mapping[str, str], *, file: str) -> Columns | None:
    if any(figure(cell) for cell in cells):
        return None
    texts = [_words_of(cell) for cell in cells]
    places = _mapped(cells, mapping, file=file)
    if places is None:
        return None
    if "frequency" not in places:
        place = _frequency_place(texts, cells, file=file)
        if place is None:
            return None
        places["frequency"] = place
    _others(texts, places)
    unit = _UNIT.search(texts[places["frequency"]])
    power = _POWER_UNIT.search(texts[places["power"]]) if "power" in places else None
    return Columns(
        first=0,
        places=places,
        unit=unit[1] if unit else "",
        power_unit=power[1] if power else "",
        sureness=_ASSIGNED if mapping else _score(texts[places["frequency"]]),
    )


def _others(texts: Sequence[str], places: dict[str, int]) -> None:
    """Find the columns beside the frequencies, as far as the user has not named them."""
    for field, pattern in _WORDS.items():
        place = next((k for k, text in enumerate(texts) if re.fullmatch(pattern, text)), None)
        if field not in places and place is not None and place not in places.values():
            places[field] = place
    powers = [k for k, text in enumerate(texts) if _POWER.search(text)]
    powers = [k for k in powers if not _NOT_A_POWER.search(texts[k])]
    assigned = [k for k in powers if _GIVEN.search(texts[k])]
    # beside assigned frequencies a bare power is what was asked for, not what is given
    given = bool(_GIVEN.search(texts[places["frequency"]]))
    chosen = assigned or ([] if given else powers)
    if chosen:
        places.setdefault("power", chosen[0])


def _mapped(
    cells: Sequence[str], mapping: Mapping[str, str], *, file: str
) -> dict[str, int] | None:
    """Return the places of the columns that the user names; None where this is no header."""
    folded = [cell.casefold() for cell in cells]
    places = {
        field: folded.index(name.casefold())
        for field, name in mapping.items()
        if name.casefold() in folded
    }
    if mapping and not places:
        return None
    missing = [field for field in mapping if field not in places]
    if missing:
        near = nearest_word(mapping[missing[0]], [cell for cell in cells if cell])
        raise InputFaults(
            [
                Fault(
                    file=file,
                    where=f"--map {missing[0]}={mapping[missing[0]]}",
                    value="no such column",
                    allowed=", ".join(cell for cell in cells if cell),
                    advice=f'did you mean "{near}"?' if near else "name one of these",
                )
            ]
        )
    return places


def _frequency_place(texts: Sequence[str], cells: Sequence[str], *, file: str) -> int | None:
    scores = [_score(text) for text in texts]
    best = max(scores, default=0)
    places = [place for place, score in enumerate(scores) if score == best]
    if not best:
        return None
    if len(places) == 1:
        return places[0]
    raise InputFaults(
        [
            Fault(
                file=file,
                where="header",
                value=f"several columns of frequencies: {', '.join(cells[k] for k in places)}",
                allowed="one",
                advice=f'say which, e.g. --map "frequency={cells[places[0]]}"',
            )
        ]
    )


def _score(text: str) -> int:
    if _NOT_A_CARRIER.search(text):
        return 0
    if _GIVEN.search(text) and (_UNIT.search(text) or _FREQUENCY.search(text)):
        return _ASSIGNED
    if _FREQUENCY.search(text):
        return _NAMED
    return _BARE if _UNIT.search(text) else 0


def _without_header(table: RawTable) -> Columns | None:
    """Return the first column that holds figures in most rows, and the first that holds words."""
    width = max((len(cells) for _, cells in table.rows), default=0)
    figures, words = [], []
    for place in range(width):
        column = [cells[place] if place < len(cells) else "" for _, cells in table.rows]
        filled = [cell for cell in column if cell]
        known = sum(figure(cell) is not None for cell in filled)
        if filled and known * 2 > len(filled):
            figures.append(place)
        elif filled:
            words.append(place)
    if not figures:
        return None
    # a running number stands before the frequencies, or behind them
    likely = [place for place in figures if not _counts(table, place)] or figures
    places = {"frequency": likely[0]}
    if words:
        places["name"] = words[0]
    return Columns(first=0, places=places)


def _counts(table: RawTable, place: int) -> bool:
    """Say whether a column only numbers the rows."""
    column = [cells[place] if place < len(cells) else "" for _, cells in table.rows]
    return column == [str(number + 1) for number in range(len(column))]
