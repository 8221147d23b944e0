"""Interference at a stop as a curve over frequency: transmitters of a channel and those beside."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength.emission_limits import (
    CHANNELS_REACHED,
    density_below_total_db,
    mask_of,
)
from planner.field_strength.noise import noise_rise_db
from planner.reach import is_tv

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.occupancy.interference import Arrivals
    from planner.reach import ReachTable
    from planner.records import Settings, StationTable
    from planner.spectrum import Span

    FloatColumn = npt.NDArray[np.float64]
    IntColumn = npt.NDArray[np.int64]

CELL_HZ = 100_000
"""Width of a cell [Hz]; in each the greatest emission of every neighbour is taken."""
LEAST_BESIDE_DB = -45.0
"""A neighbour whose emission at its own edge lies this far under the receiver's noise [dB] is
left out: 300 of them together would raise it by 0.04 dB."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Emitters:
    """Transmitters that arrive at a stop; read-only columns of one length n.

    Attributes
    ----------
    station : (n,) int64
        Indices into the station table.
    low_hz, high_hz : (n,) int64
        Edges of their channels [Hz].
    power_dbm : (n,) float64
        Power in the reference bandwidth inside their channel [dBm]; NaN where not computed.
    emission_hz : (n,) float64
        Width over which they spread their power [Hz].
    mask : (n,) str
        Emission limit outside the channel, empty where none is known: such a transmitter is not
        followed beyond its channel.
    sigma_db : (n,) float64
        One standard deviation of the field [dB].
    mast : (n, 2) float64
        Latitude and longitude of the mast [deg], to 0.001 deg.
    """

    station: IntColumn
    low_hz: IntColumn
    high_hz: IntColumn
    power_dbm: FloatColumn
    emission_hz: FloatColumn
    mask: npt.NDArray[np.str_]
    sigma_db: FloatColumn
    mast: FloatColumn

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            getattr(self, field.name).setflags(write=False)

    def beside_dbm(self, k: int, low_hz: IntColumn, high_hz: IntColumn) -> FloatColumn:
        """Return the emission of one transmitter into cells beside its channel [dBm].

        Parameters
        ----------
        k : int
            Which transmitter; its mask is known.
        low_hz, high_hz : (c,) int64
            Edges of the cells [Hz], none of them inside its channel.

        Returns
        -------
        (c,) float64
            Greatest power in the reference bandwidth over the whole cell of 100 kHz round each,
            so that cutting a cell in two frees neither half; minus infinity beyond three
            channels.
        """
        below = self.low_hz[k] - -(-high_hz // CELL_HZ) * CELL_HZ
        above = low_hz // CELL_HZ * CELL_HZ - self.high_hz[k]
        offset_hz = np.where(high_hz <= self.low_hz[k], below, above)
        width_hz = int(self.high_hz[k] - self.low_hz[k])
        density = density_below_total_db(offset_hz.astype(float), str(self.mask[k]), width_hz)
        found: FloatColumn = self.power_dbm[k] + 10 * np.log10(self.emission_hz[k]) + density
        return found


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class InterferenceCurve:
    """Interference over the searched span in cells of 100 kHz or less; read-only columns.

    Attributes
    ----------
    low_hz, high_hz : (c,) int64
        Edges of the cells [Hz], ascending.
    inside_mw : (c,) float64
        Power of the transmitters in whose channel the cell lies, in the reference bandwidth
        [mW]; NaN where one of them is not computed.
    beside_mw : (c,) float64
        Power that neighbours up to three channels away emit there by their limits [mW].
    rise_db : (c,) float64
        Noise rise of the reference receiver by both [dB], to 0.1 dB; NaN where not known.
    loudest : (c,) int64
        The neighbour that emits most there, an index into ``emitters``; -1 for none.
    loud : tuple of int
        Emitters that are followed beyond their channel.
    bandwidth_hz : int
        Reference bandwidth [Hz].
    noise_dbm : float
        Noise of the reference receiver [dBm].
    emitters : Emitters
        Who they are.
    """

    low_hz: IntColumn
    high_hz: IntColumn
    inside_mw: FloatColumn
    beside_mw: FloatColumn
    rise_db: FloatColumn
    loudest: IntColumn
    loud: tuple[int, ...]
    bandwidth_hz: int
    noise_dbm: float
    emitters: Emitters

    def __post_init__(self) -> None:
        for column in (self.low_hz, self.high_hz, self.inside_mw, self.beside_mw, self.rise_db):
            column.setflags(write=False)
        self.loudest.setflags(write=False)

    def cells(self, low_hz: int, high_hz: int) -> slice:
        """Return the cells that a span touches."""
        first = int(np.searchsorted(self.high_hz, low_hz, side="right"))
        return slice(first, int(np.searchsorted(self.low_hz, high_hz, side="left")))

    def power_dbm(self, low_hz: int, high_hz: int) -> float | None:
        """Return the interference in a carrier's bandwidth.

        Parameters
        ----------
        low_hz, high_hz : int
            Edges of the occupied bandwidth [Hz].

        Returns
        -------
        float or None
            Power [dBm], minus infinity for none; None outside the searched span or where a
            field is not computed.
        """
        cells = self.cells(low_hz, high_hz)
        shares_hz = np.minimum(self.high_hz[cells], high_hz) - np.maximum(
            self.low_hz[cells], low_hz
        )
        milliwatts = (self.inside_mw[cells] + self.beside_mw[cells]) / self.bandwidth_hz
        total = float(milliwatts @ shares_hz)
        if int(shares_hz.sum()) != high_hz - low_hz or np.isnan(total):
            return None
        return float(10 * np.log10(total)) if total > 0 else -np.inf


def emitters(arrived: Arrivals, reach: ReachTable, stations: StationTable) -> Emitters:
    """Return the transmitters that arrive at a stop, with what is needed beside their channels.

    Parameters
    ----------
    arrived : Arrivals
        What arrives at the stop.
    reach, stations : ReachTable, StationTable
        Spread of the fields; services, masks and places.
    """
    at = arrived.station
    width_hz = stations.high_hz[at] - stations.low_hz[at]
    tv = is_tv(stations)[at]
    words = zip(
        stations.emission_mask[at].tolist(),
        stations.service[at].tolist(),
        width_hz.tolist(),
        tv.tolist(),
        strict=True,
    )
    known: dict[tuple[str, str, int, bool], str] = {}
    masks = [
        known.setdefault(row, mask_of(*row[:3]) if row[3] else "")
        if row not in known
        else known[row]
        for row in words
    ]
    return Emitters(
        station=at.copy(),
        low_hz=stations.low_hz[at],
        high_hz=stations.high_hz[at],
        power_dbm=arrived.power_dbm.copy(),
        emission_hz=arrived.emission_hz.copy(),
        mask=np.array(masks, dtype="U12"),
        sigma_db=reach.sigma_db[arrived.rows],
        mast=np.column_stack([stations.lat_deg[at], stations.lon_deg[at]]).round(3),
    )


def interference_curve(
    found: Emitters, spans: Sequence[Span], *, noise_dbm: float, settings: Settings
) -> InterferenceCurve:
    """Return the interference over some spans, cell by cell.

    Parameters
    ----------
    found : Emitters
        Who arrives.
    spans : sequence of (int, int)
        The searched span, ascending, cut at every edge of a channel or an emitter [Hz].
    noise_dbm, settings : float, Settings
        Noise of the reference receiver; its bandwidth.

    Notes
    -----
    Every neighbour is taken at the limit of its emission mask, and all powers are added. How well
    a receiver keeps a strong neighbour out (its selectivity) is not in it.
    """
    low_hz, high_hz = _grid(spans)
    inside, beside, most = (np.zeros(len(low_hz)) for _ in range(3))
    loudest = np.full(len(low_hz), -1, dtype=np.int64)
    first = np.searchsorted(high_hz, found.low_hz, side="right")
    last = np.searchsorted(low_hz, found.high_hz, side="left")
    power_mw = 10 ** (found.power_dbm / 10)
    for k in np.flatnonzero(last > first):
        inside[first[k] : last[k]] += power_mw[k]
    loud = _loud(found, noise_dbm)
    for k in loud:
        reach_hz = (CHANNELS_REACHED * (found.high_hz[k] - found.low_hz[k])) + CELL_HZ
        start = int(np.searchsorted(high_hz, found.low_hz[k] - reach_hz, side="right"))
        end = int(np.searchsorted(low_hz, found.high_hz[k] + reach_hz, side="left"))
        for part in (slice(start, first[k]), slice(max(last[k], first[k]), end)):
            emitted = 10 ** (found.beside_dbm(int(k), low_hz[part], high_hz[part]) / 10)
            beside[part] += emitted
            louder = ~(emitted <= most[part])  # NaN, not computed, goes before all others
            most[part][louder] = emitted[louder]
            loudest[part][louder] = k
    with np.errstate(divide="ignore"):
        power_dbm = 10 * np.log10(inside + beside)
    return InterferenceCurve(
        low_hz=low_hz,
        high_hz=high_hz,
        inside_mw=inside,
        beside_mw=beside,
        rise_db=np.asarray(noise_rise_db(power_dbm, np.float64(noise_dbm))).round(1),
        loudest=loudest,
        loud=tuple(loud.tolist()),
        bandwidth_hz=settings.reference_bandwidth_hz,
        noise_dbm=noise_dbm,
        emitters=found,
    )


def _loud(found: Emitters, noise_dbm: float) -> IntColumn:
    """Return the transmitters whose emission at their own edge matters, and the unknown ones."""
    edge_db = np.full(len(found.station), -np.inf)
    for mask, width_hz in set(
        zip(found.mask.tolist(), (found.high_hz - found.low_hz).tolist(), strict=True)
    ):
        if mask:
            rows = (found.mask == mask) & (found.high_hz - found.low_hz == width_hz)
            edge_db[rows] = density_below_total_db(np.zeros(1), mask, width_hz)[0]
    at_edge_dbm = found.power_dbm + 10 * np.log10(found.emission_hz) + edge_db
    return np.flatnonzero((found.mask != "") & ~(at_edge_dbm < noise_dbm + LEAST_BESIDE_DB))


def _grid(spans: Sequence[Span]) -> tuple[IntColumn, IntColumn]:
    """Cut spans at every whole 100 kHz [Hz]."""
    lows, highs = [], []
    for low, high in spans:
        inner = np.arange(low // CELL_HZ + 1, -(-high // CELL_HZ), dtype=np.int64) * CELL_HZ
        lows.append(np.concatenate([[low], inner]))
        highs.append(np.concatenate([inner, [high]]))
    if not lows:
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    return np.concatenate(lows).astype(np.int64), np.concatenate(highs).astype(np.int64)
