"""Records of the occupancy stage."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.occupancy.curve import InterferenceCurve
    from planner.records import Cleared
    from planner.rules import Relief, StopFacts

HELD = "held"
UNLISTED = "unlisted"
FAINT = "faint"
QUIET = "quiet"
AIR_ORDER = (HELD, UNLISTED, FAINT, QUIET)
"""Verdicts on the air from worst to best; the first that applies is taken."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Reason:
    """One reason for a verdict: a code, a sentence, the station where there is one."""

    code: str
    text: str
    station_id: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AirSpan:
    """A span with one verdict on the air.

    Attributes
    ----------
    air : str
        ``"held"``, ``"unlisted"``, ``"faint"`` or ``"quiet"``.
    coverage : str
        ``"full"``, ``"partial"`` or ``"none"``: how far the loaded tables cover the span.
    table_possible : bool
        False where no station table can exist for the services of the span.
    noise_rise_db : float or None
        Rise of the reference receiver's noise, rounded to 0.1 dB; None where nothing loaded
        covers the span; the greatest, where neighbours make it a curve.
    noise_rise_least_db : float or None
        The least in the span, None where it is one figure.
    reasons : tuple of Reason
        All of them, the deciding ones first.
    """

    low_hz: int
    high_hz: int
    air: str
    coverage: str
    table_possible: bool
    noise_rise_db: float | None
    reasons: tuple[Reason, ...]
    noise_rise_least_db: float | None = None

    @property
    def least_rise_db(self) -> float | None:
        """The least noise rise in the span [dB]."""
        known = self.noise_rise_least_db
        return self.noise_rise_db if known is None else known


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ChannelOccupancy:
    """One TV channel of the raster at a stop.

    Attributes
    ----------
    air : str
        The best verdict a 200 kHz carrier finds in it.
    noise_rise_least_db, noise_rise_most_db : float or None
        Over the parts of the channel that were searched [dB].
    rows : tuple of int
        Rows of the reach table that matter here, strongest interference first.
    others : int
        How many more transmitters of the channel are within the model's range.
    """

    label: str
    low_hz: int
    high_hz: int
    air: str
    coverage: str
    reasons: tuple[Reason, ...]
    noise_rise_least_db: float | None
    noise_rise_most_db: float | None
    rows: tuple[int, ...]
    others: int


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Clearance:
    """One cleared span at a stop and what it met there.

    Attributes
    ----------
    row : Cleared
        The statement.
    air_before_hz : mapping of str to int
        Width of each verdict on the air that it met in the searched span [Hz].
    reliefs : tuple of Relief
        What it means to the law.
    doubt : str
        Why the air is cleared only with a warning, empty where there is no doubt.
    """

    row: Cleared
    air_before_hz: Mapping[str, int]
    reliefs: tuple[Relief, ...]
    doubt: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Occupancy:
    """The air over the searched span at one stop, and what the law needs to know of it.

    Attributes
    ----------
    spans : tuple of AirSpan
        The searched span in order, without gaps, cut at TV channel edges.
    channels : tuple of ChannelOccupancy
        Every TV channel of the raster that overlaps the searched span.
    facts : StopFacts
        Input of the law: place, protected channels, licences that serve here.
    cleared : tuple of Clearance
        Spans that somebody stated to be free; they are in ``spans`` already.
    curve : InterferenceCurve or None
        Interference over frequency as predicted, for figures of single carriers and chances.
    """

    stop_id: str
    spans: tuple[AirSpan, ...]
    channels: tuple[ChannelOccupancy, ...]
    facts: StopFacts
    cleared: tuple[Clearance, ...] = ()
    curve: InterferenceCurve | None = dataclasses.field(default=None, compare=False, repr=False)
