"""One frequency axis for all lanes of a picture: panels with breaks, ticks in MHz."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.report.drawing import Shape, Shapes, label, line
from planner.report.svg import GREY, HAIR, INK
from planner.units import HZ_PER_MHZ, shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Iterable

LEAST_PANEL = 30.0
"""Least width of a panel [user unit]: room for one tick label."""

PANEL_BREAK = 12.0
"""Width of a break between panels [user unit]."""

JOIN_HZ = 3 * HZ_PER_MHZ
"""Gaps up to this width are kept inside a panel and stay blank [Hz]."""

_STEPS_HZ = tuple(
    int(step * HZ_PER_MHZ) for step in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500)
)
_LABEL_ROOM = 40.0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Panel:
    """An unbroken piece of the axis."""

    low_hz: int
    high_hz: int
    left: float
    right: float

    def x(self, frequency_hz: float) -> float:
        """Return the abscissa of a frequency; outside the panel it is clipped to its edge."""
        share = (frequency_hz - self.low_hz) / (self.high_hz - self.low_hz)
        return self.left + min(1.0, max(0.0, share)) * (self.right - self.left)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Axis:
    """Panels in ascending order, side by side."""

    panels: tuple[Panel, ...]

    def pieces(self, low_hz: int, high_hz: int) -> list[tuple[float, float]]:
        """Return the parts of a span that the panels show, as left and right abscissae."""
        return [
            (panel.x(low_hz), panel.x(high_hz))
            for panel in self.panels
            if low_hz < panel.high_hz and panel.low_hz < high_hz
        ]


def joined(spans_hz: Iterable[tuple[int, int]], gap_hz: int = 0) -> list[tuple[int, int]]:
    """Join spans [Hz] that overlap, touch or lie at most ``gap_hz`` apart."""
    out: list[tuple[int, int]] = []
    for low_hz, high_hz in sorted(span for span in spans_hz if span[0] < span[1]):
        if out and low_hz <= out[-1][1] + gap_hz:
            out[-1] = (out[-1][0], max(out[-1][1], high_hz))
        else:
            out.append((low_hz, high_hz))
    return out


def make_axis(spans_hz: Iterable[tuple[int, int]], left: float, right: float) -> Axis:
    """Lay the panels of an axis out between two abscissae.

    Widths are in proportion to the spectrum, but none is narrower than :data:`LEAST_PANEL`
    (less when there are too many to give each that much).
    """
    pieces = joined(spans_hz, JOIN_HZ)
    room = right - left - PANEL_BREAK * max(0, len(pieces) - 1)
    least = min(LEAST_PANEL, room / max(1, len(pieces)))
    widths = dict.fromkeys(pieces, 0.0)
    free = list(pieces)
    while free:
        fixed = sum(width for width in widths.values() if width)
        scale = (room - fixed) / sum(high - low for low, high in free)
        narrow = [piece for piece in free if (piece[1] - piece[0]) * scale < least]
        for piece in narrow or free:
            widths[piece] = least if narrow else (piece[1] - piece[0]) * scale
        free = [piece for piece in free if not widths[piece]]
    panels = []
    at = left
    for low_hz, high_hz in pieces:
        width = widths[low_hz, high_hz]
        panels.append(Panel(low_hz=low_hz, high_hz=high_hz, left=at, right=at + width))
        at += width + PANEL_BREAK
    return Axis(panels=tuple(panels))


def ticks_hz(panel: Panel) -> list[int]:
    """Return the labelled frequencies of a panel [Hz].

    As many round ones as have room; in a narrow panel the roundest one inside, or its lower limit.
    """
    per_hz = (panel.right - panel.left) / (panel.high_hz - panel.low_hz)
    roomy = next((step for step in _STEPS_HZ if step * per_hz >= _LABEL_ROOM), _STEPS_HZ[-1])
    for step_hz in reversed(_STEPS_HZ[: _STEPS_HZ.index(roomy) + 1]):
        first = -(-panel.low_hz // step_hz) * step_hz
        marks = list(range(first, panel.high_hz + 1, step_hz))
        if marks:
            return marks if step_hz == roomy else marks[:1]
    return [panel.low_hz]


def draw_axis(axis: Axis, y: float, bottom: float) -> Shapes:
    """Draw the MHz axis at height ``y`` with hairlines down to ``bottom``."""
    out: list[Shape] = []
    taken = -1e9
    for panel in axis.panels:
        out.append(line(panel.left, y, panel.right, y, stroke=INK, stroke_width=1))
        for mark_hz in ticks_hz(panel):
            x = panel.x(mark_hz)
            text = shortest_mhz(mark_hz)
            half = 3.0 * len(text)
            out.append(line(x, y - 4, x, y, stroke=INK, stroke_width=1))
            out.append(line(x, y, x, bottom, stroke=HAIR, stroke_width=0.4))
            if x - half > taken + 4:
                out.append(label(x, y - 7, text, anchor="middle", fill=INK))
                taken = x + half
    for before, after in zip(axis.panels, axis.panels[1:], strict=False):
        for x, lean in ((before.right, 2), (after.left, -2)):
            out.append(
                line(x + lean - 2, y + 3, x + lean + 2, y - 3, stroke=GREY, stroke_width=0.8)
            )
    return tuple(out)


def draw_channels(axis: Axis, channels: list[tuple[str, int, int]], y: float) -> Shapes:
    """Draw TV channel edges and numbers as small secondary ticks below the axis line."""
    out: list[Shape] = []
    for name, low_hz, high_hz in channels:
        for left, right in axis.pieces(low_hz, high_hz):
            out.extend(line(x, y, x, y + 3, stroke=GREY, stroke_width=0.5) for x in (left, right))
            if right - left >= 5.0 * len(name) + 1:
                out.append(
                    label(
                        (left + right) / 2,
                        y + 9.5,
                        name,
                        anchor="middle",
                        fill=GREY,
                        size=7.5,
                    )
                )
    return tuple(out)
