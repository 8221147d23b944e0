"""Ground heights on a grid of latitude and longitude."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    FloatColumn = npt.NDArray[np.float64]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ElevationGrid:
    """One elevation file; read-only.

    Attributes
    ----------
    file : str
        Its name as the user wrote it.
    north_deg, west_deg : float
        Centre of the first row and of the first column [deg].
    step_lat_deg, step_lon_deg : float
        Between centres, southwards and eastwards, more than 0 [deg].
    heights_m : (rows, columns) float32
        Ground above mean sea level [m], NaN where the file has none.
    """

    file: str
    north_deg: float
    west_deg: float
    step_lat_deg: float
    step_lon_deg: float
    heights_m: npt.NDArray[np.float32]

    def __post_init__(self) -> None:
        if self.heights_m.ndim != 2 or not self.heights_m.size:
            raise ValueError(f"heights of shape {self.heights_m.shape}, expected rows and columns")
        if not (self.step_lat_deg > 0.0 and self.step_lon_deg > 0.0):
            raise ValueError(f"steps of {self.step_lat_deg} and {self.step_lon_deg} deg")
        self.heights_m.setflags(write=False)

    def at(self, lat_deg: FloatColumn, lon_deg: FloatColumn) -> FloatColumn:
        """Return the ground at points, straight lines between the centres.

        Parameters
        ----------
        lat_deg, lon_deg : float64 arrays of one shape
            Latitude and any longitude [deg].

        Returns
        -------
        float64 array
            [m]; NaN outside the outer edges of the cells, and beside a cell without a height.
        """
        rows, columns = self.heights_m.shape
        row = (self.north_deg - lat_deg) / self.step_lat_deg
        edge_deg = self.west_deg - 0.5 * self.step_lon_deg
        column = np.mod(lon_deg - edge_deg, 360.0) / self.step_lon_deg - 0.5
        inside = (row >= -0.5) & (row <= rows - 0.5) & (column <= columns - 0.5)
        row, column = np.clip(row, 0.0, rows - 1.0), np.clip(column, 0.0, columns - 1.0)
        north, west = row.astype(np.int64), column.astype(np.int64)
        south, east = np.minimum(north + 1, rows - 1), np.minimum(west + 1, columns - 1)
        down, right = row - north, column - west
        upper, lower = (
            self.heights_m[line, west] * (1.0 - right) + self.heights_m[line, east] * right
            for line in (north, south)
        )
        return np.where(inside, upper * (1.0 - down) + lower * down, np.nan)
