"""Drawings as plain records, the same for every engine: shapes in user units, y downwards."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Literal, TypedDict, Unpack

from planner.report.words import clean

if TYPE_CHECKING:
    from collections.abc import Iterable

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]

MARK = "mark:"
"""Begins a fill that is a word's mark (see :data:`planner.report.svg.MARKS`), not a colour."""


class TextLook(TypedDict, total=False):
    """How a text looks, the defaults as in :class:`Shape`."""

    size: float
    bold: bool
    anchor: Anchor
    fill: str
    halo: float


class LineLook(TypedDict, total=False):
    """How a line or an outline looks, the defaults as in :class:`Shape`."""

    fill: str
    stroke: str
    stroke_width: float
    dash: tuple[float, ...]
    closed: bool
    tip: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Shape:
    """One rectangle, straight line, text or path.

    Attributes
    ----------
    kind : str
        ``"rect"``, ``"line"``, ``"text"`` or ``"path"``.
    box : tuple of float
        ``(x, y, width, height)`` of a rectangle, ``(x1, y1, x2, y2)`` of a line, ``(x, y, 0, 0)``
        where the base line of a text begins, is centred or ends, as ``anchor`` says.
    paths : tuple of tuple of Point
        Points of a path, joined by straight lines; several strokes are several tuples.
    closed : bool
        Whether every stroke of a path returns to its start.
    text : str
        Text on one line, cleaned.
    fill, stroke : str
        ``#rrggbb``, empty for none; a fill may be ``mark:held`` and the like.
    size, halo : float
        Height of a text, and width of the white line around it.
    dash : tuple of float
        Lengths of line and gap; empty for an unbroken line.
    tip : str
        What a pointer over the shape is told; a printed page has none.
    """

    kind: Literal["rect", "line", "text", "path"]
    box: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    paths: tuple[tuple[Point, ...], ...] = ()
    closed: bool = False
    text: str = ""
    fill: str = ""
    stroke: str = ""
    stroke_width: float = 1.0
    dash: tuple[float, ...] = ()
    size: float = 10.0
    bold: bool = False
    anchor: Anchor = "start"
    halo: float = 0.0
    tip: str = ""


Shapes = tuple[Shape, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Picture:
    """A whole drawing.

    Attributes
    ----------
    size : tuple of float
        Width and height [user unit].
    title, description : str
        Its name, and what it shows, for those who do not see it.
    """

    size: Point
    title: str
    description: str
    shapes: Shapes


def rect(x: float, y: float, width: float, height: float, **look: Unpack[LineLook]) -> Shape:
    """Return a rectangle."""
    return Shape(kind="rect", box=(x, y, width, height), **look)


def line(x1: float, y1: float, x2: float, y2: float, **look: Unpack[LineLook]) -> Shape:
    """Return a straight line."""
    return Shape(kind="line", box=(x1, y1, x2, y2), **look)


def label(x: float, y: float, text: object, **look: Unpack[TextLook]) -> Shape:
    """Return a text at a point, on one line and cleaned."""
    return Shape(kind="text", box=(x, y, 0.0, 0.0), text=clean(text), **look)


def path(strokes: Iterable[Iterable[Point]], **look: Unpack[LineLook]) -> Shape:
    """Return a path of straight lines; a stroke of fewer than two points is left out."""
    kept = (tuple(stroke) for stroke in strokes)
    return Shape(kind="path", paths=tuple(stroke for stroke in kept if len(stroke) > 1), **look)
