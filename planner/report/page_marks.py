"""The marks of the words on a screen: the same lines as on paper, on light and on dark ground."""

from __future__ import annotations

import dataclasses

from planner.report.svg import MARKS, Mark

DARK_GROUND = "#14161b"
DARK_INK = "#e7e9ee"
DARK_GREY = "#a3aab7"
DARK_ACCENT = "#aab7ff"

_DARK: dict[str, tuple[str, str]] = {
    "held": ("#2d323c", DARK_INK),
    "unlisted": (DARK_GROUND, DARK_GREY),
    "faint": ("#1c2242", DARK_ACCENT),
    "quiet": (DARK_GROUND, DARK_INK),
    "barred": (DARK_GROUND, DARK_INK),
    "on-request": (DARK_GROUND, DARK_ACCENT),
    "lawful": (DARK_GROUND, DARK_INK),
}

DARK_MARKS: dict[str, Mark] = {
    word: dataclasses.replace(MARKS[word], ground=ground, colour=colour)
    for word, (ground, colour) in _DARK.items()
}
"""The look of every word on dark ground: lines, widths and turns are those of :data:`MARKS`."""


def _rules(marks: dict[str, Mark], before: str) -> str:
    return "".join(
        f"{before}#pg-{word} rect{{fill:{mark.ground}}}"
        f"{before}#pg-{word} path{{stroke:{mark.colour}}}\n"
        for word, mark in marks.items()
    )


def mark_styles() -> str:
    """Return the style rules that give the patterns of the page their colours."""
    dark = _rules(DARK_MARKS, ":root:not([data-theme=light]) ")
    return (
        f"@media screen and (prefers-color-scheme: dark) {{\n{dark}}}\n"
        f"@media screen {{\n{_rules(DARK_MARKS, ':root[data-theme=dark] ')}}}\n"
    )
