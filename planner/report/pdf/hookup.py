"""The hook-up on paper: findings, levels, parts, then each drawing on a page of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import svg
from planner.report.drawing import line
from planner.report.pdf.grid import Column, Under, bold, grid
from planner.report.pdf.heads import CAUTION, DOT, boxed, title
from planner.report.pdf.layout import Flow, Running, head_line

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.report.drawing import Picture
    from planner.report.pdf.paint import Document
    from planner.report.views.hookup import BudgetView, GroupView, HookupView

_LEVELS = (
    "Net gain from antenna output to receiver input, antenna apart. \u201cCosts\u201d: sensitivity "
    "lost against the receiver alone. Near and far: wanted level at the receiver from the two "
    "edges of the stage; the margin is that of the far edge, body and fading allowed for. "
    "Predicted, not measured."
)


def hookup_pages(view: HookupView, drawings: Mapping[str, Picture], *, paper: str) -> Document:
    """Lay a hook-up out.

    Parameters
    ----------
    view : HookupView
        What it says.
    drawings : mapping of str to Picture
        Its drawings, each on the last pages.
    paper : str
        ``"a4"`` or ``"letter"``.
    """
    running = Running(
        left=f"Hook-up{DOT}{view.title}",
        right=view.issue,
        foot=DOT.join(("Hook-up", view.title, view.issue)),
        caution=CAUTION,
    )
    flow = Flow(paper, running)
    head_line(flow, [("Hook-up", False)], view.issue)
    title(flow, view.title, "")
    kept = "Every limit is kept, as predicted" if view.meets else "Not every limit is kept"
    flow.text(kept, 11)
    flow.put(line(flow.left, flow.y, flow.right, flow.y, stroke=svg.INK, stroke_width=1.2))
    flow.y += 4
    _findings(flow, view)
    for group in view.groups:
        _group(flow, group)
    _transmit(flow, view)
    _parts(flow, view)
    flow.heading("Practice")
    flow.items(view.practice, 8.5)
    flow.text(f"Limits of this design: {view.limits}.", 8, grey=True)
    flow.heading("Safety")
    flow.items(view.safety, 8.5)
    for picture in drawings.values():
        flow.broad(picture.title, picture)
    return flow.document(f"Hook-up: {view.title}", view.issue)


def _findings(flow: Flow, view: HookupView) -> None:
    hard = [row for row in view.findings if row[3]]
    boxed(
        flow, [((f"{where}. ", True), (f"{text} {what}", False)) for where, text, what, _ in hard]
    )
    watched = [row for row in view.findings if not row[3]]
    if watched:
        flow.heading("To watch")
        flow.items(
            [((f"{where}. ", True), (f"{text} {what}", False)) for where, text, what, _ in watched]
        )


def _group(flow: Flow, group: GroupView) -> None:
    flow.heading(group.rack, group.ranges)
    flow.text(bold(group.text), 9.5)
    flow.items(group.facts)
    for heading, lines in (
        ("To change at these stops", group.changes),
        ("Also possible", group.alternatives),
    ):
        if lines:
            flow.small_heading(heading)
            flow.items(lines)
    at = f", {group.shown_at}" if group.shown_at else ""
    flow.small_heading(f"Level budget{at}")
    _budgets(flow, group.budgets)
    if group.steps:
        _steps(flow, group.steps)
    if group.by_stop:
        flow.small_heading("Stop by stop")
        heads = ("Margin dB", "Below\ncompression dB", "Products raise\nnoise by dB")
        columns = [Column(head="Stop", share=30)]
        columns += [Column(head=head, share=17, side="right") for head in heads]
        grid(flow, [*columns, Column(head="", share=24)], group.by_stop, size=9)


def _budgets(flow: Flow, rows: tuple[BudgetView, ...]) -> None:
    heads = (
        ("MHz", 12),
        ("Net\ngain dB", 9),
        ("Noise\nfigure dB", 9),
        ("Costs\ndB", 8),
        ("Near\ndBm", 9),
        ("Far\ndBm", 9),
        ("Margin\ndB", 9),
    )
    columns = [Column(head="Branch", share=22), Column(head="To receiver", share=20)]
    columns += [Column(head=head, share=share, side="right") for head, share in heads]
    cells = [
        (
            Under(text=row.name, under=f"changed, {row.stop}" if row.changed else ""),
            row.receiver,
            row.mhz,
            row.net,
            row.noise_figure,
            row.sensitivity,
            row.near,
            row.far,
            bold(row.margin),
        )
        for row in rows
    ]
    grid(flow, columns, cells, size=8.5)
    flow.text(_LEVELS, 8, grey=True)


def _steps(flow: Flow, row: BudgetView) -> None:
    flow.small_heading(f"Step by step: {row.name}, {row.mhz} MHz, to {row.receiver}")
    columns = [Column(head="Part", share=46)]
    columns += [
        Column(head=head, share=18, side="right")
        for head in ("Gain dB", "Far dBm", "Near dBm", "Below\ncompression dB")
    ]
    far, _, near = row.antenna.removesuffix(" dBm").partition(" / ")
    cells = [("antenna output", "", far, near, ""), *row.steps]
    grid(flow, columns, [*cells, (bold("together"), bold(row.net), "", "", "")], size=8.5)


def _transmit(flow: Flow, view: HookupView) -> None:
    side = view.transmit
    if side is None:
        return
    flow.heading("In-ear transmitters")
    flow.text(bold(side.text), 9.5)
    flow.items(side.facts)
    columns = [
        Column(head="Line, at its closest to the limit", share=24),
        Column(head="Stop", share=13),
        Column(head="MHz", share=10, side="right"),
        Column(head="Power dBm", share=12, side="right"),
        Column(head="Limit dBm", share=9, side="right"),
        Column(head="Verdict", share=18),
        Column(head="Rule", share=22),
    ]
    grid(flow, columns, side.lines, size=8.5)


def _parts(flow: Flow, view: HookupView) -> None:
    flow.heading("Parts over all racks")
    columns = [
        Column(head="Part", share=40),
        Column(head="In use", share=9, side="right"),
        Column(head="Spare", share=9, side="right"),
        Column(head="Where", share=44),
    ]
    cells = [(part, bold(count), spare, where) for part, count, spare, where in view.parts]
    grid(flow, columns, cells, size=9)
    flow.text(view.sums, 8.5)
