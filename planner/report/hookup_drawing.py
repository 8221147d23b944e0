"""The drawing of a rack: antennas, cables, amplifiers, splitters, receivers, levels."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.report import svg, words
from planner.report.hookup_layout import CASCADE, LOAD, RECEIVER, WAY, Placed, TreeLayout
from planner.report.hookup_sheet import Sheet, width_of
from planner.report.reading import Plan, rows, table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.report.drawing import Picture

BRANCH_DASH: dict[str, tuple[float, ...]] = {"A": (), "B": (1.6, 0.9)}
"""Branch A is a whole line, branch B a broken one."""
PALE = "#f1f3fc"
GROUND = "#ffffff"
_MARGIN = 6.0
_HEAD = 19.0
_FOOT = 13.0
_BOX_W = 27.0
_BOX_H = 9.6
_CABLE_W = 43.0
_GAP = 5.0
_SPLITTER_W = 36.0
_NAME_W = 54.0
_LANE = 22.0
_ANTENNA_W = 23.0
_LETTER_W = 24.0
_ENTRY_W = 14.0
_PAIR = 0.55
"""Half the distance between the two lines of a pair."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Plan:
    """Measures of one drawing [mm]."""

    row: float
    top: float
    tree_x: float
    name_x: float
    width: float
    height: float

    def y(self, row: float) -> float:
        """Return the middle of a row."""
        return self.top + (row + 0.5) * self.row


def rack_drawing(rack: Plan, group: Plan) -> Picture:
    """Return the drawing of the receivers of one group of a rack.

    Parameters
    ----------
    rack, group : mapping
        ``hookup.racks[]`` of the plan and one of its ``groups``.
    """
    arrangement = table(group, "arrangement")
    inputs = _inputs(group)
    layout = TreeLayout(rows(arrangement, "splitters"), inputs)
    runs = rows(group, "runs")
    measures = _measures(layout, runs)
    sheet = Sheet()
    _head(sheet, rack, group, measures)
    ends = _runs(sheet, runs, arrangement, measures=measures)
    _tree(sheet, layout, group, measures=measures, ends=ends)
    _foot(sheet, measures)
    count = len(rows(group, "receivers"))
    return sheet.picture(
        (measures.width, measures.height),
        title=f"Hook-up of {words.clean(rack['name'])}",
        description=f"{words.plural(count, 'receiver')}: {words.clean(arrangement['text'])}",
    )


def _inputs(group: Plan) -> dict[int, list[int]]:
    """Return the antenna inputs on each splitter, in order."""
    found: dict[int, list[int]] = {}
    count = int(group["inputs"])
    receivers = rows(group, "receivers")
    for k in range(count):
        lines = _lines_of(k, count, receivers)
        found.setdefault(int(lines[0]["splitter"]) if lines else 0, []).append(k)
    return found


def _lines_of(place: int, inputs: int, receivers: Sequence[Plan]) -> list[Plan]:
    """Return the lines that share an antenna input."""
    if inputs == len(receivers):
        return [receivers[place]]
    return [
        row
        for k, row in enumerate(receivers)
        if min(inputs - 1, k * inputs // max(1, len(receivers))) == place
    ]


def _measures(layout: TreeLayout, runs: Sequence[Plan]) -> _Plan:
    row = 6.4 if layout.rows <= 24 else (5.4 if layout.rows <= 34 else 4.9)
    lanes = len(runs)
    body = max(layout.rows * row, lanes * _LANE + 4)
    at_antenna = max((_count(run, "antenna") for run in runs), default=0)
    at_rack = max((_count(run, "rack") for run in runs), default=0)
    parts = (at_antenna + at_rack) * (_BOX_W + _GAP)
    tree_x = _MARGIN + 2 + _ANTENNA_W + parts + _CABLE_W + _ENTRY_W
    name_x = tree_x + layout.columns * (_SPLITTER_W + 11)
    return _Plan(
        row=row,
        top=_HEAD + _MARGIN,
        tree_x=tree_x,
        name_x=name_x,
        width=name_x + _NAME_W + _MARGIN,
        height=_HEAD + 2 * _MARGIN + body + _FOOT,
    )


def _count(run: Plan, place: str) -> int:
    return sum(1 for step in rows(run, "steps") if step["place"] == place)


def _head(sheet: Sheet, rack: Plan, group: Plan, measures: _Plan) -> None:
    ranges = ", ".join(rows(group, "ranges"))
    sheet.text((_MARGIN, 9), rack["name"], size=5, look="bold", room=60)
    sheet.text((_MARGIN, 14), ranges, size=3, room=measures.width - 2 * _MARGIN)
    where = group.get("shown_place")
    said = f"Frequencies and levels at {where}" if where else "No stop is planned"
    first = rows(group, "runs")[0]
    sheet.text(
        (measures.width - _MARGIN, 9),
        f"{said}; levels at {first['frequency_mhz']:.3f} MHz",
        size=2.8,
        anchor="end",
        look="grey",
        room=measures.width - 80,
    )
    sheet.line((_MARGIN, 16.5), (measures.width - _MARGIN, 16.5), width=0.2)


def _runs(
    sheet: Sheet, runs: Sequence[Plan], arrangement: Plan, *, measures: _Plan
) -> dict[str, tuple[float, float]]:
    """Draw every antenna's run; return where each branch enters the tree."""
    ends: dict[str, tuple[float, float]] = {}
    joints: dict[str, list[tuple[float, float]]] = {}
    joiner = arrangement.get("joiner")
    for lane, run in enumerate(runs):
        y = measures.top + 9 + lane * _LANE
        x = _antenna(sheet, run, arrangement, y=y)
        for step in rows(run, "steps"):
            if step["place"] == "rack" and step["part"] == joiner:
                break
            x = _step(sheet, run, step, at=(x, y))
        joints.setdefault(run["branch"], []).append((x, y))
    for branch, points in joints.items():
        run = next(row for row in runs if row["branch"] == branch)
        ends[branch] = _joined(sheet, run, arrangement, points)
    return ends


def _joined(
    sheet: Sheet, run: Plan, arrangement: Plan, points: list[tuple[float, float]]
) -> tuple[float, float]:
    """Draw the joint of several antennas and what follows it."""
    x, y = points[0]
    joiner = arrangement.get("joiner")
    if joiner is None:
        return x, y
    dash = BRANCH_DASH[run["branch"]]
    bottom = points[-1][1]
    sheet.box((x, y - _BOX_H / 2), (_BOX_W, bottom - y + _BOX_H), fill=GROUND)
    steps = rows(run, "steps")
    at = next(k for k, step in enumerate(steps) if step["part"] == joiner)
    sheet.text((x + _BOX_W / 2, y), joiner, anchor="middle", size=3.1, room=_BOX_W - 2)
    loss = f"{steps[at]['gain_db']:+.1f} dB; {len(points)} antennas".replace("-", words.MINUS)
    sheet.text((x + _BOX_W / 2, y + 3.4), loss, size=2.8, anchor="middle", room=_BOX_W - 2)
    sheet.text(
        (x + _BOX_W / 2, y + 6.6),
        "each doubling: 3 dB",
        size=3.1,
        anchor="middle",
        look="grey",
        room=_BOX_W - 2,
    )
    x += _BOX_W
    sheet.line((x, y), (x + _GAP, y), dash=dash)
    x += _GAP
    for step in steps[at + 1 :]:
        x = _step(sheet, run, step, at=(x, y))
    return x, y


def _antenna(sheet: Sheet, run: Plan, arrangement: Plan, *, y: float) -> float:
    """Draw an antenna and its names; return where its line goes on."""
    x = _MARGIN + 2
    if arrangement.get("polarization") == "helical":
        loops = tuple((x + 1.1 * k, y + (1.8 if k % 2 else -1.8)) for k in range(8))
        sheet.line(*loops, width=0.35)
    elif arrangement.get("beam_deg"):
        sheet.shape((x, y - 3), (x, y + 3), (x + 8, y), fill=PALE)
    else:
        sheet.line((x + 4, y - 4), (x + 4, y), width=0.7)
        sheet.line((x, y), (x + 8, y), width=0.3)
    zone = f", {run['zone']}" if run["zone"] != "stage" else ""
    letter = f"{run['branch']}{zone}"
    sheet.text((x, y - 6), letter, look="bold", size=3.6, room=_LETTER_W)
    gain = arrangement.get("antenna_gain_dbi")
    said = arrangement["antenna"] if gain is None else f"{arrangement['antenna']}, {gain:g} dBi"
    after = x + min(_LETTER_W, width_of(letter, 4)) + 2
    sheet.text((after, y - 6), said, size=3, room=44)
    _level(sheet, (x, y + 8), run["antenna_far_dbm"], run["antenna_near_dbm"])
    sheet.line((x + 8, y), (x + _ANTENNA_W, y), dash=BRANCH_DASH[run["branch"]])
    return x + _ANTENNA_W


def _level(sheet: Sheet, at: tuple[float, float], far: float, near: float) -> None:
    sheet.text(at, f"{_signed(far)} / {_signed(near)} dBm", size=2.8, look="grey")


def _signed(value: float) -> str:
    return f"{value:.0f}".replace("-", words.MINUS)


def _step(sheet: Sheet, run: Plan, step: Plan, *, at: tuple[float, float]) -> float:
    """Draw a part or a cable of a run; return where it goes on."""
    x, y = at
    dash = BRANCH_DASH[run["branch"]]
    gain = f"{step['gain_db']:+.1f} dB".replace("-", words.MINUS)
    if step["kind"] in {"cable", "fibre"}:
        sheet.line((x, y), (x + _CABLE_W, y), width=0.6, dash=dash)
        sheet.text((x + 1, y - 1.6), step["part"], size=3.1, room=_CABLE_W - 2)
        sheet.text((x + 1, y + 3.8), gain, size=3.1)
        _level(sheet, (x + 17.5, y + 3.8), step["far_dbm"], step["near_dbm"])
        return x + _CABLE_W
    powered = step["kind"] in {"amplifier", "fibre"}
    sheet.box((x, y - _BOX_H / 2), (_BOX_W, _BOX_H), fill=PALE if powered else GROUND)
    sheet.text((x + _BOX_W / 2, y - 0.4), step["part"], anchor="middle", size=3.1, room=_BOX_W - 2)
    sheet.text((x + _BOX_W / 2, y + 3.4), gain, size=3, anchor="middle")
    _level(sheet, (x, y + 8), step["far_dbm"], step["near_dbm"])
    sheet.line((x + _BOX_W, y), (x + _BOX_W + _GAP, y), dash=dash)
    return x + _BOX_W + _GAP


def _tree(
    sheet: Sheet,
    layout: TreeLayout,
    group: Plan,
    *,
    measures: _Plan,
    ends: dict[str, tuple[float, float]],
) -> None:
    """Draw the splitters, their pairs of lines and the receivers."""
    splitters = rows(table(group, "arrangement"), "splitters")
    if not layout.placed:
        y = measures.y(0)
        _enter(sheet, ends, (measures.name_x, y))
        _receiver(sheet, group, 0, at=(measures.name_x, y), measures=measures)
        return
    behind = table(rows(group, "runs")[0], "splitters")
    for placed in layout.placed.values():
        _lines(sheet, layout, placed, group, measures=measures)
    first = layout.placed[0]
    _enter(sheet, ends, (_left(measures, first), _entry_y(measures, first)))
    for placed in layout.placed.values():
        _splitter(
            sheet,
            placed,
            splitters[placed.index],
            behind.get(str(placed.index)),
            measures=measures,
        )


def _left(measures: _Plan, placed: Placed) -> float:
    return measures.tree_x + placed.column * (_SPLITTER_W + 11)


def _entry_y(measures: _Plan, placed: Placed) -> float:
    return measures.y(placed.first) + measures.row * 0.25


def _enter(sheet: Sheet, ends: dict[str, tuple[float, float]], to: tuple[float, float]) -> None:
    """Draw the two branches from their runs to the first splitter or receiver."""
    for shift, (branch, (x, y)) in enumerate(ends.items()):
        turn = to[0] - 8 - 2 * shift if len(ends) > 1 else to[0] - 8
        target = to[1] + (2 * shift - 1) * _PAIR
        sheet.line((x, y), (turn, y), (turn, target), (to[0], target), dash=BRANCH_DASH[branch])


def _pair(sheet: Sheet, *points: tuple[float, float]) -> None:
    """Draw the two branches side by side along points."""
    for branch, dash in BRANCH_DASH.items():
        shift = -_PAIR if branch == "A" else _PAIR
        last = len(points) - 1
        moved = ((x if k in {0, last} else x + shift, y + shift) for k, (x, y) in enumerate(points))
        sheet.line(*moved, dash=dash, width=0.25)


def _lines(
    sheet: Sheet, layout: TreeLayout, placed: Placed, group: Plan, *, measures: _Plan
) -> None:
    x = _left(measures, placed)
    right = x + _SPLITTER_W
    ways = [port for port in placed.ports if port.kind == WAY]
    for port in placed.ports:
        y = measures.y(port.row)
        if port.kind == RECEIVER:
            _pair(sheet, (right, y), (measures.name_x, y))
            _receiver(sheet, group, port.index, at=(measures.name_x, y), measures=measures)
        elif port.kind == LOAD:
            _pair(sheet, (right, y), (right + 5, y))
            sheet.box((right + 5, y - 1.2), (2.4, 2.4), fill=svg.INK)
            sheet.text((right + 9, y + 1), "load", size=2.8, look="grey")
        elif port.kind == WAY:
            # the lowest turns down first: so no line crosses another
            turn = right + 9 - 7 * (ways.index(port) + 1) / (len(ways) + 1)
            child = layout.placed[port.index]
            entry, to = _entry_y(measures, child), _left(measures, child)
            _pair(sheet, (right, y), (turn, y), (turn, entry), (to, entry))
        elif port.kind == CASCADE:
            child = layout.placed[port.index]
            entry, leave = _entry_y(measures, child), measures.y(placed.last)
            _pair(sheet, (x, leave), (x - 4, leave), (x - 4, entry), (x, entry))


def _splitter(
    sheet: Sheet, placed: Placed, splitter: Plan, level: Plan | None, *, measures: _Plan
) -> None:
    x, top = _left(measures, placed), measures.y(placed.first) - measures.row * 0.4
    height = (placed.last - placed.first + 0.8) * measures.row
    sheet.box((x, top), (_SPLITTER_W, height), fill=PALE if splitter["active"] else GROUND)
    count = "" if splitter["branches"] == 2 else "2 x "
    middle = x + _SPLITTER_W / 2
    y = top + height / 2
    sheet.text(
        (middle, y - 0.6),
        f"{count}{splitter['part']}",
        anchor="middle",
        look="bold",
        size=3.3,
        room=_SPLITTER_W - 4,
    )
    if level is not None:
        gain = f"{level['gain_db']:+.1f} dB".replace("-", words.MINUS)
        levels = f"{_signed(level['far_dbm'])} / {_signed(level['near_dbm'])} dBm"
        sheet.text(
            (middle, y + 2.8),
            f"{gain}, {levels}",
            anchor="middle",
            size=2.7,
            look="grey",
            room=_SPLITTER_W - 4,
        )


def _receiver(
    sheet: Sheet, group: Plan, place: int, *, at: tuple[float, float], measures: _Plan
) -> None:
    """Draw a receiver with the lines and frequencies that it holds."""
    x, y = at
    lines = _lines_of(place, int(group["inputs"]), rows(group, "receivers"))
    height = min(measures.row * 0.86, 5.4)
    sheet.box((x, y - height / 2), (_NAME_W, height), fill=GROUND, width=0.25)
    size = min(3.3, height * 0.7)
    if len(lines) == 1:
        name, frequency = lines[0]["name"], lines[0]["frequency_mhz"]
        sheet.text((x + 1.5, y + size * 0.36), name, size=size, room=_NAME_W - 22)
        if frequency is not None:
            sheet.text(
                (x + _NAME_W - 1.5, y + size * 0.36),
                words.mhz(frequency),
                size=size,
                anchor="end",
                look="bold",
            )
    else:
        names = ", ".join(
            row["name"]
            if row["frequency_mhz"] is None
            else f"{row['name']} {words.mhz(row['frequency_mhz'])}"
            for row in lines
        )
        sheet.text((x + 1.5, y + size * 0.36), names, size=size, room=_NAME_W - 3)


def _foot(sheet: Sheet, measures: _Plan) -> None:
    y = measures.height - _FOOT + 3
    sheet.line((_MARGIN, y - 4), (measures.width - _MARGIN, y - 4), width=0.2)
    sheet.line((_MARGIN, y), (_MARGIN + 8, y), width=0.5)
    sheet.text((_MARGIN + 10, y + 0.9), "branch A", size=3)
    sheet.line((_MARGIN + 28, y), (_MARGIN + 36, y), width=0.5, dash=BRANCH_DASH["B"])
    sheet.text((_MARGIN + 38, y + 0.9), "branch B", size=3)
    sheet.text(
        (_MARGIN + 58, y + 0.9),
        "Grey: wanted level from the far / near edge of the stage. Shaded: powered. "
        "Connectors are in the levels.",
        size=3,
        look="grey",
        room=measures.width - 2 * _MARGIN - 58,
    )
    text = "Predicted, not measured. Competent persons rig, feed and earth; local codes first."
    sheet.text((_MARGIN, y + 5), text, size=3, room=measures.width - 2 * _MARGIN)
