"""Keys of a TOML table as typed values; whatever is wrong becomes a fault that names the key."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import TYPE_CHECKING, Protocol, TypeGuard

from planner.intake.cells import ANY_NUMBER, FREQUENCY_MHZ, NumberRange
from planner.intake.faults import FaultList, nearest_word, shown
from planner.units import khz_to_hz, mhz_to_hz, shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

DAY_ADVICE = "write e.g. 2027-03-04, without quotes"
SPANS_ALLOWED = "pairs of MHz, low below high"


class StopFields(Protocol):
    """What a stop is read from: a ``[[stop]]`` table or a row of a route."""

    def has(self, key: str) -> bool:
        """Say whether the key is there."""

    def fault(self, key: str, *, value: str, allowed: str, advice: str) -> None:
        """Record a fault at the key."""

    def text(self, key: str, *, default: str = "") -> str:
        """Return one line of text."""

    def word(self, key: str, words: Collection[str], *, default: str) -> str:
        """Return one of the words."""

    def number(self, key: str, allowed: NumberRange) -> float | None:
        """Return a number in the range, None when missing or at fault."""

    def day(self, key: str) -> dt.date | None:
        """Return a date, None when missing or at fault."""

    def spans_hz(self, key: str) -> tuple[tuple[int, int], ...]:
        """Return spans written in MHz as whole hertz."""


class TomlFields:
    """One table of a TOML file.

    Unknown keys become faults when the object is made, each with the nearest known key that is
    not already there.

    Parameters
    ----------
    values : mapping
        The table.
    where : str
        How messages name it, e.g. ``"[[stop]] 3"``.
    faults : FaultList
        Faults of the file.
    known : collection of str
        Keys it may have.
    """

    def __init__(
        self,
        values: Mapping[str, object],
        where: str,
        faults: FaultList,
        *,
        known: Collection[str],
    ) -> None:
        self._values = values
        self.where = where
        self._faults = faults
        for key in values:
            if key not in known:
                missing = [word for word in known if word not in values]
                near = nearest_word(key, missing) or nearest_word(key, known)
                faults.add(
                    f"{where}, {shown(key)}",
                    value="an unknown key",
                    allowed=", ".join(known),
                    advice=f'did you mean "{near}"?' if near else "remove it",
                )

    def has(self, key: str) -> bool:
        """Say whether the key is there."""
        return key in self._values

    def fault(self, key: str, *, value: str, allowed: str, advice: str) -> None:
        """Record a fault at a key, at the table itself when the key is empty."""
        where = f"{self.where}, {key}" if key else self.where
        self._faults.add(where, value=value, allowed=allowed, advice=advice)

    def require(self, key: str, allowed: str) -> bool:
        """Record a fault when a key is missing; say whether it is there."""
        if key not in self._values:
            self.fault("", value=f"no key {key}", allowed=allowed, advice=f"add {key}")
            return False
        return True

    def is_text(self, key: str) -> bool:
        """Say whether the key holds a text that is fit to be read."""
        value = self._values.get(key)
        return isinstance(value, str) and value.strip().isprintable()

    def text(self, key: str, *, default: str = "") -> str:
        """Return one line of text, blanks at its ends cut off; the default when missing."""
        if key not in self._values:
            return default
        value = self._values[key]
        if isinstance(value, str):
            return self._line(key, value)
        self._wrong_type(key, "a text in quotes", f'write {key} = "..."')
        return default

    def filled_text(self, key: str) -> str:
        """Return one line of text; an empty one is a fault, a missing key is not."""
        text = self.text(key)
        if not text and self.is_text(key):
            self.fault(key, value='""', allowed="a text that is not empty", advice="fill it in")
        return text

    def text_or_texts(self, key: str) -> tuple[str, ...]:
        """Return one text or a list of several, each once; none at all is a fault."""
        value = self._values.get(key)
        if isinstance(value, str):
            text = self.filled_text(key)
            return (text,) if text else ()
        if not isinstance(value, list):
            self._wrong_type(key, "a text in quotes, or a list of texts", f'write {key} = "..."')
            return ()
        texts = self.texts(key)
        if not value:
            self.fault(key, value="an empty list", allowed="at least one text", advice="add one")
        for text in dict.fromkeys(texts):
            if texts.count(text) > 1:
                times = f'"{text}" {texts.count(text)} times'
                self.fault(key, value=times, allowed="each once", advice="remove it")
        return tuple(dict.fromkeys(texts))

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts, none of them empty; an empty tuple when missing."""
        if key not in self._values:
            return ()
        value = self._values[key]
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self._wrong_type(key, "a list of texts", f'write {key} = ["...", "..."]')
            return ()
        lines = []
        for item in value:
            line = self._line(key, item)
            if line:
                lines.append(line)
            elif not item.strip():
                self.fault(key, value='""', allowed="texts that are not empty", advice="remove it")
        return tuple(lines)

    def numbers(self, key: str, allowed: NumberRange) -> tuple[float, ...]:
        """Return a list of numbers in the range; those at fault are left out."""
        value = self._values.get(key, [])
        if not isinstance(value, list):
            self._wrong_type(key, "a list of numbers", f"write {key} = [30, 45]")
            return ()
        found = []
        for item in value:
            if _is_number(item) and _inside(item, allowed):
                found.append(float(item))
            else:
                text = allowed.text()
                self.fault(key, value=described(item), allowed=text, advice="correct it")
        return tuple(found)

    def word(self, key: str, words: Collection[str], *, default: str) -> str:
        """Return one of the words, the default when missing or at fault."""
        if key not in self._values:
            return default
        value = self._values[key]
        allowed = " / ".join(words)
        if not isinstance(value, str):
            self._wrong_type(key, allowed, "write one of the words in quotes")
            return default
        if value in words:
            return value
        near = nearest_word(value, words)
        advice = f'did you mean "{near}"?' if near else "use one of the words"
        self.fault(key, value=described(value), allowed=allowed, advice=advice)
        return default

    def flag(self, key: str, *, default: bool) -> bool:
        """Return true or false, the default when missing or at fault."""
        value = self._values.get(key, default)
        if isinstance(value, bool):
            return value
        self._wrong_type(key, "true or false, without quotes", "write one of them")
        return default

    def number(self, key: str, allowed: NumberRange = ANY_NUMBER) -> float | None:
        """Return a number in the range, None when missing or at fault."""
        if key not in self._values:
            return None
        value = self._values[key]
        if _is_number(value):
            if _inside(value, allowed):
                return float(value)
            self.fault(key, value=described(value), allowed=allowed.text(), advice="correct it")
            return None
        self._wrong_type(key, allowed.text(), "write figures without quotes or unit")
        return None

    def integer(self, key: str, allowed: NumberRange) -> int | None:
        """Return a whole number in the range, None when missing or at fault."""
        if key not in self._values:
            return None
        value = self._values[key]
        words = allowed.text("a whole number")
        if isinstance(value, int) and not isinstance(value, bool):
            if allowed.holds(value):
                return value
            self.fault(key, value=described(value), allowed=words, advice="correct it")
            return None
        self._wrong_type(key, words, "write figures without quotes or decimals")
        return None

    def day(self, key: str) -> dt.date | None:
        """Return a date, None when missing or at fault."""
        if key not in self._values:
            return None
        value = self._values[key]
        if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
            return value
        self._wrong_type(key, "a date", DAY_ADVICE)
        return None

    def mhz(self, key: str) -> int | None:
        """Return a frequency written in MHz as whole hertz, None when missing or at fault."""
        if key not in self._values:
            return None
        return self._mhz(key, self._values[key])

    def mhz_list(self, key: str) -> tuple[int, ...]:
        """Return a list of frequencies in whole hertz; those at fault are left out, none is one."""
        value = self._values.get(key)
        if not isinstance(value, list) or not value:
            self._wrong_type(key, "a list of frequencies in MHz", f"write {key} = [518.1, 519.4]")
            return ()
        found = (self._mhz(key, item) for item in value)
        return tuple(frequency for frequency in found if frequency is not None)

    def khz(self, key: str, allowed: NumberRange) -> int | None:
        """Return a width written in kHz as whole hertz, None when missing or at fault."""
        value = self._values.get(key)
        if self.number(key, allowed) is None or not _is_number(value):
            return None
        try:
            return khz_to_hz(value)
        except ValueError:
            places = "at most three decimals of a kHz"
            self.fault(key, value=described(value), allowed=places, advice="round it")
            return None

    def spans_hz(self, key: str) -> tuple[tuple[int, int], ...]:
        """Return a list of pairs of MHz as spans in whole hertz; those at fault are left out."""
        if key not in self._values:
            return ()
        value = self._values[key]
        advice = f"write {key} = [[512.0, 513.0]]"
        if not isinstance(value, list):
            self._wrong_type(key, SPANS_ALLOWED, advice)
            return ()
        spans = []
        for pair in value:
            if not isinstance(pair, list) or len(pair) != 2:
                self.fault(key, value=described(pair), allowed=SPANS_ALLOWED, advice=advice)
                break
            low_hz, high_hz = self._mhz(key, pair[0]), self._mhz(key, pair[1])
            if low_hz is None or high_hz is None:
                continue
            if low_hz < high_hz:
                spans.append((low_hz, high_hz))
            else:
                written = f"{shortest_mhz(low_hz)} to {shortest_mhz(high_hz)}"
                self.fault(key, value=written, allowed=SPANS_ALLOWED, advice="swap or correct them")
        return tuple(spans)

    def _mhz(self, key: str, value: object) -> int | None:
        if not _is_number(value) or not _inside(value, FREQUENCY_MHZ):
            self.fault(
                key,
                value=described(value),
                allowed=FREQUENCY_MHZ.text(),
                advice="write MHz without quotes or unit",
            )
            return None
        try:
            return mhz_to_hz(value)
        except ValueError:
            self.fault(
                key,
                value=described(value),
                allowed="at most six decimals of a MHz",
                advice="round it",
            )
            return None

    def _line(self, key: str, value: str) -> str:
        line = value.strip()
        if line.isprintable():
            return line
        self.fault(
            key,
            value=described(value),
            allowed="one line of printable text",
            advice="take line breaks and control characters out",
        )
        return ""

    def _wrong_type(self, key: str, allowed: str, advice: str) -> None:
        self.fault(key, value=described(self._values[key]), allowed=allowed, advice=advice)


def _is_number(value: object) -> TypeGuard[int | Decimal]:
    return isinstance(value, (int, Decimal)) and not isinstance(value, bool)


def _inside(value: int | Decimal, allowed: NumberRange) -> bool:
    """Say whether a number, however large, is finite and in the range."""
    if isinstance(value, Decimal) and not value.is_finite():
        return False
    return allowed.holds(value)  # type: ignore[arg-type]  # Decimal compares with float


def described(value: object) -> str:
    """Return a TOML value as a message shows it, so that its type can be seen."""
    match value:
        case str():
            text = f'"{value}"'
        case bool():
            text = "true" if value else "false"
        case int() | Decimal():
            text = str(value)
        case list():
            text = f"a list of {len(value)}"
        case dict():
            text = "a table"
        case dt.datetime():
            text = f"the date and time {value.isoformat()}"
        case dt.date():
            text = f"the date {value.isoformat()}"
        case _:
            text = f"the time {value}"
    return text


def sub_tables(
    data: Mapping[str, object], name: str, faults: FaultList
) -> Sequence[Mapping[str, object]]:
    """Return the tables of ``[[name]]``, none when it is missing; another type is a fault."""
    value = data.get(name, [])
    if isinstance(value, list) and all(isinstance(item, dict) for item in value):
        return value
    faults.add(
        f"[[{name}]]",
        value="a single table" if isinstance(value, dict) else described(value),
        allowed=f"tables headed [[{name}]]",
        advice="write two brackets on each side",
    )
    return [value] if isinstance(value, dict) else []


def sub_table(data: Mapping[str, object], name: str, faults: FaultList) -> Mapping[str, object]:
    """Return the table ``[name]``, empty when it is missing; another type is a fault."""
    value = data.get(name, {})
    if isinstance(value, dict):
        return value
    faults.add(
        f"[{name}]",
        value=described(value),
        allowed=f"one table headed [{name}]",
        advice="write one bracket on each side",
    )
    return {}
