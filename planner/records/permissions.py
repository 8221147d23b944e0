"""One permission of a country's rules, as the rules table and a user's rules file hold it."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt

LICENCE_EXEMPT = "none"
"""Licence kind of what nobody needs a licence for."""
CLOSED = "barred"
"""Licence kind of a row that closes its span whatever the licence."""
MICROPHONES = "mic"
ALL_AUDIO = "audio"
PERMISSION_USES = (ALL_AUDIO, MICROPHONES)
ANY_FORM = "any"
CONSTANT_ENVELOPE = "constant-envelope"

PERMISSION_COLUMNS = (
    "country",
    "low_mhz",
    "high_mhz",
    "use",
    "form",
    "modulation",
    "licence_kind",
    "eligible",
    "power_mw",
    "power_kind",
    "antenna_limit",
    "bandwidth_khz",
    "raster_khz",
    "raster_origin_mhz",
    "area",
    "valid_from",
    "valid_to",
    "lead_time_days",
    "apply_to",
    "names_frequencies",
    "source",
    "status",
)
"""Columns of the rules contract; others are kept out of sight, ``note`` is printed."""

PERMISSION_CONFIRMED = "permission"
LIMIT_CONFIRMED = "limit"
SUCCESSOR_UNSEEN = "successor-unseen"
UNCONFIRMED = "unconfirmed"
CONFIRMED = "confirmed"
STATUS_WORDS = (
    CONFIRMED,
    PERMISSION_CONFIRMED,
    LIMIT_CONFIRMED,
    SUCCESSOR_UNSEEN,
    UNCONFIRMED,
)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Area:
    """A circle, or a polygon of at least three corners.

    Attributes
    ----------
    points_deg : tuple of (float, float)
        Centre of a circle, corners of a polygon: latitude and longitude, WGS84 [deg].
    radius_km : float
        Of a circle [km]; 0 for a polygon.
    """

    points_deg: tuple[tuple[float, float], ...]
    radius_km: float = 0.0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Permission:
    """One row of a country's rules.

    Attributes
    ----------
    country : str
        ISO 3166 code; in the shipped table also ``"CEPT"`` and ``"EU"``.
    low_hz, high_hz : int
        Where it holds [Hz].
    use : str
        ``"audio"`` for every audio use, ``"mic"`` for microphones only.
    form : str
        ``"any"``, ``"hand-held"``, ``"body-worn"`` or ``"rack"``.
    modulation : str
        ``"constant-envelope"``, a word of the gear catalogue, or empty for any.
    licence_kind : str
        ``"none"``, ``"barred"`` (the row closes its span) or the kind that is needed.
    eligible, antenna_limit : str
        Who may use it, what antenna, in words; empty says nothing.
    power_mw, power_kind : float or None, str
        Limit [mW] and how it is measured; None is not known.
    bandwidth_hz : int or None
        Greatest occupied bandwidth [Hz]; None is not known.
    raster_hz : tuple of (int, int) or None
        Origin and step of lawful carrier centres [Hz]; None where none is known.
    areas : tuple of Area
        Where it holds; empty is the whole country.
    valid_from, valid_to : date or None
        First and last day; None is open.
    lead_time_days : int or None
        Days before the first day of use by which to apply.
    apply_to : str
        Whom to ask.
    names_frequencies : bool
        Whether it holds only on frequencies that a licence, a list or an assignment names.
    source : str
        Document, edition and what kind of text was read.
    permission_confirmed, limit_confirmed : bool
        Whether a text was read that says so.
    successor_unseen : bool
        The text ends on ``valid_to``; whether another follows was not seen.
    note : str
        Form of the licence, conditions, doubts.
    """

    country: str
    low_hz: int
    high_hz: int
    use: str = ALL_AUDIO
    form: str = ANY_FORM
    modulation: str = ""
    licence_kind: str = LICENCE_EXEMPT
    eligible: str = ""
    power_mw: float | None = None
    power_kind: str = "EIRP"
    antenna_limit: str = ""
    bandwidth_hz: int | None = None
    raster_hz: tuple[int, int] | None = None
    areas: tuple[Area, ...] = ()
    valid_from: dt.date | None = None
    valid_to: dt.date | None = None
    lead_time_days: int | None = None
    apply_to: str = ""
    names_frequencies: bool = False
    source: str = ""
    permission_confirmed: bool = True
    limit_confirmed: bool = True
    successor_unseen: bool = False
    note: str = ""

    @property
    def licence(self) -> str:
        """The kind of licence it needs, empty where it needs none."""
        return "" if self.licence_kind in {LICENCE_EXEMPT, CLOSED} else self.licence_kind

    @property
    def closes(self) -> bool:
        """Whether the row closes its span."""
        return self.licence_kind == CLOSED
