"""Spans that a responsible person states to be free: quiet air, and what the law makes of it."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.field_strength.noise import in_bandwidth_dbm, noise_rise_db, thermal_noise_dbm
from planner.occupancy.channels import best_part, channel_reasons
from planner.occupancy.interference import TV_OCCUPIED_HZ
from planner.occupancy.records import (
    QUIET,
    AirSpan,
    ChannelOccupancy,
    Clearance,
    Occupancy,
    Reason,
)
from planner.spectrum import IntervalSet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.records import Cleared, Settings, Stop
    from planner.rules import CountryRules

CLEARED = "cleared"
"""Code of the reason that a cleared span gives."""
LOUD_DBM = -84.0
"""A level over the whole channel from which on no statement makes the air quiet [dBm]: the one
below which 47 CFR 74.802(b) lets a measurement open a TV channel."""
_MEASUREMENT = "on-site measurement"


def apply_clearances(
    occupancy: Occupancy,
    stop: Stop,
    cleared_rows: Sequence[Cleared],
    rules: CountryRules,
    *,
    settings: Settings,
) -> Occupancy:
    """Return the occupancy of a stop with what was cleared there.

    Parameters
    ----------
    occupancy : Occupancy
        As predicted.
    stop : Stop
        The stop; rows of other stops are passed over.
    cleared_rows : sequence of Cleared
        The statements of the tour.
    rules : CountryRules
        What a statement means to the law; it never opens what is barred.
    settings : Settings
        Reference receiver and limit against which a measured level is held.

    Returns
    -------
    Occupancy
        Held, unlisted and faint air is quiet inside a cleared span; the old reasons stay behind
        the reason ``"cleared"``. A measured level takes the place of the predicted noise rise.
        The facts carry the reliefs for the law.
    """
    rows = [row for row in cleared_rows if row.stop == stop.id]
    if not rows:
        return occupancy
    edges = [edge for row in rows for edge in (row.low_hz, row.high_hz)]
    spans: list[AirSpan] = []
    doubts: dict[int, list[tuple[float, str]]] = {}
    for span in occupancy.spans:
        for low, high in IntervalSet([(span.low_hz, span.high_hz)]).split(edges):
            part = dataclasses.replace(span, low_hz=low, high_hz=high)
            most_db: float | None = None
            for number, row in enumerate(rows):
                if row.low_hz <= low and high <= row.high_hz:
                    rise_db = measured_rise_db(row, rules, settings, low_hz=low, high_hz=high)
                    found = _doubt(row, part, rise_db, settings.noise_rise_limit_db)
                    doubts.setdefault(number, []).extend([found] if found else [])
                    if rise_db is not None:
                        most_db = rise_db if most_db is None else max(most_db, rise_db)
                    part = (
                        _still(part, row)
                        if is_loud(row)
                        else _quiet(part, row, rise_db, most_db=most_db)
                    )
            spans.append(part)
    reliefs = [rules.relief(row, occupancy.facts.licences, indoor=stop.indoor) for row in rows]
    clearances = [
        Clearance(
            row=row,
            air_before_hz=_air_in(occupancy.spans, row),
            reliefs=reliefs[number],
            doubt=max(doubts.get(number, ()), default=(0.0, ""))[1],
        )
        for number, row in enumerate(rows)
    ]
    facts = dataclasses.replace(
        occupancy.facts, cleared=tuple(relief for found in reliefs for relief in found)
    )
    return dataclasses.replace(
        occupancy,
        spans=tuple(spans),
        channels=tuple(_channel(channel, spans, rows) for channel in occupancy.channels),
        facts=facts,
        cleared=tuple(clearances),
    )


def measured_rise_db(
    row: Cleared, rules: CountryRules, settings: Settings, *, low_hz: int, high_hz: int
) -> float | None:
    """Return what a measured level does to the noise of the reference receiver, to 0.1 dB.

    Parameters
    ----------
    row : Cleared
        The statement; the level is that of the whole TV channel, or of the whole cleared span
        where no TV channel holds the part.
    rules, settings : CountryRules, Settings
        The raster; noise figure and bandwidth.
    low_hz, high_hz : int
        The part of the span that is asked for [Hz].

    Returns
    -------
    float or None
        None where no level is stated.

    Notes
    -----
    The level is taken as that of the antenna of the receiver, spread evenly over the width that
    a TV signal occupies.
    """
    if row.level_dbm is None:
        return None
    channel = next(
        (ch for ch in rules.raster if ch.low_hz <= low_hz and high_hz <= ch.high_hz), None
    )
    width_hz = (channel.high_hz - channel.low_hz) if channel else row.high_hz - row.low_hz
    emission_hz = TV_OCCUPIED_HZ.get(width_hz, width_hz) if channel else width_hz
    receiver_hz = min(settings.reference_bandwidth_hz, emission_hz)
    level_dbm = in_bandwidth_dbm(
        row.level_dbm, emission_hz=float(emission_hz), receiver_hz=float(receiver_hz)
    )
    noise_dbm = thermal_noise_dbm(
        settings.reference_bandwidth_hz, settings.reference_noise_figure_db
    )
    return round(float(noise_rise_db(level_dbm, noise_dbm)), 1)


def _doubt(
    row: Cleared, part: AirSpan, rise_db: float | None, limit_db: float
) -> tuple[float, str] | None:
    """Return why a part is cleared only with a warning, behind how grave it is [dB]."""
    if rise_db is not None:
        if rise_db < limit_db:
            return None
        return rise_db, (
            f"{row.level_dbm:g} dBm over the whole channel raises the noise of the reference "
            f"receiver by {rise_db:.1f} dB, at or above the limit of {limit_db:g} dB"
        )
    predicted_db = part.noise_rise_db or 0.0
    prediction = (
        f"the prediction is a noise rise of up to {predicted_db:.1f} dB, at or above the limit "
        f"of {limit_db:g} dB"
    )
    if row.basis == _MEASUREMENT:
        said = "a measurement without its level: state level_dbm over the whole channel"
        return predicted_db, f"{said}; {prediction}" if predicted_db >= limit_db else said
    if part.air != QUIET and predicted_db >= limit_db:
        return predicted_db, (
            f"no level is stated and {prediction}: permission to use a channel does not make it "
            "quiet; measure on site"
        )
    return None


def is_loud(row: Cleared) -> bool:
    """Say whether the level stated is itself the reason not to call the air quiet."""
    return row.level_dbm is not None and row.level_dbm >= LOUD_DBM


def _still(part: AirSpan, row: Cleared) -> AirSpan:
    """Return a part as it was: what was measured there is no quiet air."""
    text = f"not cleared: {row.stated}; {LOUD_DBM:g} dBm and more is no quiet air"
    reason = Reason(code=CLEARED, text=text)
    return dataclasses.replace(part, reasons=(*part.reasons, reason))


def _quiet(part: AirSpan, row: Cleared, rise_db: float | None, *, most_db: float | None) -> AirSpan:
    """Return a part as cleared, its old reasons kept; of several levels the greatest counts."""
    was = "quiet before" if part.air == QUIET else f"{part.air} before, quiet"
    level = "" if rise_db is None else f"; measured noise rise {rise_db:.1f} dB"
    reason = Reason(code=CLEARED, text=f"cleared ({was}): {row.stated}{level}")
    return dataclasses.replace(
        part,
        air=QUIET,
        noise_rise_db=part.noise_rise_db if most_db is None else most_db,
        noise_rise_least_db=part.noise_rise_least_db if most_db is None else None,
        reasons=(reason, *part.reasons),
    )


def _air_in(spans: Sequence[AirSpan], row: Cleared) -> dict[str, int]:
    """Return the width of each verdict inside a cleared span [Hz]."""
    found: dict[str, int] = {}
    for span in spans:
        width_hz = min(span.high_hz, row.high_hz) - max(span.low_hz, row.low_hz)
        if width_hz > 0:
            found[span.air] = found.get(span.air, 0) + width_hz
    return found


def _channel(
    channel: ChannelOccupancy, spans: Sequence[AirSpan], rows: Sequence[Cleared]
) -> ChannelOccupancy:
    """Return a channel judged again where a cleared span touches it."""
    if not any(row.low_hz < channel.high_hz and channel.low_hz < row.high_hz for row in rows):
        return channel
    parts = [s for s in spans if s.low_hz < channel.high_hz and channel.low_hz < s.high_hz]
    best = best_part(parts)
    rises = [part.noise_rise_db for part in parts if part.noise_rise_db is not None]
    return dataclasses.replace(
        channel,
        air=best.air,
        coverage=best.coverage,
        reasons=channel_reasons(best, parts),
        noise_rise_least_db=min(
            (p.least_rise_db for p in parts if p.least_rise_db is not None), default=None
        ),
        noise_rise_most_db=max(rises, default=None),
    )
