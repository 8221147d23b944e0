"""Field at the height of the antenna from the field at the height of the curves."""

# Numbers alone give a number, anything else an array: the overloads overlap on purpose.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from typing import TYPE_CHECKING, overload

import numpy as np

from planner.errors import OutOfModelRange
from planner.field_strength._numbers import columns, same_kind

if TYPE_CHECKING:
    from planner.field_strength._numbers import FloatArray, Numbers

FCC_CURVE_HEIGHT_M = 9.0
"""Height of the receiving antenna above ground for which the FCC curves stand [m]: 30 feet.

References: 47 CFR 73.684 and ISED BPR-10, annex F, which says 9 m.
"""
LOWEST_HEIGHT_M = 1.0


@overload
def height_correction_db(frequency_hz: float, height_m: float, curve_height_m: float) -> float: ...
@overload
def height_correction_db(
    frequency_hz: Numbers, height_m: Numbers, curve_height_m: Numbers
) -> FloatArray: ...
def height_correction_db(
    frequency_hz: Numbers, height_m: Numbers, curve_height_m: Numbers
) -> float | FloatArray:
    """Return what to add to a curve's field for an antenna at another height, open surroundings.

    ``(3.2 + 6.2 log10 f_MHz) log10(height / curve height)``

    Parameters
    ----------
    frequency_hz : float or array
        Frequency [Hz], 30 MHz to 4 GHz.
    height_m : float or array
        Height of the antenna above ground [m], 1 m or more. The model gives no figure below 1 m.
        Above the curve's height the correction is positive.
    curve_height_m : float or array
        Height for which the curve stands [m], more than 0.

    Returns
    -------
    float or array
        Correction [dB], negative below the curve's height, in the common shape.

    Raises
    ------
    OutOfModelRange
        When a height is below 1 m or not a number.

    References
    ----------
    Recommendation ITU-R P.1546-6 (2019), annex 5, section 9, open surroundings, as in the
    reference code of ITU-R Study Group 3 (commit 0e42639).
    """
    frequency, height, curve_height = columns(frequency_hz, height_m, curve_height_m)
    bad = ~(height >= LOWEST_HEIGHT_M)
    if bad.any():
        raise OutOfModelRange("height_m", float(height[bad][0]), LOWEST_HEIGHT_M, np.inf)
    slope = 3.2 + 6.2 * np.log10(frequency / 1e6)
    return same_kind(slope * np.log10(height / curve_height))
