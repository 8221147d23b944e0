"""What a tour file says: stops, needs, fixed carriers, exclusions, licences, settings."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt

    from planner.records.hookup import HookupSpec
    from planner.records.permissions import Permission
    from planner.records.statements import (
        Assigned,
        Cleared,
        Other,
        Owned,
        Reserve,
        ZonePair,
    )

EVERY_STOP: tuple[str, ...] = ()
"""An empty tuple of stop ids means every stop."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Settings:
    """Every assumption of a plan in one record, printed on each engineer page.

    Attributes
    ----------
    use_faint : str
        ``"never"``, ``"spares"`` or ``"all"``: who may stand in a faint span.
    plan_unlisted : bool
        Whether spans whose services no loaded table covers may be used.
    accept_unconfirmed : tuple of str
        ISO 3166 codes of countries whose unconfirmed permissions the user takes on.
    noise_rise_limit_db : float
        Rise of the reference receiver's noise from which a span is faint [dB].
    pair_separation_mhz : float
        Least distance between the microphone and the in-ear carrier of one performer [MHz].
    in_ear_separation_mhz : float
        Least distance between an in-ear carrier, which transmits from the rack, and any carrier
        that is received there, beside spacing [MHz]; 0 for none.
    interference_time_percent : float
        Share of time for which interference is computed [%]; 10 where FCC curves apply.
    reference_noise_figure_db : float
        Noise figure of the reference receiver [dB].
    reference_bandwidth_hz : int
        Bandwidth in which noise and interference are compared [Hz].
    building_loss : str
        Building type of ITU-R P.2109 at indoor stops, median loss: ``"traditional"`` or
        ``"thermally-efficient"``.
    noise_environment : str
        Surroundings for the external noise of ITU-R P.372: ``"auto"`` (by the people of the
        place), ``"city"``, ``"residential"`` or ``"rural"``; above 250 MHz an extrapolation.
    range_exponent : float
        Exponent of the loss with distance beyond 5 m in working ranges.
    field_model : str
        Whose curves give the fields: ``"auto"`` (the FCC's at stops of the countries whose rules
        stand on them, ITU-R P.1546 elsewhere), ``"r6602"`` (the FCC's everywhere) or ``"p1546"``.
        Contours that a rule defines stay on the curves it names.
    """

    use_faint: str = "spares"
    plan_unlisted: bool = False
    accept_unconfirmed: tuple[str, ...] = ()
    noise_rise_limit_db: float = 6.0
    pair_separation_mhz: float = 8.0
    in_ear_separation_mhz: float = 0.0
    interference_time_percent: float = 10.0
    reference_noise_figure_db: float = 6.0
    reference_bandwidth_hz: int = 200_000
    building_loss: str = "traditional"
    noise_environment: str = "auto"
    range_exponent: float = 2.7
    field_model: str = "auto"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Licence:
    """A licence the user holds; without any, only licence-exempt use is planned.

    Attributes
    ----------
    country : str
        ISO 3166 code.
    kind : str
        A kind named by that country's rules, e.g. ``"part-74"``.
    holder : str
        Whose licence it is; printed.
    valid_from, valid_to : date or None
        First and last day; None is open.
    stops : tuple of str
        Stop ids; empty means the whole country.
    """

    country: str
    kind: str
    holder: str = ""
    valid_from: dt.date | None = None
    valid_to: dt.date | None = None
    stops: tuple[str, ...] = EVERY_STOP

    def serves(self, stop: Stop) -> bool:
        """Say whether the licence holds at a stop for all of its days."""
        return (
            self.country == stop.country
            and (not self.stops or stop.id in self.stops)
            and (self.valid_from is None or self.valid_from <= stop.first_date)
            and (self.valid_to is None or stop.last_date <= self.valid_to)
        )


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Stop:
    """One place of the route, located.

    Attributes
    ----------
    id : str
        Unique in the tour.
    place, venue : str
        Names for people.
    country : str
        ISO 3166 code of the country whose rules apply.
    region : str
        First-order division as the gazetteer codes it (US: the state), may be empty.
    lat_deg, lon_deg : float
        WGS84 [deg], east and north positive.
    location_error_km : float
        Radius within which the venue surely lies [km].
    first_date, last_date : date
        Local days of use, inclusive.
    load_in : str
        Local time at which the radio day starts, ``"HH:MM"`` or empty.
    setting : str
        ``"indoor"``, ``"outdoor"``, ``"tent"`` or ``"unknown"`` (computed as outdoor).
    antenna_height_m : float
        Receiving antenna above ground [m].
    rig : str
        Retunes are counted within a rig.
    status : str
        ``"confirmed"``, ``"hold"`` or ``"cancelled"``.
    exclude_hz : tuple of (int, int)
        Spans closed at this stop by the user [Hz].
    people_near : int or None
        People of the largest place within 10 km, 0 where there is none; None when not known.
    """

    id: str
    place: str
    venue: str = ""
    country: str
    region: str = ""
    lat_deg: float
    lon_deg: float
    location_error_km: float
    first_date: dt.date
    last_date: dt.date
    load_in: str = ""
    setting: str = "unknown"
    antenna_height_m: float = 3.0
    rig: str = "A"
    status: str = "confirmed"
    exclude_hz: tuple[tuple[int, int], ...] = ()
    people_near: int | None = None

    @property
    def indoor(self) -> bool:
        """Whether a building's walls stand between the air and the antenna."""
        return self.setting == "indoor"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Exclude:
    """A span the user closes, and why."""

    low_hz: int
    high_hz: int
    reason: str = ""
    stops: tuple[str, ...] = EVERY_STOP


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Need:
    """Named carriers wanted for a role, plus spares.

    Attributes
    ----------
    name, role : str
        ``role`` is matched against the catalogue's ``role``.
    form : str
        ``"hand-held"``, ``"body-worn"``, ``"rack"`` or empty.
    lines : tuple of str
        ``count`` names; those the user left out are filled in as ``"<name> <n>"``.
    count, spares : int
        Lines and spare frequencies wanted.
    spare_grade : str
        ``"full"`` or ``"stand-in"``.
    units_per_line : int
        Packs that follow one carrier.
    gear : tuple of str
        Families considered; empty means all of the role.
    ranges_max : int
        Most ranges the need may be spread over.
    zone, pair_with : str
        Zone word; name of the need whose same-named lines are the same performer.
    stops : tuple of str
        Stop ids; empty means every stop.
    active : tuple of str
        Local times ``"HH:MM"`` from and to, or empty for the whole day; past midnight where the
        second is the earlier one.
    block_loss : str
        Where the need is served by wideband blocks, what covers the loss of one:
        ``"second-block"`` (one more is planned), ``"fallback"`` (another need), ``"accept"``
        (nothing, and the user says so), or empty: not stated.
    fallback : str
        Name of that other need.
    """

    name: str
    role: str
    form: str = ""
    lines: tuple[str, ...]
    count: int
    spares: int = 0
    spare_grade: str = "full"
    units_per_line: int = 1
    gear: tuple[str, ...] = ()
    ranges_max: int = 1
    zone: str = "stage"
    pair_with: str = ""
    stops: tuple[str, ...] = EVERY_STOP
    active: tuple[str, ...] = ()
    block_loss: str = ""
    fallback: str = ""

    @property
    def full_spares(self) -> int:
        """Spares that must fit beside everything; a stand-in takes the place of a line."""
        return self.spares if self.spare_grade == "full" else 0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class FixedCarrier:
    """A carrier of our own that cannot be retuned.

    Attributes
    ----------
    range_key : str
        Key of the catalogue row it belongs to (its bandwidth and guards).
    zone : str
        Zone word.
    active : tuple of str
        Local times ``"HH:MM"`` from and to, or empty for the whole day.
    """

    name: str
    role: str
    frequency_hz: int
    range_key: str
    stops: tuple[str, ...] = EVERY_STOP
    zone: str = "stage"
    active: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Tour:
    """A whole tour file, read, located and checked.

    Attributes
    ----------
    station_tables, gear_file : tuple of str, str
        File names as the user wrote them.
    paper, distances : str
        ``"a4"`` or ``"letter"``; ``"km"`` or ``"mi"``: how sheets print.
    warnings : tuple of (str, str, str)
        ``(code, where, text)`` found while reading.
    permissions : tuple of Permission
        The user's own rules file; they take the place of the shipped rows of their countries.
    hookup : HookupSpec or None
        The ``[hookup]`` table; None where there is none.
    """

    name: str
    station_tables: tuple[str, ...]
    gear_file: str
    paper: str = "a4"
    distances: str = "km"
    settings: Settings
    licences: tuple[Licence, ...] = ()
    stops: tuple[Stop, ...]
    needs: tuple[Need, ...]
    fixed: tuple[FixedCarrier, ...] = ()
    excludes: tuple[Exclude, ...] = ()
    others: tuple[Other, ...] = ()
    assigned: tuple[Assigned, ...] = ()
    owned: tuple[Owned, ...] = ()
    cleared: tuple[Cleared, ...] = ()
    reserves: tuple[Reserve, ...] = ()
    zone_pairs: tuple[ZonePair, ...] = ()
    warnings: tuple[tuple[str, str, str], ...] = ()
    permissions: tuple[Permission, ...] = ()
    hookup: HookupSpec | None = None
