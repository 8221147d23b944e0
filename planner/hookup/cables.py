"""What coaxial cables take away: general types, a sqrt(f) + b f, and what a length costs."""

from __future__ import annotations

import dataclasses
import functools
import math
from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.errors import OutOfModelRange
from planner.tables import read_table
from planner.units import HZ_PER_MHZ

if TYPE_CHECKING:
    from collections.abc import Mapping

LEAST_DB_100M_AT_100_MHZ = 0.3
"""No flexible cable loses less [dB per 100 m at 100 MHz]: a rigid line of some 80 mm does; from
memory. A figure below is a slip of the pen."""
MOST_DB_100M_AT_100_MHZ = 150.0
"""No cable sold for antennas loses more [dB per 100 m at 100 MHz]; from memory."""
MISMATCH_DB = 0.18
"""Most that a junction of 50 and 75 ohm costs [dB]: reflection 0.2, -10 log10(1 - 0.04)."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CableType:
    """Attenuation of a general type of cable.

    Attributes
    ----------
    a, b : float
        Loss is ``a sqrt(f) + b f`` [dB per 100 m], f in MHz.
    low_hz, high_hz : int
        Span in which figures were fitted [Hz].
    impedance_ohm : float
        Nominal [ohm].
    spread_percent : float
        How far the figures that were fitted lie off at most [%].
    """

    name: str
    a: float
    b: float
    low_hz: int
    high_hz: int
    impedance_ohm: float
    spread_percent: float


@functools.cache
def cable_types() -> Mapping[str, CableType]:
    """Return the general types of cable by name, read-only."""
    table = read_table("cable_attenuation")
    return MappingProxyType(
        {
            name: CableType(
                name=name,
                a=float(table["a"][row]),
                b=float(table["b"][row]),
                low_hz=round(float(table["low_mhz"][row]) * HZ_PER_MHZ),
                high_hz=round(float(table["high_mhz"][row]) * HZ_PER_MHZ),
                impedance_ohm=float(table["impedance_ohm"][row]),
                spread_percent=float(table["spread_percent"][row]),
            )
            for row, name in enumerate(table["cable"])
        }
    )


def attenuation_db_100m(cable_a: float, cable_b: float, frequency_hz: float) -> float:
    """Return the attenuation of a cable.

    Parameters
    ----------
    cable_a, cable_b : float
        Coefficients [dB per 100 m], f in MHz.
    frequency_hz : float
        Frequency [Hz], more than 0.

    Returns
    -------
    float
        Loss [dB per 100 m].

    References
    ----------
    Loss in the conductors goes with the root of the frequency (skin effect), loss in the
    dielectric with the frequency: the usual two-term rule.
    """
    frequency_mhz = frequency_hz / HZ_PER_MHZ
    return cable_a * math.sqrt(frequency_mhz) + cable_b * frequency_mhz


def cable_loss_db(name: str, length_m: float, frequency_hz: float) -> float:
    """Return what a length of a general type of cable takes away.

    Parameters
    ----------
    name : str
        A key of :func:`cable_types`.
    length_m : float
        Length [m], 0 or more.
    frequency_hz : float
        Frequency [Hz], inside the span of the type's figures.

    Returns
    -------
    float
        Loss [dB], 0 or more, connectors apart.

    Raises
    ------
    KeyError
        For an unknown type.
    OutOfModelRange
        Outside the figures, or for a negative length.
    """
    cable = cable_types()[name]
    if not cable.low_hz <= frequency_hz <= cable.high_hz:
        raise OutOfModelRange("frequency_hz", frequency_hz, cable.low_hz, cable.high_hz)
    if not length_m >= 0:
        raise OutOfModelRange("length_m", length_m, 0.0, math.inf)
    return attenuation_db_100m(cable.a, cable.b, frequency_hz) * length_m / 100.0
