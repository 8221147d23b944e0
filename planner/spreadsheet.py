"""Cells of a written table that no spreadsheet runs as a formula."""

from __future__ import annotations

import re
import unicodedata

FORMULA_STARTS = ("=", "+", "-", "@")
"""First characters that spreadsheets take for a formula, full-width twins included.

References
----------
OWASP Foundation, "CSV Injection": equals, plus, minus, at, tab and carriage return.
"""
_HIDDEN_STARTS = ("\t", "\r", "\n")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)


def spreadsheet_safe(text: str, *, came: str = "", keep_numbers: bool = False) -> str:
    """Return a cell with an apostrophe before it where a spreadsheet would run it.

    A text is run when it starts with one of :data:`FORMULA_STARTS`, with a wide or small form of
    one, or with a tab or a line break, behind which spreadsheets still see a formula.

    Parameters
    ----------
    text : str
        The cell as it will be written.
    came : str
        The text before it was tidied, when tidying may have taken a tab or line break away.
    keep_numbers : bool
        Leave plain numbers in ASCII figures alone, signs included.
    """
    if keep_numbers and _NUMBER.fullmatch(text):
        return text
    if text.startswith(_HIDDEN_STARTS) or came.startswith(_HIDDEN_STARTS):
        return f"'{text}"
    start = unicodedata.normalize("NFKC", text[:1])
    return f"'{text}" if start in FORMULA_STARTS else text
