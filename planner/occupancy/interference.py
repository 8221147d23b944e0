"""What the transmitters that reach a stop do to the reference receiver there."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength.building import entry_loss_db
from planner.field_strength.height import height_correction_db
from planner.field_strength.noise import (
    in_bandwidth_dbm,
    noise_rise_db,
    power_sum_dbm,
    received_power_dbm,
    thermal_noise_dbm,
)

if TYPE_CHECKING:
    import numpy.typing as npt

    from planner.reach import ReachTable
    from planner.records import Settings, StationTable, Stop

TV_OCCUPIED_HZ = {6_000_000: 5_380_000, 7_000_000: 6_660_000, 8_000_000: 7_610_000}
"""Width over which a TV signal spreads its power, by channel width [Hz]: 10.76 Msymbol/s of
ATSC A/53 halved for 6 MHz; carriers of DVB-T (EN 300 744) for 7 and 8 MHz."""
_MEDIAN_PERCENT = 50.0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Arrivals:
    """The reach rows of one stop, and their power in the reference receiver.

    Attributes
    ----------
    rows, station : (n,) int64
        Rows of the reach table; indices into the station table.
    power_dbm : (n,) float64
        Interference in the reference bandwidth, exceeded for 10 % of the time [dBm]; of a
        host and its guests on one antenna only the strongest counts; NaN where no field is
        computed.
    noise_dbm : float
        The receiver's own noise [dBm].
    emission_hz : (n,) float64
        Width over which each transmitter spreads its power [Hz].
    """

    rows: npt.NDArray[np.int64]
    station: npt.NDArray[np.int64]
    power_dbm: npt.NDArray[np.float64]
    noise_dbm: float
    emission_hz: npt.NDArray[np.float64]

    def rise_db(self, which: npt.NDArray[np.int64]) -> float | None:
        """Return the noise rise by some arrivals together, to 0.1 dB.

        Parameters
        ----------
        which : (k,) int64
            Positions in the columns.

        Returns
        -------
        float or None
            None where the field of one of them is not computed.
        """
        if np.isnan(self.power_dbm[which]).any():
            return None
        total = float(power_sum_dbm(self.power_dbm[which])) if which.size else -np.inf
        return round(float(noise_rise_db(total, self.noise_dbm)), 1)

    def rises_db(self) -> npt.NDArray[np.float64]:
        """Return the noise rise by each arrival alone, to 0.1 dB, NaN if unknown."""
        rises: npt.NDArray[np.float64] = np.asarray(
            noise_rise_db(self.power_dbm, self.noise_dbm), dtype=np.float64
        )
        return rises.round(1)


def arrivals(
    stop: Stop, reach: ReachTable, stop_index: int, stations: StationTable, settings: Settings
) -> Arrivals:
    """Return what arrives at one stop, in the reference receiver.

    Parameters
    ----------
    stop, stop_index : Stop, int
        The stop and its index in ``reach.stop``.
    reach, stations, settings : ReachTable, StationTable, Settings
        Fields at ``field_height_m``; widths of the emissions; reference receiver and building.

    Notes
    -----
    The field of ``interference_time_percent`` (10 % unless set) is brought from 9 or 10 m to the
    antenna's height (ITU-R P.1546-6 section 9, open surroundings), at indoor stops less the median
    loss of ITU-R P.2109.
    """
    rows = np.flatnonzero(reach.stop == stop_index)
    station = reach.station[rows]
    width_hz = stations.high_hz[station] - stations.low_hz[station]
    centre_hz = (stations.low_hz[station] + stations.high_hz[station]) // 2
    occupied_hz = width_hz.astype(float)
    for width, occupied in TV_OCCUPIED_HZ.items():
        occupied_hz[width_hz == width] = occupied
    field = reach.field_interference_dbuv_m[rows] + height_correction_db(
        centre_hz, stop.antenna_height_m, reach.field_height_m[rows]
    )
    if stop.indoor:
        field = field - entry_loss_db(
            centre_hz, probability_percent=_MEDIAN_PERCENT, building=settings.building_loss
        )
    power = in_bandwidth_dbm(
        received_power_dbm(field, centre_hz),
        emission_hz=occupied_hz,
        receiver_hz=np.minimum(settings.reference_bandwidth_hz, occupied_hz),
    )
    return Arrivals(
        rows=rows,
        station=station,
        power_dbm=_without_double_guests(np.asarray(power, dtype=float), station, stations),
        noise_dbm=float(
            thermal_noise_dbm(settings.reference_bandwidth_hz, settings.reference_noise_figure_db)
        ),
        emission_hz=occupied_hz,
    )


def _without_double_guests(
    power_dbm: npt.NDArray[np.float64],
    station: npt.NDArray[np.int64],
    stations: StationTable,
) -> npt.NDArray[np.float64]:
    """Count one antenna once: of a host and its guests on one channel the strongest row stays.

    The strongest of more rows is never weaker, so a row added to such a group frees nothing.
    """
    named = set(stations.shared_with[station].tolist()) - {""}
    groups: dict[tuple[str, int, int], list[int]] = {}
    for k, index in enumerate(station):
        host = str(stations.shared_with[index] or stations.station_id[index])
        if host in named:
            key = (host, int(stations.low_hz[index]), int(stations.high_hz[index]))
            groups.setdefault(key, []).append(k)
    found = power_dbm.copy()
    for members in groups.values():
        strongest = max(members, key=lambda k: (np.isnan(power_dbm[k]), power_dbm[k]))
        found[[k for k in members if k != strongest]] = -np.inf
    return found
