"""Everything up to the air and the facts of the law at each stop, before any range is judged."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.occupancy import (
    CoverageMap,
    apply_clearances,
    compute_occupancy,
    error_km,
    place_reach,
    use_of,
    verdicts_at_risk,
)
from planner.reach import compute_reach
from planner.rules import country_rules, rule_country
from planner.spectrum import IntervalSet

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from planner.occupancy import Occupancy, RangeWindows, VerdictAtRisk
    from planner.reach import ReachTable
    from planner.records import GearRange, StationTable, Stop, Tour
    from planner.rules import CountryRules

    CountriesNear = Callable[[float, float, float], Mapping[str, float]]

FOREIGN_RADIUS_KM = 100.0
"""A country with a place this near must be covered too [km]."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Survey:
    """What surrounds every stop planned.

    Attributes
    ----------
    stops : tuple of Stop
        All but the cancelled, in route order.
    rules : tuple of CountryRules
        One a stop.
    neighbours : tuple of tuple of str
        Other countries within 100 km of the stop or of its place error, one tuple a stop.
    searched : IntervalSet
        What the catalogue could ever touch.
    reach, place : ReachTable
        What arrives at the points given, and at its worst within the place error.
    occupancies, point_occupancies : tuple of Occupancy
        The worst within the place error, which is what is planned with, and the points given;
        the same object where the place is known.
    predicted : tuple of Occupancy
        ``occupancies`` as they were before what was cleared.
    """

    stops: tuple[Stop, ...]
    rules: tuple[CountryRules, ...]
    neighbours: tuple[tuple[str, ...], ...]
    searched: IntervalSet
    reach: ReachTable
    place: ReachTable
    occupancies: tuple[Occupancy, ...]
    point_occupancies: tuple[Occupancy, ...]
    predicted: tuple[Occupancy, ...]


def survey(
    tour: Tour,
    stations: StationTable,
    gear: Sequence[GearRange],
    *,
    countries_near: CountriesNear,
) -> Survey:
    """Compute reach and occupancy of a tour, at the points given and within the place error.

    Parameters
    ----------
    tour, stations, gear : Tour, StationTable, sequence of GearRange
        What intake read.
    countries_near : callable
        ``(lat_deg, lon_deg, radius_km) -> {country: distance_km}``, the gazetteer's answer.

    Raises
    ------
    PlannerError
        When a stop lies in a country without rules.
    """
    stops = tuple(stop for stop in tour.stops if stop.status != "cancelled")
    rules = tuple(country_rules(stop.country, tour.permissions) for stop in stops)
    searched = IntervalSet(row.searched_span_hz for row in gear)
    reach = compute_reach(
        stops,
        stations,
        rules,
        field_model=tour.settings.field_model,
        interference_time_percent=tour.settings.interference_time_percent,
    )
    place = place_reach(stops, stations, rules, reach)
    coverage = CoverageMap(stations)

    def judge(index: int, place: ReachTable | None, neighbours: tuple[str, ...]) -> Occupancy:
        stop = stops[index]
        return compute_occupancy(
            stop,
            reach=reach,
            stop_index=index,
            stations=stations,
            rules=rules[index],
            neighbours=neighbours,
            coverage=coverage,
            licences=tuple(row for row in tour.licences if row.serves(stop)),
            settings=tour.settings,
            searched=searched,
            place=place,
        )

    def clear(index: int, found: Occupancy) -> Occupancy:
        return apply_clearances(
            found, stops[index], tour.cleared, rules[index], settings=tour.settings
        )

    at_point = [_neighbours(stop, countries_near, 0.0) for stop in stops]
    around = [
        _neighbours(stop, countries_near, error_km(stop)) if error_km(stop) else near
        for stop, near in zip(stops, at_point, strict=True)
    ]
    points = tuple(judge(index, None, at_point[index]) for index in range(len(stops)))
    predicted = tuple(
        judge(index, place, around[index]) if error_km(stop) else points[index]
        for index, stop in enumerate(stops)
    )
    cleared = tuple(clear(index, found) for index, found in enumerate(points))
    return Survey(
        stops=stops,
        rules=rules,
        neighbours=tuple(around),
        searched=searched,
        reach=reach,
        place=place,
        occupancies=tuple(
            clear(index, predicted[index]) if error_km(stop) else cleared[index]
            for index, stop in enumerate(stops)
        ),
        point_occupancies=cleared,
        predicted=predicted,
    )


def occupancy_with(found: Survey, tour: Tour, stop: Stop) -> Occupancy:
    """Return what :func:`survey` would find at a stop of it when only licences are others.

    Parameters
    ----------
    found : Survey
        Of the tour, whatever its licences.
    tour : Tour
        The tour with the licences that are asked about.
    stop : Stop
        A stop of the survey.

    Notes
    -----
    The air does not depend on licences; the law and what a clearance means to it do.
    """
    index = [row.id for row in found.stops].index(stop.id)
    air = found.predicted[index]
    licences = tuple(row for row in tour.licences if row.serves(stop))
    return apply_clearances(
        dataclasses.replace(air, facts=dataclasses.replace(air.facts, licences=licences)),
        stop,
        tour.cleared,
        found.rules[index],
        settings=tour.settings,
    )


def _neighbours(stop: Stop, countries_near: CountriesNear, within_km: float) -> tuple[str, ...]:
    near = countries_near(stop.lat_deg, stop.lon_deg, FOREIGN_RADIUS_KM + within_km)
    return tuple(sorted({rule_country(code) for code in near} - {rule_country(stop.country)}))


def at_risk(
    found: Survey,
    gear: Sequence[GearRange],
    *,
    windows: Mapping[tuple[str, str], RangeWindows] | None = None,
) -> tuple[tuple[VerdictAtRisk, ...], ...]:
    """Return the TV channels of each stop whose verdict hangs on the venue's coordinates.

    Parameters
    ----------
    found : Survey
        The stops.
    gear : sequence of GearRange
        The catalogue: law is the best that any of its uses gets.
    windows : mapping of (range key, stop id), or None
        Windows of every range, whose law is taken where they are known already.
    """
    uses = [use_of(row) for row in gear]
    rows: list[tuple[VerdictAtRisk, ...]] = []
    for index, stop in enumerate(found.stops):
        occupancy, at_point = found.occupancies[index], found.point_occupancies[index]
        if occupancy is at_point:
            rows.append(())
            continue
        law = (
            [span for use in uses for span in found.rules[index].law_spans(use, occupancy.facts)]
            if windows is None
            else [span for row in gear for span in windows[row.key, stop.id].law]
        )
        rows.append(
            verdicts_at_risk(occupancy, at_point, law=law, uses=uses, rules=found.rules[index])
        )
    return tuple(rows)
