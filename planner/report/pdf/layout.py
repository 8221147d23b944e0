"""Flow of a document: text, rules and pictures from the top of a page to its foot, then the next.

Everything is laid out as shapes in points, y downwards; :mod:`planner.report.pdf.paint` draws them.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from planner.report import svg
from planner.report.drawing import Shape, Shapes, label, line
from planner.report.pdf import fonts
from planner.report.pdf.paint import Document, Page, Placed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.report.drawing import Picture, Point

MM = 72 / 25.4
PAPERS: dict[str, Point] = {"a4": (210 * MM, 297 * MM), "letter": (612.0, 792.0)}
"""Paper by name [pt] (ISO 216; US Letter 8.5 by 11 in)."""

SIDE, TOP, FOOT = 13 * MM, 11 * MM, 16 * MM
LEADING = 1.28
"""Distance of base lines by the size of the letters."""

Spans = tuple[tuple[str, bool], ...]
"""Pieces of a paragraph, each with whether it is bold."""

GREY = "#555b66"
"""Darker than the grey of pictures: it must be read in a dark wing."""


def spans_of(text: str | Spans) -> Spans:
    """Return a text as spans; a bare one is not bold."""
    return ((text, False),) if isinstance(text, str) else text


class _Word(NamedTuple):
    text: str
    bold: bool
    span: int


def _words(text: str | Spans) -> list[_Word]:
    """Split at blanks, which stay with the word before."""
    out = []
    for number, (part, bold) in enumerate(spans_of(text)):
        pieces = part.split(" ")
        out += [_Word(piece + " ", bold, number) for piece in pieces[:-1]]
        if pieces[-1]:
            out.append(_Word(pieces[-1], bold, number))
    return out


@functools.lru_cache(maxsize=65536)
def wrapped(text: str | Spans, size: float, room: float) -> tuple[Spans, ...]:
    """Break a text into lines of a width [pt]; a word that is too long is broken anywhere."""
    lines: list[Spans] = []
    current: list[_Word] = []
    used = 0.0
    for word, bold, number in _words(text):
        long = fonts.width(word.rstrip(" "), size, bold=bold)
        if current and used + long > room:
            lines.append(_joined(current))
            current, used = [], 0.0
        rest = word
        while long > room and len(rest) > 1:
            cut = _cut(rest, size, room, bold=bold)
            lines.append(((rest[:cut], bold),))
            rest = rest[cut:]
            long = fonts.width(rest.rstrip(" "), size, bold=bold)
        if rest == " " and (not current or current[-1].span == number):
            continue  # no line begins with a blank, and two are shown as one
        current.append(_Word(rest, bold, number))
        used += fonts.width(rest, size, bold=bold)
    if current:
        lines.append(_joined(current))
    return tuple(lines)


def _fitting(word: str, size: float, room: float, *, bold: bool) -> int:
    """Return how many letters of a word fit, at least one."""
    low, high = 1, len(word)
    while low < high:
        middle = (low + high + 1) // 2
        if fonts.width(word[:middle], size, bold=bold) <= room:
            low = middle
        else:
            high = middle - 1
    return low


def _cut(word: str, size: float, room: float, *, bold: bool) -> int:
    """Return where to break a word that is too long: behind a hyphen where it has one."""
    fits = _fitting(word, size, room, bold=bold)
    return word.rfind("-", 1, fits) + 1 or fits


def _joined(parts: list[_Word]) -> Spans:
    """Join the words of one span; spans stay apart, so that each keeps its own direction."""
    out: list[_Word] = []
    for word in parts:
        if out and out[-1].span == word.span:
            out[-1] = out[-1]._replace(text=out[-1].text + word.text)
        else:
            out.append(word)
    out[-1] = out[-1]._replace(text=out[-1].text.rstrip(" "))
    return tuple((word.text, word.bold) for word in out)


def spans_at(x: float, y: float, spans: Spans, size: float, *, fill: str = svg.INK) -> Shapes:
    """Return one line of spans as shapes, its base line at ``y``."""
    out = []
    for text, bold in spans:
        inside = text.lstrip(" ")
        x += fonts.width(" ", size, bold=bold) * (len(inside) < len(text))
        out.append(label(x, y, inside, size=size, bold=bold, fill=fill))
        x += fonts.width(inside, size, bold=bold)
    return tuple(out)


def dotted(parts: Iterable[str]) -> Spans:
    """Join parts by middle dots; each keeps its own direction."""
    out: list[tuple[str, bool]] = []
    for part in parts:
        out += [(" \u00b7 ", False)] * bool(out) + [(part, False)]
    return tuple(out)


def cut_to(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """Shorten a text to a width [pt], ending in two dots where it was cut."""
    if fonts.width(text, size, bold=bold) <= room:
        return text
    fits = _fitting(text, size, max(0.0, room - fonts.width("..", size, bold=bold)), bold=bold)
    return text[:fits].rstrip() + ".."


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Running:
    """What every page repeats.

    Attributes
    ----------
    left, right : str
        Head of the pages after the first; ``right`` also stands in the head of the first.
    foot : str
        Left part of the foot; the page's number follows at the right.
    caution : str
        Said above the foot of every page.
    """

    left: str
    right: str
    foot: str
    caution: str


FirstHead = Callable[["Flow"], None]


class Flow:
    """Pages filled from the top.

    Attributes
    ----------
    y : float
        Where the next thing begins [pt].
    """

    def __init__(self, paper: str, running: Running) -> None:
        self.size = PAPERS[paper]
        self.running = running
        self.left = SIDE
        self.width = self.size[0] - 2 * SIDE
        self.bottom = self.size[1] - FOOT
        self.y = TOP
        self._pages: list[list[Placed]] = []
        self._shapes: list[Shape] = []
        self._headings: list[list[tuple[str, float]]] = []
        self._broad: list[tuple[str, Picture]] = []
        self.on_new_page: Callable[[], None] | None = None
        self._begin()

    @property
    def right(self) -> float:
        """Right edge of the text [pt]."""
        return self.left + self.width

    @property
    def fresh(self) -> bool:
        """Whether nothing but its head stands on the page."""
        return self.y <= self._start + 1

    def _begin(self) -> None:
        self._pages.append([])
        self._headings.append([])
        self._shapes = []
        self.y = TOP
        if len(self._pages) > 1:
            right = fonts.width(self.running.right, 9)
            text = cut_to(self.running.left, 9, self.width - right - 12, bold=True)
            base = self.y + 9
            self._shapes += [
                label(self.left, base, text, size=9, bold=True, fill=svg.INK),
                label(self.right, base, self.running.right, size=9, anchor="end", fill=svg.INK),
                line(self.left, base + 4, self.right, base + 4, stroke=svg.INK, stroke_width=0.6),
            ]
            self.y = base + 12
        self._start = self.y

    def _end(self) -> None:
        self._pages[-1].append(Placed(shapes=tuple(self._shapes)))
        self._shapes = []

    def page(self) -> None:
        """Go on to a new page, and repeat what a table asks to be repeated."""
        self._end()
        self._begin()
        if self.on_new_page:
            self.on_new_page()

    def need(self, height: float) -> None:
        """Go on to a new page when less than a height [pt] is left and the page is not empty."""
        if self.y + height > self.bottom and not self.fresh:
            self.page()

    def put(self, *shapes: Shape) -> None:
        """Put finished shapes on the page."""
        self._shapes += shapes

    def headed(self) -> None:
        """Count what stands so far as the head of the page."""
        self._start = self.y

    def gap(self, height: float) -> None:
        """Leave room, though never at the top of a page."""
        if not self.fresh:
            self.y += height

    def heading(self, text: str, note: str = "", *, keep: float = 60.0) -> None:
        """Write a heading under a rule, with a note in grey, and keep it with what follows."""
        self.gap(13)
        self.need(24 + keep)
        self._headings[-1].append((text, self.y))
        if not self.fresh:  # else the head's own rule stands above
            self.put(line(self.left, self.y, self.right, self.y, stroke=svg.INK, stroke_width=1.2))
        first = min(fonts.width(text, 12.5, bold=True), self.width * 0.62)
        height = 0.0
        for part in wrapped(((text, True),), 12.5, self.width):
            self.put(*spans_at(self.left, self.y + 15 + height, part, 12.5))
            height += 15
        if note:  # beside the heading
            room = self.width - first - 10
            for at, part in enumerate(wrapped(note, 9, room)):
                self.put(
                    *spans_at(self.left + first + 10, self.y + 15 + 11 * at, part, 9, fill=GREY)
                )
                height = max(height, 15 + 11.0 * at)
        self.y += 5 + height

    def small_heading(self, text: str, *, keep: float = 64.0) -> None:
        """Write a heading of the second rank."""
        self.gap(6)
        self.need(14 + keep)
        for part in wrapped(((text, True),), 9.5, self.width):
            self.put(*spans_at(self.left, self.y + 10, part, 9.5))
            self.y += 13

    def text(
        self, text: str | Spans, size: float = 9.0, *, grey: bool = False, indent: float = 0.0
    ) -> None:
        """Write a paragraph."""
        for part in wrapped(text, size, self.width - indent):
            self.need(size * LEADING)
            fill = GREY if grey else svg.INK
            self.put(*spans_at(self.left + indent, self.y + size, part, size, fill=fill))
            self.y += size * LEADING
        self.y += 2.5

    def items(self, texts: Iterable[str | Spans], size: float = 9.0) -> None:
        """Write a list, one dash an item."""
        for text in texts:
            self.need(size * LEADING)
            self.put(label(self.left + 2, self.y + size, "\u2013", size=size, fill=svg.INK))
            self.text(text, size, indent=11)

    def scale_of(self, picture: Picture) -> float:
        """Return the scale at which a picture is as wide as the text, and no taller than a page."""
        room = self.bottom - TOP - 90
        return min(self.width / picture.size[0], room / picture.size[1])

    def picture(self, heading: str, picture: Picture, caption: str = "") -> None:
        """Put a picture under its heading, with a caption, all on one page."""
        scale = self.scale_of(picture)
        height = picture.size[1] * scale
        self.small_heading(heading, keep=height + 30)
        self._end()
        self._pages[-1].append(
            Placed(shapes=picture.shapes, left=self.left, top=self.y, scale=scale)
        )
        self.y += height + 4
        if caption:
            self.text(caption, 8, grey=True)

    def broad(self, heading: str, picture: Picture) -> None:
        """Put a picture on a page of its own after all others, on its side where it is broad."""
        self._broad.append((heading, picture))

    def document(self, title: str, subject: str) -> Document:
        """Close the last page and number all of them."""
        self._end()
        count = len(self._pages) + len(self._broad)
        pages = [
            Page(placed=(*placed, self._foot(number, count, self.size)), headings=tuple(headings))
            for number, (placed, headings) in enumerate(
                zip(self._pages, self._headings, strict=True), 1
            )
        ]
        for number, (heading, picture) in enumerate(self._broad, len(pages) + 1):
            pages.append(self._broad_page(heading, picture, (number, count)))
        return Document(size=self.size, title=title, subject=subject, pages=tuple(pages))

    def _broad_page(self, heading: str, picture: Picture, place: tuple[int, int]) -> Page:
        size = self.size[::-1] if picture.size[0] > picture.size[1] else self.size
        wide, tall = size[0] - 2 * SIDE, size[1] - FOOT - TOP - 24
        scale = min(wide / picture.size[0], tall / picture.size[1], 10 * MM / 100)
        head = label(SIDE, TOP + 10, cut_to(heading, 11, wide, bold=True), size=11, bold=True)
        drawn = Placed(shapes=picture.shapes, left=SIDE, top=TOP + 20, scale=scale)
        return Page(
            placed=(Placed(shapes=(head,)), drawn, self._foot(*place, size)),
            headings=((heading, TOP),),
            size=size,
        )

    def _foot(self, number: int, count: int, size: Point) -> Placed:
        base, right = size[1] - 8 * MM, size[0] - SIDE
        wide = right - self.left
        told = f"page {number} of {count}"
        room = wide - fonts.width(told, 8.5, bold=True) - 14
        shapes: list[Shape] = [
            line(self.left, base - 20, right, base - 20, stroke=svg.INK, stroke_width=0.6),
            label(self.left, base - 11, cut_to(self.running.caution, 8, wide), size=8),
            label(self.left, base, cut_to(self.running.foot, 8.5, room), size=8.5),
            label(right, base, told, size=8.5, bold=True, anchor="end"),
        ]
        return Placed(shapes=tuple(shapes))


def head_line(flow: Flow, left: Sequence[tuple[str, bool]], right: str) -> None:
    """Write one small line across the page, its two ends."""
    base = flow.y + 8.5
    flow.put(*spans_at(flow.left, base, tuple(left), 8.5, fill=GREY))
    flow.put(label(flow.right, base, right, size=8.5, anchor="end", fill=GREY))
    flow.y = base + 6
