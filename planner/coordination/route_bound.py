"""A proven lower bound of the retunes of a route."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.bounds import upper_bound
from planner.coordination.linear import least_corner
from planner.coordination.names import LINE_WEIGHT, MOST_UNITS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from planner.coordination.linear import Row
    from planner.coordination.names import Use
    from planner.coordination.tasks import LineKey, NeedTask, StopTask

    Limit = Callable[[NeedTask, str, tuple[tuple[int, int], ...]], int]

_ROUNDING = 1e-6
"""What a solver may be off by, before a bound is rounded up."""

Span = tuple[int, int]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class MoveBound:
    """What no plan of the same ranges that fills as much can do without.

    Attributes
    ----------
    lines : int
        Lines retuned, over the whole route.
    weighted : int
        Lines retuned, each as often as its weight, and spares retuned.
    """

    lines: int
    weighted: int


class MoveBounds:
    """Bounds the retunes of routes; equal spans are bounded once."""

    def __init__(self) -> None:
        self._known: dict[tuple[object, ...], int] = {}

    def bound(
        self, tasks: Sequence[StopTask], carriers: Sequence[Mapping[LineKey, Use]]
    ) -> MoveBound:
        """Return the bound of a route.

        Parameters
        ----------
        tasks : sequence of StopTask
            In route order; rigs may alternate.
        carriers : sequence of mapping of (need, line) to Use
            What each stop got, by name: only how many counts.

        Notes
        -----
        A linear programme for each need of each rig. The axis is cut where any stop's windows
        begin or end, into parts. Let p be the number of lines whose last frequency lies in a
        part, at a stop. Every line is in one part; of those in a part no more are on the air
        than p, none outside the stop's windows, and all that the plan has on the air there are.
        In any span of windows no more lines and spares are on the air than the proven bound
        (:func:`planner.coordination.upper_bound`) of carriers in it. From one stop to the next,
        p grows in a part by lines that are retuned into it: so their number is at least the
        growth. Spares likewise. Every plan that has as many lines and spares on the air gives
        numbers that meet all this, so the least number of retunes that meets it is a bound. A
        first frequency is no retune: p at the first stop is free.
        """
        lines = weighted = 0
        rows: dict[tuple[str, str], list[tuple[NeedTask, int, int]]] = {}
        for task, found in zip(tasks, carriers, strict=True):
            for need in task.needs:
                on = sum((need.name, name) in found for name in need.lines)
                extra = sum((need.name, name) in found for name in need.spares)
                rows.setdefault((task.rig, need.name), []).append((need, on, extra))
        for stops in rows.values():
            model = _Model(stops, self._limit)
            units = min(MOST_UNITS, *(need.units for need, _, _ in stops))
            lines += model.least(1, 0)
            weighted += model.least(LINE_WEIGHT * units, 1)
        return MoveBound(lines=lines, weighted=weighted)

    def _limit(self, need: NeedTask, range_key: str, spans: tuple[Span, ...]) -> int:
        """Return the proven bound of carriers of a range in some spans."""
        choice = next(choice for choice in need.choices if choice.range_key == range_key)
        grid = choice.grid
        key = (spans, grid.origin_hz % grid.step_hz, grid.step_hz, choice.guards)
        if key not in self._known:
            self._known[key] = upper_bound(
                spans, step_hz=grid.step_hz, origin_hz=grid.origin_hz, guards=choice.guards
            )
        return self._known[key]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Part:
    """A part of the axis, in one range: at each stop it is inside windows whole or not at all."""

    range_key: str
    low_hz: int
    high_hz: int
    clear: tuple[bool, ...]
    either: tuple[bool, ...]


class _Model:
    """The linear programme of one need: rows and columns, and what it is asked for."""

    def __init__(self, stops: Sequence[tuple[NeedTask, int, int]], limit: Limit) -> None:
        self._stops = stops
        self._parts = tuple(_parts([need for need, _, _ in stops]))
        self._columns: dict[tuple[str, int, int], int] = {}
        self._most: list[Row] = []
        self._equal: list[Row] = []
        for stop in range(len(stops)):
            self._place(stop)
            self._cap(stop, limit)
            if stop:
                self._move(stop)

    def least(self, line: int, spare: int) -> int:
        """Return the least cost, rounded up, where a line's move and a spare's cost so much."""
        if not self._columns:
            return 0
        corner = least_corner(
            [{"line move": line, "spare move": spare}.get(kind, 0) for kind, _, _ in self._columns],
            at_most=self._most,
            equal=self._equal,
            bounds=[(0.0, None)] * len(self._columns),
        )
        return 0 if corner is None else max(0, math.ceil(corner.cost - _ROUNDING))

    def _column(self, kind: str, stop: int, part: int) -> int:
        return self._columns.setdefault((kind, stop, part), len(self._columns))

    def _place(self, stop: int) -> None:
        """Write where the names are, and that those on the air are in windows."""
        need, lines, spares = self._stops[stop]
        for kind, names, on in (
            ("line", len(need.lines), lines),
            ("spare", len(need.spares), spares),
        ):
            every, aired = [], []
            for number, part in enumerate(self._parts):
                inside = (part.clear if kind == "line" else part.either)[stop]
                if on < names:
                    # some rest: their last frequency may be anywhere
                    every.append(self._column(kind, stop, number))
                    if inside:
                        air = self._column(kind + " on", stop, number)
                        aired.append(air)
                        self._most.append(({air: 1.0, every[-1]: -1.0}, 0.0))
                elif inside:
                    every.append(self._column(kind, stop, number))
            if every:
                self._equal.append((dict.fromkeys(every, 1.0), float(names)))
            if aired:
                self._equal.append((dict.fromkeys(aired, 1.0), float(on)))

    def _cap(self, stop: int, limit: Limit) -> None:
        """Write that no span of windows holds more than its bound."""
        need, lines, spares = self._stops[stop]
        for range_key, members in self._spans(stop):
            spans = tuple((self._parts[k].low_hz, self._parts[k].high_hz) for k in members)
            most = limit(need, range_key, spans)
            if most < lines + spares:
                entries = {
                    self._columns[kind, stop, k]: 1.0
                    for k in members
                    for kind in self._kinds(stop, k)
                }
                self._most.append((entries, float(most)))

    def _kinds(self, stop: int, part: int) -> list[str]:
        """Return the columns that count those on the air in a part."""
        found = []
        for kind in ("line", "spare"):
            if (kind + " on", stop, part) in self._columns:
                found.append(kind + " on")
            elif (kind, stop, part) in self._columns and self._is_full(stop, kind):
                found.append(kind)
        return found

    def _is_full(self, stop: int, kind: str) -> bool:
        need, lines, spares = self._stops[stop]
        return lines == len(need.lines) if kind == "line" else spares == len(need.spares)

    def _spans(self, stop: int) -> Iterator[tuple[str, tuple[int, ...]]]:
        """Yield range and parts: of every part of a stop's windows, every window, all of them.

        Further runs of windows made the bound no greater on real routes.
        """
        for range_key in dict.fromkeys(part.range_key for part in self._parts):
            here = [
                k
                for k, part in enumerate(self._parts)
                if part.range_key == range_key and part.either[stop]
            ]
            windows: list[list[int]] = []
            for k in here:
                if windows and windows[-1][-1] == k - 1 and self._touch(k - 1, k):
                    windows[-1].append(k)
                else:
                    windows.append([k])
            every = [(k,) for k in here] + [tuple(row) for row in windows] + [tuple(here)]
            yield from ((range_key, members) for members in dict.fromkeys(every) if members)

    def _touch(self, one: int, two: int) -> bool:
        step_hz = max(choice.grid.step_hz for need, _, _ in self._stops for choice in need.choices)
        return self._parts[two].low_hz - self._parts[one].high_hz <= step_hz

    def _move(self, stop: int) -> None:
        """Write that the growth of a part is made of retunes."""
        for kind in ("line", "spare"):
            for k in range(len(self._parts)):
                here = self._columns.get((kind, stop, k))
                if here is None:
                    continue
                entries = {here: 1.0, self._column(kind + " move", stop, k): -1.0}
                last = self._columns.get((kind, stop - 1, k))
                if last is not None:
                    entries[last] = -1.0
                self._most.append((entries, 0.0))


def _parts(needs: Sequence[NeedTask]) -> Iterator[_Part]:
    """Yield the parts of the axis of every range, ascending."""
    for range_key in dict.fromkeys(choice.range_key for need in needs for choice in need.choices):
        clear, either = [], []
        for need in needs:
            choice = next((row for row in need.choices if row.range_key == range_key), None)
            main = np.empty(0, np.int64) if choice is None else choice.grid.points()
            extra = main
            if choice is not None and need.spares:
                extra = np.union1d(main, choice.spare_grid.points())
            clear.append(main)
            either.append(extra)
        points = np.unique(np.concatenate(either))
        if points.size:
            yield from _cut(range_key, points, clear, either)


def _cut(
    range_key: str,
    points: NDArray[np.int64],
    clear: Sequence[NDArray[np.int64]],
    either: Sequence[NDArray[np.int64]],
) -> Iterator[_Part]:
    """Yield runs of centres that are inside the same stops' windows."""
    inside = np.array([np.isin(points, row) for row in (*clear, *either)])
    gaps = np.diff(points)
    step_hz = int(gaps.min()) if gaps.size else 0
    breaks = np.flatnonzero((gaps > step_hz) | (inside[:, 1:] != inside[:, :-1]).any(axis=0))
    for low, high in zip([0, *(breaks + 1)], [*breaks, points.size - 1], strict=True):
        signs = inside[:, low].tolist()
        yield _Part(
            range_key=range_key,
            low_hz=int(points[low]),
            high_hz=int(points[high]),
            clear=tuple(signs[: len(clear)]),
            either=tuple(signs[len(clear) :]),
        )
