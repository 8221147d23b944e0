"""Loss through a building's walls, by Recommendation ITU-R P.2109."""

# Numbers alone give a number, anything else an array: the overloads overlap on purpose.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

import functools
from statistics import NormalDist
from types import MappingProxyType
from typing import TYPE_CHECKING, overload

import numpy as np

from planner.errors import OutOfModelRange
from planner.field_strength._numbers import columns, decibels, same_kind
from planner.tables import read_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from planner.field_strength._numbers import FloatArray, Numbers

LOWEST_HZ = 80_000_000
HIGHEST_HZ = 100_000_000_000
_FLOOR_DB = -3.0
"""The model's constant C [dB]."""


@functools.cache
def _coefficients() -> Mapping[str, Mapping[str, float]]:
    table = read_table("itu_p2109_coefficients")
    names = [name for name in table if name != "building"]
    return MappingProxyType(
        {
            building: MappingProxyType({name: float(table[name][row]) for name in names})
            for row, building in enumerate(table["building"])
        }
    )


def building_types() -> tuple[str, ...]:
    """Return the building types of the model: ``"traditional"``, ``"thermally-efficient"``."""
    return tuple(_coefficients())


@overload
def entry_loss_db(
    frequency_hz: float, *, probability_percent: float, building: str, elevation_deg: float = 0.0
) -> float: ...
@overload
def entry_loss_db(
    frequency_hz: Numbers,
    *,
    probability_percent: Numbers,
    building: str,
    elevation_deg: Numbers = 0.0,
) -> FloatArray: ...
def entry_loss_db(
    frequency_hz: Numbers,
    *,
    probability_percent: Numbers,
    building: str,
    elevation_deg: Numbers = 0.0,
) -> float | FloatArray:
    """Return the building entry loss that is not exceeded with a given probability.

    Parameters
    ----------
    frequency_hz : float or array
        Frequency [Hz], up to 100 GHz. The model starts at 80 MHz; below it the figure of 80 MHz
        is given (low VHF television starts at 54 MHz).
    probability_percent : float or array
        Probability that the loss is not exceeded [%], more than 0 and less than 100; 50 is the
        median.
    building : str
        ``"traditional"`` or ``"thermally-efficient"``.
    elevation_deg : float or array
        Elevation of the path at the building [deg], -90 to 90.

    Returns
    -------
    float or array
        Loss [dB], in the common shape.

    Raises
    ------
    OutOfModelRange
        When a frequency, probability or elevation lies outside its range or is not a number.
    ValueError
        When the building type is not one of the model's.

    References
    ----------
    Recommendation ITU-R P.2109, edition as noted in ``planner/tables/itu_p2109_coefficients.toml``.
    """
    known = _coefficients()
    if building not in known:
        raise ValueError(f"building type {building!r} is not known; use one of {', '.join(known)}")
    frequency, percent, elevation = columns(frequency_hz, probability_percent, elevation_deg)
    _require("frequency_hz", frequency, 0.0, HIGHEST_HZ, inside=frequency > 0.0)
    _require("probability_percent", percent, 0.0, 100.0, inside=(percent > 0) & (percent < 100))
    _require("elevation_deg", elevation, -90.0, 90.0, inside=np.abs(elevation) <= 90.0)
    c = known[building]
    log_f = np.log10(np.maximum(frequency, LOWEST_HZ) / 1e9)
    normal = np.vectorize(NormalDist().inv_cdf, otypes=[np.float64])(percent / 100.0)
    median = c["r"] + c["s"] * log_f + c["t"] * log_f**2 + 0.212 * np.abs(elevation)
    a = normal * (c["u"] + c["v"] * log_f) + median
    b = normal * (c["y"] + c["z"] * log_f) + c["w"] + c["x"] * log_f
    return same_kind(decibels(10 ** (a / 10) + 10 ** (b / 10) + 10 ** (_FLOOR_DB / 10)))


def _require(
    quantity: str, values: FloatArray, low: float, high: float, *, inside: npt.NDArray[np.bool_]
) -> None:
    bad = ~(inside & (values >= low) & (values <= high))
    if bad.any():
        raise OutOfModelRange(quantity, float(values[bad][0]), low, high)
