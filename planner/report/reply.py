"""What became of an answer: tables of the tour file to paste, what goes back, on a terminal."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.console import say
from planner.report.tables import Table, table_csv

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from rich.console import Console

CLASH_COLUMNS = (
    "stop",
    "need",
    "name",
    "assigned_mhz",
    "problem",
    "reason",
    "what_would_do",
    "try_mhz",
    "reference",
    "where_in_the_answer",
)


def clashes_csv(answer: Mapping[str, Any]) -> str:
    """Return what goes back to whoever answered, as CSV; only a header where nothing does.

    Parameters
    ----------
    answer : mapping
        As :func:`planner.plan.reply_document.reply_document` gives it.
    """
    return table_csv(
        Table(
            name="clashes",
            columns=CLASH_COLUMNS,
            lines=tuple(
                (
                    answer["stop"],
                    row["need"],
                    row["name"],
                    row["assigned_mhz"],
                    row["kind"],
                    row["reason"],
                    row["remedy"],
                    row["try_mhz"],
                    row["reference"],
                    row["where"],
                )
                for row in answer["clashes"]
            ),
        )
    )


def assigned_toml(answer: Mapping[str, Any]) -> str:
    """Return the answer as ``[[assigned]]`` tables of a tour file.

    Every frequency that was given stands in it, those that cannot be used with the reason beside
    them: the next plan of the tour file says the same again until others are given.
    """
    return "\n".join(_toml_lines(answer)) + "\n"


def _toml_lines(answer: Mapping[str, Any]) -> Iterator[str]:
    place = words.town(answer["place"])
    yield f"# {words.clean(answer['file'])}, for {place}: paste this at the end of the tour file."
    if not answer["assigned"]:
        yield "# Nothing to paste: the tour file holds every frequency of the answer already."
    wrong = {
        (row["need"], row["assigned_mhz"]): f"{row['kind']}: {row['reason']}"
        for row in answer["clashes"]
        if row["assigned_mhz"] is not None
    }
    for table in answer["assigned"]:
        yield ""
        yield "[[assigned]]"
        yield f"stop = {_toml_text(table['stop'])}"
        yield f"need = {_toml_text(table['need'])}"
        yield "frequencies_mhz = ["
        for mhz in table["frequencies_mhz"]:
            reason = wrong.get((table["need"], mhz))
            yield f"  {words.mhz(mhz)}," + (f"  # {words.clean(reason)}" if reason else "")
        yield "]"
        if table["power_mw"] is not None:
            yield f"power_mw = {float(table['power_mw'])!r}"
        if table["reference"]:
            yield f"reference = {_toml_text(table['reference'])}"


def _toml_text(text: str) -> str:
    """Write a TOML basic string (TOML 1.0.0, Strings): JSON's escapes, and DEL."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def print_reply(console: Console, answer: Mapping[str, Any]) -> None:
    """Print how an answer serves each need, and what goes back."""
    for note in answer["notes"]:
        say(console, f"Read: {note}.")
    for row in answer["needs"]:
        given = f"{row['given']} given, {row['used']} in use"
        if not row["assigned"]:
            given = f"nothing given, {row['used']} as planned"
        say(console, f"{words.clean(row['need'])}: {row['wanted']} asked for, {given}")
        if row["empty"]:
            empty = words.listed([words.clean(name) for name in row["empty"]])
            say(console, f"without a frequency: {empty}", indent=2)
    for row in answer["left_over"]:
        text = f"{words.clean(row['need'])}: {words.mhz(row['assigned_mhz'])} MHz is not needed"
        say(console, text)
    count = len(answer["clashes"])
    if not count:
        say(console, "Nothing goes back.")
        return
    say(console, f"To send back: {words.plural(count, 'row')}", style="bold")
    for row in answer["clashes"]:
        mhz = "" if row["assigned_mhz"] is None else f"{words.mhz(row['assigned_mhz'])} MHz"
        parts = (words.clean(row["need"]), words.clean(row["name"]), mhz)
        who = ", ".join(part for part in parts if part) or words.clean(row["where"])
        say(console, f"{who}: {row['kind']}: {words.clean(row['reason'])}")
        if row["remedy"]:
            say(console, words.clean(row["remedy"]), indent=2)
