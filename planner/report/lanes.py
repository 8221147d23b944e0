"""Lanes of a picture: stacked from the top, all on one frequency axis."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from planner.report import svg, words
from planner.report.axis import Axis
from planner.report.drawing import MARK, Point, Shape, Shapes, label, line, path, rect
from planner.report.reading import merged, rows
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from planner.report.reading import Plan

WIDTH = 720.0
LEFT = 104.0
RIGHT = WIDTH - 6.0
AXIS_Y = 24.0

Draw = Callable[[Axis, float], Shapes]
"""Draws a lane whose top edge is given."""


class Lanes:
    """Lanes stacked from the top, each with its name in the left margin."""

    def __init__(self, axis: Axis, top: float) -> None:
        self.axis = axis
        self.y = top
        self.body: list[Shape] = []

    def add(self, name: str, height: float, draw: Draw, *, note: str = "") -> None:
        """Draw a lane of a height [user unit] and move down."""
        at = self.y + (20 if name else 7)
        if name:
            text = words.cut(name, 15)
            self.body.append(label(0, self.y + 11, text, fill=svg.INK, bold=True, size=9.5))
        if note:
            text = words.cut(note, 19)
            self.body.append(label(0, at, text, fill=svg.GREY, size=8.5))
        self.body.extend(draw(self.axis, self.y))
        self.y += height


def draw_words(stop: Plan, key: str, height: float) -> Draw:
    """Return the drawer of a lane of words: ``key`` is ``"air"`` or ``"law"``.

    Adjacent equal spans are one bar; a bar with room for its word carries it.
    """

    def draw(axis: Axis, y: float) -> Shapes:
        out = []
        for low, high, (word,) in merged(rows(stop, "spans"), (key,)):
            for left, right in axis.pieces(mhz_to_hz(low), mhz_to_hz(high)):
                out.append(
                    rect(
                        left,
                        y,
                        right - left,
                        height,
                        fill=MARK + word,
                        stroke=svg.INK,
                        stroke_width=0.5,
                        tip=f"{word}, {words.mhz_span(low, high)} MHz",
                    )
                )
                if right - left >= 5.6 * len(word) + 6:
                    middle, base = (left + right) / 2, y + height / 2 + 3
                    out.append(
                        label(middle, base, word, anchor="middle", size=8.5, fill=svg.INK, halo=3)
                    )
        return tuple(out)

    return draw


def _level_strokes(axis: Axis, channels: list[Plan], key: str, place: Point) -> list[list[Point]]:
    base, per_db = place
    strokes: list[list[Point]] = []
    for channel in channels:
        level = channel.get(key)
        if level is None:
            continue
        for left, right in axis.pieces(
            mhz_to_hz(channel["low_mhz"]), mhz_to_hz(channel["high_mhz"])
        ):
            if not strokes or abs(left - strokes[-1][-1][0]) >= 0.05:
                strokes.append([])
            y = base - max(0.0, level) * per_db
            strokes[-1] += [(left, y), (right, y)]
    return strokes


def has_level(stop: Plan) -> bool:
    """Say whether any TV channel of the stop carries a noise rise."""
    return any(channel.get("noise_rise_most_db") is not None for channel in rows(stop, "channels"))


def draw_level(stop: Plan, height: float) -> Draw:
    """Return the drawer of the noise-rise lane: two thin lines on a scale of their own [dB]."""
    channels = sorted(rows(stop, "channels"), key=lambda channel: channel["low_mhz"])
    levels = [channel.get("noise_rise_most_db") or 0.0 for channel in channels]
    top_db = max(10, -(-int(max(levels, default=0.0) + 1) // 10) * 10)

    def draw(axis: Axis, y: float) -> Shapes:
        base = y + height
        per_db = height / top_db
        out = []
        for mark_db in (0, top_db // 2, top_db) if top_db % 20 == 0 else (0, top_db):
            at = base - mark_db * per_db
            text = f"{mark_db} dB" if mark_db == top_db else str(mark_db)
            out.append(label(LEFT - 4, at + 3, text, anchor="end", size=8, fill=svg.GREY))
            out.extend(
                line(panel.left, at, panel.right, at, stroke=svg.HAIR, stroke_width=0.5)
                for panel in axis.panels
            )
        dotted: tuple[tuple[str, tuple[float, ...]], ...] = (
            ("noise_rise_most_db", ()),
            ("noise_rise_least_db", (2, 2)),
        )
        for key, dash in dotted:
            strokes = _level_strokes(axis, channels, key, (base, per_db))
            if strokes:
                out.append(path(strokes, stroke=svg.INK, stroke_width=0.9, dash=dash))
        return tuple(out)

    return draw
