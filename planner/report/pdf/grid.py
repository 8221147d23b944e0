"""Tables that go on over pages, their head repeated."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Literal

from planner.report import svg
from planner.report.drawing import Shape, label, line
from planner.report.pdf import fonts
from planner.report.pdf.layout import GREY, LEADING, Spans, spans_at, spans_of, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.report.pdf.layout import Flow

PAD = 5.0
"""Room between columns [pt]."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """A column: its head in one or more lines, its share of the width, the side it leans to."""

    head: str
    share: float
    side: Literal["left", "right"] = "left"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Under:
    """A cell of a first text and a smaller one under it."""

    text: str | Spans
    under: str = ""


Cell = str | Spans | Under


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Block:
    lines: tuple[tuple[Spans, float, str], ...]

    @property
    def height(self) -> float:
        return sum(size * LEADING for _, size, _ in self.lines)


def _block(cell: Cell, size: float, room: float) -> _Block:
    text, under = (cell.text, cell.under) if isinstance(cell, Under) else (cell, "")
    lines = [(part, size, svg.INK) for part in wrapped(text, size, room)]
    small = size - 1 if size > 8.5 else size - 0.5
    lines += [(part, small, GREY) for part in wrapped(under, small, room)] if under else []
    return _Block(lines=tuple(lines))


def _line_width(spans: Spans, size: float) -> float:
    return sum(fonts.width(text, size, bold=bold) for text, bold in spans)


def _draw(flow: Flow, block: _Block, left: float, room: float, *, right: bool) -> None:
    y = flow.y + 2.5
    for spans, size, fill in block.lines:
        x = left + room - _line_width(spans, size) if right else left
        flow.put(*spans_at(x, y + size, spans, size, fill=fill))
        y += size * LEADING


def _heads(flow: Flow, columns: Sequence[Column], places: list[tuple[float, float]]) -> None:
    size = 7.5
    depth = max(len(column.head.split("\n")) for column in columns)
    for column, (left, room) in zip(columns, places, strict=True):
        parts = column.head.split("\n")
        for at, part in enumerate(parts):
            y = flow.y + 2 + size * 1.15 * (depth - len(parts) + at + 1)
            x = left + room if column.side == "right" else left
            anchor: Literal["start", "end"] = "end" if column.side == "right" else "start"
            flow.put(label(x, y, part, size=size, fill=GREY, anchor=anchor))
    flow.y += 2 + size * 1.15 * depth + 4
    flow.put(line(flow.left, flow.y, flow.right, flow.y, stroke=svg.INK, stroke_width=0.7))


def places_of(flow: Flow, columns: Sequence[Column]) -> list[tuple[float, float]]:
    """Return left edge and width of every column [pt], in proportion to their shares."""
    total = sum(column.share for column in columns)
    unit = (flow.width - PAD * (len(columns) - 1)) / total
    out, left = [], flow.left
    for column in columns:
        out.append((left, column.share * unit))
        left += column.share * unit + PAD
    return out


def grid(
    flow: Flow, columns: Sequence[Column], lines: Iterable[Sequence[Cell]], *, size: float = 8.5
) -> None:
    """Draw a table; a row stays whole unless it is taller than a page."""
    places = places_of(flow, columns)
    flow.need(48)
    _heads(flow, columns, places)
    before = flow.on_new_page
    flow.on_new_page = lambda: _heads(flow, columns, places)
    for cells in lines:
        blocks = [_block(cell, size, room) for cell, (_, room) in zip(cells, places, strict=True)]
        while blocks:
            blocks = _row(flow, columns, places, blocks)
    flow.on_new_page = before
    flow.y += 4


def _row(
    flow: Flow,
    columns: Sequence[Column],
    places: list[tuple[float, float]],
    blocks: list[_Block],
) -> list[_Block]:
    """Draw one row and return what of it did not fit on a whole page."""
    tall = max(block.height for block in blocks)
    flow.need(tall + 5)
    room = flow.bottom - flow.y - 5
    rest: list[_Block] = []
    if tall > room:
        split = [_split(block, room) for block in blocks]
        blocks, rest = [first for first, _ in split], [second for _, second in split]
        tall = max(block.height for block in blocks)
    for column, (left, width), block in zip(columns, places, blocks, strict=True):
        _draw(flow, block, left, width, right=column.side == "right")
    flow.y += tall + 5
    flow.put(_rule(flow))
    if rest:
        flow.page()
    return rest


def _split(block: _Block, room: float) -> tuple[_Block, _Block]:
    used, count = 0.0, 0
    for _, size, _ in block.lines:
        if used + size * LEADING > room:
            break
        used += size * LEADING
        count += 1
    count = max(1, count)
    return _Block(lines=block.lines[:count]), _Block(lines=block.lines[count:])


def _rule(flow: Flow) -> Shape:
    return line(flow.left, flow.y, flow.right, flow.y, stroke=svg.HAIR, stroke_width=0.5)


def bold(text: str) -> Spans:
    """Return a text as bold spans."""
    return ((text, True),)


def marked(text: str | Spans, remarks: Iterable[str]) -> Spans:
    """Return a text followed by remarks in bold."""
    return (*spans_of(text), *((f" {remark};", True) for remark in remarks))
