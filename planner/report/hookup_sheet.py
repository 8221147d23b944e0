"""A sheet of drawing paper in millimetres, for the drawings of a hook-up."""

from __future__ import annotations

from planner.report import svg, words
from planner.report.drawing import Anchor, Picture, Shape, label, path

PER_MM = 10.0
"""Units of the picture in a millimetre."""
_CHARACTER = 0.53
"""Mean width of a character in a sans-serif fount, in parts of its size."""

Point = tuple[float, float]


class Sheet:
    """Collects lines, boxes and texts [mm], y downwards; lines lie below texts."""

    def __init__(self) -> None:
        self._below: list[Shape] = []
        self._texts: list[Shape] = []

    def line(self, *points: Point, width: float = 0.3, dash: tuple[float, ...] = ()) -> None:
        """Draw a line through points."""
        self._below.append(
            path(
                [_units(points)],
                stroke=svg.INK,
                stroke_width=width * PER_MM,
                dash=tuple(part * PER_MM for part in dash),
            )
        )

    def box(
        self, corner: Point, size: Point, *, fill: str = "#ffffff", width: float = 0.35
    ) -> None:
        """Draw a box from its left upper corner."""
        (x, y), (w, h) = corner, size
        self.shape((x, y), (x + w, y), (x + w, y + h), (x, y + h), fill=fill, width=width)

    def shape(self, *points: Point, fill: str, width: float = 0.3) -> None:
        """Draw a filled shape."""
        wide = width * PER_MM
        self._below.append(
            path([_units(points)], stroke=svg.INK, stroke_width=wide, fill=fill, closed=True)
        )

    def text(
        self,
        at: Point,
        text: str,
        *,
        size: float = 2.6,
        anchor: Anchor = "start",
        look: str = "",
        room: float | None = None,
    ) -> None:
        """Write a text, ``"bold"`` or ``"grey"``; made smaller, then cut, until it has room."""
        clean = words.clean(text)
        if room is not None:
            size = max(size * 0.8, min(size, room / (_CHARACTER * max(1, len(clean)))))
            clean = words.cut(clean, max(3, int(room / (_CHARACTER * size))))
        self._texts.append(
            label(
                at[0] * PER_MM,
                at[1] * PER_MM,
                clean,
                size=size * PER_MM,
                anchor=anchor,
                bold=look == "bold",
                fill=svg.GREY if look == "grey" else svg.INK,
            )
        )

    def picture(self, size: Point, *, title: str, description: str) -> Picture:
        """Return the whole; ``size`` is width and height [mm]."""
        return Picture(
            size=(size[0] * PER_MM, size[1] * PER_MM),
            title=title,
            description=description,
            shapes=(*self._below, *self._texts),
        )


def _units(points: tuple[Point, ...]) -> list[Point]:
    return [(x * PER_MM, y * PER_MM) for x, y in points]


def width_of(text: str, size: float) -> float:
    """Return about how wide a text prints [mm]."""
    return len(text) * size * _CHARACTER
