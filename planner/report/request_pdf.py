"""A request for frequencies as PDF: what is asked, where and when, and room for the answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import words
from planner.report.pdf.grid import Column, grid
from planner.report.pdf.layout import Flow, Running
from planner.report.request_tables import CONTACT
from planner.report.views.frequency_request import antenna_place, hours

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.report.pdf.paint import Document
    from planner.report.views.frequency_request import AskedLine, AskedRange, FrequencyRequest

_LINES = (
    Column(head="Line", share=12),
    Column(head="Name", share=18),
    Column(head="Range", share=18),
    Column(head="Power", share=13),
    Column(head="Antenna", share=11),
    Column(head="Planned\nMHz", share=9),
    Column(head="Assigned\nMHz", share=11),
    Column(head="Remark", share=9),
)
_RANGES = (
    Column(head="Need", share=13),
    Column(head="How many", share=16),
    Column(head="Range, tuning limits in MHz", share=26),
    Column(head="Step\nkHz", share=6),
    Column(head="Width\nkHz", share=6),
    Column(head="Spacing\nkHz", share=8),
    Column(head="Modulation", share=14),
    Column(head="Power settings", share=12),
)


def request_pages(view: FrequencyRequest) -> Document:
    """Lay a request out on pages.

    Parameters
    ----------
    view : FrequencyRequest
        The request; its ``paper`` is the tour's.
    """
    days = words.days(view.stop["first_date"], view.stop["last_date"])
    venue = words.clean(view.stop.get("venue")) or words.town(view.stop["place"])
    running = Running(
        left=f"{view.title}, {days}",
        right=view.issue,
        foot=f"{venue}, {days}, {view.issue}",
        caution=words.NOT_A_PERMISSION,
    )
    flow = Flow(view.paper, running)
    flow.heading(view.title, f"{venue}, {days}. {view.issue}.")
    grid(
        flow,
        (Column(head="What", share=24), Column(head="Answer", share=76)),
        [*view.facts, *((what, "") for what in CONTACT)],
        size=9.5,
    )
    flow.heading("Ranges asked in")
    grid(flow, _RANGES, [_range(row) for row in view.ranges if row.planned], size=9)
    flow.heading("Lines", "Name, range and power of each; please fill in the assigned frequency.")
    grid(flow, _LINES, [_line(row) for row in view.lines], size=9)
    instead = [row for row in view.ranges if not row.planned]
    if instead:
        flow.heading("Ranges that are possible instead")
        grid(flow, _RANGES, [_range(row) for row in instead], size=9)
    flow.heading("Please note")
    for note in view.notes:
        flow.text(note)
    return flow.document(view.title, f"{venue}, {days}, {view.issue}")


def _line(row: AskedLine) -> Sequence[str]:
    marks = ["spare"] * row.spare + ["cannot be retuned"] * row.fixed
    marks += [f"in {words.clean(row.block)}"] if row.block else []
    return (
        words.clean(row.line),
        words.clean(row.name),
        words.clean(row.asked.range),
        words.power(row.power_mw, row.asked.power_kind),
        antenna_place(row.asked),
        words.mhz(row.planned_mhz),
        "keep free" if row.fixed else "",
        ", ".join(marks),
    )


def _range(row: AskedRange) -> Sequence[str]:
    many = [words.plural(row.lines, "line"), words.plural(row.spares, "spare")]
    many += [f"{row.units} units a line"] * (row.units > 1)
    return (
        ", ".join(words.clean(text) for text in (row.need, row.role, row.form, row.zone) if text),
        f"{', '.join(many)}; {hours(row.active)}",
        "; ".join((words.clean(row.range), *_limits(row))),
        words.short_number(row.step_khz),
        words.short_number(row.bandwidth_khz),
        words.NONE if row.spacing_khz is None else words.short_number(row.spacing_khz),
        words.clean(row.modulation) or words.NONE,
        f"{', '.join(words.short_number(power) for power in row.powers_mw)} mW {row.power_kind}",
    )


def _limits(row: AskedRange) -> Iterator[str]:
    limits = ", ".join(words.mhz_span(low, high) for low, high in row.limits_mhz)
    yield f"tunes {limits}, steps from {words.mhz(row.tuning_origin_mhz)}"
    if row.links_per_block:
        yield f"blocks of {words.plural(row.links_per_block, 'link')}"
    if row.on_request_mhz:
        spans = ", ".join(words.mhz_span(low, high) for low, high in row.on_request_mhz)
        yield f"by the rules only named frequencies in {spans}"
