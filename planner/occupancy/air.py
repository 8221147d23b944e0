"""The air at a stop: held, unlisted, faint or quiet, with every reason."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.occupancy.channels import best_part, channel_reasons
from planner.occupancy.coverage import FULL, NONE, CoverageMap
from planner.occupancy.curve import emitters, interference_curve
from planner.occupancy.interference import Arrivals, arrivals
from planner.occupancy.neighbours import with_neighbours
from planner.occupancy.place import error_km
from planner.occupancy.records import (
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
from planner.spectrum import split_spans

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.reach import ReachTable
    from planner.records import Licence, Settings, StationTable, Stop
    from planner.rules import ChannelNote, CountryRules, ServiceSpan
    from planner.spectrum import IntervalSet

_NEAR_CONTOUR_KM = 50.0
"""Stations whose contour ends this near are listed though they do no harm; our own choice."""
_LEAST_RISE_DB = 0.1
_NAMED = 3
"""Stations named in a sentence; the rest is counted."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Here:
    """What arrives at one stop, at the point given and at its worst within the place error.

    ``point`` and ``worst`` have the same rows of ``reach`` and ``place``; without a place error
    they are the same. The columns have their length n: ``low_hz`` and ``high_hz`` of each
    arrival, ``gap_km`` how far its larger contour ends at its worst, to 0.01 km, infinite without
    one, and ``alone_db`` the noise rise by it alone, infinite where it is not known.
    """

    point: Arrivals
    worst: Arrivals
    reach: ReachTable
    place: ReachTable
    stations: StationTable
    rules: CountryRules
    limit_db: float
    error_km: float
    low_hz: npt.NDArray[np.int64]
    high_hz: npt.NDArray[np.int64]
    gap_km: npt.NDArray[np.float64]
    alone_db: npt.NDArray[np.float64]

    def within(self, low_hz: int, high_hz: int) -> npt.NDArray[np.int64]:
        """Return the arrivals that reach into a span."""
        return np.flatnonzero((self.low_hz < high_hz) & (self.high_hz > low_hz))


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
    place: ReachTable | None = None,
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
    place : ReachTable or None
        :func:`planner.occupancy.place.place_reach` of ``reach``: every verdict is then the worst
        within the stop's place error. None judges the point given.

    Notes
    -----
    ``held`` is judged on the protection curve with the cautious level; ``faint`` on F(50,10),
    brought from 9 m to the antenna's height (ITU-R P.1546-6 section 9, open surroundings), at
    indoor stops less the median loss of ITU-R P.2109, in power over all transmitters of the
    span and what neighbours within three channels emit beside theirs, against kTB with the
    reference noise figure. Distances and bearings in the reasons are
    those of the point given; a reason that holds only elsewhere within the place error says so.
    """
    here = _here(stop, reach, place, stop_index, stations=stations, rules=rules, settings=settings)
    notes: dict[str, list[ChannelNote]] = {}
    for note in rules.channel_notes(stop.lat_deg, stop.lon_deg, within_km=here.error_km):
        notes.setdefault(note.label, []).append(note)
    edges = {edge for row in rules.raster for edge in (row.low_hz, row.high_hz)}
    edges |= {edge for row in rules.services for edge in (row.low_hz, row.high_hz)}
    edges |= {*here.low_hz.tolist(), *here.high_hz.tolist()}
    pieces = split_spans(searched.spans, edges)
    curve = interference_curve(
        emitters(here.worst, here.place, stations),
        pieces,
        noise_dbm=here.worst.noise_dbm,
        settings=settings,
    )
    spans: list[AirSpan] = []
    for low, high in pieces:
        channel = next(
            (row for row in rules.raster if row.low_hz <= low and high <= row.high_hz), None
        )
        judged = _judge_span(
            low,
            high,
            here=here,
            service=_service_at(rules.services, low, high),
            coverage=coverage.worst((rules.code, *neighbours), low, high),
            notes=notes.get(channel.label, ()) if channel else (),
        )
        spans += with_neighbours(judged, curve, stations, limit_db=here.limit_db)
    facts = StopFacts(
        country=stop.country,
        lat_deg=stop.lat_deg,
        lon_deg=stop.lon_deg,
        protected=_protected(here),
        licences=tuple(licences),
        location_error_km=here.error_km,
        first_date=stop.first_date,
        last_date=stop.last_date,
        accepts_unconfirmed=rules.code in settings.accept_unconfirmed,
    )
    return Occupancy(
        stop_id=stop.id,
        spans=tuple(spans),
        channels=_channels(spans, here),
        facts=facts,
        curve=curve,
    )


def _here(  # noqa: PLR0913 - as compute_occupancy
    stop: Stop,
    reach: ReachTable,
    place: ReachTable | None,
    stop_index: int,
    *,
    stations: StationTable,
    rules: CountryRules,
    settings: Settings,
) -> _Here:
    point = arrivals(stop, reach, stop_index, stations, settings)
    worst = point if place is None else arrivals(stop, place, stop_index, stations, settings)
    at_worst = reach if place is None else place
    gap_km = np.round(at_worst.outside_cautious_km[point.rows], 2)
    return _Here(
        point=point,
        worst=worst,
        reach=reach,
        place=at_worst,
        stations=stations,
        rules=rules,
        limit_db=settings.noise_rise_limit_db,
        error_km=0.0 if place is None else error_km(stop),
        low_hz=stations.low_hz[point.station],
        high_hz=stations.high_hz[point.station],
        gap_km=np.nan_to_num(gap_km, nan=np.inf),
        alone_db=np.nan_to_num(worst.rises_db(), nan=np.inf),
    )


def _service_at(services: Sequence[ServiceSpan], low_hz: int, high_hz: int) -> ServiceSpan | None:
    return next((row for row in services if row.low_hz <= low_hz and high_hz <= row.high_hz), None)


def _judge_span(
    low_hz: int,
    high_hz: int,
    *,
    here: _Here,
    service: ServiceSpan | None,
    coverage: tuple[str, tuple[str, ...]],
    notes: Sequence[ChannelNote],
) -> AirSpan:
    which = here.within(low_hz, high_hz)
    held = _held_reasons(which, here)
    if service is not None and service.air == HELD:
        held.append(Reason(code="service", text=f"{service.service} ({service.section})"))
    held += _note_reasons(notes, "held", "closed")
    faint = _note_reasons(notes, "faint")
    cautions = _note_reasons(notes, "caution")
    unlisted, word = _unlisted_reasons(service, coverage)
    rise = here.worst.rise_db(which)
    noise = _noise_reason(which, here, rise=rise)
    if held:
        air, reasons = HELD, [*held, *unlisted, noise]
    elif unlisted:
        air, reasons = UNLISTED, [*unlisted, noise]
    elif faint or rise is None or rise >= here.limit_db:
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
        noise_rise_db=None if word == NONE and not which.size else rise,
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


def _held_reasons(which: npt.NDArray[np.int64], here: _Here) -> list[Reason]:
    margin_km = here.rules.margin_km
    order = np.argsort(here.place.outside_cautious_km[here.point.rows[which]], kind="stable")
    inside = which[order][here.gap_km[which[order]] <= margin_km]
    reach, stations = here.reach, here.stations
    reasons = []
    for k in inside:
        row, station = here.point.rows[k], here.point.station[k]
        code, where = _contour_words(
            float(reach.outside_cautious_km[row]), here.rules, within_km=here.error_km
        )
        foreign = stations.country[station]
        home = foreign == here.rules.code
        note = "" if home else f" (station of {foreign}: not stated in the rule)"
        assumed = ", HAAT assumed" if reach.haat_assumed[row] else ""
        permit = ", permit: may start during the tour" * (stations.status[station] == "permit")
        reasons.append(
            Reason(
                code=code,
                text=(
                    f"{_name(stations, station)}: {where} "
                    f"({reach.distance_km[row]:.1f} km at {reach.bearing_from_stop_deg[row]:.0f} "
                    f"deg, contour {reach.contour_cautious_km[row]:.1f} km{assumed}{permit}){note}"
                ),
                station_id=str(stations.station_id[station]),
            )
        )
    return reasons


def _contour_words(gap_km: float, rules: CountryRules, *, within_km: float) -> tuple[str, str]:
    """Return code and words for a contour that holds a stop, from its gap at the point."""
    margin_km, contour = rules.margin_km, f"its {rules.contour_name}"
    if gap_km <= 0:
        return "contour", f"inside {contour}"
    outside = f"{gap_km:.2f} km outside {contour}"
    if round(gap_km, 2) <= margin_km:
        return "contour-margin", f"{outside}, within {margin_km:g} km"
    near = f"within {margin_km:g} km of it or inside" if margin_km else "inside"
    return "contour-place-error", f"{outside}, {near} within the place error of {within_km:g} km"


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


def _noise_reason(which: npt.NDArray[np.int64], here: _Here, *, rise: float | None) -> Reason:
    stations, worst = here.stations, here.worst
    if not which.size:
        return Reason(code="none-listed", text="no listed transmitter of this span within 500 km")
    if rise is None:
        unknown = which[np.isnan(worst.power_dbm[which])][0]
        name = _name(stations, worst.station[unknown])
        text = f"the field of {name} is not computed: outside the curves' range; look first"
        return Reason(
            code="field-unknown",
            text=text,
            station_id=str(stations.station_id[worst.station[unknown]]),
        )
    strongest = worst.station[which[int(np.argmax(worst.power_dbm[which]))]]
    verdict = "at or above" if rise >= here.limit_db else "below"
    at_point = rise if here.point is worst else here.point.rise_db(which)
    error = (
        ""
        if at_point is None or at_point == rise
        else f" within the place error of {here.error_km:g} km ({at_point:.1f} dB at the point)"
    )
    return Reason(
        code="noise-rise",
        text=(
            f"noise rise {rise:.1f} dB for 10 % of the time{error}, {verdict} the limit of "
            f"{here.limit_db:g} dB; strongest of {which.size}: {_name(stations, strongest)}"
        ),
        station_id=str(stations.station_id[strongest]),
    )


def _name(stations: StationTable, index: int) -> str:
    return str(stations.name[index] or stations.station_id[index])


def _protected(here: _Here) -> dict[str, str]:
    """Return the channels in which the rule's flat contour plus margin reaches the stop."""
    mine, stations, margin_km = here.point, here.stations, here.rules.margin_km
    worst, point = (
        np.nan_to_num(np.round(table.outside_law_km[mine.rows], 2), nan=np.inf)
        for table in (here.place, here.reach)
    )
    found: dict[str, list[tuple[float, str]]] = {}
    for k in np.flatnonzero(worst <= margin_km):
        station = mine.station[k]
        low, high = int(stations.low_hz[station]), int(stations.high_hz[station])
        name = _name(stations, int(station))
        if point[k] > margin_km:
            name += (
                f" ({point[k]:.2f} km outside it at the point, place error {here.error_km:g} km)"
            )
        for channel in here.rules.raster:
            if channel.low_hz < high and low < channel.high_hz:
                found.setdefault(channel.label, []).append((float(worst[k]), name))
    near = f"within {margin_km:g} km of or " if margin_km else ""
    return {
        label: f"{near}inside the {here.rules.contour_name} of {_listed(names)}"
        for label, names in found.items()
    }


def _listed(names: Sequence[tuple[float, str]]) -> str:
    """Return the nearest three names, each once, and how many more there are."""
    each = list(dict.fromkeys(name for _, name in sorted(names)))
    more = f" and {len(each) - _NAMED} more" if len(each) > _NAMED else ""
    return ", ".join(each[:_NAMED]) + more


def _channels(spans: Sequence[AirSpan], here: _Here) -> tuple[ChannelOccupancy, ...]:
    mine = here.point
    found = []
    for channel in here.rules.raster:
        parts = [s for s in spans if s.low_hz < channel.high_hz and channel.low_hz < s.high_hz]
        if not parts:
            continue
        best = best_part(parts)
        which = here.within(channel.low_hz, channel.high_hz)
        near, rises = here.gap_km[which], here.alone_db[which]
        matters = which[(near <= _NEAR_CONTOUR_KM) | (rises >= _LEAST_RISE_DB)]
        matters = matters[np.argsort(-mine.power_dbm[matters], kind="stable")]
        known = [part.noise_rise_db for part in parts if part.noise_rise_db is not None]
        least = [part.least_rise_db for part in parts if part.least_rise_db is not None]
        found.append(
            ChannelOccupancy(
                label=channel.label,
                low_hz=channel.low_hz,
                high_hz=channel.high_hz,
                air=best.air,
                coverage=best.coverage,
                reasons=channel_reasons(best, parts),
                noise_rise_least_db=min(least, default=None),
                noise_rise_most_db=max(known, default=None),
                rows=tuple(int(row) for row in mine.rows[matters]),
                others=int(which.size - matters.size),
            )
        )
    return tuple(found)
