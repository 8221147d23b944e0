"""From which field a television service counts as received, where no rule gives a contour."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

LEVEL_DBUV_M = 56.0
"""At 650 MHz; see :func:`held_level_dbuv_m`."""
LEVEL_TEXT = (
    "A TV service counts as received where its predicted median field at 10 m reaches "
    f"{LEVEL_DBUV_M:g} dB(uV/m) at 650 MHz, scaled with frequency: a planning level of this "
    "program, which no rule seen states."
)


def held_level_dbuv_m(
    frequency_hz: npt.NDArray[np.int64] | npt.NDArray[np.float64],
) -> npt.NDArray[np.float64]:
    """Return the field from which a television service counts as received [dB(uV/m)].

    Parameters
    ----------
    frequency_hz : (n,) array
        Centre of the channel [Hz].

    Returns
    -------
    (n,) float64
        56 + 20 log10(f / 650 MHz), for 50 % of time and places at 10 m. A planning criterion of
        our own, not a rule's figure.

    References
    ----------
    GE06 Agreement, reference configuration for fixed reception, 56 dB(uV/m) at 650 MHz (from
    memory); no microphone rule seen outside North America gives a figure.
    """
    return np.asarray(LEVEL_DBUV_M + 20.0 * np.log10(np.asarray(frequency_hz) / 650e6))
