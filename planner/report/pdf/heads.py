"""What every document begins with, and the words that every page repeats."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import svg
from planner.report.drawing import label, line, rect
from planner.report.pdf import fonts
from planner.report.pdf.layout import Flow, Running, dotted, head_line, spans_at, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.report.pdf.layout import Spans
    from planner.report.views.carriers import ShortView
    from planner.report.views.stop import StopView

CAUTION = (
    "A prediction, not a permission. Scan on site before use. Licensing and local rules come "
    "first; a licensed coordinator decides."
)
DOT = " \u00b7 "


def stop_flow(view: StopView, part: str, paper: str) -> Flow:
    """Begin the pages of one stop: its place, its date, its issue.

    Parameters
    ----------
    view : StopView
        The stop.
    part : str
        ``"crew pages"`` or another name of these pages.
    paper : str
        ``"a4"`` or ``"letter"``.
    """
    running = Running(
        left=DOT.join((view.place, view.days)),
        right=DOT.join((part, view.issue)),
        foot=DOT.join((view.place, view.days, view.stop_id, view.issue, view.tour)),
        caution=CAUTION,
    )
    flow = Flow(paper, running)
    head_line(flow, [(view.tour, False)], DOT.join((part, view.issue)))
    title(flow, view.place, view.days)
    facts = [view.venue, *(f"{name.lower()} {value}" for name, value in view.facts[:1])]
    if view.status != "confirmed":
        facts.append(view.status.upper())
    facts += [view.facts[1][1], f"rig {view.facts[4][1]}", view.stop_id]
    flow.text(dotted(fact for fact in facts if fact), 9.5)
    flow.put(line(flow.left, flow.y, flow.right, flow.y, stroke=svg.INK, stroke_width=1.2))
    flow.y += 6
    flow.headed()
    return flow


def title(flow: Flow, name: str, days: str) -> None:
    """Write the name of a document large, with its days at the right where there is room."""
    wide = fonts.width(days, 15, bold=True)
    beside = fonts.width(name, 24, bold=True) + wide + 16 <= flow.width
    for part in wrapped(((name, True),), 24 if beside else 21, flow.width):
        size = 24 if beside else 21
        flow.put(*spans_at(flow.left, flow.y + size, part, size))
        flow.y += size * 1.1
    if days:
        base = flow.y - 3 if beside else flow.y + 15
        x = flow.right if beside else flow.left
        flow.put(
            label(
                x, base, days, size=15, bold=True, fill=svg.INK, anchor="end" if beside else "start"
            )
        )
        flow.y = base
    flow.y += 9


def boxed(flow: Flow, paragraphs: Sequence[str | Spans], size: float = 9.5) -> None:
    """Write paragraphs inside a frame; a frame that ends at a page's foot goes on on the next."""
    inside = flow.width - 16
    lines = [part for text in paragraphs for part in wrapped(text, size, inside)]
    leading = size * 1.3
    flow.need(min(len(lines), 4) * leading + 10)
    while lines:
        fits = max(1, int((flow.bottom - flow.y - 10) / leading))
        now, lines = lines[:fits], lines[fits:]
        height = len(now) * leading + 9
        flow.put(rect(flow.left, flow.y, flow.width, height, stroke=svg.INK, stroke_width=1.1))
        for at, part in enumerate(now):
            flow.put(*spans_at(flow.left + 8, flow.y + 4 + leading * at + size, part, size))
        flow.y += height + 5
        if lines:
            flow.page()


def shortages(flow: Flow, short: Sequence[ShortView], *, title: str = "Short here") -> None:
    """Write in a frame what is missing, what binds and what would cure it."""
    if not short:
        return
    paragraphs: list[Spans] = [((f"{title}. ", True),)]
    for row in short:
        text = f" What binds: {row.binding}." if row.binding else ""
        text += f" What would cure it: {'; '.join(row.cures)}." if row.cures else ""
        paragraphs.append(((row.sentence, True), (text, False)))
    boxed(flow, paragraphs)
