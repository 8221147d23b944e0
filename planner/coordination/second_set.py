"""What to do when spectrum is lost on the day: a second set elsewhere, and channel by channel.

A block is what is lost at once: a TV channel, and outside the TV channels the unbroken window that
a carrier stands in. Fixed carriers stay on the air whatever is lost.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import kernel
from planner.coordination.first_fit import coordinate
from planner.coordination.names import Names, Use, deal
from planner.coordination.records import Wish
from planner.coordination.route import coordinate_route, orders_of
from planner.coordination.search import copy_of, scans
from planner.coordination.stand_ins import add_stand_ins
from planner.coordination.standing import Standing, partners_of, place_of, placed
from planner.coordination.tasks import StopCarriers
from planner.coordination.verify_many import require_sound_set

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination.kernel import Board
    from planner.coordination.records import Choice, Effort
    from planner.coordination.tasks import LineKey, NeedTask, StopTask

Block = tuple[int, int]
"""Low and high edge of spectrum that is lost at once [Hz]."""
_SCANS = 4
_STIRS = 40


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Loss:
    """The loss of one block, and what becomes of the carriers in it.

    Attributes
    ----------
    low_hz, high_hz : int
        Edges of the block [Hz].
    lost : tuple of (need, name)
        Names whose carrier is in it.
    moves : mapping of (need, name) to Use
        Names that are retuned, and to what.
    missing : tuple of (need, name)
        Names that had a carrier and are left without.
    """

    low_hz: int
    high_hz: int
    lost: tuple[LineKey, ...]
    moves: Mapping[LineKey, Use]
    missing: tuple[LineKey, ...]


def blocks_of(task: StopTask, carriers: Mapping[LineKey, Use]) -> tuple[Block, ...]:
    """Return the blocks that hold a carrier, ascending.

    Parameters
    ----------
    task : StopTask
        The stop: its TV channels and windows.
    carriers : mapping of (need, name) to Use
        Carriers of the stop.
    """
    needs = {need.name: need for need in task.needs}
    found = set()
    for (name, _), use in carriers.items():
        hz = use.frequency_hz
        spans = [span for span in task.channels_hz if span[0] <= hz <= span[1]]
        if not spans:
            half = needs[name].half_width_hz.get(use.range_key, 0)
            spans = [
                (low - half, high + half)
                for choice in needs[name].choices
                if choice.range_key == use.range_key
                for low, high in (*choice.grid.windows_hz, *choice.spare_grid.windows_hz)
                if low <= hz <= high
            ]
        found.update(spans[:1])
    return tuple(sorted(found))


def second_set(
    task: StopTask, stop: StopCarriers, *, effort: Effort = "quick"
) -> StopCarriers | None:
    """Find another set for a stop, outside every block that the first one uses.

    Parameters
    ----------
    task, stop : StopTask, StopCarriers
        What the stop asks for, and its carriers.
    effort : str
        Of the search.

    Returns
    -------
    StopCarriers or None
        As complete as was found, verified; None where nothing fits or no carrier is planned.
    """
    closed = _closed(task, blocks_of(task, stop.carriers))
    if not stop.carriers or not any(
        grid.windows_hz
        for need in closed.needs
        for choice in need.choices
        for grid in (choice.grid, choice.spare_grid)
    ):
        return None
    answer = coordinate_route((closed,), effort=effort).stops[0]
    answer = add_stand_ins(closed, answer)
    _require_sound(closed, answer)
    return answer if answer.carriers else None


def channel_losses(
    task: StopTask, stop: StopCarriers, *, thorough: bool = True
) -> tuple[Loss, ...]:
    """Return for each block in use what happens when it is lost, ascending.

    Parameters
    ----------
    task, stop : StopTask, StopCarriers
        What the stop asks for, and its carriers.
    thorough : bool
        Where a line would go without, look whether others can move for it.

    Returns
    -------
    tuple of Loss
        All other carriers stay where that leaves no line without a carrier; else as many as the
        search can keep. A line takes the carrier of a spare before it goes without. Every set
        that results is verified.
    """
    search = _Losses(task, stop, thorough=thorough)
    return tuple(search.lose(block) for block in blocks_of(task, stop.carriers))


class _Losses:
    """The board of a stop, from which blocks are closed one at a time."""

    def __init__(self, task: StopTask, stop: StopCarriers, *, thorough: bool) -> None:
        self._task, self._stop, self._thorough = task, stop, thorough
        together = {key: use for key, use in stop.carriers.items() if key not in stop.stand_ins}
        self._standing = Standing(task, together)
        # an earlier plan does not say which centres are for spares only
        self._together = {
            key: dataclasses.replace(use, main=self._standing.is_main(key))
            for key, use in together.items()
        }
        self._partners = partners_of(task)
        self._spares = {(need.name, name) for need in task.needs for name in need.spares}

    def lose(self, block: Block) -> Loss:
        """Return what happens when a block is lost."""
        low, high = block
        lost = tuple(
            key for key, use in self._stop.carriers.items() if low <= use.frequency_hz <= high
        )
        kept = {key: use for key, use in self._together.items() if key not in lost}
        carriers = self._refilled(block, kept)
        if self._thorough and self._lines_missing(carriers):
            again = self._again(block, kept)
            if self._lines_missing(again) < self._lines_missing(carriers):
                carriers = again
        require_sound_set(
            placed(self._task, carriers), self._task.fixed, company=self._task.company
        )
        old, new = self._stop.carriers, {**carriers, **self._standing_in(block, carriers)}
        return Loss(
            low_hz=low,
            high_hz=high,
            lost=lost,
            moves={
                key: use
                for key, use in new.items()
                if key in old and _place(use) != _place(old[key])
            },
            missing=tuple(key for key in old if key not in new),
        )

    def _standing_in(self, block: Block, carriers: Mapping[LineKey, Use]) -> dict[LineKey, Use]:
        """Return the stand-ins beside the carriers that are left: kept ones that serve, others."""
        stand_ins = self._stop.stand_ins
        if not stand_ins:
            return {}
        closed = _closed(self._task, (block,))
        needs = tuple(
            dataclasses.replace(
                need,
                spares=tuple(n for n in need.spares if (need.name, n) in carriers),
                stand_ins=tuple(n for n in need.every_name if (need.name, n) in stand_ins),
            )
            for need in closed.needs
        )
        answer = add_stand_ins(
            dataclasses.replace(closed, needs=needs),
            StopCarriers(stop_id=closed.stop_id, carriers=carriers, missing={}),
            last={key: self._stop.carriers[key] for key in stand_ins},
        )
        return {key: answer.carriers[key] for key in answer.stand_ins}

    def _refilled(self, block: Block, kept: Mapping[LineKey, Use]) -> dict[LineKey, Use]:
        """Return the kept carriers and new ones for the lost names; nobody else moves."""
        base = self._without(block, kept)
        order = range(len(self._task.needs))
        boards = []
        for scan in scans(_SCANS):
            board = copy_of(base)
            self._standing.search.fill(board, scan, order)
            boards.append(board)
            if kernel.shortage(board.needs) == (0, 0) and not self._partners:
                break
        if min(kernel.shortage(board.needs) for board in boards) > (0, 0):
            board = copy_of(base)
            self._standing.search.stir(board, order, _STIRS)
            boards.append(board)
        least = min(kernel.shortage(board.needs) for board in boards)
        full = [board for board in boards if kernel.shortage(board.needs) == least]
        dealt = [
            self._dealt(self._fresh(board), kept)
            for board in (full if self._partners else full[:1])
        ]
        return min(dealt, key=self._merit)

    def _without(self, block: Block, kept: Mapping[LineKey, Use]) -> Board:
        """Return the board with the block closed and what stood there gone."""
        standing = self._standing
        board = standing.copy()
        for key, (number, at) in standing.there.items():
            if key not in kept:
                kernel.take(board, place_of(board, number, at))
        for number, row in enumerate(standing.search.rows):
            need = self._task.needs[row.need]
            half = need.half_width_hz.get(row.choice.range_key, 0)
            low, high = standing.span(number)
            inside = (row.points_hz > block[0] - half) & (row.points_hz < block[1] + half)
            board.cover[low:high] += inside
            own = next(c for c in need.choices if c.range_key == row.choice.range_key)
            if own.most is not None:
                board.rows[number, kernel.CAP] = own.most
        for place, need in enumerate(self._task.needs):
            keys = [key for key in self._together if key[0] == need.name]
            spares = [key for key in keys if key in self._spares]
            board.needs[place, kernel.LINES] = len(keys) - len(spares)
            board.needs[place, kernel.SPARES] = len(spares)
            board.needs[place, kernel.RESERVED] = sum(
                bool(board.centres[standing.there[key][1], kernel.MAIN])
                for key in spares
                if key in kept and key in standing.there
            )
        return board

    def _fresh(self, board: Board) -> dict[str, list[Use]]:
        """Return what is new on a board, by need."""
        found: dict[str, list[Use]] = {}
        for k in range(int(board.state[kernel.COUNT])):
            number = int(board.standing[k, kernel.ROW])
            if number >= 0 and not board.standing[k, kernel.KEPT]:
                row = self._standing.search.rows[number]
                need = self._task.needs[row.need]
                main = bool(board.centres[board.standing[k, kernel.AT], kernel.MAIN])
                hz = int(board.standing[k, kernel.HZ])
                use = need.use(row.choice.range_key, hz, main=main)
                found.setdefault(need.name, []).append(use)
        return found

    def _dealt(
        self, fresh: Mapping[str, Sequence[Use]], kept: Mapping[LineKey, Use]
    ) -> dict[LineKey, Use]:
        """Give new carriers to the names that have none."""
        carriers = dict(kept)
        for need in self._task.needs:
            self._deal_need(need, list(fresh.get(need.name, ())), carriers)
        return {key: carriers[key] for key in self._together if key in carriers}

    def _deal_need(self, need: NeedTask, fresh: list[Use], carriers: dict[LineKey, Use]) -> None:
        gone = [key for key in self._together if key[0] == need.name and key not in carriers]
        lines = [name for owner, name in gone if (owner, name) not in self._spares]
        spares = [name for owner, name in gone if (owner, name) in self._spares]
        if sum(use.main for use in fresh) < len(lines):
            for key in [key for key in carriers if key[0] == need.name and key in self._spares]:
                fresh.append(carriers.pop(key))
                spares.append(key[1])
        partners = self._partners.get(need.name, ())
        dealt = deal(
            Names(
                need=need.name,
                lines=tuple(lines),
                spares=tuple(spares),
                units=need.units,
                last={name: self._together[need.name, name] for name in (*lines, *spares)},
                reach_hz={
                    (name, use.range_key): (use.frequency_hz, use.frequency_hz)
                    for name in lines
                    for use in [self._together[need.name, name]]
                },
                widths_hz=need.widths_hz,
            ),
            sorted(fresh, key=lambda use: (use.frequency_hz, use.range_key)),
            partners_hz={
                name: [
                    carriers[other, name].frequency_hz
                    for other in partners
                    if (other, name) in carriers
                ]
                for name in lines
            },
            separation_hz=self._task.separation_hz,
        )
        carriers.update({(need.name, name): use for name, use in dealt.items()})

    def _again(self, block: Block, kept: Mapping[LineKey, Use]) -> dict[LineKey, Use]:
        """Coordinate anew around what is lost, every other carrier kept that can be."""
        closed = _closed(self._task, (block,))
        needs = tuple(
            dataclasses.replace(
                need,
                lines=tuple(n for n in need.lines if (need.name, n) in self._together),
                spares=tuple(n for n in need.spares if (need.name, n) in self._together),
            )
            for need in closed.needs
        )
        wishes: dict[str, list[Wish]] = {}
        for (need, name), use in kept.items():
            wish = Wish(
                range_key=use.range_key,
                frequency_hz=use.frequency_hz,
                spare=(need, name) in self._spares,
            )
            wishes.setdefault(need, []).append(wish)
        orders = orders_of(dataclasses.replace(closed, needs=needs), wishes)
        answer = coordinate(orders, closed.fixed, company=closed.company, effort="glance")
        carriers: dict[LineKey, Use] = {}
        fresh: dict[str, list[Use]] = {}
        for asked, filled in zip(needs, answer.filled, strict=True):
            owners = {_place(use): key for key, use in kept.items() if key[0] == asked.name}
            for row in filled.carriers:
                use = asked.use(row.range_key, row.frequency_hz, main=row.main)
                owner = owners.get(_place(use))
                if owner is None:
                    fresh.setdefault(asked.name, []).append(use)
                else:
                    carriers[owner] = use
        return self._dealt(fresh, carriers)

    def _lines_missing(self, carriers: Mapping[LineKey, Use]) -> int:
        return sum(key not in carriers for key in self._together if key not in self._spares)

    def _merit(self, carriers: Mapping[LineKey, Use]) -> tuple[int, int, int]:
        """Return lines and spares missing, and performers whose carriers came too near."""
        lines = self._lines_missing(carriers)
        near = 0
        for (need, name), use in carriers.items():
            for other in self._partners.get(need, ()):
                partner = carriers.get((other, name))
                if partner is not None:
                    apart = abs(partner.frequency_hz - use.frequency_hz)
                    near += apart < min(self._task.separation_hz, self._apart(need, other, name))
        return lines, len(self._together) - len(carriers) - lines, near

    def _apart(self, need: str, other: str, name: str) -> int:
        """Return how far apart a performer's carriers are in the first set [Hz]."""
        one, two = self._together.get((need, name)), self._together.get((other, name))
        return abs(one.frequency_hz - two.frequency_hz) if one and two else 0


def _closed(task: StopTask, blocks: Sequence[Block]) -> StopTask:
    """Return the task with some spectrum closed and nothing to keep."""

    def without(need: NeedTask, choice: Choice) -> Choice:
        half_hz = need.half_width_hz.get(choice.range_key, 0)
        wide = [(low - half_hz, high + half_hz) for low, high in blocks]
        return dataclasses.replace(
            choice, grid=choice.grid.outside(wide), spare_grid=choice.spare_grid.outside(wide)
        )

    needs = tuple(
        dataclasses.replace(need, choices=tuple(without(need, row) for row in need.choices))
        for need in task.needs
    )
    return dataclasses.replace(
        task, needs=needs, keep={}, settled=False, known={}, keep_stand_ins={}
    )


def _require_sound(task: StopTask, stop: StopCarriers) -> None:
    together = {key: use for key, use in stop.carriers.items() if key not in stop.stand_ins}
    require_sound_set(placed(task, together), task.fixed, company=task.company)


def _place(use: Use) -> tuple[str, int]:
    return use.range_key, use.frequency_hz
