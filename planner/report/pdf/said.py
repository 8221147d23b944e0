"""What people stated for a stop, and what to do on the day spectrum is lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.pdf.grid import Column, Under, bold, grid

if TYPE_CHECKING:
    from planner.report.pdf.layout import Flow, Spans
    from planner.report.views.losses import LossesView, LossRow
    from planner.report.views.people import PeopleView


def stated(flow: Flow, people: PeopleView, error: str) -> None:
    """Write what people cleared and assigned, what zones leave out, what coordinates would settle.

    Parameters
    ----------
    flow : Flow
        Written on.
    people : PeopleView
        What people stated.
    error : str
        How far the venue may lie from the position, with its unit.
    """
    if people.cleared:
        flow.heading("Cleared by people")
        flow.text(
            "Taken as free here because a person says so, not because a table does. Ask again "
            "when anything changes."
        )
        columns = [
            Column(head="MHz", share=16),
            Column(head="On what ground", share=32),
            Column(head="Level", share=14),
            Column(head="When", share=14),
            Column(head="Who", share=24),
        ]
        lines = (
            (
                bold(row.span),
                Under(text=row.basis, under=row.text),
                row.level or "not said",
                row.date,
                row.by,
            )
            for row in people.cleared
        )
        grid(flow, columns, lines)
    _assigned(flow, people)
    if people.left_out:
        flow.heading("Products between zones that are left out")
        flow.items(people.left_out, 8.5)
    if people.at_risk:
        flow.heading("What the venue\u2019s coordinates would settle")
        told = f" The place is known within {error} only, and the worst of nine points decides."
        flow.text(((people.frees, True), (told, False)))
        columns = [
            Column(head="TV", share=8),
            Column(head="MHz", share=20),
            Column(head="Planned as", share=30),
            Column(head="At the point itself", share=42),
        ]
        grid(flow, columns, ((r.channel, r.span, r.now, r.at_point) for r in people.at_risk))


def _assigned(flow: Flow, people: PeopleView) -> None:
    if not (people.assigned or people.sent_back):
        return
    flow.heading("Assigned frequencies")
    columns = [
        Column(head="MHz", share=14, side="right"),
        Column(head="Need", share=16),
        Column(head="Power", share=12),
        Column(head="Reference", share=22),
        Column(head="Used by, or why not", share=36),
    ]
    used = [(bold(r.mhz), r.need, r.power, r.reference, r.used_by) for r in people.assigned]
    back = [
        (r.mhz, r.need, r.power, r.reference, (("send back: ", True), (r.why, False)))
        for r in people.sent_back
    ]
    grid(flow, columns, [*used, *back])


def losses(flow: Flow, view: LossesView) -> None:
    """Write what each channel's loss asks, and the second set."""
    if not view.computed:
        return
    flow.heading("If a TV channel is lost")
    if view.losses:
        flow.text(
            "Each line takes one channel away and leaves everything else in its place where that "
            "can be; checked like the plan itself. Fixed carriers stay."
        )
        columns = [
            Column(head="TV", share=6),
            Column(head="MHz", share=12),
            Column(head="Lost", share=16),
            Column(head="Set instead, MHz", share=44),
            Column(head="Left without", share=22),
        ]
        lines = [
            (bold(row.channel), row.span, row.lost, _moves(row), row.missing or "nobody")
            for row in view.losses
        ]
        grid(flow, columns, lines, size=8)
    else:
        flow.text("No carrier of ours is planned here.")
    flow.small_heading("Second set")
    flow.text(view.second)
    if view.needs:
        columns = [
            Column(head="Need", share=14),
            Column(head="TV", share=14),
            Column(head="MHz", share=72),
        ]
        second = (
            (
                bold(row.need),
                row.channels,
                tuple(
                    (piece, False)
                    for at, (name, mhz) in enumerate(row.carriers)
                    for piece in ("; " * (at > 0), name, f" {mhz}")
                ),
            )
            for row in view.needs
        )
        grid(flow, columns, second, size=8)


def _moves(row: LossRow) -> Spans:
    """Write who is set to what instead, the new frequencies in bold; names stay apart."""
    told = [
        piece
        for at, (name, before, after) in enumerate(row.moves)
        for piece in (
            ("; " * (at > 0), False),
            (name, False),
            (f" {before} to ", False),
            (after, True),
        )
    ]
    return tuple(told) or (("nothing", False),)
