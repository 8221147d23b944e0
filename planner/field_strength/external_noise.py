"""Noise from outside the receiver, man-made and galactic, by Recommendation ITU-R P.372."""

# Numbers alone give a number, anything else an array: the overloads overlap on purpose.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

import dataclasses
import functools
from types import MappingProxyType
from typing import TYPE_CHECKING, overload

import numpy as np

from planner.errors import OutOfModelRange
from planner.field_strength._numbers import columns, decibels, same_kind
from planner.tables import read_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.field_strength._numbers import FloatArray, Numbers

CITY, RESIDENTIAL, RURAL = "city", "residential", "rural"
ENVIRONMENTS = (CITY, RESIDENTIAL, RURAL)
"""Surroundings of the model, the noisiest first."""
HIGHEST_HZ = 250_000_000
"""Above it the man-made line is an extrapolation [Hz], and said so."""
LOWEST_HZ = 300_000
_GALACTIC = "galactic"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PopulationLimits:
    """From how many people on a place counts as a city or as residential.

    Common practice, no source: the Recommendation tells its surroundings apart by words only.

    Attributes
    ----------
    city_people, residential_people : int
        Least population.
    """

    city_people: int = 100_000
    residential_people: int = 5_000


def environment_of(people: int | None, limits: PopulationLimits | None = None) -> str:
    """Return the surroundings of a place by its population.

    Parameters
    ----------
    people : int or None
        Population; None when it is not known, which counts as a city, the noisiest.
    limits : PopulationLimits or None
        Where the words change.

    Returns
    -------
    str
        ``"city"``, ``"residential"`` or ``"rural"``.
    """
    at = limits or PopulationLimits()
    if people is None or people >= at.city_people:
        return CITY
    return RESIDENTIAL if people >= at.residential_people else RURAL


@functools.cache
def _lines() -> Mapping[str, tuple[float, float]]:
    table = read_table("itu_p372_noise")
    rows = zip(table["environment"], table["c_db"], table["d_db_per_decade"], strict=True)
    return MappingProxyType({name: (float(c), float(d)) for name, c, d in rows})


@overload
def man_made_noise_db(frequency_hz: float, environment: str) -> float: ...
@overload
def man_made_noise_db(frequency_hz: Numbers, environment: str) -> FloatArray: ...
def man_made_noise_db(frequency_hz: Numbers, environment: str) -> float | FloatArray:
    """Return the median man-made noise of a lossless antenna above k T0 B.

    ``c - d log10 f_MHz``

    Parameters
    ----------
    frequency_hz : float or array
        Frequency [Hz], 0.3 MHz or more. Above 250 MHz the line is an extrapolation.
    environment : str
        ``"city"``, ``"residential"`` or ``"rural"``.

    Returns
    -------
    float or array
        External noise figure [dB], negative where it falls below the noise of 290 K.

    Raises
    ------
    OutOfModelRange
        Below 0.3 MHz, or for what is not a number.
    ValueError
        For other surroundings.

    References
    ----------
    Recommendation ITU-R P.372, man-made noise, as noted in ``planner/tables/itu_p372_noise.toml``.
    An older formula for business areas, 44.3 - 12.3 log10 f_MHz from 200 to 900 MHz (CCIR
    Report 258, from memory), gives 10 dB more than the extrapolated city line at 600 MHz.
    """
    if environment not in ENVIRONMENTS:
        raise ValueError(
            f"surroundings {environment!r} are not known; use {', '.join(ENVIRONMENTS)}"
        )
    return same_kind(_line(frequency_hz, environment))


@overload
def external_noise_db(frequency_hz: float, environment: str) -> float: ...
@overload
def external_noise_db(frequency_hz: Numbers, environment: str) -> FloatArray: ...
def external_noise_db(frequency_hz: Numbers, environment: str) -> float | FloatArray:
    """Return man-made and galactic noise together, above k T0 B.

    Parameters
    ----------
    frequency_hz, environment : float or array, str
        As :func:`man_made_noise_db`.

    Returns
    -------
    float or array
        ``10 log10(10**(man-made/10) + 10**(galactic/10))`` [dB].

    Raises
    ------
    OutOfModelRange, ValueError
        As :func:`man_made_noise_db`.
    """
    man_made = np.asarray(man_made_noise_db(frequency_hz, environment))
    galactic = _line(frequency_hz, _GALACTIC)
    return same_kind(decibels(10 ** (man_made / 10) + 10 ** (galactic / 10)))


@overload
def system_noise_figure_db(
    frequency_hz: float, *, noise_figure_db: float, environment: str
) -> float: ...
@overload
def system_noise_figure_db(
    frequency_hz: Numbers, *, noise_figure_db: Numbers, environment: str
) -> FloatArray: ...
def system_noise_figure_db(
    frequency_hz: Numbers, *, noise_figure_db: Numbers, environment: str
) -> float | FloatArray:
    """Return a receiver's noise figure with the noise that its antenna brings in.

    ``10 log10(f_r + f_ext)``: the receiver's own, as against surroundings at 290 K, and what
    comes on top from outside. Antenna and line are taken as lossless, which lets all of the
    outside noise in; walls are not taken off, since what makes the noise stands inside them too.

    Parameters
    ----------
    frequency_hz, environment : float or array, str
        As :func:`man_made_noise_db`.
    noise_figure_db : float or array
        Noise figure of the receiver [dB] against 290 K.

    Returns
    -------
    float or array
        Noise figure [dB], in the common shape, never below the receiver's own.

    Raises
    ------
    OutOfModelRange, ValueError
        As :func:`man_made_noise_db`.

    References
    ----------
    Recommendation ITU-R P.372, section on the noise factor of a receiving system, which takes one
    unit less for an antenna that sees nothing but the outside noise; ours is on the safe side.
    """
    frequency, own = columns(frequency_hz, noise_figure_db)
    external = np.asarray(external_noise_db(frequency, environment))
    return same_kind(decibels(10 ** (own / 10) + 10 ** (external / 10)))


def _line(frequency_hz: Numbers, name: str) -> FloatArray:
    (frequency,) = columns(frequency_hz)
    bad = ~(frequency >= LOWEST_HZ)
    if bad.any():
        raise OutOfModelRange("frequency_hz", float(frequency[bad][0]), LOWEST_HZ, np.inf)
    c, d = _lines()[name]
    line: FloatArray = c - d * np.log10(frequency / 1e6)
    return line
