"""Figures given at azimuths round the circle: antenna patterns, heights by radial."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy.typing as npt

_FULL_CIRCLE_DEG = 360.0
_APART = 4096.0
"""Room between the keys of two curves [deg]; more than the three circles a curve spans."""


def _none_int() -> npt.NDArray[np.int64]:
    return np.zeros(1, dtype=np.int64)


def _none_float() -> npt.NDArray[np.float64]:
    return np.empty(0, dtype=np.float64)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AzimuthCurves:
    """Several curves round the circle in columns; read-only.

    Attributes
    ----------
    first : (c + 1,) int64
        Curve i holds the points ``first[i]`` up to, not including, ``first[i + 1]``.
    azimuth_deg : (k,) float64
        Azimuths [deg], 0 up to, not including, 360; ascending within a curve.
    values : (k,) float64
        Figures there, in the unit of the curve's owner.
    """

    first: npt.NDArray[np.int64] = dataclasses.field(default_factory=_none_int)
    azimuth_deg: npt.NDArray[np.float64] = dataclasses.field(default_factory=_none_float)
    values: npt.NDArray[np.float64] = dataclasses.field(default_factory=_none_float)

    def __post_init__(self) -> None:
        points = len(self.azimuth_deg)
        if len(self.values) != points or self.first[0] != 0 or self.first[-1] != points:
            raise ValueError(f"{points} azimuths, {len(self.values)} values, first {self.first}")
        if np.any(np.diff(self.first) < 1):
            raise ValueError("a curve without a point")
        if np.any((self.azimuth_deg < 0) | (self.azimuth_deg >= _FULL_CIRCLE_DEG)):
            raise ValueError("an azimuth outside 0 up to 360 deg")
        for column in (self.first, self.azimuth_deg, self.values):
            column.setflags(write=False)

    def __len__(self) -> int:
        return len(self.first) - 1

    @classmethod
    def of(cls, curves: Iterable[Iterable[tuple[float, float]]]) -> AzimuthCurves:
        """Build the columns from curves of (azimuth [deg], value) points in any order."""
        ordered = [sorted(curve) for curve in curves]
        points = [point for curve in ordered for point in curve]
        return cls(
            first=np.cumsum([0, *(len(curve) for curve in ordered)], dtype=np.int64),
            azimuth_deg=np.array([azimuth for azimuth, _ in points], dtype=np.float64),
            values=np.array([value for _, value in points], dtype=np.float64),
        )

    def at(
        self, curve: npt.NDArray[np.int64], azimuth_deg: npt.NDArray[np.float64]
    ) -> npt.NDArray[np.float64]:
        """Return curves at azimuths, straight lines between neighbouring points.

        Parameters
        ----------
        curve : int64 array
            Which curve; broadcast against the azimuths.
        azimuth_deg : float64 array
            Any finite azimuth [deg]; 360 is 0.

        Returns
        -------
        float64 array
            In the common shape. A curve of one point is that value all round.
        """
        which, azimuth = np.broadcast_arrays(curve, np.mod(azimuth_deg, _FULL_CIRCLE_DEG))
        if not which.size:
            return np.empty(which.shape)
        keys, values = self._closed()
        wanted = which * _APART + azimuth
        after = np.searchsorted(keys, wanted, side="right")
        before = after - 1
        share = (wanted - keys[before]) / (keys[after] - keys[before])
        found: npt.NDArray[np.float64] = values[before] + share * (values[after] - values[before])
        return found

    def _closed(self) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
        """Return one ascending key a point, each curve closed by its neighbours on the circle."""
        begin, last = self.first[:-1], self.first[1:] - 1
        curve = np.repeat(np.arange(len(self)), np.diff(self.first))
        keys = curve * _APART + self.azimuth_deg
        own = np.arange(len(self)) * _APART
        before = own + self.azimuth_deg[last] - _FULL_CIRCLE_DEG
        after = own + self.azimuth_deg[begin] + _FULL_CIRCLE_DEG
        return (
            np.insert(np.insert(keys, last + 1, after), begin + np.arange(len(self)), before),
            np.insert(
                np.insert(self.values, last + 1, self.values[begin]),
                begin + np.arange(len(self)),
                self.values[last],
            ),
        )
