"""Land and sea of the world on a grid of half a minute (0.9 km), read from an installed data file.

The grid is that of the elevation model GLOBE (NOAA National Geophysical Data Center, 1999; a work
of the United States government, public domain), whose cells without a figure are the sea. It comes
with the package global-land-mask (MIT licence); only its data file is read, none of its code runs.
Lakes and rivers count as land. Coasts are as coarse as the grid: an inlet narrower than a cell, a
small island or a pier may be missing.
"""

from __future__ import annotations

import functools
import zipfile
from importlib import util
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, cast

import numpy as np

from planner.errors import PlannerError

if TYPE_CHECKING:
    import numpy.typing as npt

CELLS_A_DEGREE = 120
ROWS, COLUMNS = 180 * CELLS_A_DEGREE, 360 * CELLS_A_DEGREE
_BAND_DEG = 5
_PACKAGE, _FILE = "global_land_mask", "globe_combined_mask_compressed.npz"


def sea_at(
    lat_deg: npt.NDArray[np.float64], lon_deg: npt.NDArray[np.float64]
) -> npt.NDArray[np.bool_]:
    """Say which points lie in the sea.

    Parameters
    ----------
    lat_deg, lon_deg : float64 arrays of one shape
        -90 to 90 and any longitude [deg].

    Returns
    -------
    bool array
        True for sea; lakes are land.

    Raises
    ------
    PlannerError
        When the data file is not installed or is not the one known.
    """
    if not lat_deg.size:
        return np.zeros(lat_deg.shape, dtype=np.bool_)
    row = np.clip(((90.0 - lat_deg) * CELLS_A_DEGREE).astype(np.int64), 0, ROWS - 1)
    column = ((lon_deg + 180.0) * CELLS_A_DEGREE).astype(np.int64) % COLUMNS
    band = _BAND_DEG * CELLS_A_DEGREE
    first, last = int(row.min()) // band, int(row.max()) // band
    packed = _rows(first * band, (last + 1) * band)
    cell = packed[row - first * band, column // 8]
    return np.asarray((cell >> (7 - column % 8).astype(np.uint8)) & 1, dtype=np.bool_)


@functools.lru_cache(maxsize=4)
def _rows(first: int, last: int) -> npt.NDArray[np.uint8]:
    """Return rows of the grid from the north, eight cells a byte; at most 117 MB."""
    spec = util.find_spec(_PACKAGE)
    if spec is None or spec.origin is None:
        raise PlannerError(
            "no land and sea mask: the package global-land-mask is not installed; install it"
        )
    try:
        with (
            zipfile.ZipFile(Path(spec.origin).parent / _FILE) as archive,
            archive.open("mask.npy") as stream,
        ):
            return _packed(cast("BinaryIO", stream), first, last)
    except (OSError, KeyError, ValueError, zipfile.BadZipFile) as error:
        raise PlannerError(
            f"the land and sea mask of {_PACKAGE} cannot be read ({error}); install it again"
        ) from error


def _packed(stream: BinaryIO, first: int, last: int) -> npt.NDArray[np.uint8]:
    if np.lib.format.read_magic(stream) != (1, 0):
        raise ValueError("another format")
    shape, by_columns, kind = np.lib.format.read_array_header_1_0(stream)
    if shape != (ROWS, COLUMNS) or by_columns or kind != np.dtype(np.bool_):
        raise ValueError(f"a grid of {shape} {kind}")
    band = CELLS_A_DEGREE
    parts = []
    for start in range(0, last, band):
        block = stream.read(band * COLUMNS)
        if start >= first:
            cells = np.frombuffer(block, dtype=np.uint8).reshape(band, COLUMNS)
            parts.append(np.packbits(cells, axis=1))
    packed = np.concatenate(parts)
    packed.setflags(write=False)
    return packed
