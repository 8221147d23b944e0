"""Rank the tuning ranges of each need by the stops they serve and the margin at the worst."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, NamedTuple

from planner.coordination import (
    Grid,
    GuardSet,
    PlacedCarrier,
    count_fit,
    require_sound,
    upper_bound,
)
from planner.coordination.blocks import block_guards, blocks_headroom, counting_guards
from planner.coordination.verify_many import require_sound_set
from planner.records.gear import RETURN
from planner.spectrum import IntervalSet, common, meet
from planner.workers import side_by_side

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from planner.coordination import Effort
    from planner.occupancy import RangeWindows
    from planner.records import GearRange, Need, Stop
    from planner.spectrum import Span

_FEW = 64
"""Carriers of a set that are verified with all products of three as one array (3 MB)."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RangeCount:
    """How many carriers of one use alone fit at one stop.

    Attributes
    ----------
    clear_hz, faint_hz : tuple of int
        Carriers found in the clear windows, and further ones in faint windows [Hz].
    clear_limit, faint_limit : int
        Proven upper bounds of the two counts.
    links : int
        Links that each of them carries: more than 1 for a wideband block.
    """

    clear_hz: tuple[int, ...]
    faint_hz: tuple[int, ...]
    clear_limit: int
    faint_limit: int
    links: int = 1

    def found(self, spares: int) -> int:
        """Return what counts towards a need, in links: faint carriers only as spares."""
        extra = min(-(-spares // self.links), len(self.faint_hz))
        return self.links * (len(self.clear_hz) + extra)

    def limit(self, spares: int) -> int:
        """Return the proven bound of :meth:`found`."""
        extra = min(-(-spares // self.links), self.faint_limit)
        return self.links * (self.clear_limit + extra)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RankedRange:
    """The place of one range for one need, with the reason.

    Attributes
    ----------
    need, range_key, rank : str, str, int
        ``rank`` counts from 1.
    headrooms : tuple of (str, int)
        Headroom at each stop of the need, in route order.
    stops_met, stops, confirmed_met : int
        Stops at which headroom is not negative, stops in all, confirmed ones among those met.
    worst_stop, worst_headroom, worst_headroom_limit : str, int, int
        Least headroom, the first stop of the route that has it, and the bound there.
    common_usable_hz : int
        Width usable at every stop [Hz].
    why : str
        One sentence.
    noise_over_db : float
        By how much external noise lifts the floor of the reference receiver, at the worst stop
        [dB].
    """

    need: str
    range_key: str
    rank: int
    headrooms: tuple[tuple[str, int], ...]
    stops_met: int
    stops: int
    confirmed_met: int
    worst_stop: str
    worst_headroom: int
    worst_headroom_limit: int
    common_usable_hz: int
    why: str
    noise_over_db: float = 0.0


def guards_of(gear: GearRange) -> GuardSet:
    """Return the guard set of a catalogue row."""
    if gear.links_per_block:
        return block_guards(gear)
    return GuardSet(
        spacing_hz=gear.spacing_hz,
        guard_2a_b_hz=gear.guard_2a_b_hz,
        guard_a_b_c_hz=gear.guard_a_b_c_hz,
        guard_3a_2b_hz=gear.guard_3a_2b_hz,
    )


def grid_of(gear: GearRange, raster_hz: tuple[int, int], centres_hz: Sequence[Span]) -> Grid:
    """Return the carrier grid of a range: its own step and the law's raster together.

    A range whose grid never meets the raster gets a grid without windows.
    """
    met = meet((gear.tuning_origin_hz, gear.step_hz), raster_hz)
    if met is None:
        return Grid(origin_hz=gear.tuning_origin_hz, step_hz=gear.step_hz, windows_hz=())
    return Grid(origin_hz=met[0], step_hz=met[1], windows_hz=tuple(centres_hz))


class Counter:
    """Counts carriers for (range, stop) pairs, each distinct question once."""

    def __init__(self, effort: Effort) -> None:
        self._effort = effort
        self._known: dict[_Asked, RangeCount] = {}

    def count(
        self, gear: GearRange, windows: RangeWindows, raster_hz: tuple[int, int], *, spares: int
    ) -> RangeCount:
        """Return the count of one range in one stop's windows.

        Parameters
        ----------
        gear, windows, raster_hz : GearRange, RangeWindows, (int, int)
            The use, where it may stand, and the law's raster.
        spares : int
            Most carriers wanted from faint windows.
        """
        return self.count_all([(gear, windows, raster_hz, spares)])[0]

    def count_all(
        self, asked: Iterable[tuple[GearRange, RangeWindows, tuple[int, int], int]]
    ) -> list[RangeCount]:
        """Return the counts of many, in order; equal questions have one record.

        Parameters
        ----------
        asked : iterable
            What :meth:`count` takes, as tuples.
        """
        questions = [_asked(*row) for row in asked]
        new = [row for row in dict.fromkeys(questions) if row not in self._known]
        self._known.update(zip(new, side_by_side(self._counted, new), strict=True))
        return [self._known[row] for row in questions]

    def _counted(self, asked: _Asked) -> RangeCount:
        clear_limit, faint_limit = (
            _bound(grid, asked.guards) for grid in (asked.clear, asked.faint)
        )
        fit = count_fit(
            asked.clear,
            asked.guards,
            extra_grid=asked.faint,
            extra_most=asked.spares,
            limit=clear_limit + min(asked.spares, faint_limit),
            effort=self._effort,
        )
        placed = [
            PlacedCarrier(frequency_hz=frequency_hz, guards=asked.guards)
            for frequency_hz in (*fit.carriers_hz, *fit.extra_hz)
        ]
        # arrays of all products of three are large where many carriers stand
        (require_sound_set if len(placed) <= _FEW else require_sound)(placed)
        return RangeCount(
            clear_hz=fit.carriers_hz,
            faint_hz=fit.extra_hz,
            clear_limit=clear_limit,
            faint_limit=faint_limit,
            links=asked.links,
        )


class _Asked(NamedTuple):
    """A question of :class:`Counter`: grids, guards, spares and links of one carrier."""

    clear: Grid
    faint: Grid
    guards: GuardSet
    spares: int
    links: int


def _asked(
    gear: GearRange, windows: RangeWindows, raster_hz: tuple[int, int], spares: int
) -> _Asked:
    links = gear.links_per_block or 1
    return _Asked(
        clear=grid_of(gear, raster_hz, windows.centres_hz),
        faint=grid_of(gear, raster_hz, windows.faint_centres_hz),
        guards=counting_guards(gear) if gear.links_per_block else guards_of(gear),
        spares=-(-spares // links),
        links=links,
    )


def _bound(grid: Grid, guards: GuardSet) -> int:
    if not grid.windows_hz:
        return 0
    return upper_bound(
        grid.windows_hz, step_hz=grid.step_hz, origin_hz=grid.origin_hz, guards=guards
    )


def considered(need: Need, catalogue: Sequence[GearRange]) -> tuple[GearRange, ...]:
    """Return the catalogue rows a need may use, in catalogue order.

    The role must agree, and the form and the family where both sides name one.
    """
    return tuple(
        gear
        for gear in catalogue
        if gear.role == need.role
        and (not need.gear or gear.family in need.gear)
        and (not need.form or not gear.form or gear.form == need.form)
    )


def fold_counts(figures: Mapping[str, int], *, worst: str = "least") -> dict[str, int]:
    """Return figures by need, with the worse way where there are two.

    Parameters
    ----------
    figures : mapping of str to int
        By need, ways back apart.
    worst : str
        ``"least"`` for headroom, ``"most"`` for what is missing.
    """
    found: dict[str, int] = {}
    pick = min if worst == "least" else max
    for name, figure in figures.items():
        own = name.removesuffix(RETURN)
        found[own] = pick(found[own], figure) if own in found else figure
    return found


def rank_need(  # noqa: PLR0913 - what it weighs, all named
    need: Need,
    ranges: Sequence[GearRange],
    stops: Sequence[Stop],
    *,
    counts: Mapping[tuple[str, str], RangeCount],
    windows: Mapping[tuple[str, str], RangeWindows],
    owned: Mapping[str, int] | None = None,
    noise_over_db: Mapping[str, float] | None = None,
) -> tuple[RankedRange, ...]:
    """Rank ranges by stops met, external noise, headroom at the worst and in sum, what is owned.

    Confirmed stops count before stops on hold. What is missing counts before noise, noise before
    what is left over: every full 6 dB by which external noise lifts the floor halves the range of
    a link in free space.

    Parameters
    ----------
    need : Need
        The need.
    ranges : sequence of GearRange
        Those considered, in catalogue order.
    stops : sequence of Stop
        Stops of the need, in route order.
    counts, windows : mapping of (range key, stop id)
        Count and windows of each range at each stop.
    owned : mapping of str to int, optional
        Pieces that are there already, by range key; on ties more are better, then the
        catalogue's order decides.
    noise_over_db : mapping of str to float, optional
        By how much external noise lifts the floor in each range, at the worst stop [dB].
    """
    wanted = need.count + need.full_spares
    lifted = noise_over_db or {}
    rows = []
    retired = {gear.key for gear in ranges if gear.status == "discontinued"}
    unchecked = {
        gear.key
        for gear in ranges
        if any(windows[gear.key, stop.id].unchecked_hz for stop in stops)
    }
    for gear in ranges:
        heads = tuple((stop.id, _headroom(need, gear, counts[gear.key, stop.id])) for stop in stops)
        if not heads:
            continue
        worst_stop, worst = min(heads, key=lambda item: item[1])
        rows.append(
            RankedRange(
                need=need.name,
                range_key=gear.key,
                rank=0,
                headrooms=heads,
                stops_met=sum(head >= 0 for _, head in heads),
                stops=len(heads),
                confirmed_met=sum(
                    head >= 0 and stop.status == "confirmed"
                    for stop, (_, head) in zip(stops, heads, strict=True)
                ),
                worst_stop=worst_stop,
                worst_headroom=worst,
                worst_headroom_limit=_headroom(
                    need, gear, counts[gear.key, worst_stop], proven=True
                ),
                common_usable_hz=common(
                    [IntervalSet(windows[gear.key, stop.id].clear_hz) for stop in stops]
                ).width_hz,
                why="",
                noise_over_db=lifted.get(gear.key, 0.0),
            )
        )
    there = owned or {}
    order = sorted(rows, key=lambda row: -there.get(row.range_key, 0))
    order.sort(key=_merit, reverse=True)
    return tuple(
        dataclasses.replace(
            row,
            rank=i + 1,
            why=_why(row, order[i - 1] if i else None, wanted)
            + "; rests on spectrum that no table covers: not checked" * (row.range_key in unchecked)
            + "; discontinued" * (row.range_key in retired),
        )
        for i, row in enumerate(order)
    )


def _headroom(need: Need, gear: GearRange, count: RangeCount, *, proven: bool = False) -> int:
    """Return the headroom that a count, or its proven bound, leaves a need."""
    if gear.links_per_block:
        clear = count.clear_limit if proven else len(count.clear_hz)
        faint = count.faint_limit if proven else len(count.faint_hz)
        return blocks_headroom(need, gear, clear=clear, faint=faint)
    found = count.limit(need.full_spares) if proven else count.found(need.full_spares)
    return _stocked(need, gear, found) - need.count - need.full_spares


def _stocked(need: Need, gear: GearRange, carriers: int) -> int:
    """Return how many carriers there is gear for; a spare frequency needs no piece of its own."""
    return carriers if gear.available is None else min(carriers, gear.available + need.spares)


NOISE_STEP_DB = 6.0
"""Step in which external noise tells ranges apart [dB]: half the range in free space."""


def _merit(row: RankedRange) -> tuple[int, int, int, int, int, int]:
    return (
        row.confirmed_met,
        row.stops_met,
        min(row.worst_headroom, 0),
        -int(row.noise_over_db // NOISE_STEP_DB),
        row.worst_headroom,
        sum(head for _, head in row.headrooms),
    )


def _all_of(stops: int) -> str:
    return f"all {stops} stops" if stops > 1 else "the one stop"


def _why(row: RankedRange, above: RankedRange | None, wanted: int) -> str:
    short = [(stop, -head) for stop, head in row.headrooms if head < 0]
    if not short:
        text = (
            f"meets {_all_of(row.stops)}; tightest at {row.worst_stop}, "
            f"{row.worst_headroom} more than the {wanted} wanted"
        )
    else:
        where = ", ".join(f"{stop} ({missing} short)" for stop, missing in short[:3])
        more = f" and {len(short) - 3} more" if len(short) > 3 else ""
        plural = "s" * (row.stops != 1)
        text = f"meets {row.stops_met} of {row.stops} stop{plural}; fails at {where}{more}"
        proven = row.worst_headroom_limit < 0
        text += (
            f"; at {row.worst_stop} no set can do it "
            f"(proven bound {-row.worst_headroom_limit} short)"
            if proven
            else f"; at {row.worst_stop} the bound leaves it open"
        )
    if row.noise_over_db >= NOISE_STEP_DB:
        text += f"; external noise lifts the floor here by up to {row.noise_over_db:.0f} dB"
    if above is not None and _merit(above) == _merit(row):
        text += f"; tie with {above.range_key}: what is owned, then catalogue order decides"
    return text
