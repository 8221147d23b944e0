"""Field strength and loss in free space.

References
----------
FCC contours-api-node, commit b9c92ea (2021-05-21): 106.92 dB(uV/m) at 1 km from 1 kW ERP, used by
the regulator nearer than 1.5 km; it is 20 log10 of sqrt(30 x 1.64 x 1000 W) / 1000 m in uV/m.
Recommendation ITU-R P.1546-6, section 2, equation (2) rounds it to 106.9; Recommendation
ITU-R P.525-5 gives the loss, here with its constant unrounded.
"""

# Numbers alone give a number, anything else an array: the overloads overlap on purpose.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from typing import TYPE_CHECKING, overload

import numpy as np

from planner.field_strength._numbers import columns, decibels, same_kind

if TYPE_CHECKING:
    from planner.field_strength._numbers import FloatArray, Numbers

FIELD_AT_1_KM_DBUV_M = 106.92
"""Field at 1 km from 1 kW ERP over a half-wave dipole [dB(uV/m)]."""
SPEED_OF_LIGHT_M_S = 299_792_458.0
NEAREST_KM = 0.01
"""Nearer than this [km] the field is held at its value here: a finite figure at a mast's foot."""


@overload
def field_dbuv_m(distance_km: float, erp_kw: float) -> float: ...
@overload
def field_dbuv_m(distance_km: Numbers, erp_kw: Numbers) -> FloatArray: ...
def field_dbuv_m(distance_km: Numbers, erp_kw: Numbers) -> float | FloatArray:
    """Return the field of a transmitter in free space.

    Parameters
    ----------
    distance_km : float or array
        Distance [km], 0 or more; below 0.01 km the field at 0.01 km is given. Negative: NaN.
    erp_kw : float or array
        Power over a half-wave dipole toward the receiver [kW]; 0 gives minus infinity,
        negative NaN.

    Returns
    -------
    float or array
        Field [dB(uV/m)], in the common shape.

    References
    ----------
    FCC contours-api-node, commit b9c92ea: 106.92 dB(uV/m) at 1 km from 1 kW.
    """
    distance, erp = columns(distance_km, erp_kw)
    near = np.where(distance < 0, np.nan, np.maximum(distance, NEAREST_KM))
    return same_kind(FIELD_AT_1_KM_DBUV_M - 2 * decibels(near) + decibels(erp))


@overload
def path_loss_db(distance_km: float, frequency_hz: float) -> float: ...
@overload
def path_loss_db(distance_km: Numbers, frequency_hz: Numbers) -> FloatArray: ...
def path_loss_db(distance_km: Numbers, frequency_hz: Numbers) -> float | FloatArray:
    """Return the loss between isotropic antennas in free space.

    Parameters
    ----------
    distance_km : float or array
        Distance [km], more than 0; the far field of both antennas is meant. 0: minus infinity,
        negative: NaN.
    frequency_hz : float or array
        Frequency [Hz], more than 0.

    Returns
    -------
    float or array
        Loss [dB], in the common shape.

    References
    ----------
    Recommendation ITU-R P.525-5 (2024), with 20 log10(4 pi / c) unrounded: 32.4478 dB at 1 km
    and 1 MHz.
    """
    distance, frequency = columns(distance_km, frequency_hz)
    wavelengths = distance * 1e3 * frequency / SPEED_OF_LIGHT_M_S
    return same_kind(2 * decibels(4 * np.pi * wavelengths))
