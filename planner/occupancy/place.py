"""What a stop's place error does: contours over the whole circle, noise at nine points of it."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength import free_space, r6602
from planner.field_strength.height import FCC_CURVE_HEIGHT_M
from planner.geodesy import direct
from planner.reach import compute_reach
from planner.rules.records import BARRED, LAW_ORDER

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.occupancy.records import ChannelOccupancy, Occupancy
    from planner.reach import ReachTable
    from planner.records import StationTable, Stop
    from planner.rules import CountryRules, LawSpan, Use

LEAST_ERROR_KM = 0.01
"""A place known better than this is one point [km]."""
_RING_AZIMUTHS_DEG = np.arange(0.0, 360.0, 45.0)
_WITHIN_RING = 0.9
"""A transmitter nearer than the place error over this may stand so that no point of the ring is
the nearest to it (cos 22.5 deg is 0.924); then its field at :data:`_BESIDE_KM` is taken."""
_BESIDE_KM = 1.0
"""How near a transmitter inside the place error is taken to stand [km]; our own choice."""


def error_km(stop: Stop) -> float:
    """Return the place error that counts at a stop [km]: 0 below 10 m."""
    return stop.location_error_km if stop.location_error_km >= LEAST_ERROR_KM else 0.0


def place_points(stop: Stop) -> tuple[Stop, ...]:
    """Return a stop at its point and at eight points on the radius of its place error.

    Parameters
    ----------
    stop : Stop
        The stop; ``location_error_km`` is the radius.

    Returns
    -------
    tuple of Stop
        The stop first, then copies 45 degrees apart from north on, along geodesics. The stop
        alone where the place is known to 10 m.
    """
    radius_km = error_km(stop)
    if not radius_km:
        return (stop,)
    ring = zip(
        *direct(
            np.full(len(_RING_AZIMUTHS_DEG), stop.lat_deg),
            np.full(len(_RING_AZIMUTHS_DEG), stop.lon_deg),
            _RING_AZIMUTHS_DEG,
            np.full(len(_RING_AZIMUTHS_DEG), radius_km),
        ),
        strict=True,
    )
    return (
        stop,
        *(dataclasses.replace(stop, lat_deg=float(lat), lon_deg=float(lon)) for lat, lon in ring),
    )


def place_reach(
    stops: Sequence[Stop],
    stations: StationTable,
    rules: Sequence[CountryRules],
    reach: ReachTable,
) -> ReachTable:
    """Return the rows of a reach table, each at its least favourable within the place error.

    Parameters
    ----------
    stops, stations, rules : sequence of Stop, StationTable, sequence of CountryRules
        What the table was computed from.
    reach : ReachTable
        :func:`planner.reach.compute_reach` at the points given.

    Returns
    -------
    ReachTable
        The same rows in the same order. ``field_50_10_dbuv_m`` and
        ``field_interference_dbuv_m`` are the greatest over the nine points, and for a transmitter
        that stands inside the place error the field 1 km from it where that is greater.
        ``outside_law_km`` and ``outside_cautious_km`` are the least over the whole disc: a point
        can lie nearer to a contour by the radius, never by more. All other columns are those of
        the point given; the table itself where every place is known.

    Notes
    -----
    Each transmitter is taken at its own worst point, and contours over the disc instead of at
    nine points. Nine points alone, all transmitters at one point at a time, would let a larger
    error free spectrum: a low-power contour may lie between the points. So a larger error never
    gives a better verdict. Transmitters beyond the model's range of the point given stay out.
    """
    errors_km = np.array([error_km(stop) for stop in stops])
    if not errors_km.any():
        return reach
    owners: list[int] = []
    ring: list[Stop] = []
    for index, stop in enumerate(stops):
        points = place_points(stop)[1:]
        owners += [index] * len(points)
        ring += points
    around = compute_reach(
        ring,
        _without_contours(stations),
        [rules[i] for i in owners],
        field_model=reach.field_model,
        interference_time_percent=reach.interference_time_percent,
    )
    known = reach.stop * len(stations) + reach.station
    wanted = np.array(owners)[around.stop] * len(stations) + around.station
    at = np.minimum(np.searchsorted(known, wanted), max(len(known) - 1, 0))
    same = known[at] == wanted if len(known) else np.zeros(len(wanted), dtype=bool)
    mine_km = errors_km[reach.stop]
    near = reach.distance_km * _WITHIN_RING < mine_km
    fields = {}
    for name in ("field_50_10_dbuv_m", "field_interference_dbuv_m"):
        field = getattr(reach, name).copy()
        np.fmax.at(field, at[same], getattr(around, name)[same])
        beside = np.flatnonzero(near & ~np.isnan(field))
        field[beside] = np.fmax(field[beside], _field_beside(reach, stations, beside))
        fields[name] = field
    return dataclasses.replace(
        reach,
        **fields,
        outside_law_km=reach.outside_law_km - mine_km,
        outside_cautious_km=reach.outside_cautious_km - mine_km,
    )


def _without_contours(stations: StationTable) -> StationTable:
    """Return the stations as if none had a contour: only their fields are asked for."""
    blank = np.full(len(stations), "fixed-link")
    blank.setflags(write=False)
    return dataclasses.replace(stations, service=blank)


def _field_beside(
    reach: ReachTable, stations: StationTable, rows: npt.NDArray[np.int64]
) -> npt.NDArray[np.float64]:
    station = reach.station[rows]
    centre_hz = (stations.low_hz[station] + stations.high_hz[station]) // 2
    free = free_space.field_dbuv_m(_BESIDE_KM, stations.erp_kw[station])
    field = np.array(free, dtype=np.float64)
    fcc = np.flatnonzero(reach.field_height_m[rows] == FCC_CURVE_HEIGHT_M)
    field[fcc] = r6602.field_dbuv_m(
        "F(50,10)",
        centre_hz[fcc],
        haat_m=reach.haat_m[rows[fcc]],
        distance_km=np.full(len(fcc), _BESIDE_KM),
        erp_kw=stations.erp_kw[station[fcc]],
    )
    return field


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class VerdictAtRisk:
    """A TV channel whose verdict hangs on the venue's coordinates.

    Attributes
    ----------
    label : str
        The channel.
    low_hz, high_hz : int
        Its edges [Hz].
    air, law : str
        As planned: the worst within the place error; law is the best any use gets.
    air_at_point, law_at_point : str
        At the point given; never worse.
    """

    label: str
    low_hz: int
    high_hz: int
    air: str
    air_at_point: str
    law: str
    law_at_point: str


def verdicts_at_risk(
    occupancy: Occupancy,
    at_point: Occupancy,
    *,
    law: Sequence[LawSpan],
    uses: Sequence[Use],
    rules: CountryRules,
) -> tuple[VerdictAtRisk, ...]:
    """Return the channels in which the worst verdict and that of the point given differ.

    Parameters
    ----------
    occupancy, at_point : Occupancy
        Over the place error, and at the point given; the same object gives none.
    law : sequence of LawSpan
        The law of every use with the facts of ``occupancy``.
    uses : sequence of Use
        Uses of the catalogue; they are judged again where the point has other facts.
    rules : CountryRules
        Rules of the stop's country.
    """
    if at_point is occupancy:
        return ()
    moved = _channels_judged_otherwise(occupancy, at_point, rules)
    found = []
    for worst, point in zip(occupancy.channels, at_point.channels, strict=True):
        now = _best(law, worst)
        best = now
        if worst.label in moved:
            best = _best(
                [
                    span
                    for use in _clipped(uses, worst)
                    for span in rules.law_spans(use, at_point.facts)
                ],
                worst,
            )
        if (worst.air, now) != (point.air, best):
            found.append(
                VerdictAtRisk(
                    label=worst.label,
                    low_hz=worst.low_hz,
                    high_hz=worst.high_hz,
                    air=worst.air,
                    air_at_point=point.air,
                    law=now,
                    law_at_point=best,
                )
            )
    return tuple(found)


def _channels_judged_otherwise(
    occupancy: Occupancy, at_point: Occupancy, rules: CountryRules
) -> set[str]:
    """Return the channels for which the law has other facts at the point."""
    noted = [
        {
            (note.label, note.kind)
            for note in rules.channel_notes(
                facts.lat_deg, facts.lon_deg, within_km=facts.location_error_km
            )
        }
        for facts in (occupancy.facts, at_point.facts)
    ]
    labels = {label for label, _ in noted[0] ^ noted[1]}
    return labels | (set(occupancy.facts.protected) ^ set(at_point.facts.protected))


def _clipped(uses: Sequence[Use], channel: ChannelOccupancy) -> set[Use]:
    return {
        dataclasses.replace(
            use,
            low_hz=max(use.low_hz, channel.low_hz),
            high_hz=min(use.high_hz, channel.high_hz),
        )
        for use in uses
        if use.low_hz < channel.high_hz and channel.low_hz < use.high_hz
    }


def _best(law: Sequence[LawSpan], channel: ChannelOccupancy) -> str:
    return max(
        (
            span.law
            for span in law
            if span.low_hz < channel.high_hz and channel.low_hz < span.high_hz
        ),
        key=LAW_ORDER.index,
        default=BARRED,
    )
