"""Where the splitters of a tree stand on paper: columns by depth, a row a receiver or load."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.report.reading import Plan

RECEIVER, LOAD, WAY, CASCADE = "receiver", "load", "way", "cascade"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Port:
    """A port of a splitter and where it leads.

    Attributes
    ----------
    kind : str
        ``"receiver"``, ``"load"``, ``"way"`` or ``"cascade"`` (to a further splitter).
    row : int
        Row on paper; of a cascaded splitter the first row of that.
    index : int
        Input or splitter that it leads to; -1 for a load.
    """

    kind: str
    row: int
    index: int = -1


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Placed:
    """A splitter on paper.

    Attributes
    ----------
    column : int
        0 for the first; cascaded ones stand below each other.
    first, last : int
        Rows that its box spans.
    ports : tuple of Port
        In the order drawn.
    """

    index: int
    column: int
    first: int
    last: int
    ports: tuple[Port, ...]


class TreeLayout:
    """Rows and columns of one tree, given as the plan holds it.

    Parameters
    ----------
    splitters : sequence of mapping
        ``arrangement.splitters`` of the plan.
    inputs : mapping of int to sequence of int
        For each splitter the inputs that hang on it.
    """

    def __init__(self, splitters: Sequence[Plan], inputs: Mapping[int, Sequence[int]]) -> None:
        self._splitters, self._inputs = splitters, inputs
        self._next = 0
        self.placed: dict[int, Placed] = {}
        if splitters:
            self._place(0, 0)
        else:
            self._next = max(1, sum(len(row) for row in inputs.values()))

    @property
    def rows(self) -> int:
        """Rows in all."""
        return self._next

    @property
    def columns(self) -> int:
        """Columns in all."""
        return 1 + max((row.column for row in self.placed.values()), default=-1)

    def _place(self, index: int, column: int) -> None:
        splitter = self._splitters[index]
        fed = [k for k, row in enumerate(self._splitters) if row["fed_by"] == index]
        by_way = [k for k in fed if self._splitters[k]["port"] == WAY]
        cascaded = [k for k in fed if self._splitters[k]["port"] == CASCADE]
        first = self._next
        ports = [
            Port(kind=RECEIVER, row=self._take(), index=k) for k in self._inputs.get(index, ())
        ]
        free = splitter["ways"] - len(ports) - len(by_way)
        ports += [Port(kind=LOAD, row=self._take()) for _ in range(free)]
        unused = splitter["cascade_ports"] - len(cascaded)
        ports += [Port(kind=LOAD, row=self._take()) for _ in range(unused)]
        ports += [Port(kind=WAY, row=self._take(), index=k) for k in by_way]
        while self._next - first < 2:
            self._take()  # a box needs room for its name
        last = self._next - 1
        for k in by_way:
            self._place(k, column + 1)
        for k in cascaded:
            ports.append(Port(kind=CASCADE, row=self._next, index=k))
            self._place(k, column)
        self.placed[index] = Placed(
            index=index, column=column, first=first, last=last, ports=tuple(ports)
        )

    def _take(self) -> int:
        self._next += 1
        return self._next - 1
