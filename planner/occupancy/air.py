"""The air at a stop: held, unlisted, faint or quiet, with every reason."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.occupancy.coverage import FULL, NONE, CoverageMap
from planner.occupancy.interference import Arrivals, arrivals
from planner.occupancy.records import (
    AIR_ORDER,
    FAINT,
    HELD,
    QUIET,
    UNLISTED,
    AirSpan,
    ChannelOccupancy,
    Occupancy,
    Reason,
)
from planner.rules import StopFacts
from planner.spectrum import IntervalSet, split_spans

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.reach import ReachTable
    from planner.records import Licence, Settings, StationTable, Stop
    from planner.rules import ChannelNote, CountryRules, ServiceSpan

_NEAR_CONTOUR_KM = 50.0
"""Stations whose contour ends this near are listed though they do no harm; our own choice."""
_LEAST_RISE_DB = 0.1
_NAMED = 3
"""Stations named in a sentence; the rest is counted."""
_CARRIER_HZ = 200_000
"""Width of the carrier that a channel's best verdict is told for [Hz]."""


def compute_occupancy(  # noqa: PLR0913 - the stage's inputs, all named
    stop: Stop,
    *,
    reach: ReachTable,
    stop_index: int,
    stations: StationTable,
    rules: CountryRules,
    neighbours: Sequence[str],
    coverage: CoverageMap,
    licences: Sequence[Licence],
    settings: Settings,
    searched: IntervalSet,
) -> Occupancy:
    """Return the air over the searched span at one stop.

    Parameters
    ----------
    stop, stop_index : Stop, int
        The stop and its index in ``reach.stop``.
    reach, stations : ReachTable, StationTable
        What arrives, and from whom.
    rules : CountryRules
        Rules of the stop's country.
    neighbours : sequence of str
        Other countries with a place within 100 km of the stop.
    coverage : CoverageMap
        What the loaded tables cover.
    licences : sequence of Licence
        Those that serve this stop.
    settings : Settings
        Noise rise limit, reference receiver, building.
    searched : IntervalSet
        What the catalogue could ever touch.

    Notes
    -----
    ``held`` is judged on the protection curve with the cautious level; ``faint`` on F(50,10),
    brought from 9 m to the antenna's height (ITU-R P.1546-6 section 9, open surroundings), at
    indoor stops less the median loss of ITU-R P.2109, in power over all transmitters of the
    span, against kTB with the reference noise figure. Computed at the point given.
    """
    mine = arrivals(stop, reach, stop_index, stations, settings)
    notes: dict[str, list[ChannelNote]] = {}
    for note in rules.channel_notes(stop.lat_deg, stop.lon_deg):
        notes.setdefault(note.label, []).append(note)
    edges = {edge for row in rules.raster for edge in (row.low_hz, row.high_hz)}
    edges |= {edge for row in rules.services for edge in (row.low_hz, row.high_hz)}
    edges |= set(stations.low_hz[mine.station].tolist())
    edges |= set(stations.high_hz[mine.station].tolist())
    spans = []
    for low, high in split_spans(searched.spans, edges):
        channel = next(
            (row for row in rules.raster if row.low_hz <= low and high <= row.high_hz), None
        )
        spans.append(
            _judge_span(
                low,
                high,
                mine=mine,
                reach=reach,
                stations=stations,
                settings=settings,
                rules=rules,
                service=_service_at(rules.services, low, high),
                coverage=coverage.worst((rules.code, *neighbours), low, high),
                notes=notes.get(channel.label, ()) if channel else (),
            )
        )
    facts = StopFacts(
        country=stop.country,
        lat_deg=stop.lat_deg,
        lon_deg=stop.lon_deg,
        protected=_protected(mine, reach, stations, rules),
        licences=tuple(licences),
    )
    return Occupancy(
        stop_id=stop.id,
        spans=tuple(spans),
        channels=_channels(spans, mine=mine, reach=reach, stations=stations, rules=rules),
        facts=facts,
    )


def _service_at(services: Sequence[ServiceSpan], low_hz: int, high_hz: int) -> ServiceSpan | None:
    return next((row for row in services if row.low_hz <= low_hz and high_hz <= row.high_hz), None)


def _judge_span(  # noqa: PLR0913 - facts of one span, all named
    low_hz: int,
    high_hz: int,
    *,
    mine: Arrivals,
    reach: ReachTable,
    stations: StationTable,
    settings: Settings,
    rules: CountryRules,
    service: ServiceSpan | None,
    coverage: tuple[str, tuple[str, ...]],
    notes: Sequence[ChannelNote],
) -> AirSpan:
    here = np.flatnonzero(
        (stations.low_hz[mine.station] < high_hz) & (stations.high_hz[mine.station] > low_hz)
    )
    held = _held_reasons(here, mine=mine, reach=reach, stations=stations, rules=rules)
    if service is not None and service.air == HELD:
        held.append(Reason(code="service", text=f"{service.service} ({service.section})"))
    held += _note_reasons(notes, "held", "closed")
    faint = _note_reasons(notes, "faint")
    cautions = _note_reasons(notes, "caution")
    unlisted, word = _unlisted_reasons(service, coverage)
    rise = mine.rise_db(here)
    noise = _noise_reason(here, mine, stations, rise=rise, limit_db=settings.noise_rise_limit_db)
    if held:
        air, reasons = HELD, [*held, *unlisted, noise]
    elif unlisted:
        air, reasons = UNLISTED, [*unlisted, noise]
    elif faint or rise is None or rise >= settings.noise_rise_limit_db:
        air, reasons = FAINT, [*faint, noise]
    else:
        air, reasons = QUIET, [noise]
    if air != FAINT:
        reasons += faint
    return AirSpan(
        low_hz=low_hz,
        high_hz=high_hz,
        air=air,
        coverage=word,
        table_possible=service is None or service.air != "no-table",
        noise_rise_db=None if word == NONE and not here.size else rise,
        reasons=(*reasons, *cautions),
    )


def _note_reasons(notes: Sequence[ChannelNote], *kinds: str) -> list[Reason]:
    return [
        Reason(
            code=note.code,
            text=f"{'caution: ' * (note.kind == 'caution')}{note.text} ({note.section})",
        )
        for note in notes
        if note.kind in kinds
    ]


def _held_reasons(
    here: npt.NDArray[np.int64],
    *,
    mine: Arrivals,
    reach: ReachTable,
    stations: StationTable,
    rules: CountryRules,
) -> list[Reason]:
    outside = np.round(reach.outside_cautious_km[mine.rows[here]], 2)
    margin_km = rules.margin_km
    inside = here[np.nan_to_num(outside, nan=np.inf) <= margin_km]
    reasons = []
    for k in inside[np.argsort(reach.outside_cautious_km[mine.rows[inside]], kind="stable")]:
        row, station = mine.rows[k], mine.station[k]
        gap = float(reach.outside_cautious_km[row])
        where = (
            "inside its protected contour"
            if gap <= 0
            else f"{gap:.2f} km outside its protected contour, within {margin_km:g} km"
        )
        foreign = stations.country[station]
        note = "" if foreign == rules.code else f" (station of {foreign}: not stated in the rule)"
        assumed = ", HAAT assumed" if reach.haat_assumed[row] else ""
        permit = ", permit: may start during the tour" * (stations.status[station] == "permit")
        reasons.append(
            Reason(
                code="contour" if gap <= 0 else "contour-margin",
                text=(
                    f"{_name(stations, station)}: {where} "
                    f"({reach.distance_km[row]:.1f} km at {reach.bearing_from_stop_deg[row]:.0f} "
                    f"deg, contour {reach.contour_cautious_km[row]:.1f} km{assumed}{permit}){note}"
                ),
                station_id=str(stations.station_id[station]),
            )
        )
    return reasons


def _unlisted_reasons(
    service: ServiceSpan | None, coverage: tuple[str, tuple[str, ...]]
) -> tuple[list[Reason], str]:
    """Return why a span is unlisted, if it is, and the coverage word."""
    if service is not None and service.air == HELD:
        return [], FULL
    if service is not None and service.air == "no-table":
        text = f"no station table can exist for this span ({service.service}): not checked"
        return [Reason(code="no-table", text=text)], NONE
    if service is None:
        text = "no loaded table covers the services that use this span: not checked"
        return [Reason(code="not-covered", text=text)], NONE
    word, missing = coverage
    if missing:
        names = ", ".join(missing)
        text = f"no loaded table covers the {service.service} stations of {names}: not checked"
        return [Reason(code="not-covered", text=text)], NONE
    return [], word


def _noise_reason(
    here: npt.NDArray[np.int64],
    mine: Arrivals,
    stations: StationTable,
    *,
    rise: float | None,
    limit_db: float,
) -> Reason:
    if not here.size:
        return Reason(code="none-listed", text="no listed transmitter of this span within 500 km")
    if rise is None:
        unknown = here[np.isnan(mine.power_dbm[here])][0]
        name = _name(stations, mine.station[unknown])
        text = f"the field of {name} is not computed: outside the curves' range; look first"
        return Reason(
            code="field-unknown",
            text=text,
            station_id=str(stations.station_id[mine.station[unknown]]),
        )
    strongest = mine.station[here[int(np.argmax(mine.power_dbm[here]))]]
    verdict = "at or above" if rise >= limit_db else "below"
    return Reason(
        code="noise-rise",
        text=(
            f"noise rise {rise:.1f} dB for 10 % of the time, {verdict} the limit of "
            f"{limit_db:g} dB; strongest of {here.size}: {_name(stations, strongest)}"
        ),
        station_id=str(stations.station_id[strongest]),
    )


def _name(stations: StationTable, index: int) -> str:
    return str(stations.name[index] or stations.station_id[index])


def _protected(
    mine: Arrivals, reach: ReachTable, stations: StationTable, rules: CountryRules
) -> dict[str, str]:
    """Return the channels in which the rule's flat contour plus margin reaches the stop."""
    outside = np.nan_to_num(np.round(reach.outside_law_km[mine.rows], 2), nan=np.inf)
    hits = np.flatnonzero(outside <= rules.margin_km)
    found: dict[str, list[tuple[float, str]]] = {}
    for k in hits:
        station = mine.station[k]
        low, high = int(stations.low_hz[station]), int(stations.high_hz[station])
        name = _name(stations, int(station))
        for channel in rules.raster:
            if channel.low_hz < high and low < channel.high_hz:
                found.setdefault(channel.label, []).append((float(outside[k]), name))
    return {
        label: f"within {rules.margin_km:g} km of or inside the contour of {_listed(names)}"
        for label, names in found.items()
    }


def _listed(names: Sequence[tuple[float, str]]) -> str:
    """Return the nearest three names, each once, and how many more there are."""
    each = list(dict.fromkeys(name for _, name in sorted(names)))
    more = f" and {len(each) - _NAMED} more" if len(each) > _NAMED else ""
    return ", ".join(each[:_NAMED]) + more


def _channels(
    spans: Sequence[AirSpan],
    *,
    mine: Arrivals,
    reach: ReachTable,
    stations: StationTable,
    rules: CountryRules,
) -> tuple[ChannelOccupancy, ...]:
    found = []
    for channel in rules.raster:
        parts = [s for s in spans if s.low_hz < channel.high_hz and channel.low_hz < s.high_hz]
        if not parts:
            continue
        best = _best_part(parts)
        here = np.flatnonzero(
            (stations.low_hz[mine.station] < channel.high_hz)
            & (stations.high_hz[mine.station] > channel.low_hz)
        )
        near = np.nan_to_num(reach.outside_cautious_km[mine.rows[here]], nan=np.inf)
        rises = np.nan_to_num(mine.rises_db(here), nan=np.inf)
        matters = here[(near <= _NEAR_CONTOUR_KM) | (rises >= _LEAST_RISE_DB)]
        matters = matters[np.argsort(-mine.power_dbm[matters], kind="stable")]
        known = [part.noise_rise_db for part in parts if part.noise_rise_db is not None]
        found.append(
            ChannelOccupancy(
                label=channel.label,
                low_hz=channel.low_hz,
                high_hz=channel.high_hz,
                air=best.air,
                coverage=best.coverage,
                reasons=_all_reasons(best, parts),
                noise_rise_least_db=min(known, default=None),
                noise_rise_most_db=max(known, default=None),
                rows=tuple(int(row) for row in mine.rows[matters]),
                others=int(here.size - matters.size),
            )
        )
    return tuple(found)


def _all_reasons(best: AirSpan, parts: Sequence[AirSpan]) -> tuple[Reason, ...]:
    """Return the reasons of the deciding part, then those of parts that are judged otherwise."""
    others = [
        Reason(
            code=reason.code,
            text=f"{part.low_hz / 1e6:g}-{part.high_hz / 1e6:g} MHz {part.air}: {reason.text}",
            station_id=reason.station_id,
        )
        for part in parts
        if part.air != best.air
        for reason in part.reasons
    ]
    return (*best.reasons, *others)


def _best_part(parts: Sequence[AirSpan]) -> AirSpan:
    """Return the part with the best verdict that a whole 200 kHz carrier finds."""
    for word in reversed(AIR_ORDER):
        good = [part for part in parts if AIR_ORDER.index(part.air) >= AIR_ORDER.index(word)]
        runs = IntervalSet((part.low_hz, part.high_hz) for part in good)
        for low, high in runs:
            if high - low >= _CARRIER_HZ:
                inside = [part for part in good if low <= part.low_hz and part.high_hz <= high]
                return min(inside, key=lambda part: AIR_ORDER.index(part.air))
    return min(parts, key=lambda part: AIR_ORDER.index(part.air))
