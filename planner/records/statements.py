"""What people state in a tour file: others on the air, assignments, owned gear, cleared spans."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt

BASES = ("on-site measurement", "agreement", "licence")
"""Grounds on which a responsible person may clear a span."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Other:
    """Somebody else's use of spectrum, which we cannot move.

    Attributes
    ----------
    owner : str
        Whose it is.
    frequency_hz : int or None
        Carrier centre [Hz]; None for a block whose carriers are not known.
    low_hz, high_hz : int
        Edges of what it occupies [Hz].
    stops : tuple of str
        Stop ids; empty means every stop.
    active : tuple of str
        Local times ``"HH:MM"`` from and to, or empty for the whole day; past midnight where the
        second is the earlier one.
    protect : bool
        Whether our products are kept off it too.
    zone : str
        Zone word.
    """

    owner: str
    frequency_hz: int | None
    low_hz: int
    high_hz: int
    stops: tuple[str, ...] = ()
    active: tuple[str, ...] = ()
    protect: bool = False
    zone: str = "stage"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Assigned:
    """Frequencies that a licence or a coordinator gives to a need at a stop; no others are used.

    Attributes
    ----------
    stop, need : str
        Stop id; name of the need.
    frequencies_hz : tuple of int
        Carrier centres [Hz], each once.
    power_mw : float or None
        Most that is granted [mW], measured as the rule measures it; None when not said.
    reference : str
        Licence number or message.
    """

    stop: str
    need: str
    frequencies_hz: tuple[int, ...]
    power_mw: float | None = None
    reference: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Owned:
    """Gear that is there already and can be retuned.

    Attributes
    ----------
    range_key : str
        Key of the catalogue row.
    receivers, transmitters : int
        Pieces: channels of receivers (or in-ear transmitters), and packs or hand-helds.
    """

    range_key: str
    receivers: int = 0
    transmitters: int = 0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Cleared:
    """A span that a responsible person states to be free at a stop.

    Attributes
    ----------
    stop : str
        Stop id.
    low_hz, high_hz : int
        Span [Hz].
    basis : str
        One of :data:`BASES`.
    level_dbm : float or None
        Measured level over the whole channel [dBm]; None when not said.
    date : date or None
        Day of the measurement or agreement.
    by : str
        Who states it; printed.
    """

    stop: str
    low_hz: int
    high_hz: int
    basis: str
    level_dbm: float | None = None
    date: dt.date | None = None
    by: str = ""

    @property
    def stated(self) -> str:
        """The ground in words, with level, who and when as far as they are said."""
        level = "" if self.level_dbm is None else f"{self.level_dbm:g} dBm"
        by = f"stated by {self.by}" if self.by else "nobody named"
        date = self.date.isoformat() if self.date else "no date"
        return ", ".join(part for part in (self.basis, level, by, date) if part)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Reserve:
    """Frequencies kept free and compatible for people who turn up.

    Attributes
    ----------
    role : str
        Role of the catalogue rows whose spectrum and guards are taken.
    count : int
        Frequencies wanted.
    bandwidth_hz : int
        Occupied bandwidth of what may turn up [Hz].
    stops : tuple of str
        Stop ids; empty means every stop.
    zone : str
        Zone word.
    """

    role: str
    count: int
    bandwidth_hz: int = 200_000
    stops: tuple[str, ...] = ()
    zone: str = "stage"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ZonePair:
    """What lies between two zones: a distance, or the loss that was measured.

    Attributes
    ----------
    a, b : str
        Zone words; their order does not matter.
    distance_m : float or None
        Least distance between an antenna in one and one in the other [m].
    isolation_db : float or None
        Least loss between an antenna in one and one in the other [dB].
    """

    a: str
    b: str
    distance_m: float | None = None
    isolation_db: float | None = None
