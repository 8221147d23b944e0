"""Types of figures that may be one number or a whole column, and their way in and out."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

FloatArray: TypeAlias = npt.NDArray[np.float64]
Numbers: TypeAlias = float | npt.NDArray[np.float64] | npt.NDArray[np.int64]
"""A number or an array of numbers; arrays broadcast against each other."""


def columns(*values: Numbers) -> tuple[FloatArray, ...]:
    """Turn numbers and arrays into float64 arrays of one common shape (read-only views)."""
    return np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values))


def same_kind(result: FloatArray) -> float | FloatArray:
    """Return a float for a result without dimensions, else the array itself."""
    return float(result) if np.ndim(result) == 0 else result


def decibels(ratio: FloatArray) -> FloatArray:
    """Return 10 log10 of a power ratio [dB]: minus infinity for 0, NaN below 0."""
    with np.errstate(divide="ignore", invalid="ignore"):
        levels: FloatArray = 10.0 * np.log10(ratio)
    return levels
