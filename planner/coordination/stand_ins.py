"""Spares that stand in: each alone fits with all other carriers less the line it replaces.

A spare that fits beside everything can replace every line of its range. One that violates a guard
can only replace lines that take part in all of its violations, so few. Both are found the same
way: take a line out, look which centres are free, put it back.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import kernel
from planner.coordination.standing import NOWHERE, Standing, channels_of, placed
from planner.coordination.tasks import StopCarriers
from planner.coordination.verify_many import clashes
from planner.errors import PlannerError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from planner.coordination.names import Use
    from planner.coordination.records import Coordination
    from planner.coordination.tasks import LineKey, NeedTask, StopTask

_LEVELS = 3
"""Lines covered less often weigh more, up to so many times."""


def add_stand_ins(
    task: StopTask, stop: StopCarriers, *, last: Mapping[LineKey, Use] | None = None
) -> StopCarriers:
    """Find the stand-ins of a stop: those asked for, and others for spares that did not fit.

    Parameters
    ----------
    task, stop : StopTask, StopCarriers
        What the stop asks for, and the carriers that are all on together.
    last : mapping of (need, name) to Use, optional
        What each name used at the last stop of the rig.

    Returns
    -------
    StopCarriers
        With the stand-ins among the carriers. Together they cover as many lines as they can, then
        as often as they can; on ties clear centres, carriers of an earlier plan for this stop or
        of the last stop, other TV channels than those of the lines covered, channels without
        another spare, the lower frequency. Carriers of before are kept where that covers no
        fewer lines. They keep spacing from each other and from the lines they replace.

    Raises
    ------
    PlannerError
        When the verifier refuses one.
    """
    wanted = {
        need.name: names
        for need in task.needs
        if not need.two_way
        and (names := tuple(n for n in need.every_name if n not in need.lines))
        and (names := tuple(n for n in names if (need.name, n) not in stop.carriers))
    }
    if not wanted:
        return stop
    search = _StandIns(task, stop)
    kept = {**(last or {}), **task.keep, **task.keep_stand_ins}
    for need in task.needs:
        if need.name in wanted:
            search.choose(need, wanted[need.name], kept)
    return search.answer()


def lines_replaced(
    task: StopTask, carriers: Mapping[LineKey, Use], key: LineKey, use: Use
) -> frozenset[str] | None:
    """Return the lines of its need that a spare can replace, by the verifier; None for every one.

    Parameters
    ----------
    task : StopTask
        The stop.
    carriers : mapping of (need, name) to Use
        Carriers that are all on together.
    key, use : (need, name), Use
        The spare.
    """
    keys = list(carriers)
    every = [*placed(task, carriers), *placed(task, {key: use}), *task.fixed]
    mine = len(keys)
    lines: frozenset[str] | None = None
    for members in clashes(every, task.company):
        if mine in members:
            need_lines = frozenset(
                keys[k][1] for k in members if k < len(keys) and keys[k][0] == key[0]
            )
            lines = need_lines if lines is None else lines & need_lines
    return lines


def undealt(task: StopTask, answer: Coordination) -> StopCarriers:
    """Return what a coordination found as carriers of a stop, names given in their order."""
    carriers: dict[LineKey, Use] = {}
    for need, filled in zip(task.needs, answer.filled, strict=True):
        main = [row for row in filled.carriers if row.main]
        rest = [row for row in filled.carriers if not row.main]
        lines = main[: len(need.lines)]
        spares = [*main[len(need.lines) :], *rest]
        for names, rows in ((need.lines, lines), (need.spares, spares)):
            for name, row in zip(names, rows, strict=False):
                carriers[need.name, name] = need.use(row.range_key, row.frequency_hz, main=row.main)
    return StopCarriers(stop_id=task.stop_id, carriers=carriers, missing=missing_of(task, carriers))


def missing_of(task: StopTask, carriers: Mapping[LineKey, Use]) -> dict[str, int]:
    """Return how many carriers of each need are missing, stand-ins among them."""
    return dict(
        Counter(
            need.name
            for need in task.needs
            for name in need.every_name
            if (need.name, name) not in carriers
        )
    )


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Centres:
    """Centres that stand in for lines of a need: N of them, L lines.

    Attributes
    ----------
    covers : array of bool, shape (L, N)
        Whether the centre can replace the line.
    apart : array of int, shape (L, N)
        1 where it can and lies in another TV channel than the line.
    """

    lines: tuple[str, ...]
    hz: NDArray[np.int64]
    number: NDArray[np.int64]
    main: NDArray[np.bool_]
    channel: NDArray[np.int64]
    covers: NDArray[np.bool_]
    apart: NDArray[np.int64]


class _StandIns:
    """The stand-ins of one stop, need by need."""

    def __init__(self, task: StopTask, stop: StopCarriers) -> None:
        self._task, self._stop = task, stop
        self._board = Standing(task, stop.carriers)
        self._found: dict[LineKey, tuple[Use, tuple[str, ...]]] = {}

    def choose(self, need: NeedTask, names: Sequence[str], kept: Mapping[LineKey, Use]) -> None:
        """Choose the stand-ins of one need and give them to its names."""
        centres = self._centres(need)
        if not centres.hz.size:
            return
        wishes = {name: kept[need.name, name] for name in names if (need.name, name) in kept}
        places = self._kept_places(centres, wishes)
        fresh = self._fill(centres, len(names), [], set(places.values()))
        follow = self._fill(centres, len(names), list(places.values()), set())
        if _merit(centres, follow) >= _merit(centres, fresh):
            fresh = follow
        dealt = {name: place for name, place in places.items() if place in fresh}
        left = [place for place in fresh if place not in dealt.values()]
        for name in names:
            if name not in dealt and left:
                dealt[name] = left.pop(0)
        for name, place in dealt.items():
            self._take(need, name, centres, place)

    def answer(self) -> StopCarriers:
        """Return the stop with what was found."""
        carriers = {**self._stop.carriers, **{key: use for key, (use, _) in self._found.items()}}
        order = [
            (need.name, name)
            for need in self._task.needs
            for name in need.every_name
            if (need.name, name) in carriers
        ]
        return dataclasses.replace(
            self._stop,
            carriers={key: carriers[key] for key in order},
            missing=missing_of(self._task, carriers),
            stand_ins={key: self._found[key][1] for key in order if key in self._found},
        )

    def _take(self, need: NeedTask, name: str, centres: _Centres, place: int) -> None:
        row = self._board.search.rows[int(centres.number[place])]
        use = need.use(row.choice.range_key, int(centres.hz[place]), main=bool(centres.main[place]))
        lines = tuple(
            line
            for line, covered in zip(centres.lines, centres.covers[:, place], strict=True)
            if covered
        )
        key = (need.name, name)
        allowed = lines_replaced(self._task, self._stop.carriers, key, use)
        if allowed is not None and not allowed.issuperset(lines):
            raise PlannerError(
                f"the verifier refuses {name} on {use.frequency_hz} Hz in the place of "
                f"{', '.join(lines)}"
            )
        self._found[key] = (use, lines)

    def _centres(self, need: NeedTask) -> _Centres:
        """Return every centre that can replace a line of a need."""
        rows = self._board.search.rows
        mine = [k for k, row in enumerate(rows) if self._task.needs[row.need].name == need.name]
        lines = tuple(name for name in need.lines if (need.name, name) in self._board.there)
        hz = np.concatenate([np.empty(0, np.int64), *(rows[k].points_hz for k in mine)])
        number = np.concatenate(
            [np.empty(0, np.int64), *(np.full(rows[k].points_hz.size, k) for k in mine)]
        )
        main = np.concatenate([np.empty(0, np.bool_), *(rows[k].is_main for k in mine)])
        covers = np.zeros((len(lines), hz.size), dtype=np.bool_)
        for place, line in enumerate(lines):
            use = self._stop.carriers[need.name, line]
            covers[place] = self._replaces(need, line, use, (hz, number))
        useful = covers.any(axis=0)
        hz, number, main, covers = hz[useful], number[useful], main[useful], covers[:, useful]
        channel = channels_of(hz, self._task.channels_hz)
        lines_hz = np.array([self._stop.carriers[need.name, line].frequency_hz for line in lines])
        theirs = channels_of(lines_hz.astype(np.int64), self._task.channels_hz)
        other = (theirs[:, None] != channel[None, :]) | (channel[None, :] == NOWHERE)
        return _Centres(
            lines=lines,
            hz=hz,
            number=number,
            main=main,
            channel=channel,
            covers=covers,
            apart=(covers & other).astype(np.int64),
        )

    def _replaces(
        self,
        need: NeedTask,
        line: str,
        use: Use,
        centres: tuple[NDArray[np.int64], NDArray[np.int64]],
    ) -> NDArray[np.bool_]:
        """Say of each centre whether it can replace a line: free, of its range, off the line."""
        board, (hz, number) = self._board, centres
        key = (need.name, line)
        row, at = board.take(key)
        mine = number == row
        free = np.zeros(hz.size, dtype=np.bool_)
        free[mine] = board.free(row)
        if board.board.rows[row, kernel.CHANNELS]:
            low, _ = board.span(row)
            first = int(np.flatnonzero(mine)[0])
            for k in np.flatnonzero(free).tolist():
                free[k] = kernel.may_stand(board.board, row, low + k - first)
        board.put(key, row, at)
        apart = np.abs(hz - use.frequency_hz)
        least = board.search.rows[row].choice.guards.spacing_hz
        width = need.widths_hz.get(use.range_key)
        free &= apart >= max(least, 1)
        return free if width is None else free & (apart <= width)

    def _kept_places(self, centres: _Centres, wishes: Mapping[str, Use]) -> dict[str, int]:
        """Return the places of the wished carriers that serve, by name."""
        found: dict[str, int] = {}
        for name, use in wishes.items():
            keys = [
                place
                for place in np.flatnonzero(centres.hz == use.frequency_hz).tolist()
                if self._board.search.rows[int(centres.number[place])].choice.range_key
                == use.range_key
            ]
            open_ = self._open(centres, list(found.values()))
            if keys and open_[keys[0]]:
                found[name] = keys[0]
        return found

    def _open(self, centres: _Centres, chosen: Sequence[int]) -> NDArray[np.bool_]:
        """Say which centres keep spacing from the stand-ins chosen so far."""
        open_ = np.ones(centres.hz.size, dtype=np.bool_)
        spacing = np.array(
            [row.choice.guards.spacing_hz for row in self._board.search.rows], dtype=np.int64
        )[centres.number]
        taken = [use.frequency_hz for use, _ in self._found.values()]
        for hz in (*taken, *(int(centres.hz[place]) for place in chosen)):
            open_ &= np.abs(centres.hz - hz) >= np.maximum(spacing, 1)
        return open_

    def _fill(self, centres: _Centres, count: int, chosen: list[int], liked: set[int]) -> list[int]:
        """Add centres one by one, the most useful first."""
        chosen = chosen[:count]
        wished = np.zeros(centres.hz.size, dtype=np.int64)
        wished[list(liked)] = 1
        while len(chosen) < count:
            open_ = np.flatnonzero(self._open(centres, chosen))
            if not open_.size:
                break
            often = np.minimum(centres.covers[:, chosen].sum(axis=1), _LEVELS)
            weights = (len(centres.lines) + 1) ** (_LEVELS - often.astype(np.int64))
            fresh = ~np.isin(centres.channel, centres.channel[chosen])
            keys = (
                centres.hz,
                -fresh.astype(np.int64),
                -centres.apart.sum(axis=0),
                -wished,
                -centres.main.astype(np.int64),
                -(weights @ centres.covers),
            )
            order = np.lexsort(tuple(key[open_] for key in keys))
            chosen.append(int(open_[order[0]]))
        return chosen


def _merit(centres: _Centres, chosen: Sequence[int]) -> tuple[int, int]:
    return int(centres.covers[:, list(chosen)].any(axis=1).sum()), len(chosen)
