"""Crew pages: read in a dark wing, ticked with a pen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import svg
from planner.report.drawing import Shape, label, line, rect
from planner.report.pdf import fonts
from planner.report.pdf.grid import Column, bold, grid
from planner.report.pdf.heads import shortages, stop_flow
from planner.report.pdf.layout import GREY, spans_at, wrapped

if TYPE_CHECKING:
    from planner.report.drawing import Anchor
    from planner.report.pdf.layout import Flow, Spans
    from planner.report.pdf.paint import Document
    from planner.report.views.crew import CrewGroup, CrewRow, CrewView
    from planner.report.views.stop import StopView

NAME, MHZ, LEAST = 11.5, 17.0, 10.0
"""Size of a name, of a frequency, and the least of a name that takes many lines [pt]."""

_X = {"number": 5, "name": 22, "mhz": 212, "power": 222, "since": 286, "spare": 352, "tick": 424}
_BASE = 16.0
"""First base line under the top of a row [pt]."""

_PITCH, _BOX, _NOISE = 24.0, 11.0, 34.0
_TICKS = (("pack", "tuned"), ("spare pack", "tuned"), ("line", "check"))
_ROOM = {"name": 103.0, "mhz": 84.0, "power": 60.0, "since": 62.0, "spare": 68.0}


def crew_pages(view: StopView, crew: CrewView, *, paper: str) -> Document:
    """Lay the crew pages of one stop out.

    Parameters
    ----------
    view : StopView
        The stop.
    crew : CrewView
        Its lines in order.
    paper : str
        ``"a4"`` or ``"letter"``.
    """
    flow = stop_flow(view, "crew pages", paper)
    _said(flow, view, crew)
    for group in crew.groups:
        _group(flow, group)
    if not crew.groups and not view.carriers.needs:
        flow.heading("Carriers")
        flow.text("No carrier is planned here.")
    for need in view.carriers.needs:
        if not (need.lines or need.spares):
            flow.heading(need.name, need.title)
            flow.text("No carrier of this need is planned here.")
    besides(flow, view)
    _key(flow, view, crew)
    return flow.document(f"{view.place}, {view.days}: crew pages", f"{view.tour}, {view.issue}")


def _said(flow: Flow, view: StopView, crew: CrewView) -> None:
    shortages(flow, view.carriers.short)
    if crew.issue_changes and not crew.changes_known:
        flow.text(crew.issue_changes, 9)
    elif crew.issue_changes:
        top = flow.y
        flow.text(bold(crew.issue_changes), 10, indent=8)
        flow.put(
            line(flow.left + 1.5, top, flow.left + 1.5, flow.y - 2, stroke=svg.INK, stroke_width=3)
        )
    if view.carriers.moves:
        flow.text(bold(view.carriers.moves), 9.5)
    if view.carriers.standing_in:
        told = f"A spare of {view.carriers.standing_in} marked \u201cstand-in\u201d"
        told += " does not fit beside everything: "
        rest = "switch the line it replaces off first, one stand-in at a time."
        flow.text(((told, True), (rest, False)), 9.5)
    for sentence in view.people.licences:
        flow.text((("Whose licence is it? ", True), (f"{sentence}.", False)), 9.5)


def _group(flow: Flow, group: CrewGroup) -> None:
    flow.heading(group.title, group.note)
    _heads(flow)
    flow.on_new_page = lambda: _heads(flow)
    for row in group.rows:
        _row(flow, row)
    flow.on_new_page = None


def _heads(flow: Flow) -> None:
    base = flow.y + 17
    heads: list[tuple[float, Anchor, tuple[str, ...]]] = [
        (_X["number"] + 12, "end", ("no.",)),
        (_X["name"], "start", ("Line",)),
        (_X["mhz"], "end", ("MHz",)),
        (_X["power"], "start", ("Power",)),
        (_X["since"], "start", ("Since the", "last stop")),
        (_X["spare"], "start", ("Spare to try first,", "MHz")),
    ]
    heads += [
        (_X["tick"] + _PITCH * at + _BOX / 2, "middle", words) for at, words in enumerate(_TICKS)
    ]
    heads.append((flow.width - _NOISE / 2, "middle", ("measured", "noise, dBm")))
    for x, anchor, lines in heads:
        for at, text in enumerate(reversed(lines)):
            y = base - 7.5 * at
            size = 6.2 if anchor == "middle" else 7.5
            flow.put(label(flow.left + x, y, text, size=size, fill=GREY, anchor=anchor))
    flow.y = base + 4
    flow.put(line(flow.left, flow.y, flow.right, flow.y, stroke=svg.INK, stroke_width=0.8))


class _Cell:
    """Lines of text going down from the top of a row."""

    def __init__(self, flow: Flow, column: str, *, right: bool = False) -> None:
        self.flow = flow
        self.x = flow.left + _X[column]
        self.room = _ROOM[column]
        self.right = right
        self.depth = 0.0
        self.shapes: list[Shape] = []

    def add(self, text: str | Spans, size: float, *, fill: str = svg.INK) -> None:
        for part in wrapped(text, size, self.room):
            if not self.shapes:
                self.depth = _BASE - size * 0.98
            wide = sum(fonts.width(word, size, bold=strong) for word, strong in part)
            x = self.x - wide if self.right else self.x
            y = self.flow.y + self.depth + size * 0.98
            self.shapes += spans_at(x, y, part, size, fill=fill)
            self.depth += size * 1.2


def _cells(flow: Flow, row: CrewRow) -> list[_Cell]:
    carrier = row.carrier
    name = _Cell(flow, "name")
    long = len(wrapped(bold(carrier.name), NAME, _ROOM["name"])) > 2
    name.add(bold(carrier.name), LEAST if long else NAME)
    name.add(row.facts, 8, fill=GREY)
    name.add(row.slot, 8.5)
    if carrier.stands_in_for:
        name.add(f"for {carrier.stands_in_for}", 8, fill=GREY)
    remarks = (remark.upper() if remark in _LOUD else remark for remark in carrier.remarks)
    name.add(bold(", ".join(remarks)), 9)
    if row.changed:
        name.add(bold(row.changed), 9)
    mhz = _Cell(flow, "mhz", right=True)
    size = min(MHZ, MHZ * _ROOM["mhz"] / fonts.width(carrier.mhz, MHZ, bold=True))
    mhz.add(bold(carrier.mhz), size)
    power = _Cell(flow, "power")
    value, _, kind = carrier.power.partition(" mW")
    power.add((((f"{value} mW" if _ else value), True), (kind, False)), 10)
    since = _Cell(flow, "since")
    if carrier.retuned:
        since.add(bold("RETUNE"), 8.5)
        since.add(f"was {carrier.previous_mhz}", 9)
    elif carrier.change == "as before":
        since.add(carrier.change, 8.5, fill=GREY)
    spare = _Cell(flow, "spare")
    if row.spare is not None:
        spare.add(bold(row.spare.mhz), 11)
        spare.add(", ".join((row.spare.name, *row.spare.remarks)), 7.5, fill=GREY)
    elif carrier.need and not carrier.spare:
        spare.add("none", 8.5, fill=GREY)
    return [name, mhz, power, since, spare]


_LOUD = frozenset({"not checked", "look first", "not clear: held", "stand-in"})


def _row(flow: Flow, row: CrewRow) -> None:
    height = max(22.0, *(cell.depth + 3 for cell in _cells(flow, row)))
    flow.need(height)
    top = flow.y
    for cell in _cells(flow, row):
        flow.put(*cell.shapes)
    number = label(
        flow.left + _X["number"] + 12, top + _BASE, row.number, size=8, anchor="end", fill=GREY
    )
    flow.put(number)
    for at in range(len(_TICKS)):
        x = flow.left + _X["tick"] + _PITCH * at
        flow.put(rect(x, top + 5, _BOX, _BOX, stroke=svg.INK, stroke_width=0.8))
    noise = rect(flow.right - _NOISE, top + 4, _NOISE, 14, stroke=GREY, stroke_width=0.5)
    flow.put(noise)
    if row.changed:
        bar = line(
            flow.left + 1.5, top + 2, flow.left + 1.5, top + height - 2, stroke=svg.INK,
            stroke_width=3,
        )  # fmt: skip
        flow.put(bar)
    flow.y = top + height
    flow.put(line(flow.left, flow.y, flow.right, flow.y, stroke=svg.HAIR, stroke_width=0.6))


def besides(flow: Flow, view: StopView) -> None:
    """Write who else is on the air, and what is kept free for people who turn up."""
    if view.people.others:
        flow.heading("On the air besides us")
        columns = [
            Column(head="Whose", share=38),
            Column(head="MHz", share=22),
            Column(head="When", share=16),
            Column(head="In this plan", share=24),
        ]
        lines = [
            (bold(row.owner), bold(row.mhz), row.active, row.kept_off) for row in view.people.others
        ]
        grid(flow, columns, lines, size=10)
    if view.people.reserves:
        flow.heading("Kept free for people who turn up")
        columns = [
            Column(head="Name", share=38),
            Column(head="MHz", share=22),
            Column(head="kHz wide", share=16),
            Column(head="Can be tuned by", share=24),
        ]
        lines = [
            (bold(row.name), bold(row.mhz), row.bandwidth, row.ranges)
            for row in view.people.reserves
        ]
        grid(flow, columns, lines, size=10)


def _key(flow: Flow, view: StopView, crew: CrewView) -> None:
    flow.gap(8)
    said = [f"Lines stand {crew.order}."]
    if any(row.spare for row in crew.rows):
        said.append(
            "A spare serves several lines: once one has taken it, it is gone; tick the spare pack."
        )
    if any(row.changed for row in crew.rows):
        said.append("Bold with a bar in the margin: set otherwise than in the issue before.")
    remarks = {remark for row in crew.rows for remark in row.carrier.remarks}
    if "not checked" in remarks:
        said.append("\u201cNot checked\u201d: no loaded table covers this span; nobody has looked.")
    if "look first" in remarks:
        said.append("\u201cLook first\u201d: receivable interference is predicted.")
    if view.carriers.retunes:
        said.append("RETUNE: the frequency differs from the last stop of this rig.")
    flow.text(" ".join(said), 8.5)
    for caution in view.notes.cautions[:2]:
        flow.text(caution, 8.5)
