"""The lane of a need: carriers as bars of their true bandwidth, names above, windows below."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.report import svg, words
from planner.report.lanes import WIDTH, Draw
from planner.report.reading import occupied_hz

if TYPE_CHECKING:
    from planner.report.axis import Axis
    from planner.report.reading import Plan

LEAST_BAR = 1.0
"""Least width of a carrier's bar [user unit]; otherwise bars have their true bandwidth."""

LABEL_CHARACTERS = 13
LABEL_HEIGHT = 9.5
_CHARACTER = 4.9


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Place:
    """Where a name would stand: from ``left`` to ``right``, tied to its bar at ``x``."""

    x: float
    left: float
    right: float


def _place(x: float, text: str) -> _Place:
    """Put a name to the right of its bar, or to the left where the picture ends."""
    width = len(text) * _CHARACTER + 4
    if x + width <= WIDTH:
        return _Place(x=x, left=x, right=x + width)
    return _Place(x=x, left=x - width, right=x)


def _clash(row: int, place: _Place, other_row: int, other: _Place) -> bool:
    """Say whether two names touch, or the thin line of one runs through the other."""
    touch = place.left < other.right and other.left < place.right
    passes = place.left <= other.x <= place.right
    passed = other.left <= place.x <= other.right
    return (
        (row == other_row and touch)
        or (row <= other_row and passes)
        or (other_row <= row and passed)
    )


def _label_rows(places: list[_Place], most: int) -> list[int | None]:
    """Give each name the lowest row, of ``most``, in which nothing clashes; None without one.

    From the right to the left, so that the names of a cluster climb like stairs.
    """
    out: list[int | None] = [None] * len(places)
    for index in range(len(places) - 1, -1, -1):
        standing = [
            (row, places[at]) for at, row in enumerate(out) if row is not None and at != index
        ]
        out[index] = next(
            (
                row
                for row in range(most)
                if not any(_clash(row, places[index], *other) for other in standing)
            ),
            None,
        )
    return out


def draw_bar(carrier: Plan, left: float, right: float, y: float, tip: str = "") -> str:
    """Draw one carrier: solid, a spare hollow, a fixed one dark with a cap."""
    width = max(LEAST_BAR, right - left)
    x = (left + right - width) / 2
    place: dict[str, svg.Attribute] = {"x": x, "y": y, "width": f"{width:.2f}", "height": 15}
    if carrier.get("spare"):
        hollow = max(2.2, width)
        place |= {"x": (left + right - hollow) / 2, "width": f"{hollow:.2f}"}
        return svg.element(
            "rect", tip, fill="#ffffff", stroke=svg.ACCENT, stroke_width="0.7", **place
        )
    own = not (carrier.get("fixed") or carrier.get("other"))
    bar = svg.element("rect", tip, fill=svg.ACCENT if own else svg.INK, **place)
    if own:
        return bar
    middle = (left + right) / 2
    cap = f"M{svg.number(middle - 3)} {svg.number(y)}h6l-3 4z"
    return bar + svg.element("path", d=cap, fill=svg.INK)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Spot:
    carrier: Plan
    left: float
    right: float
    text: str

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2

    @property
    def tip(self) -> str:
        name = words.clean(self.carrier["name"])
        text = f"{name}, {words.mhz(self.carrier['frequency_mhz'])} MHz"
        return svg.element("title", svg.words(text))


def _spots(axis: Axis, carriers: list[Plan]) -> list[_Spot]:
    out = []
    for carrier in sorted(carriers, key=lambda row: row["frequency_mhz"]):
        pieces = axis.pieces(*occupied_hz(carrier))
        if pieces:
            text = words.cut(words.clean(carrier["name"]), LABEL_CHARACTERS)
            out.append(_Spot(carrier=carrier, left=pieces[0][0], right=pieces[-1][1], text=text))
    return out


def _name(spot: _Spot, row: int, bars: float) -> str:
    at = bars - 3 - LABEL_HEIGHT * row
    fits = _place(spot.middle, spot.text).right > spot.middle
    lead = svg.line(spot.middle, at - 6, spot.middle, bars, stroke=svg.GREY, stroke_width="0.4")
    return lead + svg.label(
        spot.middle + (2.5 if fits else -2.5),
        at,
        spot.text,
        font_size="8.5",
        fill=svg.INK,
        stroke="#ffffff",
        stroke_width=2,
        paint_order="stroke",
        text_anchor="start" if fits else "end",
    )


def draw_carriers(
    axis: Axis, carriers: list[Plan], windows_hz: list[tuple[int, int]], *, names: int = 0
) -> tuple[float, Draw]:
    """Return height and drawer of a lane of carriers at their true bandwidth.

    Names stand above in at most ``names`` rows, where there is room; a band under the bars
    shows the usable windows.
    """
    spots = _spots(axis, carriers)
    levels = _label_rows([_place(spot.middle, spot.text) for spot in spots], names)
    room = LABEL_HEIGHT * (1 + max((row for row in levels if row is not None), default=-1)) + 2

    def draw(axis: Axis, y: float) -> str:
        bars = y + room
        out = [
            svg.rect(
                left,
                bars + 17,
                right - left,
                3,
                fill=svg.PALE,
                stroke=svg.ACCENT,
                stroke_width="0.4",
            )
            for window in windows_hz
            for left, right in axis.pieces(*window)
        ]
        for spot, row in zip(spots, levels, strict=True):
            if row is not None:
                out.append(_name(spot, row, bars))
        out.extend(draw_bar(spot.carrier, spot.left, spot.right, bars, spot.tip) for spot in spots)
        return "".join(out)

    return room + 28, draw
