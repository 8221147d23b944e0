"""What a digital TV transmitter may emit beside its channel."""

from __future__ import annotations

import functools
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from planner.tables import read_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

CHANNELS_REACHED = 3
"""How many channels beside its own a transmitter is followed."""
MASKS = {6_000_000: ("full", "stringent", "simple"), 7_000_000: ("critical", "uncritical")}
MASKS[8_000_000] = MASKS[7_000_000]
_WORST = {6_000_000: "simple", 7_000_000: "uncritical", 8_000_000: "uncritical"}
_FULL_SERVICE = ("full",)


@functools.cache
def _masks() -> Mapping[tuple[str, int], npt.NDArray[np.float64]]:
    """Return offset [Hz] and density below the total power [dB in 1 Hz] of each mask, (2, k)."""
    table = read_table("tv_emission_limits")
    found: dict[tuple[str, int], list[tuple[float, float]]] = {}
    for mask, raster, offset, attenuation, measured in zip(*table.values(), strict=True):
        density = -float(attenuation) - 10 * np.log10(float(measured) * 1e3)
        found.setdefault((mask, int(raster) * 1_000_000), []).append((float(offset) * 1e6, density))
    masks = {key: np.array(rows).T for key, rows in found.items()}
    for points in masks.values():
        points.setflags(write=False)
    return MappingProxyType(masks)


def mask_of(emission_mask: str, service: str, width_hz: int) -> str:
    """Return the mask that a station is judged by.

    Parameters
    ----------
    emission_mask, service : str
        Words of the station table; empty where unknown.
    width_hz : int
        Width of its channel [Hz].

    Returns
    -------
    str
        The mask named where it belongs to that width; else ``"full"`` for full-service stations
        in 6 MHz; else the most generous mask of the width. Empty where no mask is known.
    """
    if emission_mask in MASKS.get(width_hz, ()):
        return emission_mask
    if width_hz == 6_000_000 and service in _FULL_SERVICE:
        return "full"
    return _WORST.get(width_hz, "")


def density_below_total_db(
    offset_hz: npt.NDArray[np.float64], mask: str, width_hz: int
) -> npt.NDArray[np.float64]:
    """Return the greatest density that a mask allows outside the channel.

    Parameters
    ----------
    offset_hz : array
        Distance from the channel edge [Hz], 0 or more; below 0 the value at the edge is given.
    mask : str
        As :func:`mask_of` names it.
    width_hz : int
        Width of the channel [Hz].

    Returns
    -------
    array
        Power in 1 Hz below the total power of the transmitter [dB], negative and never rising
        with distance; minus infinity from three channels on.

    Raises
    ------
    KeyError
        For a mask that does not belong to that width.

    Notes
    -----
    A limit, not a measurement: transmitters often do better. The limit's power is taken as even
    over the bandwidth in which it is measured.

    References
    ----------
    As noted in ``planner/tables/tv_emission_limits.toml``.
    """
    offsets, densities = _masks()[mask, width_hz]
    at = np.maximum(offset_hz, 0.0)
    found: npt.NDArray[np.float64] = np.interp(at, offsets, densities)
    found[at >= CHANNELS_REACHED * width_hz] = -np.inf
    return found
