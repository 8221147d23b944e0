"""What a sheet says of TV channels: air, law, reasons and the transmitters that matter."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.reading import reason_text, rows, table

if TYPE_CHECKING:
    from collections.abc import Container

    from planner.report.reading import Plan

MOST_TRANSMITTERS = 4
"""Transmitters printed for a channel that is not quiet; a quiet one prints its strongest."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class TransmitterView:
    """One station as it reaches the stop; distances in the tour's unit, fields in dB(µV/m)."""

    name: str
    station_id: str
    service: str
    distance: str
    bearing: str
    field_50_50: str
    field_50_10: str
    outside: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ChannelView:
    """One TV channel, or neighbours that say the same, with verdicts and what led to them.

    Attributes
    ----------
    reasons : tuple of str
        Reasons of this channel alone whose figures do not already stand in the row.
    weaker : int
        Transmitters that are not printed.
    """

    channel: str
    span: str
    air: str
    law: str
    noise_rise: str
    chance: str
    reasons: tuple[str, ...]
    transmitters: tuple[TransmitterView, ...]
    weaker: int


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ChannelsView:
    """All TV channels of the searched span at one stop.

    Attributes
    ----------
    channels : tuple of ChannelView
        Those with something to say, in channel order.
    shared : tuple of (str, str)
        Channels as runs, and a reason that they have in common.
    silent, silent_noise : str
        The other channels as runs, and their greatest noise rise [dB]; empty when there are none.
    partial : bool
        Whether a channel's tables lack a class of stations.
    field_height : str
        Heights above ground for which the fields hold [m].
    """

    channels: tuple[ChannelView, ...]
    shared: tuple[tuple[str, str], ...]
    silent: str
    silent_noise: str
    partial: bool
    field_height: str


def _outside(value_km: float | None, unit: str) -> str:
    if value_km is None:
        return words.NONE
    if value_km < 0:
        return f"inside by {words.distance(-value_km, unit)}"
    return words.distance(value_km, unit)


def _strength(row: Plan) -> tuple[bool, float]:
    outside_km = row.get("outside_contour_km")
    field = row.get("field_50_10_dbuv_m")
    return (outside_km is None or outside_km >= 0, -(field if field is not None else -999.0))


def transmitter(plan: Plan, row: Plan, unit: str) -> TransmitterView:
    """Join what reaches the stop with the station's name."""
    station = table(table(plan, "transmitters"), row["station_id"])
    return TransmitterView(
        name=words.clean(station.get("name") or row["station_id"]),
        station_id=words.clean(row["station_id"]),
        service=words.clean(station.get("service")),
        distance=words.distance(row["distance_km"], unit),
        bearing=words.bearing(row["bearing_from_stop_deg"]),
        field_50_50=words.figure(row["field_50_50_dbuv_m"]),
        field_50_10=words.figure(row["field_50_10_dbuv_m"]),
        outside=_outside(row["outside_contour_km"], unit),
    )


def noise_text(channel: Plan) -> str:
    """Write the noise rise of a channel [dB], from the least to the most."""
    least, most = channel.get("noise_rise_least_db"), channel.get("noise_rise_most_db")
    if least is None or most is None:
        return words.figure(most if least is None else least)
    low, high = words.figure(least), words.figure(most)
    return low if low == high else f"{low} to {high}"


def _ranked(channel: Plan) -> list[Plan]:
    return sorted(rows(channel, "transmitters"), key=_strength)


def _shown(channel: Plan) -> list[Plan]:
    return _ranked(channel)[: 1 if channel["air"] == "quiet" else MOST_TRANSMITTERS]


def _said_in_row(channel: Plan, reason: Any) -> bool:  # noqa: ANN401 - object or sentence
    """Say whether the figures of a reason stand in the columns of its channel's row."""
    if not isinstance(reason, Mapping):
        return False
    if reason["code"] in {"noise-rise", "none-listed"}:
        return channel.get("noise_rise_most_db") is not None
    shown = {row["station_id"] for row in _shown(channel)}
    return reason["code"] == "contour" and reason["station_id"] in shown


def _told(channel: Plan) -> list[str]:
    reasons = (row for row in rows(channel, "reasons") if not _said_in_row(channel, row))
    return list(dict.fromkeys(map(reason_text, reasons)))


def _channel(plan: Plan, channel: Plan, unit: str, shared: Container[str]) -> ChannelView:
    shown = _shown(channel)
    listed = len(rows(channel, "transmitters")) + (channel.get("transmitters_not_listed") or 0)
    return ChannelView(
        channel=words.clean(channel["channel"]),
        span=words.mhz_span(channel["low_mhz"], channel["high_mhz"]),
        air=words.clean(channel["air"]),
        law=words.clean(channel["law"]),
        noise_rise=noise_text(channel),
        chance=words.chance(None if channel["air"] == "held" else channel.get("chance_clear")),
        reasons=tuple(text for text in _told(channel) if text not in shared),
        transmitters=tuple(transmitter(plan, row, unit) for row in shown),
        weaker=listed - len(shown),
    )


def _alike(one: ChannelView, other: ChannelView) -> bool:
    """Say whether two channels say the same and nothing of their own."""
    return not (one.transmitters or other.transmitters or one.reasons or other.reasons) and (
        (one.air, one.law, one.noise_rise, one.chance)
        == (other.air, other.law, other.noise_rise, other.chance)
    )


def _joined(plan: Plan, every: list[Plan], unit: str, shared: Container[str]) -> list[ChannelView]:
    """View channels one by one, neighbours that say the same together."""
    out: list[ChannelView] = []
    high_mhz = None
    first: Plan = {}
    for channel in every:
        view = _channel(plan, channel, unit, shared)
        if out and channel["low_mhz"] == high_mhz and _alike(out[-1], view):
            out[-1] = dataclasses.replace(
                view,
                channel=f"{words.clean(first['channel'])}{words.EN_DASH}{view.channel}",
                span=words.mhz_span(first["low_mhz"], channel["high_mhz"]),
            )
        else:
            out.append(view)
            first = channel
        high_mhz = channel["high_mhz"]
    return out


def _silent(channel: Plan) -> bool:
    """Say whether a channel is quiet and lawful and neither a station nor a caution names it."""
    told = {
        reason["code"] if isinstance(reason, Mapping) else "" for reason in rows(channel, "reasons")
    }
    return (
        channel["air"] == "quiet"
        and channel["law"] == "lawful"
        and not channel["transmitters"]
        and told <= {"noise-rise", "none-listed", "law"}
    )


def runs(names: list[str], order: list[str]) -> str:
    """Write channel names as runs along their order: 15, then 17 to 19, then 22."""
    chosen = set(names)
    parts: list[list[str]] = []
    before = None
    for name in order:
        if name in chosen and parts and parts[-1][-1] == before:
            parts[-1].append(name)
        elif name in chosen:
            parts.append([name])
        before = name
    return ", ".join(words.EN_DASH.join(dict.fromkeys((run[0], run[-1]))) for run in parts)


def _shared(every: list[Plan], order: list[str]) -> tuple[tuple[str, str], ...]:
    """Collect the reasons that two channels or more have in common."""
    told: dict[str, list[str]] = {}
    for channel in every:
        for text in _told(channel):
            told.setdefault(text, []).append(words.clean(channel["channel"]))
    return tuple((runs(names, order), text) for text, names in told.items() if len(names) > 1)


def channels_view(plan: Plan, stop: Plan, unit: str) -> ChannelsView:
    """Sort a stop's TV channels into those with something to say and the silent rest."""
    every = rows(stop, "channels")
    order = [words.clean(channel["channel"]) for channel in every]
    silent = [channel for channel in every if _silent(channel)]
    noise = [channel.get("noise_rise_most_db") for channel in silent]
    heights = {
        row["field_height_m"]
        for channel in every
        for row in rows(channel, "transmitters")
        if row.get("field_height_m") is not None
    }
    shared = _shared(every, order)
    texts = {text for _, text in shared}
    return ChannelsView(
        channels=tuple(_joined(plan, [row for row in every if not _silent(row)], unit, texts)),
        shared=shared,
        silent=runs([words.clean(channel["channel"]) for channel in silent], order),
        silent_noise=words.figure(max((db for db in noise if db is not None), default=None)),
        partial=any(channel.get("coverage") == "partial" for channel in every),
        field_height=words.listed(words.short_number(height) for height in sorted(heights)),
    )
