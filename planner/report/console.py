"""Paragraphs and plain tables on a terminal; user text is never taken as markup."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich import box
from rich.table import Table
from rich.text import Text

from planner.report import words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console

_PLAIN = str.maketrans(
    {words.EN_DASH: "-", words.MINUS: "-", words.TIMES: "x", "°": "", "“": '"', "”": '"'}
)


def _fit(console: Console, text: str) -> str:
    """Return text that the console's encoding can write."""
    try:
        text.encode(console.encoding)
    except UnicodeEncodeError:
        plain = text.translate(_PLAIN)
        return plain.encode(console.encoding, "replace").decode(console.encoding)
    return text


def say(console: Console, text: str = "", *, style: str = "", indent: int = 0) -> None:
    """Print a paragraph, wrapped at the console's width, every line indented."""
    content = Text(_fit(console, text), style=style)
    for part in content.wrap(console, max(1, console.width - indent)):
        part.rstrip()
        part.pad_left(indent)
        console.print(part, highlight=False, no_wrap=True, overflow="ignore", crop=False)


def grid(
    console: Console, columns: Sequence[str], lines: Iterable[Sequence[str]], right: str = ""
) -> None:
    """Print a plain table; ``right`` lists the columns set flush right, separated by ``|``."""
    flush = set(right.split("|"))
    table = Table(
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        padding=(0, 1, 0, 0),
        show_edge=False,
    )
    for name in columns:
        table.add_column(
            Text(_fit(console, name)), justify="right" if name in flush else "left", overflow="fold"
        )
    for line in lines:
        table.add_row(*(Text(_fit(console, value)) for value in line))
    console.print(table)


def title(console: Console, left: str, right: str) -> None:
    """Print a bold line with one text at either end."""
    room = console.width - len(right) - 2
    say(console, f"{words.cut(left, room):<{room}}  {right}", style="bold")
