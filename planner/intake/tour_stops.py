"""Stops of a tour: their keys read, the place located, an id given to each."""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING

from planner.intake.limits import ANTENNA_HEIGHT_M, DEFAULT_ANTENNA_HEIGHT_M, SETTINGS
from planner.intake.locating import Located, locate
from planner.places import distance_km, people_near, slug
from planner.records import Stop
from planner.rules import rule_country

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from planner.intake.tour_fields import StopFields
    from planner.records import Permission

STOP_KEYS = (
    "id",
    "place",
    "lat",
    "lon",
    "country",
    "venue",
    "location_error_km",
    "date",
    "first_date",
    "last_date",
    "load_in",
    "setting",
    "antenna_height_m",
    "rig",
    "status",
    "exclude_mhz",
)
STATUSES = ("confirmed", "hold", "cancelled")
ID_ALLOWED = "small letters a-z, figures, - and _, at most 60"
_ID = re.compile(r"[a-z0-9][a-z0-9_-]{0,59}")
_DEVICE = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])")
_CLOCK = re.compile(r"(?:[01]\d|2[0-3]):[0-5]\d")
_SAME_TOWN_KM = 60.0

Warning3 = tuple[str, str, str]
"""Code, where, text."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopDraft:
    """A stop as read; what is missing or at fault is None and the fault is recorded."""

    fields: StopFields
    given_id: str
    place: str
    venue: str
    located: Located | None
    first_date: dt.date | None
    last_date: dt.date | None
    load_in: str
    setting: str
    antenna_height_m: float
    rig: str
    status: str
    exclude_hz: tuple[tuple[int, int], ...]

    @property
    def town(self) -> str:
        """The first part of a default id; empty when a fault leaves it unknown."""
        if self.located is not None:
            return slug(self.located.town)
        return slug(self.place.partition(",")[0])

    @property
    def named(self) -> bool:
        """Whether the stop's id is the one it will have when its faults are mended."""
        return bool(self.given_id if self.fields.has("id") else self.town)

    def stop(self, stop_id: str) -> Stop | None:
        """Return the record, None when a place or a date is missing."""
        located = self.located
        if located is None or self.first_date is None or self.last_date is None:
            return None
        return Stop(
            id=stop_id,
            place=located.place,
            venue=self.venue,
            country=rule_country(located.country),
            region=located.region,
            lat_deg=located.lat_deg,
            lon_deg=located.lon_deg,
            location_error_km=located.location_error_km,
            first_date=self.first_date,
            last_date=self.last_date,
            load_in=self.load_in,
            setting=self.setting,
            antenna_height_m=self.antenna_height_m,
            rig=self.rig,
            status=self.status,
            exclude_hz=self.exclude_hz,
            people_near=people_near(located.lat_deg, located.lon_deg),
        )


def read_stop(fields: StopFields, own: Sequence[Permission] = ()) -> StopDraft:
    """Read and locate one stop under the user's own rules too; faults go to the fields."""
    first, last = _days(fields)
    height_m = fields.number("antenna_height_m", ANTENNA_HEIGHT_M)
    return StopDraft(
        fields=fields,
        given_id=_given_id(fields),
        place=fields.text("place"),
        venue=fields.text("venue"),
        located=locate(fields, own),
        first_date=first,
        last_date=last,
        load_in=_clock(fields),
        setting=fields.word("setting", SETTINGS, default="unknown"),
        antenna_height_m=DEFAULT_ANTENNA_HEIGHT_M if height_m is None else height_m,
        rig=fields.text("rig", default="A") or "A",
        status=fields.word("status", STATUSES, default="confirmed"),
        exclude_hz=fields.spans_hz("exclude_mhz"),
    )


def stop_ids(drafts: Sequence[StopDraft]) -> tuple[str, ...]:
    """Return an id for each stop: the one given, else ``<town>-<n>`` for the n-th visit.

    Two towns of one name in a route get their region too (``springfield-il-1``). Ids given twice
    become faults.
    """
    towns = _town_slugs(drafts)
    visits: dict[str, int] = {}
    ids: list[str] = []
    taken: dict[str, int] = {}
    for number, (draft, town) in enumerate(zip(drafts, towns, strict=True), start=1):
        visits[town] = visits.get(town, 0) + 1
        stop_id = draft.given_id or f"{town}-{visits[town]}"
        if stop_id in taken:
            draft.fields.fault(
                "id",
                value=f'"{stop_id}", which stop {taken[stop_id]} of the route has too',
                allowed="an id that no other stop has",
                advice=f"give stop {number} another id",
            )
        taken.setdefault(stop_id, number)
        ids.append(stop_id)
    return tuple(ids)


def route_warnings(drafts: Sequence[StopDraft], ids: Sequence[str]) -> list[Warning3]:
    """Return warnings about single stops and about the order of dates."""
    warnings: list[Warning3] = []
    seen: list[tuple[str, StopDraft, tuple[dt.date, dt.date]]] = []
    for draft, stop_id in zip(drafts, ids, strict=True):
        if draft.located is not None:
            warnings += [(code, stop_id, text) for code, text in draft.located.warnings]
        if draft.setting == "unknown":
            warnings.append(
                ("setting-unknown", stop_id, "setting unknown: computed as outdoor, the worse case")
            )
        if draft.first_date is None or draft.last_date is None or draft.status == "cancelled":
            continue
        first, last = draft.first_date, draft.last_date
        if seen and first < seen[-1][2][0]:
            text = f"{first} stands after {seen[-1][0]} on {seen[-1][2][0]}"
            warnings.append(
                ("dates-fall", stop_id, f"{text}; the order of the file is taken for the route")
            )
        for other_id, other, (other_first, other_last) in seen:
            if other.rig == draft.rig and first <= other_last and last >= other_first:
                text = f"rig {draft.rig} is at {other_id} on {max(first, other_first)} too"
                warnings.append(("same-day", stop_id, text))
        seen.append((stop_id, draft, (first, last)))
    return warnings


def _given_id(fields: StopFields) -> str:
    given = fields.text("id")
    if not given or (_ID.fullmatch(given) and not _DEVICE.fullmatch(given)):
        return given
    if _DEVICE.fullmatch(given):
        allowed, advice = "a name that every system takes for a file", f"write {given}-1"
    else:
        allowed = ID_ALLOWED
        advice = f'write "{slug(given)[:60]}"' if slug(given) else "write e.g. omaha-1"
    fields.fault("id", value=f'"{given}"', allowed=allowed, advice=advice)
    return ""


def _days(fields: StopFields) -> tuple[dt.date | None, dt.date | None]:
    """Return the first and the last day of a stop."""
    day, first, last = fields.day("date"), fields.day("first_date"), fields.day("last_date")
    pair = fields.has("first_date") or fields.has("last_date")
    allowed = "date, or first_date and last_date"
    if fields.has("date") and pair:
        fields.fault("date", value="both forms", allowed=allowed, advice="remove one of them")
    elif fields.has("date"):
        return day, day
    elif not pair:
        fields.fault("date", value="no date", allowed=allowed, advice="add date = 2027-03-04")
    elif not fields.has("first_date") or not fields.has("last_date"):
        missing = "last_date" if fields.has("first_date") else "first_date"
        fields.fault(missing, value="only one of the two", allowed=allowed, advice=f"add {missing}")
    elif first is not None and last is not None and first > last:
        fields.fault(
            "last_date",
            value=f"{last}, first_date {first}",
            allowed="last_date on or after first_date",
            advice="swap or correct them",
        )
    return first, last


def _clock(fields: StopFields) -> str:
    text = fields.text("load_in")
    if not text or _CLOCK.fullmatch(text):
        return text
    fields.fault(
        "load_in", value=f'"{text}"', allowed='"HH:MM", 00:00 to 23:59', advice='write e.g. "08:00"'
    )
    return ""


def _town_slugs(drafts: Sequence[StopDraft]) -> list[str]:
    """Return the first part of each default id; the region joins where one name is two towns."""
    found = [draft.located for draft in drafts]
    names = [draft.town or "stop" for draft in drafts]
    towns = []
    for place, name in zip(found, names, strict=True):
        namesakes = [
            other for other, its_name in zip(found, names, strict=True) if its_name == name
        ]
        if place is not None and any(
            other is not None and not _same_town(place, other) for other in namesakes
        ):
            region = slug(place.region) or slug(place.country)
            towns.append(f"{name}-{region}" if region else name)
        else:
            towns.append(name)
    return [town[:55] for town in towns]


def _same_town(a: Located, b: Located) -> bool:
    return distance_km(a.lat_deg, a.lon_deg, b.lat_deg, b.lon_deg) <= _SAME_TOWN_KM
