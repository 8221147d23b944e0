"""The picture of the route: at how many stops each MHz is usable, and at which."""

from __future__ import annotations

from planner.report import svg, words
from planner.report.axis import Axis, Panel, draw_axis, draw_channels, joined, make_axis
from planner.report.drawing import Picture, Point, Shape, Shapes, label, line, path
from planner.report.lanes import AXIS_Y, LEFT, RIGHT, WIDTH, Draw, Lanes
from planner.report.reading import Plan, merged, playing_stops, rows, table
from planner.units import mhz_to_hz

Depth = list[tuple[int, int, tuple[str, ...]]]
"""Low and high [Hz] with the ids of the stops that can use the span."""


SHARED = svg.INK
USABLE = svg.ACCENT
EXTENT = svg.GREY


def _depth(plan: Plan) -> Depth:
    return [
        (mhz_to_hz(low), mhz_to_hz(high), tuple(names or ()))
        for low, high, (names,) in merged(rows(table(plan, "common"), "depth"), ("stops",))
    ]


def _searched_hz(plan: Plan) -> list[tuple[int, int]]:
    spans = [
        (mhz_to_hz(span["low_mhz"]), mhz_to_hz(span["high_mhz"]))
        for stop in playing_stops(plan)
        for span in rows(stop, "spans")
    ]
    return joined(spans)


def _draw_count(depth: Depth, stops: int, height: float) -> Draw:
    def draw(axis: Axis, y: float) -> Shapes:
        base, each = y + height, height / max(1, stops)
        out: list[Shape] = []
        for mark in sorted({0, stops // 2, stops}):
            at = base - mark * each
            text = f"all {stops}" if mark == stops else str(mark)
            out.append(label(LEFT - 4, at + 3, text, anchor="end", size=8.5, fill=svg.GREY))
            out.extend(
                line(panel.left, at, panel.right, at, stroke=svg.HAIR, stroke_width=0.5)
                for panel in axis.panels
            )
        for panel in axis.panels:
            stroke = _count_stroke(panel, depth, base, each)
            out.append(path([stroke], stroke=svg.INK, stroke_width=0.9))
        return tuple(out)

    return draw


def _count_stroke(panel: Panel, depth: Depth, base: float, each: float) -> list[Point]:
    """Return the line of one panel: up and down at the edges of spans, level between."""
    stroke = [(panel.left, base)]
    at_hz = panel.low_hz
    for low_hz, high_hz, names in depth:
        if low_hz >= panel.high_hz or high_hz <= panel.low_hz:
            continue
        if low_hz > at_hz:
            stroke += [(stroke[-1][0], base), (panel.x(low_hz), base)]
        level = base - len(names) * each
        stroke += [(stroke[-1][0], level), (panel.x(high_hz), level)]
        at_hz = high_hz
    stroke += [(stroke[-1][0], base), (panel.right, base)]
    return list(dict.fromkeys(stroke))


def _draw_bars(spans_hz: list[tuple[int, int]], height: float, colour: str) -> Draw:
    def draw(axis: Axis, y: float) -> Shapes:
        middle = y + 4.5
        top, bottom = middle - height / 2, middle + height / 2
        bars = [
            ((left, top), (right, top), (right, bottom), (left, bottom))
            for span in joined(spans_hz)
            for left, right in axis.pieces(*span)
        ]
        rule = tuple(
            line(panel.left, middle, panel.right, middle, stroke=svg.HAIR, stroke_width=0.5)
            for panel in axis.panels
        )
        return (*rule, path(bars, fill=colour, closed=True)) if bars else rule

    return draw


def _range_extents_hz(plan: Plan) -> dict[str, list[tuple[int, int]]]:
    out: dict[str, list[tuple[int, int]]] = {}
    for row in rows(plan, "ranking"):
        for stop in playing_stops(plan):
            found = table(table(stop, "ranges"), row["range"])
            spans = [
                (mhz_to_hz(span["low_mhz"]), mhz_to_hz(span["high_mhz"]))
                for span in rows(found, "law_spans")
            ]
            if spans:
                out.setdefault(row["range"], joined(spans))
                break
    return out


def depth_drawing(plan: Plan) -> Picture | None:
    """Draw the depth over the route; None when no depth was computed.

    One thin line counts the stops that can use each MHz, a lane shows what all of them share,
    a lane for every stop shows where it is usable there, and one for every ranked range its span.
    """
    depth = _depth(plan)
    stops = playing_stops(plan)
    spans = _searched_hz(plan) or [(low, high) for low, high, _ in depth]
    if not depth or not spans or not stops:
        return None
    axis = make_axis(spans, LEFT, RIGHT)
    lanes = Lanes(axis, AXIS_Y + 18)
    lanes.add("stops", 78, _draw_count(depth, len(stops), 66), note="that can use it")
    full = [
        (mhz_to_hz(low), mhz_to_hz(high))
        for low, high in rows(table(plan, "common"), "full_windows_mhz")
    ]
    lanes.add("all stops", 18, _draw_bars(full, 7, SHARED))
    for stop in stops:
        name = words.cut(words.town(stop["place"]), 16)
        own = [(low, high) for low, high, names in depth if stop["id"] in names]
        lanes.add("", 12, _draw_bars(own, 3, USABLE), note=name)
    lanes.y += 8
    for key, extent in _range_extents_hz(plan).items():
        lanes.add("", 12, _draw_bars(extent, 1.6, EXTENT), note=words.clean(key))
    channels = {
        (words.clean(row["channel"]), mhz_to_hz(row["low_mhz"]), mhz_to_hz(row["high_mhz"])): None
        for stop in stops[:1]
        for row in rows(stop, "channels")
    }
    head: Shapes = (
        label(0, AXIS_Y - 7, "MHz", fill=svg.INK, bold=True),
        *draw_axis(axis, AXIS_Y, lanes.y),
    )
    if len({stop["country"] for stop in stops}) == 1:
        head += draw_channels(axis, list(channels), AXIS_Y)
        head += (label(0, AXIS_Y + 9.5, "TV channel", fill=svg.GREY, size=7.5),)
    count = len(stops)
    return Picture(
        size=(WIDTH, lanes.y + 4),
        title="Where the route is usable",
        description=f"For each MHz the number of the {words.plural(count, 'stop')} that can use it",
        shapes=(*head, *lanes.body),
    )


def depth_picture(plan: Plan, prefix: str = "dp") -> str:
    """Return :func:`depth_drawing` as SVG whose ids begin with ``prefix``; empty for none."""
    return svg.picture(depth_drawing(plan), prefix)
