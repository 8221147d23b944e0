"""Proven upper bounds of the number of carriers, in closed form.

Everything is counted in whole units of a raster on which all carriers lie, so that a least
distance is rounded up to whole units. The proofs stand where the bounds are:

- :mod:`planner.coordination.bounds_spans`: what a piece of the axis can hold;
- :mod:`planner.coordination.bounds_windows`: pairs over the measure of the set of differences,
  and pairs in a window that slides over the spans;
- here: covering the spans with pieces, and fixed carriers.

Valid sets stay valid when carriers are taken out, so when N is impossible every larger number is.
"""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.bounds_spans import SEARCH_STEPS, Distances, least_spans
from planner.coordination.bounds_windows import least_differences, pair_bound, sliding_bound
from planner.coordination.records import Grid, GuardSet, PlacedCarrier
from planner.coordination.search import free_points
from planner.coordination.verify import violations

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

Span = tuple[int, int]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class BoundedSet:
    """A set of carriers beside a bound.

    Attributes
    ----------
    carriers_hz : tuple of int
        All carriers, the fixed ones included, ascending [Hz].
    limit : int
        Proven upper bound of their number.
    """

    carriers_hz: tuple[int, ...]
    limit: int

    @property
    def found(self) -> int:
        """Number of carriers."""
        return len(self.carriers_hz)

    @property
    def proven(self) -> bool:
        """Whether no set can be larger."""
        return self.found == self.limit


def upper_bound(
    windows_hz: Sequence[Span],
    *,
    step_hz: int,
    origin_hz: int,
    guards: GuardSet,
    fixed: Sequence[PlacedCarrier] = (),
    search_steps: int = SEARCH_STEPS,
) -> int:
    """Return a number of carriers that no valid set exceeds, fixed ones included.

    Parameters
    ----------
    windows_hz : sequence of (int, int)
        Closed spans of carrier centres [Hz]; may overlap.
    step_hz, origin_hz : int
        Raster of the centres [Hz].
    guards : GuardSet
        Guards of the new carriers.
    fixed : sequence of PlacedCarrier
        Carriers on the air already, anywhere; they may violate each other.
    search_steps : int
        Carriers that the exhaustive search of the least spans of a few carriers may place; it
        is made once for all calls with the same guards in units of the raster.

    Returns
    -------
    int
        The least of the bounds of this module.

    Notes
    -----
    A new carrier must be valid beside the fixed ones alone, so first every centre that they
    close is left out. Then two counts are proven, and the less is taken: all fixed carriers plus
    the bound of the new ones among themselves; and, for the fixed carriers that have at least
    these guards and violate nothing among themselves, the bound of both together on a raster
    common to both, plus the other fixed carriers. The second is proven because the new carriers
    with any part of the fixed ones are a valid set, and remain one when guards are lowered to
    ``guards``.
    """
    grid = Grid(origin_hz=origin_hz, step_hz=step_hz, windows_hz=tuple(windows_hz))
    points_hz = free_points(grid, guards, fixed)
    alone = len(fixed) + _bound(Lattice.of(points_hz, step_hz, ()), guards, search_steps)
    partners = _partners(fixed, guards)
    if not partners:
        return alone
    unit_hz = math.gcd(step_hz, *(hz - origin_hz for hz in partners))
    lattice = Lattice.of(points_hz, step_hz, partners, unit_hz=unit_hz)
    together = _bound(lattice, guards, search_steps)
    return min(alone, len(fixed) - len(partners) + together)


def _partners(fixed: Sequence[PlacedCarrier], guards: GuardSet) -> tuple[int, ...]:
    """Return the fixed carriers that a valid set may be counted with: full members of it."""
    able = {c.frequency_hz: c for c in fixed if c.source and c.guards.covers(guards)}
    bad = {hz for found in violations(tuple(able.values())) for hz in found.carriers_hz}
    return tuple(sorted(set(able) - bad))


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Lattice:
    """Where carriers may stand, as closed spans in whole units from the lowest.

    Attributes
    ----------
    unit_hz : int
        The unit [Hz].
    low, high : array
        Ends of the spans, ascending [units].
    """

    unit_hz: int
    low: NDArray[np.int64]
    high: NDArray[np.int64]

    @classmethod
    def of(
        cls,
        points_hz: NDArray[np.int64],
        step_hz: int,
        partners_hz: Sequence[int],
        *,
        unit_hz: int | None = None,
    ) -> Lattice:
        """Return the spans of points of a raster, and of partners that may lie off it [Hz]."""
        unit = step_hz if unit_hz is None else unit_hz
        points = np.union1d(points_hz, np.array(partners_hz, dtype=np.int64))
        if not points.size:
            return cls(unit_hz=unit, low=points, high=points)
        points = (points - points[0]) // unit
        breaks = np.flatnonzero(np.diff(points) > step_hz // unit)
        return cls(
            unit_hz=unit,
            low=points[np.append(0, breaks + 1)],
            high=points[np.append(breaks, points.size - 1)],
        )

    def units(self, distance_hz: int) -> int:
        """Return the least whole number of units that is not below a distance."""
        return -(-distance_hz // self.unit_hz)

    def pieces(self, spacing: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the spans, those nearer than a spacing [units] as one."""
        apart = np.flatnonzero(self.low[1:] - self.high[:-1] > spacing)
        return self.low[np.append(0, apart + 1)], self.high[np.append(apart, self.high.size - 1)]


def _bound(lattice: Lattice, guards: GuardSet, search_steps: int) -> int:
    """Return the least bound of a valid set on a lattice."""
    if not lattice.low.size:
        return 0
    distances = Distances(
        spacing=max(1, lattice.units(guards.spacing_hz)),
        chain=lattice.units(guards.guard_2a_b_hz),
        cross=lattice.units(guards.guard_a_b_c_hz),
        fifth=lattice.units(guards.guard_3a_2b_hz),
    )
    spans = least_spans(int(lattice.high[-1]), distances, search_steps)
    limit = cover_bound(lattice, spans)
    for way in distances.apart():
        least = least_differences(lattice.low, lattice.high, distances.spacing, way)
        limit = min(limit, pair_bound(least.size))
        limit = sliding_bound(lattice.pieces(distances.spacing), least, spans, limit)
    return limit


def cover_bound(lattice: Lattice, least: NDArray[np.int64]) -> int:
    """Bound by covering the spans with pieces that hold few carriers.

    Notes
    -----
    A piece of the axis shorter than L(k) holds at most k carriers. Cover all spans from the left
    with pieces; the sum of their k bounds the set. For each total the cover that reaches
    farthest is kept: a cover that reaches farther can only need less from there on. With
    spacing alone this is the exact optimum.
    """
    count = 1
    reached = np.zeros(256, dtype=np.int64)
    while True:
        # after a cover of count - k carriers, a piece of k more, k = most .. 1
        most = min(count, least.size - 1)
        last = int((reached[count - most : count] + least[most:0:-1] - 1).max())
        where = int(np.searchsorted(lattice.high, last, side="right"))
        if where >= lattice.high.size:
            return count
        if count == reached.size:
            reached = np.append(reached, np.zeros_like(reached))
        reached[count] = max(int(lattice.low[where]), last + 1)
        count += 1
