"""Lattices for the packing kernel: made from a grid and what stands, read back as carriers."""

from __future__ import annotations

import dataclasses
import itertools
import math
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import pack_kernel
from planner.coordination.pack_kernel import BITS, Lattice
from planner.coordination.search import NO_LIMIT, Scan
from planner.coordination.starts import modular_starts

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from planner.coordination.records import GuardSet, PlacedCarrier
    from planner.coordination.search import Budget

_MOST_UNITS = 4_000_000
_MOST_CARRIERS = 4096
_FIRST_DICE = 2463534242
_TAKEN_OUT = 5
_CHANCE_IN_1000 = 50


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Ground:
    """Where carriers of one guard set may stand, in whole units above the lowest candidate.

    Attributes
    ----------
    origin_hz, unit_hz : int
        Frequency of position 0, and the unit [Hz]: the raster, or less where fixed carriers lie
        off it.
    candidates : numpy.ndarray
        Positions that may be used, ascending, the first 0 (int64).
    fixed : tuple of int
        Positions of the carriers that stand already, anywhere.
    guards : GuardSet
        Guards of all carriers.
    """

    origin_hz: int
    unit_hz: int
    candidates: NDArray[np.int64]
    fixed: tuple[int, ...]
    guards: GuardSet

    def units(self, distance_hz: int) -> int:
        """Return the least whole number of units that is not below a distance [Hz]."""
        return -(-distance_hz // self.unit_hz)

    @property
    def reach(self) -> int:
        """Greatest difference of two positions and one more [units]."""
        return reach_of(self.candidates, self.fixed)

    def positions(self, carriers_hz: Sequence[int]) -> NDArray[np.int64]:
        """Return the positions of those frequencies [Hz] that are candidates, in their order."""
        offsets = np.array(carriers_hz, dtype=np.int64) - self.origin_hz
        places = offsets[offsets % self.unit_hz == 0] // self.unit_hz
        return np.asarray(places[np.isin(places, self.candidates)])


def reach_of(candidates: NDArray[np.int64], fixed: Sequence[int]) -> int:
    """Return the greatest difference of any two of these positions, and one more."""
    return max(int(candidates[-1]), *fixed, 0) - min(0, *fixed, 0) + 1


def find_ground(
    points_hz: NDArray[np.int64],
    step_hz: int,
    guards: GuardSet,
    fixed: Sequence[PlacedCarrier] = (),
) -> Ground | None:
    """Return the ground of a packing, or None where the packing kernel does not serve.

    Parameters
    ----------
    points_hz : numpy.ndarray
        Centres that may be used, ascending, on a raster of ``step_hz`` [Hz].
    step_hz : int
        The raster [Hz].
    guards : GuardSet
        Guards of the new carriers.
    fixed : sequence of PlacedCarrier
        Carriers on the air already. They must be sources with these guards.

    Notes
    -----
    None comes without centres, for fixed carriers of other guards, for victims that are no
    sources, and where the finest common unit would make the axis too long.
    """
    if not points_hz.size or any(not c.source or c.guards != guards for c in fixed):
        return None
    origin_hz = int(points_hz[0])
    offsets = [carrier.frequency_hz - origin_hz for carrier in fixed]
    unit_hz = math.gcd(step_hz, *offsets)
    candidates = (points_hz - origin_hz) // unit_hz
    places = tuple(offset // unit_hz for offset in offsets)
    if reach_of(candidates, places) > _MOST_UNITS:
        return None
    return Ground(
        origin_hz=origin_hz, unit_hz=unit_hz, candidates=candidates, fixed=places, guards=guards
    )


class PackSearch:
    """A search for as many carriers as fit on a ground.

    Parameters
    ----------
    ground : Ground
        Where they may stand.
    goal : int
        Stop at so many new ones.
    most_steps : int
        Most candidates that may be tried.
    seed : int
        Start of the random numbers.
    """

    def __init__(
        self, ground: Ground, *, goal: int = NO_LIMIT, most_steps: int = NO_LIMIT, seed: int = 0
    ) -> None:
        self.ground = ground
        fixed = len(ground.fixed)
        self._lattice = _empty_lattice(ground, room=goal)
        state = self._lattice.state
        state[pack_kernel.FIXED] = fixed
        state[pack_kernel.GOAL] = min(fixed + goal, NO_LIMIT)
        state[pack_kernel.MOST] = most_steps
        state[pack_kernel.DICE] = _FIRST_DICE ^ (seed & 0x7FFFFFFF)
        state[pack_kernel.GONE] = _TAKEN_OUT
        state[pack_kernel.CHANCE] = _CHANCE_IN_1000
        for place in ground.fixed:
            pack_kernel.put(self._lattice, place)
        pack_kernel.note_best(self._lattice)
        self._aside = np.empty(0, dtype=np.int64)
        self._empty = [getattr(self._lattice, name).copy() for name in pack_kernel.CHANGING]

    @property
    def steps(self) -> int:
        """Candidates tried so far."""
        return int(self._lattice.state[pack_kernel.STEPS])

    @property
    def left(self) -> int:
        """Candidates that may still be tried."""
        state = self._lattice.state
        return max(int(state[pack_kernel.MOST] - state[pack_kernel.STEPS]), 0)

    @property
    def found(self) -> int:
        """New carriers of the best set met."""
        return max(self._aside.size, self.top)

    @property
    def top(self) -> int:
        """New carriers of the best set met since the last one was set aside."""
        return int(self._lattice.state[pack_kernel.TOP]) - len(self.ground.fixed)

    @property
    def is_over(self) -> bool:
        """Whether enough carriers were found, or no more may be tried."""
        state = self._lattice.state
        enough = self.found + len(self.ground.fixed) >= state[pack_kernel.GOAL]
        return bool(enough or state[pack_kernel.STEPS] >= state[pack_kernel.MOST])

    def begin(self) -> None:
        """Clear the board of all but the fixed carriers; the best set met stays."""
        for name, values in zip(pack_kernel.CHANGING, self._empty, strict=True):
            getattr(self._lattice, name)[:] = values
        self._lattice.state[pack_kernel.COUNT] = len(self.ground.fixed)

    def fill(self, scan: Scan) -> None:
        """Fill first-fit in the order of a scan."""
        first = int(self.ground.candidates[int(scan.start * self.ground.candidates.size)])
        pack_kernel.fill(self._lattice, first, int(scan.descending))

    def put_all(self, places: NDArray[np.int64]) -> None:
        """Put carriers at those candidates that may stand, one after the other."""
        pack_kernel.try_all(self._lattice, places)
        pack_kernel.note_best(self._lattice)

    def spend(self, steps: int) -> None:
        """Count steps that were made elsewhere."""
        self._lattice.state[pack_kernel.STEPS] += steps

    def resume(self) -> None:
        """Let the best set met stand again, or the one set aside when there is none since."""
        self.begin()
        for place in (self._best() if self.top else self._aside).tolist():
            pack_kernel.put(self._lattice, place)
        pack_kernel.note_best(self._lattice)

    def stir(self, times: int) -> int:
        """Take carriers out and refill; return how often it was done."""
        return int(pack_kernel.stir(self._lattice, times))

    def carriers_hz(self) -> tuple[int, ...]:
        """Return the new carriers of the best set met, ascending [Hz]."""
        ground = self.ground
        places = self._aside if self._aside.size > self.top else self._best()
        return tuple(sorted((ground.origin_hz + ground.unit_hz * places).tolist()))

    def set_aside(self) -> None:
        """Put the best set met aside and forget it, so that another may be worked on."""
        if self.top > self._aside.size:
            self._aside = self._best().copy()
        self._lattice.state[pack_kernel.TOP] = len(self.ground.fixed)

    def _best(self) -> NDArray[np.int64]:
        lattice = self._lattice
        return lattice.best[len(self.ground.fixed) : int(lattice.state[pack_kernel.TOP])]


class Starts:
    """Algebraic starts, tried one after the other.

    Parameters
    ----------
    search : PackSearch
        Where they are put.
    """

    def __init__(self, search: PackSearch) -> None:
        self._search = search
        guards, ground = search.ground.guards, search.ground
        self._left: Iterator[NDArray[np.int64]] = iter(())
        if guards.guard_a_b_c_hz:
            apart = ground.units(max(guards.guard_2a_b_hz, guards.guard_a_b_c_hz))
            self._left = modular_starts(ground.candidates, apart, search.found)

    def try_some(self, budget: Budget, most: int) -> None:
        """Try so many more, each filled up."""
        search = self._search
        for places in itertools.islice(self._left, most):
            if search.is_over or budget.is_over():
                return
            search.spend(1)
            search.begin()
            search.put_all(places)
            search.fill(Scan())


def _empty_lattice(ground: Ground, *, room: int) -> Lattice:
    size = int(ground.candidates[-1]) + 1
    words = -(-size // BITS)
    reach = ground.reach
    guards = ground.guards
    spacing, two, three, five = (
        ground.units(distance)
        for distance in (
            max(1, guards.spacing_hz),
            guards.guard_2a_b_hz,
            guards.guard_a_b_c_hz,
            guards.guard_3a_2b_hz,
        )
    )
    sifts = int(0 < three <= min(spacing, two))
    places = 2 * reach + 1 if sifts else 0
    most = len(ground.fixed) + min(ground.candidates.size, room, _MOST_CARRIERS) + 1
    return Lattice(
        allowed=words_of(ground.candidates, words),
        cover=np.zeros(size, dtype=np.int64),
        near=np.zeros(places, dtype=np.int64),
        apart=np.zeros(2 * reach // BITS + 5, dtype=np.int64),
        standing=np.zeros((most, 3), dtype=np.int64),
        best=np.zeros(most, dtype=np.int64),
        live=np.zeros((words, 2), dtype=np.int64),
        rules=np.array([spacing, two, three, five, sifts, reach], dtype=np.int64),
        state=np.zeros(9, dtype=np.int64),
    )


def words_of(places: NDArray[np.int64], words: int) -> NDArray[np.int64]:
    """Return words with the bits of some positions set."""
    bits = np.zeros((words, BITS), dtype=np.int64)
    bits.reshape(-1)[places] = 1
    return np.asarray((bits << np.arange(BITS)).sum(axis=1), dtype=np.int64)
