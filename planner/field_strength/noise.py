"""From field strength to power at a receiver, and what that does to its noise."""

# Numbers alone give a number, anything else an array: the overloads overlap on purpose.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from typing import TYPE_CHECKING, overload

import numpy as np

from planner.field_strength._numbers import columns, decibels, same_kind
from planner.field_strength.free_space import SPEED_OF_LIGHT_M_S

if TYPE_CHECKING:
    from planner.field_strength._numbers import FloatArray, Numbers

BOLTZMANN_J_K = 1.380649e-23
REFERENCE_TEMPERATURE_K = 290.0
FREE_SPACE_IMPEDANCE_OHM = 376.730313668
_NEPERS = float(np.log(10.0) / 10.0)
"""Natural logarithm of a power ratio for each decibel."""


@overload
def thermal_noise_dbm(bandwidth_hz: float, noise_figure_db: float) -> float: ...
@overload
def thermal_noise_dbm(bandwidth_hz: Numbers, noise_figure_db: Numbers) -> FloatArray: ...
def thermal_noise_dbm(bandwidth_hz: Numbers, noise_figure_db: Numbers) -> float | FloatArray:
    """Return a receiver's own noise, referred to its input.

    Parameters
    ----------
    bandwidth_hz : float or array
        Noise bandwidth [Hz], more than 0.
    noise_figure_db : float or array
        Noise figure [dB] against 290 K.

    Returns
    -------
    float or array
        Noise power [dBm], in the common shape: -173.975 dBm in 1 Hz at 0 dB.

    References
    ----------
    k T B with CODATA's Boltzmann constant (exact since 2019) and 290 K, the standard noise
    temperature of IEEE and ITU-R.
    """
    bandwidth, noise_figure = columns(bandwidth_hz, noise_figure_db)
    watts = BOLTZMANN_J_K * REFERENCE_TEMPERATURE_K * bandwidth
    return same_kind(decibels(watts * 1e3) + noise_figure)


@overload
def received_power_dbm(field_dbuv_m: float, frequency_hz: float) -> float: ...
@overload
def received_power_dbm(field_dbuv_m: Numbers, frequency_hz: Numbers) -> FloatArray: ...
def received_power_dbm(field_dbuv_m: Numbers, frequency_hz: Numbers) -> float | FloatArray:
    """Return the power that an isotropic antenna takes from a field.

    Parameters
    ----------
    field_dbuv_m : float or array
        Field strength [dB(uV/m)].
    frequency_hz : float or array
        Frequency [Hz], more than 0.

    Returns
    -------
    float or array
        Power [dBm], in the common shape: field - 20 log10 f_MHz - 77.216. A half-wave dipole
        takes 2.15 dB more.

    References
    ----------
    Flux through the effective area of an isotropic antenna, wavelength squared over 4 pi;
    Recommendation ITU-R P.525 gives the same relation rounded (edition 4, section 4, from memory).
    """
    field, frequency = columns(field_dbuv_m, frequency_hz)
    area_m2 = (SPEED_OF_LIGHT_M_S / frequency) ** 2 / (4 * np.pi)
    milliwatts_at_0_dbuv_m = 1e-12 / FREE_SPACE_IMPEDANCE_OHM * area_m2 * 1e3
    return same_kind(field + decibels(milliwatts_at_0_dbuv_m))


@overload
def in_bandwidth_dbm(power_dbm: float, *, emission_hz: float, receiver_hz: float) -> float: ...
@overload
def in_bandwidth_dbm(
    power_dbm: Numbers, *, emission_hz: Numbers, receiver_hz: Numbers
) -> FloatArray: ...
def in_bandwidth_dbm(
    power_dbm: Numbers, *, emission_hz: Numbers, receiver_hz: Numbers
) -> float | FloatArray:
    """Return the share of an evenly spread emission that falls into a receiver.

    Parameters
    ----------
    power_dbm : float or array
        Power of the whole emission [dBm].
    emission_hz : float or array
        Width over which the emission is spread [Hz], more than 0.
    receiver_hz : float or array
        Bandwidth of the receiver [Hz], more than 0, wholly inside the emission; a receiver wider
        than the emission takes all of it.

    Returns
    -------
    float or array
        Power in the receiver [dBm], in the common shape.
    """
    power, emission, receiver = columns(power_dbm, emission_hz, receiver_hz)
    return same_kind(power + decibels(np.minimum(receiver / emission, 1.0)))


@overload
def noise_rise_db(interference_dbm: float, noise_dbm: float) -> float: ...
@overload
def noise_rise_db(interference_dbm: Numbers, noise_dbm: Numbers) -> FloatArray: ...
def noise_rise_db(interference_dbm: Numbers, noise_dbm: Numbers) -> float | FloatArray:
    """Return by how much noise-like interference raises a receiver's noise.

    Parameters
    ----------
    interference_dbm : float or array
        Interference in the receiver's bandwidth [dBm]; minus infinity for none.
    noise_dbm : float or array
        The receiver's own noise in the same bandwidth [dBm].

    Returns
    -------
    float or array
        Rise [dB], 0 or more, in the common shape.
    """
    interference, noise = columns(interference_dbm, noise_dbm)
    with np.errstate(invalid="ignore"):  # NaN is an answer here
        rise = np.logaddexp(0.0, (interference - noise) * _NEPERS) / _NEPERS
    return same_kind(rise)


def power_sum_dbm(powers_dbm: FloatArray, axis: int = -1) -> float | FloatArray:
    """Add powers that stand in dBm.

    Parameters
    ----------
    powers_dbm : (..., n, ...) float64
        Powers [dBm]; minus infinity adds nothing, NaN makes the sum NaN.
    axis : int
        Axis along which to add.

    Returns
    -------
    float or array
        Sum [dBm], without that axis; minus infinity for a sum over nothing.
    """
    powers = np.asarray(powers_dbm, dtype=np.float64) * _NEPERS
    with np.errstate(invalid="ignore"):  # NaN is an answer here
        total: FloatArray = np.logaddexp.reduce(powers, axis=axis, initial=-np.inf)
    return same_kind(total / _NEPERS)
