"""How likely a channel is clear, given how far fields stray from their prediction."""

from __future__ import annotations

import dataclasses
import functools
import hashlib
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength.emission_limits import CHANNELS_REACHED
from planner.occupancy.cleared import CLEARED
from planner.occupancy.curve import CELL_HZ
from planner.occupancy.records import FAINT, HELD, UNLISTED

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from planner.occupancy.curve import InterferenceCurve
    from planner.occupancy.records import ChannelOccupancy, Occupancy

    Draws = npt.NDArray[np.bool_]
    FloatColumn = npt.NDArray[np.float64]

DRAWS = 4096
"""Standard error of a chance: 0.8 % at most."""
SHARED_SIGMA_DB = 3.0
"""Error that all predictions of a tour share [dB]: the model, height and walls; our own choice."""
MAST_SIGMA_DB = 5.5
"""Error that all channels of one mast share at one stop [dB]: location variability of wideband
digital TV (ITU-R BT.2033-2, GE06)."""
_SURE_DEVIATES = 3.5
_SURE_DB = 6.0
_CARRIER_HZ = 200_000


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ChannelChances:
    """The TV channels of one stop over seeded draws.

    Attributes
    ----------
    chance : mapping of str to (float or None)
        By channel: share of the draws in which a 200 kHz carrier at its cleanest place finds a
        noise rise below the limit; 0 where held, None where nothing is predicted: unlisted,
        cleared by a statement, noted faint by a rule, or a field that is not computed.
    clear : mapping of str to (4096,) bool
        The draws in which it is clear; channels without draws are left out.
    """

    chance: Mapping[str, float | None]
    clear: Mapping[str, Draws]


@functools.lru_cache(maxsize=4096)
def _normals(key: str) -> FloatColumn:
    """Return seeded standard normal draws: same key, same draws."""
    seed = int.from_bytes(hashlib.sha256(key.encode()).digest()[:16], "big")
    found = np.random.Generator(np.random.PCG64(seed)).standard_normal(DRAWS)
    found.setflags(write=False)
    return found


def channel_chances(occupancy: Occupancy, *, limit_db: float) -> ChannelChances:
    """Return the chance of every TV channel of a stop to be clear.

    Parameters
    ----------
    occupancy : Occupancy
        The air with its curve; without one nothing is predicted.
    limit_db : float
        Noise rise from which air is faint [dB].

    Notes
    -----
    Every power strays by three errors, normal in decibels: one shared by all of the tour (3 dB),
    one of each mast at the stop, shared by its channels (5.5 dB), and an independent rest, such
    that all together have the standard deviation of the prediction where that is larger. Draws
    hang on the stop, the mast, and the channel and power of the transmitter alone: one that is
    added leaves those of the others as they were.
    """
    chance: dict[str, float | None] = {}
    clear: dict[str, Draws] = {}
    for channel in occupancy.channels:
        if channel.air == HELD:
            chance[channel.label] = 0.0
            continue
        found = _clear(occupancy, channel, limit_db)
        chance[channel.label] = None if found is None else float(found.mean())
        if found is not None:
            clear[channel.label] = found
    return ChannelChances(chance=chance, clear=clear)


def _clear(occupancy: Occupancy, channel: ChannelOccupancy, limit_db: float) -> Draws | None:
    curve = occupancy.curve
    predicted = channel.air != UNLISTED and not any(
        reason.code == CLEARED for reason in channel.reasons
    )
    if curve is None or not predicted:
        return None
    cell = _cleanest_cell(occupancy, channel, curve)
    if cell is None or np.isnan(curve.rise_db[cell]):
        return None
    if curve.rise_db[cell] < limit_db and channel.air == FAINT:
        return None  # a rule makes it faint, whatever arrives
    noise_mw = 10 ** (curve.noise_dbm / 10)
    # rises are rounded to 0.1 dB before they are compared with the limit
    room_mw = noise_mw * (10 ** ((limit_db - 0.05) / 10) - 1)
    total_mw = np.zeros(DRAWS)
    for k, power_dbm in _powers(curve, cell):
        found = curve.emitters
        sigma_db = max(float(found.sigma_db[k]), float(np.hypot(SHARED_SIGMA_DB, MAST_SIGMA_DB)))
        if power_dbm + _SURE_DEVIATES * sigma_db < curve.noise_dbm - _SURE_DB:
            total_mw += 10 ** (power_dbm / 10)
            continue
        error_db = _error_db(curve, k, sigma_db=sigma_db, stop_id=occupancy.stop_id)
        total_mw += np.exp((power_dbm + error_db) * (np.log(10) / 10))
    clear: Draws = total_mw < room_mw
    return clear


def _error_db(curve: InterferenceCurve, k: int, *, sigma_db: float, stop_id: str) -> FloatColumn:
    found = curve.emitters
    lat, lon = found.mast[k].tolist()
    own = f"{stop_id} {lat:.3f} {lon:.3f}"
    rest_db = np.sqrt(max(sigma_db**2 - SHARED_SIGMA_DB**2 - MAST_SIGMA_DB**2, 0.0))
    error: FloatColumn = SHARED_SIGMA_DB * _normals("all") + MAST_SIGMA_DB * _normals(own)
    if rest_db > 0:
        error = error + rest_db * _normals(f"{own} {found.low_hz[k]} {found.power_dbm[k]:.6f}")
    return error


def _cleanest_cell(
    occupancy: Occupancy, channel: ChannelOccupancy, curve: InterferenceCurve
) -> int | None:
    """Return the worse cell of the cleanest place for a 200 kHz carrier, None without any."""
    best: tuple[float, int] | None = None
    for span in occupancy.spans:
        low, high = max(span.low_hz, channel.low_hz), min(span.high_hz, channel.high_hz)
        if span.air in (HELD, UNLISTED) or high - low < min(
            _CARRIER_HZ, channel.high_hz - channel.low_hz
        ):
            continue
        cells = curve.cells(low, high)
        total_mw = curve.inside_mw[cells] + curve.beside_mw[cells]
        pairs = np.maximum(total_mw[:-1], total_mw[1:])
        if not pairs.size or np.isnan(pairs).all():
            continue
        place = int(np.nanargmin(pairs))
        worse = place + int(total_mw[place + 1] > total_mw[place])
        if best is None or total_mw[worse] < best[0]:
            best = (float(total_mw[worse]), cells.start + worse)
    return None if best is None else best[1]


def _powers(curve: InterferenceCurve, cell: int) -> list[tuple[int, float]]:
    """Return every transmitter that counts in a cell, with its power there [dBm]."""
    found = curve.emitters
    low, high = curve.low_hz[cell : cell + 1], curve.high_hz[cell : cell + 1]
    inside = np.flatnonzero((found.low_hz < high) & (found.high_hz > low))
    powers = [(int(k), float(found.power_dbm[k])) for k in inside]
    if curve.beside_mw[cell] > 0:
        loud = np.array(curve.loud)
        apart_hz = np.maximum(low - found.high_hz[loud], found.low_hz[loud] - high)
        width_hz = found.high_hz[loud] - found.low_hz[loud]
        near = (apart_hz >= 0) & (apart_hz <= CHANNELS_REACHED * width_hz + CELL_HZ)
        powers += [(int(k), float(found.beside_dbm(int(k), low, high)[0])) for k in loud[near]]
    return [(k, power) for k, power in powers if power > -np.inf]
