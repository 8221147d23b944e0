"""Proven bounds of many needs at one stop: a set that cannot exist comes back as a proof."""

from __future__ import annotations

import dataclasses
import itertools
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import kernel
from planner.coordination.bounds import Lattice, cover_bound
from planner.coordination.bounds_spans import SEARCH_STEPS, Distances, least_spans
from planner.coordination.bounds_windows import least_differences, pair_bound, sliding_bound
from planner.coordination.company import TOGETHER, Company
from planner.coordination.records import GuardSet, Order, PlacedCarrier
from planner.coordination.search import Search
from planner.coordination.verify import violations

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

_MOST_FOR_ALL_SUBSETS = 6
_MOST_FOR_FAMILIES = 10


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CommonLimit:
    """How many carriers some needs can have together.

    Attributes
    ----------
    needs : tuple of str
        Their names.
    wanted : int
        Carriers they ask for together.
    limit : int
        No valid set holds more carriers of these needs; not above ``wanted``.
    """

    needs: tuple[str, ...]
    wanted: int
    limit: int

    @property
    def missing(self) -> int:
        """Carriers of these needs that no set can have."""
        return self.wanted - self.limit


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopLimits:
    """What is proven about the needs of one stop.

    Attributes
    ----------
    lines, carriers : tuple of CommonLimit
        For sets of needs, of their lines alone and of their lines and spares.
    lines_proof, carriers_proof : tuple of CommonLimit
        Sets without a need in common whose missing carriers add up to the most; empty when
        nothing is proven to be missing.
    """

    lines: tuple[CommonLimit, ...]
    carriers: tuple[CommonLimit, ...]
    lines_proof: tuple[CommonLimit, ...]
    carriers_proof: tuple[CommonLimit, ...]

    @property
    def missing_lines(self) -> int:
        """Lines that no set can have."""
        return sum(limit.missing for limit in self.lines_proof)

    @property
    def missing(self) -> int:
        """Lines and spares that no set can have."""
        return sum(limit.missing for limit in self.carriers_proof)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Asked:
    """Carriers of one kind, by what holds for each of them.

    ``points_hz`` are their centres; ``guards`` are the least of what they may get.
    """

    wanted: int
    points_hz: NDArray[np.int64]
    step_hz: int
    guards: GuardSet
    group: int


def stop_limits(
    orders: Sequence[Order],
    fixed: Sequence[PlacedCarrier] = (),
    company: Company = TOGETHER,
    *,
    search_steps: int = SEARCH_STEPS,
) -> StopLimits:
    """Prove how many carriers of the needs of a stop can stand, for sets of needs.

    Parameters
    ----------
    orders : sequence of Order
        What the needs ask for; wishes and chassis play no part.
    fixed : sequence of PlacedCarrier
        Carriers on the air already.
    company : Company
        Who is on with whom. Needs that are never on at one time have no limit in common; where
        products between their zones are left out, only distances count.
    search_steps : int
        See :func:`planner.coordination.upper_bound`.

    Returns
    -------
    StopLimits
        Limits of every set of needs for six needs or fewer; of single needs, pairs and all of
        them for more.

    Notes
    -----
    Whatever a valid set of the stop holds of some needs is a valid set too. Fixed carriers close
    centres for each need. Blocks make no products, so that beside one only distances count. Of
    what is left:

    Distances. Between two carriers the larger spacing governs, so the least spacing of all holds
    for every pair. A piece from A to B with carriers of spacings s_1 ... s_q spans at least the
    sum of max(s_j, s_(j+1)) >= sum of (s_j + s_(j+1)) / 2 >= (sum of s_j) - (largest), so over
    all pieces the spacings add up to no more than the sum of (width + largest); with the
    smallest spacings taken first that bounds the number.

    2A-B and least spans. For three carriers x < y < z the product 2y - x is a guard of z from z,
    and 2y - z a guard of x from x: the larger guard of the two governs abs(x + z - 2y), and the
    least guard of all holds for every three. :func:`~planner.coordination.bounds_spans.least_spans`
    with the least distances of all holds for the mixed set.

    Differences. For four carriers abs(a + b - c - d) is the distance of a product from each of
    the four, so the largest of their guards A+B-C governs. Take a guard h of some needs. Two
    pairs that share no carrier have differences h apart if one of the four is of a need with a
    guard of h or more; all pairs but those of two ``loose`` carriers (with lesser guards) keep h
    from all others. So the bounds over pairs hold with the loose pairs counted apart, see
    :func:`~planner.coordination.bounds_windows.sliding_bound`. This is done for every h.

    Fixed carriers that make products, violate nothing among themselves and have the least
    spacing of all may be counted as members; both counts are made.

    Needs of which the limits are proven apart may add up: sets of needs without a need in common
    are chosen so that the most is missing.
    """
    asker = _Asker(orders, fixed, company, search_steps)
    lines = asker.limits(spares=False)
    carriers = asker.limits(spares=True)
    number = {order.name: k for k, order in enumerate(orders)}
    return StopLimits(
        lines=lines,
        carriers=carriers,
        lines_proof=_best_family(lines, number),
        carriers_proof=_best_family(carriers, number),
    )


class _Asker:
    """The needs of a stop, with the centres that the fixed carriers leave them."""

    def __init__(
        self,
        orders: Sequence[Order],
        fixed: Sequence[PlacedCarrier],
        company: Company,
        search_steps: int,
    ) -> None:
        self._orders = orders
        self._fixed = fixed
        self._company = company
        self._steps = search_steps

    def limits(self, *, spares: bool) -> tuple[CommonLimit, ...]:
        """Return the limits of sets of needs, of lines alone or of lines and spares."""
        asked = [self._asked(order, spares=spares) for order in self._orders]
        found = []
        for chosen in _subsets(len(asked)):
            groups = {asked[k].group for k in chosen}
            if not self._company.together(groups):
                continue
            wanted = sum(self._orders[k].count + self._orders[k].spares * spares for k in chosen)
            limit = self._limit([asked[k] for k in chosen])
            names = tuple(self._orders[k].name for k in chosen)
            found.append(CommonLimit(needs=names, wanted=wanted, limit=min(wanted, limit)))
        return tuple(found)

    def _asked(self, order: Order, *, spares: bool) -> _Asked:
        board = Search(
            [dataclasses.replace(order, count=0, spares=int(spares), wishes=())],
            self._fixed,
            company=self._company,
        ).begin()
        free = board.cover == 0
        if not spares:
            free = free & (board.centres[:, kernel.MAIN] != 0)
        wanted = order.count + order.spares * spares
        mosts = [choice.most for choice in order.choices]
        if all(most is not None for most in mosts):
            wanted = min(wanted, sum(most for most in mosts if most is not None))
        guards = [choice.guards for choice in order.choices]
        grids = [grid for choice in order.choices for grid in (choice.grid, choice.spare_grid)]
        return _Asked(
            wanted=wanted,
            points_hz=np.unique(board.centres[free, kernel.POINT]),
            step_hz=max((grid.step_hz for grid in grids), default=1),
            guards=_least(guards),
            group=order.group,
        )

    def _limit(self, asked: Sequence[_Asked]) -> int:
        """Return how many carriers of some kinds can stand together."""
        asked = [kind for kind in asked if kind.wanted and kind.points_hz.size]
        if not asked:
            return 0
        total = sum(kind.wanted for kind in asked)
        zones = {self._company.groups[kind.group].zone for kind in asked}
        silent = not self._company.silent.isdisjoint(kind.group for kind in asked)
        if silent or any({victim, *sources} <= zones for victim, sources in self._company.unheard):
            asked = [
                dataclasses.replace(kind, guards=GuardSet(spacing_hz=kind.guards.spacing_hz))
                for kind in asked
            ]
            return min(total, _limit_of(asked, self._steps))
        limit = min(total, _limit_of(asked, self._steps))
        members = self._members(asked)
        if members:
            limit = min(limit, _limit_of([*asked, *members], self._steps) - len(members))
        return max(0, limit)

    def _members(self, asked: Sequence[_Asked]) -> list[_Asked]:
        """Return the fixed carriers that may be counted with some kinds, one a kind."""
        least_hz = min(kind.guards.spacing_hz for kind in asked)
        groups = {kind.group for kind in asked}
        able = {
            c.frequency_hz: c
            for c in self._fixed
            if c.source
            and c.guards.spacing_hz >= least_hz
            and self._company.together({*groups, c.group})
            and not self._company.unheard
            and c.group not in self._company.silent
        }
        wrong = violations(tuple(able.values()))
        bad = {hz for violation in wrong for hz in violation.carriers_hz}
        together = self._company.together({*groups, *(c.group for c in able.values())})
        return [
            _Asked(
                wanted=1,
                points_hz=np.array([hz], dtype=np.int64),
                step_hz=1,
                guards=c.guards,
                group=c.group,
            )
            for hz, c in sorted(able.items())
            if together and hz not in bad
        ]


def _limit_of(asked: Sequence[_Asked], steps: int) -> int:
    """Return a bound of the carriers of some kinds that stand together."""
    points = np.unique(np.concatenate([kind.points_hz for kind in asked]))
    unit_hz = int(np.gcd.reduce(np.diff(points))) if points.size > 1 else asked[0].step_hz
    step_hz = max(unit_hz, *(kind.step_hz for kind in asked))
    lattice = Lattice.of(points, step_hz, (), unit_hz=unit_hz)
    least = _distances(_least(kind.guards for kind in asked), lattice)
    longest = int(lattice.high[-1])
    spans = least_spans(longest, least, steps)
    limit = min(cover_bound(lattice, spans), _spacing_bound(asked, lattice))
    pieces = lattice.pieces(least.spacing)
    for guard_hz in sorted({kind.guards.guard_a_b_c_hz for kind in asked} - {0}):
        loose = [kind for kind in asked if kind.guards.guard_a_b_c_hz < guard_hz]
        number = sum(kind.wanted for kind in loose)
        if loose:
            apart = _distances(_least(kind.guards for kind in loose), lattice)
            loose_spans = least_spans(longest, apart, steps)
        else:
            loose_spans = spans
        kept = dataclasses.replace(least, cross=lattice.units(guard_hz))
        for way in kept.apart():
            differences = least_differences(lattice.low, lattice.high, least.spacing, way)
            limit = min(limit, pair_bound(differences.size + number * (number - 1) // 2))
            limit = sliding_bound(pieces, differences, spans, limit, loose=(number, loose_spans))
    return limit


def _spacing_bound(asked: Sequence[_Asked], lattice: Lattice) -> int:
    """Return how many carriers fit by their own spacings, the smallest first."""
    spacings = sorted(
        itertools.chain.from_iterable(
            [max(1, lattice.units(kind.guards.spacing_hz))] * kind.wanted for kind in asked
        )
    )
    if not spacings:
        return 0
    low, high = lattice.pieces(spacings[-1])
    room = int((high - low + spacings[-1]).sum())
    return int(np.searchsorted(np.cumsum(spacings), room, side="right"))


def _least(guards: Iterable[GuardSet]) -> GuardSet:
    """Return the least distance of each kind."""
    rows = list(guards) or [GuardSet(spacing_hz=0)]
    return GuardSet(
        spacing_hz=min(row.spacing_hz for row in rows),
        guard_2a_b_hz=min(row.guard_2a_b_hz for row in rows),
        guard_a_b_c_hz=min(row.guard_a_b_c_hz for row in rows),
        guard_3a_2b_hz=min(row.guard_3a_2b_hz for row in rows),
    )


def _distances(guards: GuardSet, lattice: Lattice) -> Distances:
    return Distances(
        spacing=max(1, lattice.units(guards.spacing_hz)),
        chain=lattice.units(guards.guard_2a_b_hz),
        cross=lattice.units(guards.guard_a_b_c_hz),
        fifth=lattice.units(guards.guard_3a_2b_hz),
    )


def _subsets(number: int) -> list[tuple[int, ...]]:
    """Return all subsets of a few, else single ones, pairs and all."""
    sizes: Iterable[int] = range(1, number + 1)
    if number > _MOST_FOR_ALL_SUBSETS:
        sizes = (1, 2, number)
    return [chosen for size in sizes for chosen in itertools.combinations(range(number), size)]


def _best_family(limits: Sequence[CommonLimit], number: dict[str, int]) -> tuple[CommonLimit, ...]:
    """Return the limits without a need in common whose missing carriers add up to the most."""
    short = [limit for limit in limits if limit.missing > 0]
    if len(number) > _MOST_FOR_FAMILIES:
        singles = tuple(limit for limit in short if len(limit.needs) == 1)
        largest = max(short, key=lambda limit: limit.missing, default=None)
        if largest is None or sum(limit.missing for limit in singles) >= largest.missing:
            return singles
        return (largest,)
    best: dict[int, tuple[int, tuple[CommonLimit, ...]]] = {0: (0, ())}
    for limit in sorted(short, key=lambda limit: len(limit.needs)):
        mask = sum(1 << number[name] for name in limit.needs)
        for used, (missing, family) in list(best.items()):
            if used & mask:
                continue
            longer = (missing + limit.missing, (*family, limit))
            if longer[0] > best.get(used | mask, (0, ()))[0]:
                best[used | mask] = longer
    return max(best.values(), key=lambda item: item[0])[1]
