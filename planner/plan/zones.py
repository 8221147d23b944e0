"""How weak the products of one zone arrive in another: what may be left out is computed.

Assumptions, each on the side that leaves less out. Antennas are isotropic and everything radiates
with its highest power setting. Within a zone, transmitters and receivers stand 3 m apart. Between
zones the loss is that of free space over the least distance, or the one that was measured. Where
nothing is told of two zones they count as one place, and nothing between them is left out.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from typing import TYPE_CHECKING

from planner.field_strength.free_space import path_loss_db
from planner.field_strength.noise import thermal_noise_dbm
from planner.units import shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from planner.records import ZonePair

WITHIN_ZONE_M = 3.0
"""Distance of transmitters and receivers of one zone [m] (common practice, no source)."""
INPUT_INTERCEPT_DBM = -10.0
"""Third-order intercept point at a receiver's input [dBm] (common practice, no source: receivers
for many carriers are better)."""
CONVERSION_LOSS_DB = 10.0
"""By how much a product that forms in a transmitter is weaker than the carrier that arrives there
from outside [dB] (common practice, no source: output stages with an isolator are better)."""
UNDER_FLOOR_DB = 10.0
"""A product is left out when it is this far under the victim's own noise [dB]."""
DEFAULT_POWER_MW = 50.0
"""Taken for a transmitter of which no power is known [mW]."""
_THREE_SIGNALS_DB = 6.0
"""A+B-C is twice the amplitude of 2A-B (third-order term of a power series)."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Zone:
    """What stands in a zone at a stop.

    Attributes
    ----------
    power_dbm : float or None
        The strongest transmitter [dBm EIRP]; None where nothing transmits.
    floor_dbm : float or None
        The least noise of a receiver to be protected [dBm]; None where there is none.
    """

    power_dbm: float | None = None
    floor_dbm: float | None = None


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LeftOut:
    """Products that are too weak to be heard.

    Attributes
    ----------
    victim : str
        Zone of the receivers.
    sources : tuple of str
        Zones of the transmitters that take part, sorted: two for 2A-B and 3A-2B, three for A+B-C.
    under_floor_db : float
        How far the strongest such product lies under the receivers' noise [dB].
    """

    victim: str
    sources: tuple[str, ...]
    under_floor_db: float

    def text(self) -> str:
        """Say it in a sentence."""
        zones = list(dict.fromkeys(self.sources))
        if len(zones) > 1:
            where = f"between {', '.join(zones[:-1])} and {zones[-1]}"
        else:
            where = f"of {zones[0]} alone"
        kind = "three carriers" if len(self.sources) > 2 else "two carriers"
        return (
            f"products of {kind} {where} are left out in {self.victim}: computed "
            f"{self.under_floor_db:.1f} dB under the floor there"
        )


def floor_dbm(
    bandwidth_hz: int,
    *,
    noise_figure_db: float | None,
    sensitivity_dbm: float | None = None,
    required_snr_db: float | None = None,
    default_noise_figure_db: float,
) -> float:
    """Return a receiver's own noise [dBm].

    Parameters
    ----------
    bandwidth_hz : int
        Its bandwidth [Hz], more than 0.
    noise_figure_db : float or None
        Its noise figure [dB]; else sensitivity less SNR is the noise, else the default counts.
    sensitivity_dbm, required_snr_db : float or None
        Sensitivity [dBm] and the SNR for which it holds [dB].
    default_noise_figure_db : float
        Noise figure where nothing is known [dB].
    """
    if noise_figure_db is None and sensitivity_dbm is not None and required_snr_db is not None:
        return sensitivity_dbm - required_snr_db
    figure = default_noise_figure_db if noise_figure_db is None else noise_figure_db
    return thermal_noise_dbm(float(bandwidth_hz), figure)


class Losses:
    """Loss between any two zones.

    Parameters
    ----------
    pairs : iterable of ZonePair
        What is told of zones.
    frequency_hz : int
        Frequency at which loss in free space is computed [Hz]: the lowest in use, where it is
        least.
    """

    def __init__(self, pairs: Iterable[ZonePair], frequency_hz: int) -> None:
        self._within_db = path_loss_db(WITHIN_ZONE_M / 1e3, float(frequency_hz))
        self._told_db: dict[frozenset[str], float] = {}
        for pair in pairs:
            loss_db = pair.isolation_db
            if loss_db is None:
                distance_m = max(WITHIN_ZONE_M, pair.distance_m or 0.0)
                loss_db = path_loss_db(distance_m / 1e3, float(frequency_hz))
            self._told_db[frozenset((pair.a, pair.b))] = loss_db

    def told(self, one: str, two: str) -> bool:
        """Say whether something is known of two zones; of a zone with itself it is."""
        return one == two or frozenset((one, two)) in self._told_db

    def loss_db(self, one: str, two: str) -> float:
        """Return the loss between an antenna in one zone and one in the other [dB]."""
        return self._told_db.get(frozenset((one, two)), self._within_db)


def left_out(
    zones: Mapping[str, Zone], pairs: Sequence[ZonePair], *, frequency_hz: int
) -> tuple[LeftOut, ...]:
    """Return the products between zones that nobody can hear.

    Parameters
    ----------
    zones : mapping of str to Zone
        What stands in each zone.
    pairs : sequence of ZonePair
        Distances and losses that are told.
    frequency_hz : int
        The lowest carrier in use [Hz], more than 0.

    Returns
    -------
    tuple of LeftOut
        By victim zone, then sources; products of the victim's own zone alone are never among
        them, nor those of a zone of which nothing is told.
    """
    losses = Losses(pairs, frequency_hz)
    sending = sorted(name for name, zone in zones.items() if zone.power_dbm is not None)
    found = []
    for victim in sorted(zones):
        floor = zones[victim].floor_dbm
        if floor is None:
            continue
        for count in (2, 3):
            for sources in itertools.combinations_with_replacement(sending, count):
                if set(sources) == {victim} or not all(
                    losses.told(source, victim) for source in sources
                ):
                    continue
                under_db = round(floor - product_dbm(zones, losses, victim, sources), 1)
                if under_db >= UNDER_FLOOR_DB:
                    found.append(LeftOut(victim=victim, sources=sources, under_floor_db=under_db))
    return tuple(found)


def product_dbm(
    zones: Mapping[str, Zone], losses: Losses, victim: str, sources: Sequence[str]
) -> float:
    """Return the strongest product of transmitters of some zones at a receiver of another [dBm].

    Parameters
    ----------
    zones, losses : mapping of str to Zone, Losses
        What stands where, and what lies between.
    victim : str
        Zone of the receiver.
    sources : sequence of str
        Zones of the sources, two for 2A-B (either may be A) and 3A-2B, three for A+B-C.

    Notes
    -----
    Formed in the receiver: from the levels that arrive, 2 P_A + P_B - 2 IP3, and 6 dB more for
    three signals. Formed in a transmitter: the weakest of the others that arrive there, less the
    conversion loss, carried to the receiver. A product 3A-2B counts as strong as 2A-B of the
    same two: below the intercept point it is weaker.
    """
    powers = [_power_dbm(zones[source]) for source in sources]
    arriving = [
        power - losses.loss_db(source, victim)
        for power, source in zip(powers, sources, strict=True)
    ]
    if len(sources) > 2:
        in_receiver = sum(arriving) - 2 * INPUT_INTERCEPT_DBM + _THREE_SIGNALS_DB
    else:
        in_receiver = sum(arriving) + max(arriving) - 2 * INPUT_INTERCEPT_DBM
    return max(in_receiver, *_in_transmitters(powers, losses, victim, sources))


def _in_transmitters(
    powers_dbm: Sequence[float], losses: Losses, victim: str, sources: Sequence[str]
) -> Iterator[float]:
    """Yield, for each source, the product that forms in it as it arrives at the victim [dBm]."""
    for place, here in enumerate(sources):
        others = [
            power - losses.loss_db(source, here)
            for k, (power, source) in enumerate(zip(powers_dbm, sources, strict=True))
            if k != place
        ]
        yield min(others) - CONVERSION_LOSS_DB - losses.loss_db(here, victim)


def _power_dbm(zone: Zone) -> float:
    return -math.inf if zone.power_dbm is None else zone.power_dbm


def assumptions_text(frequency_hz: int) -> str:
    """Say what the levels between zones rest on, for the sheet.

    Parameters
    ----------
    frequency_hz : int
        The frequency used for loss in free space [Hz].
    """
    return (
        f"levels between zones: highest power setting, isotropic antennas, free space at "
        f"{shortest_mhz(frequency_hz)} MHz over the distance told or the isolation told, "
        f"{WITHIN_ZONE_M:g} m within a zone; receiver intercept {INPUT_INTERCEPT_DBM:g} dBm, "
        f"conversion loss in a transmitter {CONVERSION_LOSS_DB:g} dB; left out from "
        f"{UNDER_FLOOR_DB:g} dB under the floor; spacing holds everywhere"
    )
