"""How far a microphone or in-ear link works: for comparing channels, not for promising metres."""

from __future__ import annotations

import dataclasses
import math

from planner.field_strength.free_space import path_loss_db

NEAR_M = 5.0
"""Up to this distance [m] the loss is that of free space (common practice, no source)."""
_NEAREST_M = 0.01


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LinkAssumptions:
    """What a working range rests on beside noise and interference.

    Attributes
    ----------
    hand_held_loss_db, body_worn_loss_db : float
        Loss in the body of the performer [dB]; common practice, no source.
    rack_loss_db : float
        The same of a transmitter that stands free [dB].
    served_percent : float
        Share of places where the link must work [%], under Rayleigh fading.
    microphone_branches, in_ear_branches : int
        Antennas among which the receiver selects: a rack has two, a pack one; common practice.
    far_exponent : float
        Exponent of the loss with distance beyond 5 m, 2 up to there; common practice, no source.
    """

    hand_held_loss_db: float = 6.0
    body_worn_loss_db: float = 12.0
    rack_loss_db: float = 0.0
    served_percent: float = 99.0
    microphone_branches: int = 2
    in_ear_branches: int = 1
    far_exponent: float = 2.7

    def body_loss_db(self, form: str) -> float:
        """Return the loss of a form [dB]; that of a body-worn pack where the form is not told."""
        known = {"hand-held": self.hand_held_loss_db, "rack": self.rack_loss_db}
        return known.get(form, self.body_worn_loss_db)


def fading_allowance_db(served_percent: float, branches: int) -> float:
    """Return how far the mean signal must exceed what is needed, under Rayleigh fading.

    Parameters
    ----------
    served_percent : float
        Share of places or moments served [%], above 0 and below 100.
    branches : int
        Independent antennas among which the strongest is selected, 1 or more.

    Returns
    -------
    float
        Allowance [dB]: 20.0 dB for 99 % with one branch, 9.8 dB with two.

    Raises
    ------
    ValueError
        Outside these limits.

    References
    ----------
    Rayleigh fading with selection among M branches: the signal-to-noise ratio stays under x with
    probability ``(1 - exp(-x / mean))**M`` (W. C. Jakes, Microwave Mobile Communications, 1974,
    section 5.2, from memory).
    """
    if not 0 < served_percent < 100 or branches < 1:
        raise ValueError(
            f"{served_percent} % with {branches} branches; allowed: more than 0 % and less than "
            "100 %, one branch or more"
        )
    unserved = 1.0 - served_percent / 100.0
    return -10.0 * math.log10(-math.log1p(-(unserved ** (1.0 / branches))))


def link_loss_db(distance_m: float, frequency_hz: float, *, far_exponent: float) -> float:
    """Return the mean loss between isotropic antennas on and round a stage.

    Parameters
    ----------
    distance_m : float
        Distance [m], more than 0; below 1 cm the loss at 1 cm is given.
    frequency_hz : float
        Frequency [Hz], more than 0.
    far_exponent : float
        Exponent beyond 5 m.

    Returns
    -------
    float
        Loss [dB]: free space to 5 m, from there ``10 n log10(d / 5 m)`` more.
    """
    near_m = min(max(distance_m, _NEAREST_M), NEAR_M)
    beyond = max(distance_m, NEAR_M) / NEAR_M
    near_db = float(path_loss_db(near_m / 1e3, frequency_hz))
    return near_db + 10.0 * far_exponent * math.log10(beyond)


def working_range_m(margin_db: float, frequency_hz: float, *, far_exponent: float) -> float:
    """Return the greatest distance at which a link still has what it needs.

    Parameters
    ----------
    margin_db : float
        Radiated power (EIRP, dBm) less body loss, fading allowance, noise and interference
        (dBm), and required signal-to-noise ratio [dB]: the loss that the path may have.
    frequency_hz : float
        Frequency [Hz], more than 0.
    far_exponent : float
        Exponent beyond 5 m, more than 0.

    Returns
    -------
    float
        Distance [m], not capped; 0 where the path may have no loss at all at 1 cm.
    """
    at_limit_db = link_loss_db(NEAR_M, frequency_hz, far_exponent=far_exponent)
    if margin_db >= at_limit_db:
        return float(NEAR_M * 10.0 ** ((margin_db - at_limit_db) / (10.0 * far_exponent)))
    found_m = float(NEAR_M * 10.0 ** ((margin_db - at_limit_db) / 20.0))
    return found_m if found_m > _NEAREST_M else 0.0
