"""Fonts of the PDF pages: shipped, embedded as subsets, no character lost."""

from __future__ import annotations

import dataclasses
import functools
import unicodedata
from importlib.resources import as_file, files
from typing import TYPE_CHECKING

from planner.report.pdf.scripts import as_shown
from planner.report.words import clean

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

REGULAR, BOLD = "SourceSans3_400Regular", "SourceSans3_600SemiBold"
OTHERS = ("NotoSansHebrew_400Regular", "NotoSansArabic_400Regular")
"""Fonts asked, in this order, for what the first one lacks."""

_UNSEEN = frozenset("\u200c\u200d\u00ad")
"""Joiners and the soft hyphen: seen only in what they do to their neighbours."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Run:
    """Characters of one font, in the order in which they show."""

    font: str
    text: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Face:
    """A font's advance widths [1/1000 of the size] by code point."""

    font: str
    widths: dict[int, float]
    default: float


@functools.cache
def _face(name: str) -> Face:
    """Read a shipped font and make it known to the PDF engine."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    source = files("planner.report").joinpath("vendor", "fonts", f"{name}.ttf")
    with as_file(source) as path:
        font: TTFont = TTFont(name, str(path))
    pdfmetrics.registerFont(font)
    face = font.face
    known = {code: face.charWidths.get(code, face.defaultWidth) for code in face.charToGlyph}
    return Face(font=name, widths=known, default=face.defaultWidth)


def _font_of(code: int, names: tuple[str, ...]) -> str:
    return next((name for name in names if code in _face(name).widths), "")


def _without_gaps(text: str, names: tuple[str, ...]) -> str:
    """Write characters that no font has as ``[U+XXXX]``, so that none vanishes."""
    out = []
    for character in text:
        if character in _UNSEEN:
            continue
        known = _font_of(ord(character), names)
        out.append(character if known else f"[U+{ord(character):04X}]")
    return "".join(out)


def _cleaned(text: str) -> str:
    """Clean a text as everywhere, but keep a blank at either end."""
    inside = clean(text)
    if not inside:
        return " " if text else ""
    return f"{' ' * text.startswith(' ')}{inside}{' ' * text.endswith(' ')}"


@functools.lru_cache(maxsize=65536)
def runs(text: str, *, bold: bool = False) -> tuple[Run, ...]:
    """Return what is drawn for a text: cleaned, in showing order, split by font.

    Characters that none of the shipped fonts holds are written as ``[U+XXXX]``. A blank at either
    end stays.
    """
    first = BOLD if bold else REGULAR
    cleaned = _cleaned(text)
    if cleaned.isascii():
        return (Run(font=first, text=cleaned),) if cleaned else ()
    names = (first, *OTHERS)
    shown = _without_gaps(as_shown(unicodedata.normalize("NFC", cleaned)), names)
    out: list[tuple[str, str]] = []
    for character in shown:
        font = _font_of(ord(character), names)
        if out and out[-1][0] == font:
            out[-1] = (font, out[-1][1] + character)
        else:
            out.append((font, character))
    return tuple(Run(font=font, text=part) for font, part in out)


@functools.lru_cache(maxsize=65536)
def _thousandths(text: str, *, bold: bool) -> float:
    total = 0.0
    for run in runs(text, bold=bold):
        face = _face(run.font)
        total += sum(face.widths.get(ord(character), face.default) for character in run.text)
    return total


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of a text on one line [pt] at a size [pt]."""
    return _thousandths(text, bold=bold) * size / 1000


def ready() -> None:
    """Make all fonts known to the PDF engine."""
    for name in (REGULAR, BOLD, *OTHERS):
        _face(name)
