"""Conversions at the borders: hertz inside, MHz and kHz outside; ERP, EIRP, conducted power."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

HZ_PER_MHZ = 1_000_000
HZ_PER_KHZ = 1_000
DIPOLE_GAIN_DBI = 2.15
"""Gain of a half-wave dipole over isotropic [dB], as ITU-R and the FCC round it."""


_NOISE_HZ = Decimal("0.001")
"""What a binary fraction may leave behind: less than this from a whole hertz is noise."""


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
    return _whole_hz(value_mhz, HZ_PER_MHZ, "MHz")


def khz_to_hz(value_khz: float | str | Decimal) -> int:
    """Convert kHz to whole hertz; like :func:`mhz_to_hz`, at most three decimals."""
    return _whole_hz(value_khz, HZ_PER_KHZ, "kHz")


def _whole_hz(value: float | str | Decimal, factor: int, unit: str) -> int:
    try:
        hertz = Decimal(str(value)) * factor
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
    text = f"{value_hz / HZ_PER_MHZ:.6f}"
    whole, fraction = text.split(".")
    fraction = fraction.rstrip("0").ljust(decimals, "0")
    return f"{whole}.{fraction}" if fraction else whole


def shortest_mhz(value_hz: int) -> str:
    """Write a frequency in MHz with the fewest decimals that keep it exact."""
    return format_mhz(value_hz, decimals=0)
