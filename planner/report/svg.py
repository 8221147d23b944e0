"""Small parts of an SVG text: escaped elements, patterns that survive grey print, a canvas."""

from __future__ import annotations

import dataclasses
import functools
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

from planner.report.drawing import MARK
from planner.report.words import clean

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.report.drawing import Picture, Point, Shape

INK = "#22262e"
GREY = "#6a717d"
HAIR = "#c4c8cf"
ACCENT = "#37479b"
PALE = "#c9cfee"
FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif"

Attribute = str | int | float


def number(value: float) -> str:
    """Write a coordinate with at most one decimal."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def element(name: str, content: str = "", /, **attributes: Attribute) -> str:
    """Return one element; attributes are escaped, ``content`` is taken as finished SVG.

    Parameters
    ----------
    name : str
        Element name.
    content : str
        Finished inner SVG, see :func:`words` for user text.
    attributes
        Underscores become hyphens, a trailing one is dropped; numbers get one decimal.
    """
    parts = [name]
    for key, value in attributes.items():
        text = _quoted(value) if isinstance(value, str) else f'"{number(value)}"'
        parts.append(f"{_hyphenated(key)}={text}")
    head = " ".join(parts)
    return f"<{head}>{content}</{name}>" if content else f"<{head}/>"


@functools.lru_cache(maxsize=1024)
def _hyphenated(key: str) -> str:
    return key.rstrip("_").replace("_", "-")


@functools.lru_cache(maxsize=4096)
def _quoted(text: str) -> str:
    return quoteattr(text)


def words(text: object) -> str:
    """Return user text cleaned and escaped for SVG."""
    return escape(clean(text))


def label(x: float, y: float, text: object, **attributes: Attribute) -> str:
    """Return a text element at a point."""
    return element("text", words(text), x=x, y=y, **attributes)


def line(x1: float, y1: float, x2: float, y2: float, **attributes: Attribute) -> str:
    """Return a straight line."""
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, **attributes)


def rect(x: float, y: float, width: float, height: float, **attributes: Attribute) -> str:
    """Return a rectangle."""
    return element("rect", x=x, y=y, width=width, height=height, **attributes)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """How a word is drawn, by ground, lines and hue together.

    Attributes
    ----------
    ground : str
        Colour under the lines.
    strokes : tuple of str
        Path data of the lines inside one tile.
    colour : str
        Colour of the lines.
    width : float
        Width of the lines [user unit].
    tile : int
        Side of a tile [user unit].
    turn_deg : int
        Rotation of the tile [deg].
    """

    ground: str
    strokes: tuple[str, ...] = ()
    colour: str = INK
    width: float = 1.0
    tile: int = 4
    turn_deg: int = 0

    @property
    def ink_share(self) -> float:
        """Share of a tile that the lines cover, crossings counted once; 0 to 1."""
        straight = self.width / self.tile
        if not self.strokes:
            return 0.0
        if self.strokes[0].startswith("M1 2h"):
            return 2 * self.width / self.tile**2
        return 1 - (1 - straight) ** len(self.strokes)


MARKS: dict[str, Mark] = {
    "held": Mark(ground="#e4e6ea", strokes=("M0 2h4",), width=1.7, turn_deg=45),
    "unlisted": Mark(ground="#ffffff", strokes=("M1 2h2",), colour=GREY, width=1.8, tile=5),
    "faint": Mark(ground="#f1f3fc", strokes=("M0 2h4",), colour=ACCENT, width=0.7),
    "quiet": Mark(ground="#ffffff"),
    "barred": Mark(ground="#ffffff", strokes=("M0 2h4", "M2 0v4"), width=0.9, turn_deg=45),
    "on-request": Mark(ground="#ffffff", strokes=("M2 0v5",), colour=ACCENT, width=1.2, tile=5),
    "lawful": Mark(ground="#ffffff"),
}
"""The look of every word; darkness grows with the weight of the obstacle."""


def patterns(prefix: str) -> str:
    """Return the ``defs`` of all marks, with ids that start with ``prefix``."""
    out = []
    for word, mark in MARKS.items():
        lines = rect(0, 0, mark.tile, mark.tile, fill=mark.ground)
        lines += "".join(
            element("path", d=path, stroke=mark.colour, stroke_width=f"{mark.width:.1f}")
            for path in mark.strokes
        )
        turn = {"patternTransform": f"rotate({mark.turn_deg})"} if mark.turn_deg else {}
        out.append(
            element(
                "pattern",
                lines,
                id=f"{prefix}-{word}",
                width=mark.tile,
                height=mark.tile,
                patternUnits="userSpaceOnUse",
                **turn,
            )
        )
    return element("defs", "".join(out))


def _width(value: float) -> str:
    """Write a width; carriers are narrow, so with two decimals."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _steps(stroke: tuple[Point, ...], *, closed: bool) -> str:
    """Write path data of straight lines, upright and level ones in short."""
    before = stroke[0]
    out = [f"M{number(before[0])} {number(before[1])}"]
    for at in stroke[1:]:
        if at[1] == before[1]:
            out.append(f"H{number(at[0])}")
        elif at[0] == before[0]:
            out.append(f"V{number(at[1])}")
        else:
            out.append(f"L{number(at[0])} {number(at[1])}")
        before = at
    return "".join(out) + "z" * closed


def _filled(shape: Shape, prefix: str) -> str:
    if shape.fill.startswith(MARK):
        return f"url(#{prefix}-{shape.fill.removeprefix(MARK)})"
    return shape.fill or "none"


def _outline(shape: Shape) -> dict[str, Attribute]:
    if not shape.stroke:
        return {}
    look: dict[str, Attribute] = {"stroke": shape.stroke}
    if shape.stroke_width != 1:
        look["stroke_width"] = f"{shape.stroke_width:g}"
    if shape.dash:
        look["stroke_dasharray"] = " ".join(f"{part:g}" for part in shape.dash)
    return look


def _text(shape: Shape) -> str:
    look: dict[str, Attribute] = {}
    if shape.anchor != "start":
        look["text_anchor"] = shape.anchor
    if shape.size != 10:
        look["font_size"] = f"{shape.size:g}"
    if shape.bold:
        look["font_weight"] = "600"
    if shape.halo:
        look |= {"stroke": "#ffffff", "stroke_width": shape.halo, "paint_order": "stroke"}
    x, y = shape.box[:2]
    return element("text", escape(shape.text), x=x, y=y, fill=shape.fill, **look)


def drawn(shapes: Iterable[Shape], prefix: str) -> str:
    """Return shapes as SVG elements; marks refer to :func:`patterns` of the same prefix."""
    out = []
    for shape in shapes:
        if shape.kind == "text":
            out.append(_text(shape))
            continue
        tip = element("title", words(shape.tip)) if shape.tip else ""
        one, two, three, four = shape.box
        if shape.kind == "line":
            look = _outline(shape)
            out.append(element("line", tip, x1=one, y1=two, x2=three, y2=four, **look))
            continue
        look = {"fill": _filled(shape, prefix), **_outline(shape)}
        if shape.kind == "rect":
            look = {"x": one, "y": two, "width": _width(three), "height": four, **look}
            out.append(element("rect", tip, **look))
        else:
            data = "".join(_steps(stroke, closed=shape.closed) for stroke in shape.paths)
            out.append(element("path", tip, d=data, **look))
    return "".join(out)


def picture(whole: Picture | None, prefix: str) -> str:
    """Return a picture as inline SVG whose ids begin with a prefix; nothing for no picture."""
    if whole is None:
        return ""
    marked = any(shape.fill.startswith(MARK) for shape in whole.shapes)
    return document(
        prefix=prefix,
        size=whole.size,
        title=whole.title,
        description=whole.description,
        body=(patterns(prefix) if marked else "") + drawn(whole.shapes, prefix),
    )


def document(
    *, prefix: str, size: tuple[float, float], title: str, description: str, body: str
) -> str:
    """Return a whole inline SVG with its accessible name and description."""
    inner = element("title", words(title), id=f"{prefix}-title")
    inner += element("desc", words(description), id=f"{prefix}-desc")
    return element(
        "svg",
        inner + body,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(size[0])} {number(size[1])}",
        width="100%",
        role="img",
        aria_labelledby=f"{prefix}-title {prefix}-desc",
        font_family=FONT,
        font_size=10,
    )
