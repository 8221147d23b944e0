"""Conversions at the borders: hertz inside, MHz and kHz outside; ERP, EIRP, conducted power."""

from __future__ import annotations

import functools
from decimal import Decimal, InvalidOperation

HZ_PER_MHZ = 1_000_000
HZ_PER_KHZ = 1_000
DIPOLE_GAIN_DBI = 2.15
"""Gain of a half-wave dipole over isotropic [dB], as ITU-R and the FCC round it."""


POWER_KINDS = ("EIRP", "ERP", "conducted")
"""How a power may be measured: radiated over isotropic, over a dipole, at the connector."""

_NOISE_HZ = Decimal("0.001")
"""What a binary fraction may leave behind: less than this from a whole hertz is noise."""


def convert_power_mw(
    power_mw: float, from_kind: str, to_kind: str, *, antenna_gain_dbi: float = DIPOLE_GAIN_DBI
) -> float:
    """Convert a power between EIRP, ERP and conducted power.

    Parameters
    ----------
    power_mw : float
        Power measured as ``from_kind`` [mW].
    from_kind, to_kind : str
        One of :data:`POWER_KINDS`.
    antenna_gain_dbi : float
        Gain of the transmitting antenna over isotropic [dBi], cable loss taken off; default a
        half-wave dipole, as hand-held and body-worn transmitters have at best. It enters only
        between conducted and radiated power.

    Returns
    -------
    float
        Power measured as ``to_kind`` [mW].

    Raises
    ------
    KeyError
        For another kind.

    References
    ----------
    47 CFR 2.1(c): effective radiated power is the power supplied to the antenna times its gain
    relative to a half-wave dipole, equivalent isotropically radiated power times its gain
    relative to isotropic. Recommendation ITU-R V.573 has the same terms. A half-wave dipole
    stands 2.15 dB over isotropic.
    """
    over_isotropic_db = {"EIRP": 0.0, "ERP": DIPOLE_GAIN_DBI, "conducted": antenna_gain_dbi}
    return power_mw * float(
        10 ** ((over_isotropic_db[from_kind] - over_isotropic_db[to_kind]) / 10)
    )


def mhz_to_hz(value_mhz: float | str | Decimal) -> int:
    """Convert MHz to whole hertz.

    Parameters
    ----------
    value_mhz : float, str or Decimal
        Frequency [MHz], at most six decimals; the noise of binary fractions
        (``518.1500000000001``) is forgiven.

    Returns
    -------
    int
        Frequency [Hz].

    Raises
    ------
    ValueError
        When the value is not finite or is not a whole number of hertz.
    """
    return _whole_hz(str(value_mhz), HZ_PER_MHZ, "MHz")


def khz_to_hz(value_khz: float | str | Decimal) -> int:
    """Convert kHz to whole hertz; like :func:`mhz_to_hz`, at most three decimals."""
    return _whole_hz(str(value_khz), HZ_PER_KHZ, "kHz")


@functools.lru_cache(maxsize=16384)
def _whole_hz(value: str, factor: int, unit: str) -> int:
    try:
        hertz = Decimal(value) * factor
    except InvalidOperation:
        raise ValueError(f"{value} is not a number of {unit}") from None
    if not hertz.is_finite() or abs(hertz - hertz.to_integral_value()) >= _NOISE_HZ:
        raise ValueError(f"{value} {unit} is not a whole number of hertz")
    return int(hertz.to_integral_value())


def hz_to_mhz(value_hz: int) -> float:
    """Convert whole hertz to MHz, exact to the hertz when printed with six decimals."""
    return round(value_hz / HZ_PER_MHZ, 6)


def format_mhz(value_hz: int, decimals: int = 3) -> str:
    """Write a frequency in MHz with at least ``decimals`` places, more only where needed.

    Parameters
    ----------
    value_hz : int
        Frequency [Hz].
    decimals : int
        Least number of decimals, 0 to 6.

    Returns
    -------
    str
        For example ``"512.350"`` or ``"512.33125"``.
    """
    return _format_mhz(value_hz, decimals)


@functools.lru_cache(maxsize=16384)
def _format_mhz(value_hz: int, decimals: int) -> str:
    text = f"{value_hz / HZ_PER_MHZ:.6f}"
    whole, fraction = text.split(".")
    fraction = fraction.rstrip("0").ljust(decimals, "0")
    return f"{whole}.{fraction}" if fraction else whole


def shortest_mhz(value_hz: int) -> str:
    """Write a frequency in MHz with the fewest decimals that keep it exact."""
    return format_mhz(value_hz, decimals=0)
