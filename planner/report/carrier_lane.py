"""The lane of a need: carriers as bars of their true bandwidth, names above, windows below."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.report import svg, words
from planner.report.drawing import Shape, Shapes, label, line, path, rect
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


def draw_bar(carrier: Plan, left: float, right: float, y: float, tip: str = "") -> Shapes:
    """Draw one carrier: solid, a spare hollow, a fixed one dark with a cap."""
    width = max(LEAST_BAR, right - left)
    middle = (left + right) / 2
    if carrier.get("spare"):
        width = max(2.2, width)
        x = middle - width / 2
        return (
            rect(x, y, width, 15, tip=tip, fill="#ffffff", stroke=svg.ACCENT, stroke_width=0.7),
        )
    own = not (carrier.get("fixed") or carrier.get("other"))
    colour = svg.ACCENT if own else svg.INK
    bar = rect(middle - width / 2, y, width, 15, fill=colour, tip=tip)
    if own:
        return (bar,)
    cap = ((middle - 3, y), (middle + 3, y), (middle, y + 4))
    return (bar, path([cap], fill=svg.INK, closed=True))


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
        return f"{name}, {words.mhz(self.carrier['frequency_mhz'])} MHz"


def _spots(axis: Axis, carriers: list[Plan]) -> list[_Spot]:
    out = []
    for carrier in sorted(carriers, key=lambda row: row["frequency_mhz"]):
        pieces = axis.pieces(*occupied_hz(carrier))
        if pieces:
            text = words.cut(words.clean(carrier["name"]), LABEL_CHARACTERS)
            out.append(_Spot(carrier=carrier, left=pieces[0][0], right=pieces[-1][1], text=text))
    return out


def _name(spot: _Spot, row: int, bars: float) -> Shapes:
    at = bars - 3 - LABEL_HEIGHT * row
    fits = _place(spot.middle, spot.text).right > spot.middle
    return (
        line(spot.middle, at - 6, spot.middle, bars, stroke=svg.GREY, stroke_width=0.4),
        label(
            spot.middle + (2.5 if fits else -2.5),
            at,
            spot.text,
            size=8.5,
            fill=svg.INK,
            halo=2,
            anchor="start" if fits else "end",
        ),
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

    def draw(axis: Axis, y: float) -> Shapes:
        bars = y + room
        out: list[Shape] = []
        for window in windows_hz:
            for left, right in axis.pieces(*window):
                out.append(
                    rect(
                        left,
                        bars + 17,
                        right - left,
                        3,
                        fill=svg.PALE,
                        stroke=svg.ACCENT,
                        stroke_width=0.4,
                    )
                )
        for spot, row in zip(spots, levels, strict=True):
            if row is not None:
                out.extend(_name(spot, row, bars))
        for spot in spots:
            out.extend(draw_bar(spot.carrier, spot.left, spot.right, bars, spot.tip))
        return tuple(out)

    return room + 28, draw
