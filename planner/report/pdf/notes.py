"""The small print of every document: cautions, warnings, coverage, words, settings, sources."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import words
from planner.report.pdf.grid import Column, bold, grid

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.report.pdf.layout import Flow
    from planner.report.views.notes import NotesView, WarningView


def cautions(flow: Flow, notes: NotesView) -> None:
    """Write cautions and warnings."""
    if notes.cautions:
        flow.heading("Cautions")
        flow.items(notes.cautions)
    if notes.own or notes.tour:
        flow.heading("Warnings")
        flow.items(_warnings(notes.own), 8.5)
        if notes.own and notes.tour:
            flow.small_heading("For the whole tour")
        flow.items(_warnings(notes.tour), 8.5)


def _warnings(groups: Iterable[WarningView]) -> list[str]:
    out = []
    for group in groups:
        out += [f"{where}: {text} ({group.code})" for where, text in group.examples]
        if group.more:
            these = "these" if len(group.examples) > 1 else "this"
            out.append(f"and {group.more} more like {these} ({group.code})")
    return out


def foundations(flow: Flow, notes: NotesView) -> None:
    """Write what the tables lack, what the words mean, every assumption and every source."""
    flow.heading("What the tables lack")
    for line in notes.coverage:
        flow.text(line, 8.5)
    flow.heading("How to read the words")
    for title, meanings in (
        ("Air, a prediction. ", words.AIR_MEANS),
        ("Law, a rule as we read it. ", words.LAW_MEANS),
    ):
        flow.small_heading(title.rstrip(". "))
        for word, meaning in meanings.items():
            flow.text(((f"{word}: ", True), (meaning, False)), 8.5)
    flow.text(f"Neither word says \u201cgo\u201d. {words.NOT_A_PERMISSION}", 8.5)
    flow.heading("Assumptions and sources")
    half = -(-len(notes.settings) // 2)
    columns = [
        Column(head="Setting", share=32),
        Column(head="Value", share=16, side="right"),
        Column(head="", share=4),
        Column(head="Setting", share=32),
        Column(head="Value", share=16, side="right"),
    ]
    second = [*notes.settings[half:], ("", "")]
    grid(
        flow,
        columns,
        ((*one, "", *other) for one, other in zip(notes.settings[:half], second, strict=False)),
        size=8,
    )
    columns = [
        Column(head="File", share=45),
        Column(head="Rows", share=12, side="right"),
        Column(head="Issued", share=18),
        Column(head="SHA-256 begins", share=25),
    ]
    grid(flow, columns, ((bold(s.file), s.rows, s.issued, s.sha256) for s in notes.sources), size=8)
