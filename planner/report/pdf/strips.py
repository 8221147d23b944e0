"""Small things to cut out or to carry: strip labels for racks, and a list for the pocket."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import svg
from planner.report.drawing import label, line, rect
from planner.report.pdf import fonts
from planner.report.pdf.heads import CAUTION, DOT, stop_flow
from planner.report.pdf.layout import GREY, MM, Flow, Running, cut_to, spans_at, wrapped

if TYPE_CHECKING:
    from planner.report.pdf.paint import Document
    from planner.report.views.crew import CrewRow, CrewView
    from planner.report.views.stop import StopView

_ACROSS, _HEIGHT, _INSET = 3, 22 * MM, 6.0
_LARGE = 26.0
_SAID = frozenset({"not checked", "look first", "not clear: held", "stand-in"})


def labels(view: StopView, crew: CrewView, *, paper: str) -> Document:
    """Lay strip labels out, three across, to cut along the lines and stick on a rack.

    Parameters
    ----------
    view : StopView
        The stop.
    crew : CrewView
        Its lines in order.
    paper : str
        ``"a4"`` or ``"letter"``.
    """
    running = Running(
        left=DOT.join((view.place, view.days)),
        right=DOT.join(("rack labels", view.issue)),
        foot=DOT.join((view.place, view.days, view.stop_id, view.issue, view.tour)),
        caution=CAUTION,
    )
    flow = Flow(paper, running)
    flow.text(f"{view.place}{DOT}{view.days}{DOT}rack labels{DOT}{view.issue}", 10)
    flow.y += 4
    for at, row in enumerate(crew.rows):
        column = at % _ACROSS
        if column == 0:
            flow.need(_HEIGHT)
        _label(flow, view, row, column)
        if column == _ACROSS - 1 or at == len(crew.rows) - 1:
            flow.y += _HEIGHT
    return flow.document(f"{view.place}, {view.days}: rack labels", f"{view.tour}, {view.issue}")


def _label(flow: Flow, view: StopView, row: CrewRow, column: int) -> None:
    wide = flow.width / _ACROSS
    left, room = flow.left + wide * column, wide - 2 * _INSET
    x = left + _INSET
    carrier = row.carrier
    name = cut_to(carrier.name, 12, room, bold=True)
    size = min(19.0, 19.0 * room / fonts.width(carrier.mhz, 19, bold=True))
    said = [remark for remark in carrier.remarks if remark in _SAID]
    facts = cut_to(DOT.join((*said, carrier.power, carrier.range)), 7.5, room)
    where = cut_to(DOT.join((view.stop_id, view.days, view.issue)), 7, room)
    flow.put(
        rect(left, flow.y, wide, _HEIGHT, stroke=GREY, stroke_width=0.5, dash=(2, 2)),
        label(x, flow.y + 14, name, size=12, bold=True, fill=svg.INK),
        label(x, flow.y + 34, carrier.mhz, size=size, bold=True, fill=svg.INK),
        label(x, flow.y + 45, facts, size=7.5, bold=bool(said), fill=svg.INK),
        label(x, flow.y + 55, where, size=7, fill=GREY),
    )


def pocket(view: StopView, crew: CrewView, *, paper: str) -> Document:
    """Lay the lines out in one large column, name and frequency only.

    Parameters
    ----------
    view : StopView
        The stop.
    crew : CrewView
        Its lines in order.
    paper : str
        ``"a4"`` or ``"letter"``.
    """
    flow = stop_flow(view, "pocket list", paper)
    for group in crew.groups:
        flow.heading(group.title)
        for row in group.rows:
            _large(flow, row)
    if not crew.rows:
        flow.text("No carrier is planned here.")
    return flow.document(f"{view.place}, {view.days}: pocket list", f"{view.tour}, {view.issue}")


def _large(flow: Flow, row: CrewRow) -> None:
    carrier = row.carrier
    mhz = fonts.width(carrier.mhz, _LARGE, bold=True)
    lines = wrapped(((carrier.name, True),), 19, flow.width - mhz - 20)
    said = ", ".join(remark for remark in carrier.remarks if remark in _SAID)
    height = max(34.0, 23.0 * len(lines) + (14 if said else 0) + 8)
    flow.need(height)
    for at, part in enumerate(lines):
        flow.put(*spans_at(flow.left, flow.y + 24 + 23 * at, part, 19))
    if said:
        y = flow.y + 24 + 23 * (len(lines) - 1) + 13
        flow.put(label(flow.left, y, said.upper(), size=10, bold=True, fill=svg.INK))
    flow.put(
        label(
            flow.right,
            flow.y + 25,
            carrier.mhz,
            size=_LARGE,
            bold=True,
            fill=svg.INK,
            anchor="end",
        )
    )
    flow.y += height
    flow.put(line(flow.left, flow.y, flow.right, flow.y, stroke=svg.HAIR, stroke_width=0.6))
