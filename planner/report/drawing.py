"""A drawing as a list of lines, boxes and texts in millimetres, whatever engine prints it."""

from __future__ import annotations

import dataclasses

from planner.report import svg, words

_CHARACTER = 0.53
"""Mean width of a character in a sans-serif fount, in parts of its size."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Stroke:
    """A line through points.

    Attributes
    ----------
    points : tuple of (float, float)
        From the left upper corner [mm].
    width : float
        [mm].
    dash : tuple of float
        Lengths of dashes and gaps [mm]; empty for a whole line.
    colour, fill : str
        As ``#rrggbb``; an empty fill leaves it open, else the line is closed.
    """

    points: tuple[tuple[float, float], ...]
    width: float = 0.3
    dash: tuple[float, ...] = ()
    colour: str = svg.INK
    fill: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Lettering:
    """A text at a point.

    Attributes
    ----------
    x, y : float
        Of its base line [mm].
    size : float
        Height of the fount [mm].
    anchor : str
        ``"start"``, ``"middle"`` or ``"end"``.
    """

    x: float
    y: float
    text: str
    size: float = 2.6
    anchor: str = "start"
    bold: bool = False
    colour: str = svg.INK


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Drawing:
    """A whole drawing.

    Attributes
    ----------
    width, height : float
        [mm].
    title, description : str
        For people who do not see it.
    strokes, letterings : tuple
        Strokes lie below the texts, both in order.
    """

    width: float
    height: float
    title: str
    description: str
    strokes: tuple[Stroke, ...]
    letterings: tuple[Lettering, ...]


class Sheet:
    """Collects what a drawing is made of."""

    def __init__(self) -> None:
        self.strokes: list[Stroke] = []
        self.letterings: list[Lettering] = []

    def line(
        self, *points: tuple[float, float], width: float = 0.3, dash: tuple[float, ...] = ()
    ) -> None:
        """Draw a line through points."""
        self.strokes.append(Stroke(points=points, width=width, dash=dash))

    def box(
        self,
        corner: tuple[float, float],
        size: tuple[float, float],
        *,
        fill: str = "#ffffff",
        width: float = 0.35,
    ) -> None:
        """Draw a box from its left upper corner."""
        (x, y), (w, h) = corner, size
        points = ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
        self.strokes.append(Stroke(points=points, width=width, fill=fill))

    def shape(self, *points: tuple[float, float], fill: str) -> None:
        """Draw a filled shape."""
        self.strokes.append(Stroke(points=points, width=0.3, fill=fill))

    def text(
        self,
        at: tuple[float, float],
        text: str,
        *,
        size: float = 2.6,
        anchor: str = "start",
        look: str = "",
        room: float | None = None,
    ) -> None:
        """Write a text, ``"bold"`` or ``"grey"``; made smaller, then cut, until it has room."""
        clean = words.clean(text)
        if room is not None:
            size = max(size * 0.8, min(size, room / (_CHARACTER * max(1, len(clean)))))
            clean = words.cut(clean, max(3, int(room / (_CHARACTER * size))))
        self.letterings.append(
            Lettering(
                x=at[0],
                y=at[1],
                text=clean,
                size=size,
                anchor=anchor,
                bold=look == "bold",
                colour=svg.GREY if look == "grey" else svg.INK,
            )
        )

    def drawing(self, size: tuple[float, float], *, title: str, description: str) -> Drawing:
        """Return the whole."""
        return Drawing(
            width=size[0],
            height=size[1],
            title=title,
            description=description,
            strokes=tuple(self.strokes),
            letterings=tuple(self.letterings),
        )


def width_of(text: str, size: float) -> float:
    """Return about how wide a text prints [mm]."""
    return len(text) * size * _CHARACTER


def drawing_svg(drawing: Drawing, *, prefix: str) -> str:
    """Return a drawing as an inline SVG, tenths of a millimetre as its units.

    Parameters
    ----------
    drawing : Drawing
        What to draw.
    prefix : str
        Start of the ids, unique on a page.
    """
    scale = 10.0
    body = [_stroke(row, scale) for row in drawing.strokes]
    body += [_lettering(row, scale) for row in drawing.letterings]
    return svg.document(
        prefix=prefix,
        size=(drawing.width * scale, drawing.height * scale),
        title=drawing.title,
        description=drawing.description,
        body="".join(body),
    )


def _stroke(row: Stroke, scale: float) -> str:
    points = " ".join(_pair(point, scale) for point in row.points)
    extra: dict[str, str | float] = {}
    if row.dash:
        extra["stroke_dasharray"] = " ".join(svg.number(part * scale) for part in row.dash)
    return svg.element(
        "polygon" if row.fill else "polyline",
        points=points,
        fill=row.fill or "none",
        stroke=row.colour,
        stroke_width=row.width * scale,
        **extra,
    )


def _pair(point: tuple[float, float], scale: float) -> str:
    return f"{svg.number(point[0] * scale)},{svg.number(point[1] * scale)}"


def _lettering(row: Lettering, scale: float) -> str:
    extra: dict[str, str | float] = {"font_weight": "600"} if row.bold else {}
    if row.anchor != "start":
        extra["text_anchor"] = row.anchor
    return svg.label(
        row.x * scale,
        row.y * scale,
        row.text,
        font_size=row.size * scale,
        fill=row.colour,
        **extra,
    )
