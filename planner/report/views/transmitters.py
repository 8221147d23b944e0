"""Transmitters at one stop by what they do to it, the strongest effect first."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import rows, table

if TYPE_CHECKING:
    from planner.report.reading import Plan

MOST = 60
"""Transmitters listed at most."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class EffectView:
    """One transmitter that matters; distances in the tour's unit, fields in dB(µV/m)."""

    name: str
    service: str
    channel: str
    effect: str
    distance: str
    bearing: str
    erp: str
    field_50_50: str
    field_50_10: str
    sigma: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class EffectsView:
    """The transmitters that matter at a stop, and the others in one sentence."""

    rows: tuple[EffectView, ...]
    others: str


def _strength(pair: tuple[Plan, Plan]) -> tuple[int, float]:
    """Order: held or barred channels, then faint ones, each by the field for 10 % of the time."""
    channel, row = pair
    outside_km = row.get("outside_contour_km")
    inside = outside_km is not None and outside_km < 0
    closed = channel["air"] == "held" or channel["law"] == "barred"
    field = row.get("field_50_10_dbuv_m")
    return 0 if inside else 1 if closed else 2, -(field if field is not None else -999.0)


def _effect(channel: Plan, row: Plan, unit: str) -> str:
    outside_km = row.get("outside_contour_km")
    if outside_km is not None and outside_km < 0:
        return f"inside its contour by {words.distance(-outside_km, unit)} {unit}"
    told = f"{channel['air']}" if channel["air"] != "quiet" else channel["law"]
    if outside_km is None:
        return words.clean(told)
    return f"{words.clean(told)}, {words.distance(outside_km, unit)} {unit} outside"


def _view(plan: Plan, channel: Plan, row: Plan, unit: str) -> EffectView:
    station = table(table(plan, "transmitters"), row["station_id"])
    service = words.clean(station.get("service"))
    return EffectView(
        name=words.clean(station.get("name") or row["station_id"]),
        service="" if service == "full" else service,
        channel=words.clean(channel["channel"]),
        effect=_effect(channel, row, unit),
        distance=words.distance(row["distance_km"], unit),
        bearing=words.bearing(row["bearing_from_stop_deg"]),
        erp=words.NONE
        if row.get("erp_toward_stop_kw") is None
        else words.short_number(row["erp_toward_stop_kw"]),
        field_50_50=words.figure(row["field_50_50_dbuv_m"]),
        field_50_10=words.figure(row["field_50_10_dbuv_m"]),
        sigma=words.figure(row.get("sigma_db")),
    )


def effects_view(plan: Plan, stop: Plan, unit: str) -> EffectsView:
    """List the transmitters on channels that are not both quiet and lawful.

    The rest is counted: those on quiet channels, and those that the plan itself did not list.
    """
    pairs = [
        (channel, row)
        for channel in rows(stop, "channels")
        for row in rows(channel, "transmitters")
    ]
    hidden = sum(channel.get("transmitters_not_listed") or 0 for channel in rows(stop, "channels"))
    matter = [pair for pair in pairs if pair[0]["air"] != "quiet" or pair[0]["law"] != "lawful"]
    matter.sort(key=_strength)
    shown = matter[:MOST]
    weak = len(pairs) - len(shown) + hidden
    others = ""
    if weak:
        were = "is" if weak == 1 else "are"
        others = (
            f"{words.plural(weak, 'further transmitter')} of the tables {were} heard weaker here, "
            "or on channels that stay quiet and lawful."
        )
    return EffectsView(
        rows=tuple(_view(plan, channel, row, unit) for channel, row in shown), others=others
    )
