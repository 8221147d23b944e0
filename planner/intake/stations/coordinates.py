"""Coordinates as regulators write them."""

from __future__ import annotations

import dataclasses
import re

_PACKED = re.compile(r"([+-]?)(\d{1,3})(\d{2})(\d{2}(?:\.\d+)?)\.?")
_UNITED_STATES_DEG = (
    ("contiguous states", 24.3, 49.6, -125.1, -66.7),
    ("Alaska", 51.0, 71.6, -180.0, -129.9),
    ("Aleutian Islands", 51.0, 54.0, 172.0, 180.0),
    ("Hawaii", 18.7, 28.7, -178.6, -154.6),
    ("Puerto Rico and Virgin Islands", 17.5, 18.7, -68.1, -64.4),
    ("Guam and Northern Marianas", 13.1, 20.7, 144.5, 146.2),
    ("American Samoa", -14.7, -10.9, -171.3, -168.0),
)
"""Name, south, north, west, east of each part (geography, rounded outwards; no source)."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PackedDegrees:
    """An angle unpacked.

    Attributes
    ----------
    degrees : float
        The angle with its sign as written [deg].
    full_minute : bool
        True when its seconds were 60, as rounding leaves them.
    """

    degrees: float
    full_minute: bool


def packed_degrees(text: str) -> PackedDegrees | None:
    """Read degrees, minutes and seconds packed into one number, ``DDMMSS`` or ``DDDMMSS``.

    Parameters
    ----------
    text : str
        With or without a sign; minutes to 59, seconds to 60.

    Returns
    -------
    PackedDegrees or None
        None when the text is no such number.
    """
    match = _PACKED.fullmatch(text)
    if match is None or int(match[3]) > 59 or float(match[4]) > 60:
        return None
    seconds = float(match[4])
    degrees = int(match[2]) + int(match[3]) / 60 + seconds / 3600
    return PackedDegrees(
        degrees=-degrees if match[1] == "-" else degrees, full_minute=seconds == 60
    )


def in_united_states(lat_deg: float, lon_deg: float) -> bool:
    """Say whether a point lies in a box round the United States or one of its territories."""
    return any(
        south <= lat_deg <= north and west <= lon_deg <= east
        for _, south, north, west, east in _UNITED_STATES_DEG
    )
