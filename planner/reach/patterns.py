"""Horizontal antenna patterns: how much of the greatest field goes in a direction."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from planner.records import StationTable

    FloatColumn = npt.NDArray[np.float64]
    IntColumn = npt.NDArray[np.int64]

LEAST_RELATIVE_FIELD = 0.0005
"""Relative field that is never gone below: a printed 0.000 may stand for as much (66 dB down)."""


def relative_field(
    stations: StationTable, station: IntColumn, azimuth_deg: FloatColumn
) -> FloatColumn:
    """Return the relative field of stations along azimuths.

    Parameters
    ----------
    stations : StationTable
        n stations.
    station : int64 array
        Which station; broadcast against the azimuths.
    azimuth_deg : float64 array
        Direction at the transmitter [deg from true north, clockwise].

    Returns
    -------
    float64 array
        :data:`LEAST_RELATIVE_FIELD` to 1, in the common shape; 1 where the station is
        non-directional or its pattern is not known: the safe side. The pattern is turned
        clockwise by the station's rotation; between its points the field runs in a straight line.

    Notes
    -----
    A pattern is taken as tabulated, also when its greatest point is below 1: registers print one
    every 10 degrees, and the peak may lie between two of them.
    """
    which, azimuth = np.broadcast_arrays(station, azimuth_deg)
    found = np.ones(which.shape)
    curve = stations.pattern_curve[which]
    directional = curve >= 0
    turned = azimuth[directional] - stations.pattern_rotation_deg[which[directional]]
    found[directional] = stations.patterns.at(curve[directional], turned)
    return np.clip(found, LEAST_RELATIVE_FIELD, 1.0)
