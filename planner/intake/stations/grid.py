"""National grid references of Great Britain and Ireland into degrees."""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pyproj import Transformer

BRITISH_EPSG = 27700
IRISH_EPSG = 29903
"""TM75 / Irish Grid; 29902 (TM65) lies within a metre of it."""
_LETTERS = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
_REFERENCE = re.compile(r"([A-HJ-Z]{2})\s*(\d+)\s*(\d*)")
_IRISH = re.compile(r"I?([A-HJ-Z])\s*(\d+)\s*(\d*)")


def british_metres(text: str) -> tuple[float, float] | None:
    """Return the south-west corner of a reference such as ``TQ33947122``.

    Parameters
    ----------
    text : str
        Two letters and an even number of digits, 2 to 10.

    Returns
    -------
    (float, float) or None
        Easting and northing [m]; northings are negative south of the squares S (Channel
        Islands). None when the text is no reference.

    References
    ----------
    Lettered 500 km and 100 km squares of the national grid; false origin of EPSG:27700. Checked
    against eastings and northings that a register gives beside its references.
    """
    match = _REFERENCE.fullmatch(text.strip().upper())
    figures = _figures(match[2] + match[3]) if match else None
    if match is None or figures is None:
        return None
    large, small = (_LETTERS.index(letter) for letter in match[1])
    column, row = large % 5, large // 5
    east = (column - 2) * 5 + small % 5
    north = (3 - row) * 5 + 4 - small // 5
    return east * 1e5 + figures[0], north * 1e5 + figures[1]


def irish_metres(text: str) -> tuple[float, float] | None:
    """Return the south-west corner of an Irish reference such as ``J287750`` or ``IJ287750``.

    Parameters
    ----------
    text : str
        One letter, an ``I`` before it or not, and an even number of digits, 2 to 10.

    Returns
    -------
    (float, float) or None
        Easting and northing [m] of EPSG:29903; None when the text is no reference.
    """
    match = _IRISH.fullmatch(text.strip().upper())
    figures = _figures(match[2] + match[3]) if match else None
    if match is None or figures is None:
        return None
    square = _LETTERS.index(match[1])
    return square % 5 * 1e5 + figures[0], (4 - square // 5) * 1e5 + figures[1]


def _figures(digits: str) -> tuple[float, float] | None:
    if len(digits) % 2 or not 2 <= len(digits) <= 10:
        return None
    half = len(digits) // 2
    scale = 10 ** (5 - half)
    return float(int(digits[:half]) * scale), float(int(digits[half:]) * scale)


def grid_degrees(epsg: int, easting_m: float, northing_m: float) -> tuple[float, float]:
    """Return latitude and longitude on WGS84 [deg] of a point of a national grid.

    Parameters
    ----------
    epsg : int
        :data:`BRITISH_EPSG` or :data:`IRISH_EPSG`.
    easting_m, northing_m : float
        Any; a point far off the grid gives infinite degrees.

    Notes
    -----
    Without a grid of shifts installed the datum is changed by seven parameters, good to about
    5 m (EPSG:1314) in Great Britain.
    """
    lon_deg, lat_deg = _transformer(epsg).transform(easting_m, northing_m)
    return float(lat_deg), float(lon_deg)


@functools.cache
def _transformer(epsg: int) -> Transformer:
    from pyproj import Transformer

    return Transformer.from_crs(epsg, 4326, always_xy=True)
