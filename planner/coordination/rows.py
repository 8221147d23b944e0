"""The centres of a range, as rows of the kernel's boards."""

from __future__ import annotations

import dataclasses
import functools
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.closing import factor_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.coordination.records import Choice

_LONGEST_TABLE = 4_000_000
_WIDEST_HZ = 1 << 31


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Centres:
    """Where carriers of one choice may stand; all arrays are read-only.

    Attributes
    ----------
    points_hz, is_main : array, shape (P,)
        Centres, ascending [Hz], and whether lines may stand there.
    linked : array, shape (P,)
        1 where the centre below is one step below.
    step_hz : int
        Raster of all centres [Hz].
    rank, factor, shift : array, int, int
        What finds a centre by its frequency, its indices counted from 0: see
        :mod:`planner.coordination.closing`. Where the table would be longer than 4,000,000 steps,
        or the centres span 2**31 Hz, the factor is 0.
    """

    points_hz: NDArray[np.int64]
    is_main: NDArray[np.bool_]
    linked: NDArray[np.int64]
    step_hz: int
    rank: NDArray[np.int64]
    factor: int
    shift: int


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """Centres of one choice of a need."""

    need: int
    choice: Choice
    centres: Centres

    @property
    def points_hz(self) -> NDArray[np.int64]:
        """Return the centres, ascending [Hz]."""
        return self.centres.points_hz

    @property
    def step_hz(self) -> int:
        """Return the raster of the centres [Hz]."""
        return self.centres.step_hz

    @property
    def is_main(self) -> NDArray[np.bool_]:
        """Return which centres are for lines."""
        return self.centres.is_main


@functools.lru_cache(maxsize=512)
def centres_of(choice: Choice, *, spares: bool) -> Centres:
    """Return the centres of a choice; those for spares only are left out without spares."""
    main_hz = choice.grid.points()
    points_hz, step_hz = main_hz, choice.grid.step_hz
    if spares and choice.spare_grid.windows_hz:
        points_hz = np.union1d(main_hz, choice.spare_grid.points())
        offset = abs(choice.spare_grid.origin_hz - choice.grid.origin_hz)
        step_hz = int(np.gcd.reduce([choice.grid.step_hz, choice.spare_grid.step_hz, offset]))
    linked = np.zeros(points_hz.size, dtype=np.int64)
    linked[1:] = np.diff(points_hz) == step_hz
    is_main = np.isin(points_hz, main_hz)
    rank, factor, shift = _ranks(points_hz - points_hz[:1], step_hz)
    for array in (points_hz, is_main, linked, rank):
        array.setflags(write=False)
    return Centres(
        points_hz=points_hz,
        is_main=is_main,
        linked=linked,
        step_hz=step_hz,
        rank=rank,
        factor=factor,
        shift=shift,
    )


def _ranks(above_hz: NDArray[np.int64], step_hz: int) -> tuple[NDArray[np.int64], int, int]:
    """Return table, factor and shift of centres given above the lowest [Hz]."""
    width_hz = int(above_hz[-1]) if above_hz.size else 0
    if not above_hz.size or width_hz // step_hz > _LONGEST_TABLE or width_hz >= _WIDEST_HZ:
        return above_hz, 0, 0
    places_hz = np.arange(width_hz // step_hz + 2) * step_hz
    return np.searchsorted(above_hz, places_hz), *factor_of(width_hz, step_hz)
