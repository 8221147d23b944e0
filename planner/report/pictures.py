"""Pictures of a stop: its whole spectrum in lanes, MHz first, and its carriers closer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import svg, words
from planner.report.axis import draw_axis, draw_channels, joined, make_axis
from planner.report.carrier_lane import draw_bar, draw_carriers
from planner.report.drawing import MARK, Picture, Shape, Shapes, label, rect
from planner.report.lanes import (
    AXIS_Y,
    LEFT,
    RIGHT,
    WIDTH,
    Lanes,
    draw_level,
    draw_words,
    has_level,
)
from planner.report.reading import (
    chosen_ranges,
    merged,
    need_names,
    needs_at,
    occupied_hz,
    rows,
    table,
)
from planner.units import HZ_PER_MHZ, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.report.reading import Plan

MARGIN_HZ = 400_000
"""Spectrum shown on either side of a carrier in the closer picture [Hz]."""

NAME_ROWS = 8
CLOSER = 0.6
"""The closer picture is drawn when it shows at most this share of the whole one."""


def _spans_hz(parts: Iterable[Plan]) -> list[tuple[int, int]]:
    return [(mhz_to_hz(part["low_mhz"]), mhz_to_hz(part["high_mhz"])) for part in parts]


def legend(y: float, *, carriers: bool = True) -> Shapes:
    """Draw the key of all marks in one line at height ``y``."""
    out: list[Shape] = []
    x = LEFT
    for word in ("quiet", "faint", "unlisted", "held", "on-request", "barred"):
        text = "quiet, lawful" if word == "quiet" else word
        out.append(rect(x, y, 16, 10, fill=MARK + word, stroke=svg.INK, stroke_width=0.5))
        out.append(label(x + 20, y + 8.5, text, size=8.5, fill=svg.INK))
        x += 20 + 4.9 * len(text) + 12
    if carriers:
        keys = ({"spare": False}, "carrier"), ({"spare": True}, "spare"), ({"fixed": True}, "fixed")
        for kind, text in keys:
            out.extend(draw_bar(kind, x, x + 2, y - 3))
            out.append(label(x + 8, y + 8.5, text, size=8.5, fill=svg.INK))
            x += 8 + 4.9 * len(text) + 12
    return tuple(out)


def _describe(stop: Plan) -> str:
    parts = [
        f"{word} {words.mhz_span(low, high)} MHz"
        for low, high, (word,) in merged(rows(stop, "spans"), ("air",))
    ]
    count = words.plural(len(rows(stop, "carriers")), "carrier")
    return f"Air: {'; '.join(parts)}. {count}, listed in the table of carriers."


def _need_windows_hz(plan: Plan, stop: Plan, need: str) -> list[tuple[int, int]]:
    carried = [row["range"] for row in rows(stop, "carriers") if row.get("need") == need]
    ranges = table(stop, "ranges")
    keys = dict.fromkeys([*chosen_ranges(plan, need), *carried])
    windows = [
        (mhz_to_hz(low), mhz_to_hz(high))
        for key in keys
        if key in ranges
        for low, high in rows(ranges[key], "windows_mhz")
    ]
    return joined(windows)


def _draw_needs(plan: Plan, stop: Plan, lanes: Lanes, names: int) -> None:
    """Add a lane for every need, and one for what cannot be retuned."""
    carriers = rows(stop, "carriers")
    apart = [row for row in carriers if row.get("fixed") or row.get("other") or not row["need"]]
    elsewhere = {row["name"] for row in rows(plan, "needs")} - {
        row["name"] for row in needs_at(plan, stop["id"])
    }
    for need in need_names(plan):
        own = [row for row in carriers if row.get("need") == need and row not in apart]
        windows = _need_windows_hz(plan, stop, need)
        if own or (windows and need not in elsewhere):
            height, draw = draw_carriers(lanes.axis, own, windows, names=names)
            note = words.plural(len(own), "carrier")
            lanes.add(words.clean(need), height, draw, note=note)
    if apart:
        height, draw = draw_carriers(lanes.axis, apart, [], names=names)
        name = "fixed, others" if any(row.get("other") for row in apart) else "fixed"
        lanes.add(name, height - 4, draw)


def _head(stop: Plan, lanes: Lanes) -> Shapes:
    channels = [
        (words.clean(row["channel"]), mhz_to_hz(row["low_mhz"]), mhz_to_hz(row["high_mhz"]))
        for row in rows(stop, "channels")
    ]
    head = (
        label(0, AXIS_Y - 7, "MHz", fill=svg.INK, bold=True),
        *draw_axis(lanes.axis, AXIS_Y, lanes.y),
        *draw_channels(lanes.axis, channels, AXIS_Y),
    )
    if not channels:
        return head
    return (*head, label(0, AXIS_Y + 9.5, "TV channel", fill=svg.GREY, size=7.5))


def stop_drawing(plan: Plan, stop: Plan) -> Picture | None:
    """Draw the spectrum of a stop; None when nothing was searched there.

    Parameters
    ----------
    plan, stop : mapping
        The plan and one of its stops.
    """
    carriers = rows(stop, "carriers")
    spans = [*_spans_hz(rows(stop, "spans")), *(occupied_hz(carrier) for carrier in carriers)]
    if not spans:
        return None
    lanes = Lanes(make_axis(spans, LEFT, RIGHT), AXIS_Y + 16)
    lanes.add("law", 22, draw_words(stop, "law", 15))
    lanes.add("air", 24, draw_words(stop, "air", 15))
    if has_level(stop):
        lanes.add("noise rise", 46, draw_level(stop, 38))
    _draw_needs(plan, stop, lanes, 0)
    return Picture(
        size=(WIDTH, lanes.y + 16),
        title=f"Spectrum at {words.clean(stop['place'])}",
        description=_describe(stop),
        shapes=(*_head(stop, lanes), *lanes.body, *legend(lanes.y + 2)),
    )


def carrier_drawing(plan: Plan, stop: Plan) -> Picture | None:
    """Draw only the parts of the spectrum that carriers use, with their names.

    None when there is no carrier, or when that is most of what was searched anyway.
    """
    used = [occupied_hz(carrier) for carrier in rows(stop, "carriers")]
    near = joined((low - MARGIN_HZ, high + MARGIN_HZ) for low, high in used)
    whole = joined([*_spans_hz(rows(stop, "spans")), *used])
    widths = [sum(high - low for low, high in spans) for spans in (near, whole)]
    if not near or widths[0] > CLOSER * widths[1]:
        return None
    lanes = Lanes(make_axis(near, LEFT, RIGHT), AXIS_Y + 16)
    _draw_needs(plan, stop, lanes, NAME_ROWS)
    return Picture(
        size=(WIDTH, lanes.y + 2),
        title=f"Carriers at {words.clean(stop['place'])}, closer",
        description=f"{words.short_number(widths[0] / HZ_PER_MHZ)} MHz around the carriers, which "
        "are listed in the table.",
        shapes=(*_head(stop, lanes), *lanes.body),
    )


def stop_picture(plan: Plan, stop: Plan, prefix: str = "sp") -> str:
    """Return :func:`stop_drawing` as SVG whose ids begin with ``prefix``; empty for none."""
    return svg.picture(stop_drawing(plan, stop), prefix)


def carrier_picture(plan: Plan, stop: Plan, prefix: str = "cp") -> str:
    """Return :func:`carrier_drawing` as SVG whose ids begin with ``prefix``; empty for none."""
    return svg.picture(carrier_drawing(plan, stop), prefix)
