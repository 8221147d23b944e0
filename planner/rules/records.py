"""Records of the rules stage: uses, spans of law, rasters, notes on channels."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Protocol

from planner.units import DIPOLE_GAIN_DBI, convert_power_mw

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    import numpy as np
    import numpy.typing as npt

    from planner.records import Cleared, Licence

BARRED = "barred"
ON_REQUEST = "on-request"
LAWFUL = "lawful"
LAW_ORDER = (BARRED, ON_REQUEST, LAWFUL)
"""Permissions from worst to best."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class TvChannel:
    """One channel of a country's raster; ``closed`` when no station may ever use it."""

    label: str
    low_hz: int
    high_hz: int
    closed: bool = False
    note: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ServiceSpan:
    """What uses a span whatever the stop.

    Attributes
    ----------
    air : str
        ``"table"`` a station table decides; ``"no-table"`` no station table can exist;
        ``"held"`` always held.
    """

    low_hz: int
    high_hz: int
    air: str
    service: str
    section: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Use:
    """One way of using spectrum, as the law sees it.

    Attributes
    ----------
    low_hz, high_hz : int
        Spectrum the use may touch, edges included [Hz].
    bandwidth_hz : int
        Occupied bandwidth [Hz].
    wideband : bool
        Whether the emission carries many links in one block.
    powers_mw, power_kind : tuple of float, str
        Settings [mW] and how they are measured.
    approved_in : tuple of str
        Countries the gear is approved for; empty means not said.
    modulation : str
        Word of the gear catalogue, empty when not said.
    """

    role: str
    form: str
    low_hz: int
    high_hz: int
    bandwidth_hz: int
    wideband: bool
    powers_mw: tuple[float, ...]
    power_kind: str
    approved_in: tuple[str, ...] = ()
    modulation: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Relief:
    """What a cleared span means to the law of a country; it never opens what is barred.

    Attributes
    ----------
    low_hz, high_hz : int
        Where it holds [Hz].
    lifts : tuple of str
        What stands in the way no longer: ``"contour"`` of a station, the code of a note on a
        channel (``"land-mobile"``), ``"coordination"`` with others, ``"licence"`` that names
        the frequencies. Empty where the rule has no such relief.
    ground : str
        What was stated, by whom and when.
    text : str
        Under which rule it lifts something, or why it lifts nothing.
    """

    low_hz: int
    high_hz: int
    lifts: tuple[str, ...]
    ground: str
    text: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopFacts:
    """What the law needs to know of a stop.

    Attributes
    ----------
    country : str
        ISO 3166 code of the stop.
    lat_deg, lon_deg : float
        WGS84 [deg].
    protected : mapping of str to str
        Label of each TV channel in which a station is protected here, with the reason.
    licences : tuple of Licence
        Those that serve this stop on all of its days.
    cleared : tuple of Relief
        What cleared spans mean to the law here.
    location_error_km : float
        Radius within which ``protected`` and the notes of the place hold [km]; 0 is the point.
    first_date, last_date : date or None
        Local days of use, inclusive; None is not known, and every rule is then taken as valid.
    accepts_unconfirmed : bool
        Whether the user takes on the unconfirmed permissions of this country.
    """

    country: str
    lat_deg: float
    lon_deg: float
    protected: Mapping[str, str]
    licences: tuple[Licence, ...] = ()
    cleared: tuple[Relief, ...] = ()
    location_error_km: float = 0.0
    first_date: dt.date | None = None
    last_date: dt.date | None = None
    accepts_unconfirmed: bool = False


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LawSpan:
    """The best permission one use has in a span.

    Attributes
    ----------
    law : str
        ``"lawful"``, ``"on-request"`` or ``"barred"``.
    limit_mw, limit_kind : float or None, str
        Limit of the rule [mW] and how it is measured.
    power_mw : float or None
        Highest lawful setting of the use, measured as the use measures it [mW].
    rule : str
        Section of the rule that decided.
    licence, holder : str
        Kind and holder of the licence used, empty when licence-exempt.
    text : str
        Why, in a sentence.
    cleared : str
        What a cleared span does to the law here, empty where there is none.
    law_before : str
        The permission without the cleared span, empty where it is the same.
    """

    low_hz: int
    high_hz: int
    law: str
    limit_mw: float | None
    limit_kind: str
    power_mw: float | None
    rule: str
    licence: str = ""
    holder: str = ""
    text: str = ""
    cleared: str = ""
    law_before: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ChannelNote:
    """Something a place does to one TV channel.

    Attributes
    ----------
    kind : str
        ``"held"`` another service is received here; ``"closed"`` no use at all; ``"faint"``
        another service may be received here; ``"caution"`` only said.
    code, text, section : str
        Short code, sentence, rule section.
    """

    label: str
    kind: str
    code: str
    text: str
    section: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ContourLevels:
    """Field strength of the protected contour for n stations.

    Attributes
    ----------
    curve : (n,) str
        FCC curve on which the level is read.
    law_dbuv_m, cautious_dbuv_m : (n,) float64
        Level of the rule, and the adjusted level of the larger contour [dB(uV/m)].
    """

    curve: npt.NDArray[np.str_]
    law_dbuv_m: npt.NDArray[np.float64]
    cautious_dbuv_m: npt.NDArray[np.float64]


class CountryRules(Protocol):
    """What every country's module offers."""

    @property
    def code(self) -> str:
        """ISO 3166 code."""

    @property
    def name(self) -> str:
        """Name for people."""

    @property
    def licence_kinds(self) -> tuple[str, ...]:
        """Kinds a ``[[licence]]`` may name."""

    @property
    def raster(self) -> tuple[TvChannel, ...]:
        """TV channels, ascending."""

    @property
    def services(self) -> tuple[ServiceSpan, ...]:
        """Spans whose use does not depend on the stop, ascending."""

    @property
    def margin_km(self) -> float:
        """Distance kept outside a protected contour [km]."""

    @property
    def contour_name(self) -> str:
        """What a contour is called in reasons: a rule's own, or a planning level's."""

    @property
    def carrier_raster_hz(self) -> tuple[int, int]:
        """Origin and step of lawful carrier centres [Hz]."""

    def contour_levels(
        self, frequency_hz: npt.NDArray[np.int64], system: npt.NDArray[np.str_]
    ) -> ContourLevels:
        """Return the contour levels of n stations from centre frequency and system."""

    def channel_notes(
        self, lat_deg: float, lon_deg: float, *, within_km: float = 0.0
    ) -> tuple[ChannelNote, ...]:
        """Return what a place does to single channels, at its worst within a radius [km]."""

    def law_spans(self, use: Use, facts: StopFacts) -> tuple[LawSpan, ...]:
        """Return the law over the whole of ``use.low_hz`` to ``use.high_hz``, without gaps."""

    def relief(
        self, cleared: Cleared, licences: Sequence[Licence], *, indoor: bool
    ) -> tuple[Relief, ...]:
        """Return what a cleared span means to the law here, span by span over all of it."""

    def asks(self, licences: Sequence[Licence], *, indoor: bool) -> tuple[str, ...]:
        """Return what the law asks of the user at a stop, in sentences with sections."""


def lawful_power_mw(
    powers_mw: Sequence[float],
    power_kind: str,
    *,
    limit_mw: float,
    limit_kind: str,
    antenna_gain_dbi: float = DIPOLE_GAIN_DBI,
) -> float | None:
    """Return the highest setting that keeps a limit, or None when even the lowest does not.

    Parameters
    ----------
    powers_mw : sequence of float
        Settings [mW], measured as ``power_kind``.
    power_kind, limit_kind : str
        ``"EIRP"``, ``"ERP"`` or ``"conducted"``.
    limit_mw : float
        The limit [mW].
    antenna_gain_dbi : float
        Gain of the transmitting antenna [dBi]. The default, a half-wave dipole, is the safe side
        for hand-held and body-worn transmitters; a rack transmitter's antenna may have more, and
        then its conducted power is set against a radiated limit too kindly.

    Notes
    -----
    ERP is 2.15 dB below EIRP. Conducted power is set against a radiated limit with the
    antenna's gain. Radiated power is set against a conducted limit as if the antenna had no
    gain: gain would make the conducted power lower, and how much of it there truly is nobody
    says; an antenna with a loss makes it higher and is counted (common practice, no source).
    """
    if "conducted" in (power_kind, limit_kind) and power_kind != limit_kind:
        known_dbi = antenna_gain_dbi if power_kind == "conducted" else min(0.0, antenna_gain_dbi)
    else:
        known_dbi = antenna_gain_dbi
    kept = [
        power
        for power in powers_mw
        if round(
            convert_power_mw(power, power_kind, limit_kind, antenna_gain_dbi=known_dbi),
            6,
        )
        <= limit_mw
    ]
    return max(kept) if kept else None
