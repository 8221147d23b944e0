"""Lanes of a picture: stacked from the top, all on one frequency axis."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from planner.report import svg, words
from planner.report.axis import Axis
from planner.report.reading import merged, rows
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from planner.report.reading import Plan

WIDTH = 720.0
LEFT = 104.0
RIGHT = WIDTH - 6.0
AXIS_Y = 24.0

Draw = Callable[[Axis, float], str]
"""Draws a lane whose top edge is given."""


class Lanes:
    """Lanes stacked from the top, each with its name in the left margin."""

    def __init__(self, axis: Axis, top: float) -> None:
        self.axis = axis
        self.y = top
        self.body: list[str] = []

    def add(self, name: str, height: float, draw: Draw, *, note: str = "") -> None:
        """Draw a lane of a height [user unit] and move down."""
        at = self.y + (20 if name else 7)
        if name:
            text = words.cut(name, 15)
            self.body.append(
                svg.label(0, self.y + 11, text, fill=svg.INK, font_weight="600", font_size="9.5")
            )
        if note:
            text = words.cut(note, 19)
            self.body.append(svg.label(0, at, text, fill=svg.GREY, font_size="8.5"))
        self.body.append(draw(self.axis, self.y))
        self.y += height


def draw_words(prefix: str, stop: Plan, key: str, height: float) -> Draw:
    """Return the drawer of a lane of words: ``key`` is ``"air"`` or ``"law"``.

    Adjacent equal spans are one bar; a bar with room for its word carries it.
    """

    def draw(axis: Axis, y: float) -> str:
        out = []
        for low, high, (word,) in merged(rows(stop, "spans"), (key,)):
            for left, right in axis.pieces(mhz_to_hz(low), mhz_to_hz(high)):
                tip = svg.element("title", svg.words(f"{word}, {words.mhz_span(low, high)} MHz"))
                out.append(
                    svg.element(
                        "rect",
                        tip,
                        x=left,
                        y=y,
                        width=right - left,
                        height=height,
                        fill=f"url(#{prefix}-{word})",
                        stroke=svg.INK,
                        stroke_width="0.5",
                    )
                )
                if right - left >= 5.6 * len(word) + 6:
                    out.append(
                        svg.label(
                            (left + right) / 2,
                            y + height / 2 + 3,
                            word,
                            text_anchor="middle",
                            font_size="8.5",
                            fill=svg.INK,
                            stroke="#ffffff",
                            stroke_width=3,
                            paint_order="stroke",
                        )
                    )
        return "".join(out)

    return draw


def _level_path(axis: Axis, channels: list[Plan], key: str, place: tuple[float, float]) -> str:
    base, per_db = place
    path = []
    last_right = -1.0
    for channel in channels:
        level = channel.get(key)
        if level is None:
            continue
        for left, right in axis.pieces(
            mhz_to_hz(channel["low_mhz"]), mhz_to_hz(channel["high_mhz"])
        ):
            move = "L" if abs(left - last_right) < 0.05 else "M"
            y = base - max(0.0, level) * per_db
            path.append(f"{move}{svg.number(left)} {svg.number(y)}H{svg.number(right)}")
            last_right = right
    return "".join(path)


def has_level(stop: Plan) -> bool:
    """Say whether any TV channel of the stop carries a noise rise."""
    return any(channel.get("noise_rise_most_db") is not None for channel in rows(stop, "channels"))


def draw_level(stop: Plan, height: float) -> Draw:
    """Return the drawer of the noise-rise lane: two thin lines on a scale of their own [dB]."""
    channels = sorted(rows(stop, "channels"), key=lambda channel: channel["low_mhz"])
    levels = [channel.get("noise_rise_most_db") or 0.0 for channel in channels]
    top_db = max(10, -(-int(max(levels, default=0.0) + 1) // 10) * 10)

    def draw(axis: Axis, y: float) -> str:
        base = y + height
        per_db = height / top_db
        out = []
        for mark_db in (0, top_db // 2, top_db) if top_db % 20 == 0 else (0, top_db):
            at = base - mark_db * per_db
            out.append(
                svg.label(
                    LEFT - 4,
                    at + 3,
                    f"{mark_db} dB" if mark_db == top_db else str(mark_db),
                    text_anchor="end",
                    font_size="8",
                    fill=svg.GREY,
                )
            )
            out.extend(
                svg.line(panel.left, at, panel.right, at, stroke=svg.HAIR, stroke_width="0.5")
                for panel in axis.panels
            )
        for key, style in (("noise_rise_most_db", "none"), ("noise_rise_least_db", "2 2")):
            path = _level_path(axis, channels, key, (base, per_db))
            if path:
                out.append(
                    svg.element(
                        "path",
                        d=path,
                        fill="none",
                        stroke=svg.INK,
                        stroke_width="0.9",
                        stroke_dasharray=style,
                    )
                )
        return "".join(out)

    return draw
