"""A plan without performers' names, for third parties: lines by number."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from planner.report.reading import Plan, rows

_NAMED = ("name", "used_by")
_NAMES = ("stands_in_for", "lines")
_TOLD = frozenset({"text", "where", "binding", "why", "by", "reference"})


def without_names(plan: Plan) -> Plan:
    """Return a plan in which every line that the tour file names is ``"<need> <number>"``.

    The number is the line's place in its need. Names are replaced where a record names a line,
    and as whole words in sentences. Names of fixed carriers, of other productions, of venues and
    of licence holders stay: they are said to be told to third parties.
    """
    numbers: dict[str, dict[str, str]] = {}
    for need in rows(plan, "needs"):
        own = numbers.setdefault(need["name"], {})
        for number, name in enumerate(rows(need, "lines"), 1):
            own[name] = f"{need['name']} {number}"
    for stop in rows(plan, "stops"):
        for row in rows(stop, "carriers"):
            if row.get("need") and not (row.get("spare") or row.get("fixed") or row.get("other")):
                own = numbers.setdefault(row["need"], {})
                own.setdefault(row["name"], f"{row['need']} {len(own) + 1}")
    words: dict[str, str] = {}
    for own in numbers.values():
        for name, numbered in own.items():
            words.setdefault(name, numbered)
    longest = sorted(words, key=len, reverse=True)
    known = re.compile("|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in longest) or r"(?!)")
    found: Plan = _Renamer(numbers, words, known).record(plan, None)
    return found


class _Renamer:
    def __init__(
        self, numbers: dict[str, dict[str, str]], words: dict[str, str], known: re.Pattern[str]
    ) -> None:
        self.numbers = numbers
        self.words = words
        self.known = known

    def record(self, row: Plan, need: str | None) -> dict[str, Any]:
        """Rename inside one object; ``need`` is the need of the object around it."""
        own = row.get("need") or need
        if "lines" in row and "name" in row and "count" in row:
            own = row["name"]
        return {key: self.value(key, value, own, row) for key, value in row.items()}

    def value(self, key: str, value: Any, need: str | None, row: Plan) -> Any:  # noqa: ANN401 - JSON
        """Rename one value."""
        if isinstance(value, Mapping):
            return self.record(value, need)
        if isinstance(value, str):
            if key in _NAMED and (key != "name" or row.get("need")):
                return self.numbers.get(need or "", {}).get(value, self.words.get(value, value))
            return self.sentence(value) if key in _TOLD else value
        if not isinstance(value, list):
            return value
        if key in _NAMES:
            own = self.numbers.get(need or "", {})
            return [own.get(name, self.words.get(name, name)) for name in value]
        return [
            self.record(item, need)
            if isinstance(item, Mapping)
            else self.sentence(item)
            if isinstance(item, str) and key in _SENTENCES
            else item
            for item in value
        ]

    def sentence(self, text: str) -> str:
        """Replace names in a sentence."""
        return self.known.sub(lambda match: self.words[match[0]], text)


_SENTENCES = frozenset({"cures", "law_asks", "coverage_notes"})
