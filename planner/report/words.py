"""Figures and names as words for people: one place for units, decimals, dates and cleaning."""

from __future__ import annotations

import datetime as dt
import functools
import unicodedata
from typing import TYPE_CHECKING, Any

from planner.units import format_mhz, mhz_to_hz, shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Iterable

KM_PER_MILE = 1.609344
"""International mile, exact by definition (1959 agreement, NIST SP 811 appendix B.8)."""

EN_DASH = "\u2013"
NONE = EN_DASH
"""Printed where a figure is not computed or does not apply."""

MINUS = "\u2212"
TIMES = "\u00d7"

AIR_WORDS = ("held", "unlisted", "faint", "quiet")
"""Words for the air, the most serious first; the first that applies is the verdict."""

AIR_MEANS = {
    "held": "a service is protected or received here",
    "unlisted": "no loaded table covers the services that use this span, though one could",
    "faint": "interference that raises a microphone receiver's noise by the limit or more, "
    "for 10 % of the time",
    "quiet": "predicted interference stays below that limit; people, other shows and "
    "unlisted transmitters are not in the prediction",
}
LAW_MEANS = {
    "lawful": "the rule named beside it allows this use, by our reading of it",
    "on-request": "only on frequencies that a licence, an assignment or an agreement names",
    "barred": "the rules close this span to this use",
}
NEVER_NOTHING = "Nothing in the table is never nothing on the air."
NOT_A_PERMISSION = (
    "Predictions and readings of rules, not measurements and not permissions: "
    "listen on every frequency before use."
)

_SPOKEN_SPACES = {"\n": " ", "\r": " ", "\t": " ", "\u2028": " ", "\u2029": " "}
_UNSPOKEN_CATEGORIES = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
_JOINERS = frozenset({"\u200c", "\u200d", "\u00ad"})


def clean(value: object) -> str:
    """Return user text on one line, with invisible characters made visible.

    Line breaks and tabs become spaces. Control, formatting (direction overrides among them) and
    unassigned characters and lone surrogates become ``[U+XXXX]``, so that no name can hide or
    turn what stands beside it. None becomes an empty text.
    """
    return "" if value is None else _cleaned(str(value))


@functools.lru_cache(maxsize=16384)
def _cleaned(text: str) -> str:
    if text.isprintable():
        return " ".join(text.split())
    out = []
    for character in text:
        if character in _SPOKEN_SPACES:
            out.append(" ")
        elif character in _JOINERS:
            out.append(character)
        elif unicodedata.category(character) in _UNSPOKEN_CATEGORIES:
            out.append(f"[U+{ord(character):04X}]")
        else:
            out.append(character)
    return " ".join("".join(out).split())


def cut(text: str, length: int) -> str:
    """Shorten a text to at most ``length`` characters, ending in two dots where cut."""
    return text if len(text) <= length else text[: max(0, length - 2)].rstrip() + ".."


def plural(count: int, noun: str, many: str | None = None) -> str:
    """Write a count with its noun, ``"1 carrier"`` or ``"2 carriers"``."""
    return f"{count} {noun if count == 1 else many or noun + 's'}"


def sentence(text: str) -> str:
    """Begin a text with a capital and end it with a full stop; an empty text stays empty."""
    return f"{text[:1].upper()}{text[1:].rstrip('.')}." if text else ""


def listed(parts: Iterable[str], last: str = "and") -> str:
    """Join words as a sentence does: ``"a, b and c"``."""
    words = list(parts)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def mhz(value_mhz: float | None) -> str:
    """Write a carrier frequency [MHz] with three decimals, more only where the hertz need it."""
    return NONE if value_mhz is None else format_mhz(mhz_to_hz(value_mhz))


def mhz_span(low_mhz: float, high_mhz: float) -> str:
    """Write a span in MHz with the fewest decimals that keep its limits exact."""
    return f"{shortest_mhz(mhz_to_hz(low_mhz))}{EN_DASH}{shortest_mhz(mhz_to_hz(high_mhz))}"


def figure(value: float | None, decimals: int = 1, *, sign: bool = False) -> str:
    """Write a number with fixed decimals and a true minus sign; the dash stands for None."""
    if value is None:
        return NONE
    text = f"{value:{'+' if sign else ''}.{decimals}f}"
    if float(text) == 0:
        text = f"{0:.{decimals}f}"
    return text.replace("-", MINUS)


def whole(value: int | None, *, sign: bool = False) -> str:
    """Write a whole number with a true minus sign; the dash stands for None."""
    return NONE if value is None else figure(value, 0, sign=sign and value != 0)


def chance(share: float | None) -> str:
    """Write a chance in whole per cent; never 0 % or 100 %, since no prediction is certain."""
    if share is None:
        return NONE
    if share >= 0.995:
        return ">99 %"
    return "<1 %" if share < 0.005 else f"{100 * share:.0f} %"


def short_number(value: float) -> str:
    """Write a number with the fewest decimals, at most three."""
    return f"{value:.3f}".rstrip("0").rstrip(".").replace("-", MINUS)


def power(value_mw: float | None, kind: str | None) -> str:
    """Write a power with its kind, ``"10 mW EIRP"``."""
    if value_mw is None:
        return NONE
    return f"{short_number(value_mw)} mW {kind or ''}".rstrip()


def distance(value_km: float | None, unit: str) -> str:
    """Write a distance given in km in the tour's unit, without the unit's name.

    Parameters
    ----------
    value_km : float or None
        Distance [km]; may be negative (inside an outline).
    unit : str
        ``"km"`` or ``"mi"``.
    """
    if value_km is None:
        return NONE
    value = value_km / KM_PER_MILE if unit == "mi" else value_km
    return figure(value, 1)


def bearing(value_deg: float | None) -> str:
    """Write an azimuth as three figures, ``"047°"``; 360 is written 000."""
    return NONE if value_deg is None else f"{round(value_deg) % 360:03d}°"


def position(lat_deg: float, lon_deg: float) -> str:
    """Write coordinates with hemispheres, ``"41.2565° N, 95.9345° W"``."""
    north = "N" if lat_deg >= 0 else "S"
    east = "E" if lon_deg >= 0 else "W"
    return f"{abs(lat_deg):.4f}° {north}, {abs(lon_deg):.4f}° {east}"


def day(iso_date: str) -> str:
    """Write an ISO date with its weekday, ``"Thu 2027-03-04"``; other text stays as it is."""
    try:
        date = dt.date.fromisoformat(iso_date)
    except ValueError:
        return clean(iso_date)
    names = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    return f"{names[date.weekday()]} {date.isoformat()}"


def iso_day(text: object) -> dt.date | None:
    """Read an ISO date; None for anything else."""
    try:
        return dt.date.fromisoformat(str(text))
    except ValueError:
        return None


def days(first: str, last: str) -> str:
    """Write the days of a stop: one day, or the first and the last."""
    return day(first) if first == last else f"{day(first)} to {day(last)}"


def setting_value(value: Any) -> str:  # noqa: ANN401 - whatever a settings record holds
    """Write one value of the settings record."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None:
        return NONE
    if isinstance(value, int | float):
        return short_number(value)
    if isinstance(value, list | tuple):
        return ", ".join(setting_value(item) for item in value) or "none"
    return clean(value)


_UNIT_ENDINGS = {
    "db": "dB",
    "dbm": "dBm",
    "dbuv_m": "dB(µV/m)",
    "mhz": "MHz",
    "khz": "kHz",
    "hz": "Hz",
    "km": "km",
    "kw": "kW",
    "m": "m",
    "mw": "mW",
    "percent": "%",
    "deg": "°",
}


def setting_name(key: str) -> str:
    """Turn a key with its unit into words: ``noise_rise_limit_db`` to ``noise rise limit [dB]``."""
    for ending in sorted(_UNIT_ENDINGS, key=len, reverse=True):
        if key.endswith("_" + ending):
            words = key[: -len(ending) - 1].replace("_", " ")
            return f"{clean(words)} [{_UNIT_ENDINGS[ending]}]"
    return clean(key.replace("_", " "))


def town(place: object) -> str:
    """Return the town of a place name; a place that is only coordinates stands whole."""
    text = clean(place)
    return text if text[:1].isdigit() else text.split(",")[0]
