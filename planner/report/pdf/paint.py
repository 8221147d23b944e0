"""Shapes to PDF: the one module that drives the PDF engine."""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import io
import math
from typing import TYPE_CHECKING, Any, cast

from planner import __version__
from planner.report import svg
from planner.report.drawing import MARK
from planner.report.pdf import fonts
from planner.report.words import clean

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from reportlab.lib.colors import Color
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.pdfgen.textobject import PDFTextObject

    from planner.report.drawing import Point, Shape, Shapes


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Placed:
    """Shapes on a page: moved to a corner [pt] and scaled."""

    shapes: Shapes
    left: float = 0.0
    top: float = 0.0
    scale: float = 1.0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Page:
    """One page: what stands on it, and the headings that its outline lists.

    Attributes
    ----------
    size : Point, optional
        Its paper [pt], where it is not the document's.
    """

    placed: tuple[Placed, ...]
    headings: tuple[tuple[str, float], ...] = ()
    size: Point | None = None


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Document:
    """A finished document: paper [pt], title and subject of its record, pages."""

    size: Point
    title: str
    subject: str
    pages: tuple[Page, ...]


def pdf_bytes(document: Document) -> bytes:
    """Return a document as PDF; the same document gives the same bytes.

    The engine's fixed date (2000-01-01) stands in the file as its date: a plan has no time of day.
    """
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0  # binary streams: a fifth smaller, and faster
    fonts.ready()
    out = io.BytesIO()
    canvas = Canvas(
        out,
        pagesize=document.size,
        invariant=1,
        pageCompression=1,
        lang="en",
        initialFontName=fonts.REGULAR,  # type: ignore[arg-type]  # a name, in spite of the stub
    )
    canvas.setTitle(clean(document.title))
    canvas.setSubject(clean(document.subject))
    canvas.setAuthor("passband")
    canvas.setCreator(f"passband {__version__}")
    letters = _Letters(canvas)
    for number, page in enumerate(document.pages, 1):
        size = page.size or document.size
        canvas.setPageSize(size)
        for index, (heading, top) in enumerate(page.headings):
            key = f"page {number}, {index}"
            canvas.bookmarkHorizontalAbsolute(key, size[1] - top)
            canvas.addOutlineEntry(clean(heading), key, level=0)
        now: dict[str, object] = {}
        for placed in page.placed:
            _Brush(canvas=canvas, height=size[1], placed=placed, now=now, letters=letters).draw()
        canvas.showPage()
    canvas.save()
    return out.getvalue()


class _Letters:
    """Writes texts of one document: each differing text is turned into codes once.

    The engine's own text objects keep a cursor and measure every text to move it on; a sheet needs
    neither, and has thousands of short texts.
    """

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._known: dict[fonts.Run, tuple[tuple[str, str], ...]] = {}

    def write(self, parts: Iterable[fonts.Run], start: Point, size: float, *, mode: int) -> None:
        """Write parts of a line one behind the other, filled (mode 0) or as outlines (1)."""
        codes = [f"BT {mode} Tr 1 0 0 1 {start[0]:.2f} {start[1]:.2f} Tm"]
        face = ""
        for part in parts:
            for name, shown in self._codes(part):
                if name != face:
                    codes.append(f"{name} {size:.2f} Tf")
                    face = name
                codes.append(f"({shown}) Tj")
        self._canvas.drawText(cast("PDFTextObject", _Code(" ".join([*codes, "ET"]))))

    def _codes(self, part: fonts.Run) -> tuple[tuple[str, str], ...]:
        """Return names of subset fonts with the codes of their letters, escaped."""
        if part not in self._known:
            from reportlab.lib.rl_accel import escapePDF
            from reportlab.pdfbase.pdfmetrics import getFont

            font: Any = getFont(part.font)
            document = self._canvas._doc  # type: ignore[attr-defined]  # noqa: SLF001 - no public way
            self._known[part] = tuple(
                (font.getSubsetInternalName(subset, document), escapePDF(letters))
                for subset, letters in font.splitString(part.text, document)
            )
        return self._known[part]


@dataclasses.dataclass(frozen=True, slots=True)
class _Code:
    """What a canvas draws as a text: it asks for the codes only."""

    code: str

    def getCode(self) -> str:  # noqa: N802 - the engine's name
        return self.code


@functools.cache
def _colour(name: str) -> Color:
    from reportlab.lib.colors import HexColor

    return HexColor(name)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Brush:
    """Draws placed shapes, turned from y downwards to y upwards.

    Attributes
    ----------
    now : dict
        What pen and fill are set to on this page, so that nothing is set twice.
    letters : _Letters
        The document's writer of texts.
    """

    canvas: Canvas
    height: float
    placed: Placed
    now: dict[str, object]
    letters: _Letters

    def draw(self) -> None:
        for shape in self.placed.shapes:
            if shape.kind == "text":
                self._text(shape)
            elif shape.kind == "rect":
                self._rect(shape)
            else:
                self._path(shape)

    def at(self, point: Sequence[float]) -> Point:
        """Return where a point of the drawing lies on the paper [pt]."""
        place = self.placed
        return (
            place.left + place.scale * point[0],
            self.height - place.top - place.scale * point[1],
        )

    def _pen(self, colour: str, width: float, dash: Sequence[float] = ()) -> None:
        scale = self.placed.scale
        wanted = (colour, width * scale, tuple(part * scale for part in dash))
        if self.now.get("pen") != wanted:
            self.canvas.setStrokeColor(_colour(colour))
            self.canvas.setLineWidth(wanted[1])
            self.canvas.setDash(list(wanted[2]))
            self.now["pen"] = wanted

    def _fill(self, colour: str) -> None:
        if self.now.get("fill") != colour:
            self.canvas.setFillColor(_colour(colour))
            self.now["fill"] = colour

    @contextlib.contextmanager
    def _apart(self) -> Iterator[None]:
        """Draw something that leaves pen, fill and clipping as they were."""
        before = dict(self.now)
        self.canvas.saveState()
        yield
        self.canvas.restoreState()
        self.now.clear()
        self.now.update(before)

    def _text(self, shape: Shape) -> None:
        size = shape.size * self.placed.scale
        x, y = self.at(shape.box)
        if shape.anchor != "start":
            long = fonts.width(shape.text, size, bold=shape.bold)
            x -= long if shape.anchor == "end" else long / 2
        parts = fonts.runs(shape.text, bold=shape.bold)
        if shape.halo:
            with self._apart():
                self._pen("#ffffff", shape.halo)
                self.letters.write(parts, (x, y), size, mode=1)
        self._fill(shape.fill or svg.INK)
        self.letters.write(parts, (x, y), size, mode=0)

    def _rect(self, shape: Shape) -> None:
        x, y, width, height = shape.box
        (left, top), (right, bottom) = self.at((x, y)), self.at((x + width, y + height))
        box = (left, bottom, right - left, top - bottom)
        if shape.fill.startswith(MARK):
            self._marked(svg.MARKS[shape.fill.removeprefix(MARK)], box)
        elif shape.fill:
            self._fill(shape.fill)
            self.canvas.rect(*box, stroke=0, fill=1)
        if shape.stroke:
            self._pen(shape.stroke, shape.stroke_width, shape.dash)
            self.canvas.rect(*box, stroke=1, fill=0)

    def _path(self, shape: Shape) -> None:
        strokes = shape.paths or ((shape.box[:2], shape.box[2:]),)
        outline = self.canvas.beginPath()
        for stroke in strokes:
            outline.moveTo(*self.at(stroke[0]))
            for point in stroke[1:]:
                outline.lineTo(*self.at(point))
            if shape.closed:
                outline.close()
        if shape.stroke:
            self._pen(shape.stroke, shape.stroke_width, shape.dash)
        if shape.fill:
            self._fill(shape.fill)
        self.canvas.drawPath(outline, stroke=int(bool(shape.stroke)), fill=int(bool(shape.fill)))

    def _marked(self, mark: svg.Mark, box: tuple[float, float, float, float]) -> None:
        """Fill a box with a word's mark: its ground, then its lines cut at the edge."""
        canvas = self.canvas
        with self._apart():
            edge = canvas.beginPath()
            edge.rect(*box)
            canvas.clipPath(edge, stroke=0, fill=0)
            self._fill(mark.ground)
            canvas.rect(*box, stroke=0, fill=1)
            for stroke in mark.strokes:
                dash = (2.0, mark.tile - 2.0) if stroke.startswith("M1 2h") else ()
                self._pen(mark.colour, mark.width, dash)
                upright = 90 if "v" in stroke else 0
                canvas.lines(_hatch(box, mark.tile * self.placed.scale, upright - mark.turn_deg))


def _hatch(
    box: tuple[float, float, float, float], apart: float, turn_deg: float
) -> list[tuple[float, float, float, float]]:
    """Return parallel lines that cover a box; every box shares one set of lines."""
    along = (math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg)))
    across = (-along[1], along[0])
    corners = [(box[0] + box[2] * i, box[1] + box[3] * j) for i in (0, 1) for j in (0, 1)]
    depths = [across[0] * x + across[1] * y for x, y in corners]
    lengths = [along[0] * x + along[1] * y for x, y in corners]
    first, last = math.ceil(min(depths) / apart), math.floor(max(depths) / apart)
    start = math.floor(min(lengths) / apart) * apart
    ends = (start, max(lengths))
    out = []
    for step in range(first, last + 1):
        depth = step * apart
        (x1, y1), (x2, y2) = (
            (along[0] * length + across[0] * depth, along[1] * length + across[1] * depth)
            for length in ends
        )
        out.append((x1, y1, x2, y2))
    return out
