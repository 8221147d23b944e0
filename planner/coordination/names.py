"""Deal the carriers of a stop to names, so that as little as possible is retuned."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.dealing import assign
from planner.coordination.spare_places import places_for_spares

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

LINE_WEIGHT = 4
"""A line's retune counts as much as this many of its spares', a unit (our own choice)."""

_EMPTY_LINE = 1e13
_EMPTY_SPARE = 1e12
_EARLIER = 1e9
_SPAN = 4.5e8
_PAIR = 1.5e8
_RETUNE = 1e6
_CHANNEL = 5e3
_ROLE = 1e5
_REFUSED = 1e15
_ROUNDS = 4
MOST_UNITS = 20
"""More would lift a retune above a pair kept apart."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Use:
    """What a named line uses: range, frequency [Hz], power setting [mW] or None."""

    range_key: str
    frequency_hz: int
    power_mw: float | None = None
    main: bool = True


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Names:
    """The names of one need at one stop, and what each would like.

    Attributes
    ----------
    need : str
        Name of the need.
    lines, spares : tuple of str
        Names; spares may stand on centres for spares only.
    units : int
        Packs that follow each line: a retune of the line weighs as many times, 20 at most.
    pair_with : str
        Need whose lines of the same name belong to the same performers, or empty.
    earlier : mapping of str to Use
        What an earlier plan gave the name at this stop; kept before anything else.
    last : mapping of str to Use
        What the name used at the last stop of its rig.
    reach_hz : mapping of str to (int, int)
        Lowest and highest frequency the name has used on its range [Hz].
    widths_hz : mapping of str to int
        By range: the width that one transmitter can tune [Hz].
    channels_hz : tuple of (int, int)
        TV channels: spares had better not share them with lines [Hz].
    roles : mapping of (str, int) to bool
        By range and frequency [Hz]: True for carriers meant for lines, since they last, False
        for those meant for spares; the others are for either.
    """

    need: str
    lines: tuple[str, ...]
    spares: tuple[str, ...] = ()
    units: int = 1
    pair_with: str = ""
    earlier: Mapping[str, Use] = dataclasses.field(default_factory=dict)
    last: Mapping[str, Use] = dataclasses.field(default_factory=dict)
    reach_hz: Mapping[tuple[str, str], tuple[int, int]] = dataclasses.field(default_factory=dict)
    widths_hz: Mapping[str, int] = dataclasses.field(default_factory=dict)
    channels_hz: tuple[tuple[int, int], ...] = ()
    roles: Mapping[tuple[str, int], bool] = dataclasses.field(default_factory=dict)

    @property
    def every(self) -> tuple[str, ...]:
        """Lines, then spares."""
        return (*self.lines, *self.spares)


def costs(
    names: Names,
    carriers: Sequence[Use],
    *,
    partners_hz: Mapping[str, Sequence[int]] | None = None,
    separation_hz: int = 0,
) -> NDArray[np.float64]:
    """Return what it costs to give each carrier to each name, shape (names, carriers).

    Costs are whole numbers, so that sums are exact. From heavy to light: a line on a centre for
    spares (refused), a name left empty (as a gain of filling it), a carrier other than that of
    an earlier plan or one that was another name's there, a transmitter that cannot tune so wide, a
    performer's two carriers too near each other, a retune; a spare that shares a TV channel with
    lines where another choice of spares would share less; then the order of frequencies, so that
    equal names come ascending.
    A line on a carrier meant for spares, or the other way round, costs half the retunes of a
    line and a spare and a little more: as much as can be won by such an exchange.

    Parameters
    ----------
    names, carriers : Names, sequence of Use
        Who wants, and what there is; carriers with their power.
    partners_hz : mapping of str to sequence of int, optional
        Carriers of each performer's other lines [Hz].
    separation_hz : int
        Least distance of the two [Hz].
    """
    table = np.empty((len(names.every), len(carriers)))
    others = {(use.range_key, use.frequency_hz) for use in names.earlier.values()}
    line_weight = LINE_WEIGHT * min(names.units, MOST_UNITS)
    exchange = _RETUNE / 2 * (line_weight + 1) + _ROLE
    apart = places_for_spares(carriers, len(names.spares), names.channels_hz)
    for row, name in enumerate(names.every):
        spare = row >= len(names.lines)
        weight = 1 if spare else line_weight
        for column, carrier in enumerate(carriers):
            if not (spare or carrier.main):
                # nothing else counts: what is not handed out must not sway the rest
                table[row, column] = _REFUSED
                continue
            cost = float(abs(row - column))
            cost += _CHANNEL * bool(apart and spare != (column in apart))
            cost -= _EMPTY_SPARE if spare else _EMPTY_LINE
            before = names.earlier.get(name)
            place = carrier.range_key, carrier.frequency_hz
            if place in others if before is None else not _same_place(before, carrier):
                cost += _EARLIER * weight
            if not _can_tune(names, name, carrier):
                cost += _SPAN
            for partner_hz in (partners_hz or {}).get(name, ()):
                if abs(partner_hz - carrier.frequency_hz) < separation_hz:
                    cost += _PAIR
            if name in names.last and is_retune(names.last[name], carrier):
                cost += _RETUNE * weight
            if names.roles.get((carrier.range_key, carrier.frequency_hz), not spare) == spare:
                cost += exchange
            table[row, column] = cost
    return table


def is_retune(before: Use, after: Use) -> bool:
    """Say whether frequency, power or range (and with it the mode) changed."""
    return not _same_place(before, after) or before.power_mw != after.power_mw


def deal(
    names: Names,
    carriers: Sequence[Use],
    *,
    partners_hz: Mapping[str, Sequence[int]] | None = None,
    separation_hz: int = 0,
) -> dict[str, Use]:
    """Return the dealing of least cost, by name; names for which nothing is left are missing.

    The linear assignment problem, solved exactly (:func:`planner.coordination.dealing.assign`).

    Parameters
    ----------
    names, carriers, partners_hz, separation_hz
        As for :func:`costs`; carriers ascending in frequency.
    """
    if not carriers or not names.every:
        return {}
    table = costs(names, carriers, partners_hz=partners_hz, separation_hz=separation_hz).tolist()
    return {
        names.every[row]: carriers[column]
        for row, column in enumerate(assign(table))
        if column >= 0 and table[row][column] < _REFUSED / 2
    }


def deal_stop(
    needs: Sequence[Names], carriers: Mapping[str, Sequence[Use]], *, separation_hz: int
) -> dict[tuple[str, str], Use]:
    """Deal all needs of a stop; pairs are dealt in turns until nothing gets better.

    Parameters
    ----------
    needs : sequence of Names
        The needs of the stop.
    carriers : mapping of str to sequence of Use
        Carriers of each need, ascending in frequency.
    separation_hz : int
        Least distance of the two carriers of one performer [Hz].
    """
    dealt: dict[str, dict[str, Use]] = {}
    pairs = partner_needs(needs)
    best: float | None = None
    answer: dict[str, dict[str, Use]] = {}
    for _ in range(_ROUNDS if pairs else 1):
        total = 0.0
        for names in needs:
            partners_hz = _partners_hz(names, pairs, dealt)
            mine = carriers.get(names.need, ())
            dealt[names.need] = deal(
                names, mine, partners_hz=partners_hz, separation_hz=separation_hz
            )
        for names in needs:
            total += _total(names, carriers.get(names.need, ()), dealt, pairs, separation_hz)
        if best is not None and total >= best:
            break
        best, answer = total, dict(dealt)
    return {(need, name): use for need, uses in answer.items() for name, use in uses.items()}


def partner_needs(needs: Sequence[Names]) -> dict[str, tuple[str, ...]]:
    """Return for each need those that share performers with it, both ways."""
    there = {names.need for names in needs}
    found: dict[str, list[str]] = {}
    for names in needs:
        if names.pair_with in there:
            found.setdefault(names.need, []).append(names.pair_with)
            found.setdefault(names.pair_with, []).append(names.need)
    return {need: tuple(dict.fromkeys(others)) for need, others in found.items()}


def _partners_hz(
    names: Names, pairs: Mapping[str, Sequence[str]], dealt: Mapping[str, Mapping[str, Use]]
) -> dict[str, tuple[int, ...]]:
    others = [dealt[other] for other in pairs.get(names.need, ()) if other in dealt]
    return {
        name: tuple(uses[name].frequency_hz for uses in others if name in uses)
        for name in names.lines
    }


def _total(
    names: Names,
    carriers: Sequence[Use],
    dealt: Mapping[str, Mapping[str, Use]],
    pairs: Mapping[str, Sequence[str]],
    separation_hz: int,
) -> float:
    if not carriers:
        return 0.0
    table = costs(
        names,
        carriers,
        partners_hz=_partners_hz(names, pairs, dealt),
        separation_hz=separation_hz,
    )
    where = {use: column for column, use in enumerate(carriers)}
    mine = dealt[names.need]
    return float(
        sum(table[row, where[mine[name]]] for row, name in enumerate(names.every) if name in mine)
    )


def _same_place(one: Use, two: Use) -> bool:
    return one.frequency_hz == two.frequency_hz and one.range_key == two.range_key


def _can_tune(names: Names, name: str, carrier: Use) -> bool:
    width_hz = names.widths_hz.get(carrier.range_key)
    reach = names.reach_hz.get((name, carrier.range_key))
    if width_hz is None or reach is None:
        return True
    low, high = min(reach[0], carrier.frequency_hz), max(reach[1], carrier.frequency_hz)
    return high - low <= width_hz
