"""Run the stages in order; every answer of a plan in one record."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination.records import PlacedCarrier
from planner.coordination.route import NeedTask, RoutePlan, StopTask, coordinate_route
from planner.errors import PlannerError
from planner.occupancy import CoverageMap, compute_occupancy, compute_windows
from planner.plan.previous import kept_stops
from planner.plan.scope import excluded_at, fixed_at, serves, spare_names
from planner.ranking import Counter, considered, grid_of, guards_of, rank_need
from planner.reach import compute_reach
from planner.rules import country_rules, rule_country
from planner.spectrum import IntervalSet

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from planner.coordination.records import Effort
    from planner.occupancy import Occupancy, RangeWindows
    from planner.plan.previous import Previous
    from planner.ranking import RangeCount, RankedRange
    from planner.reach import ReachTable
    from planner.records import GearRange, StationTable, Stop, Tour
    from planner.rules import CountryRules

FOREIGN_RADIUS_KM = 100.0
"""A country with a place this near must be covered too [km]."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PlanResult:
    """Everything the stages found.

    Attributes
    ----------
    stops : tuple of Stop
        The stops planned: all but the cancelled, in route order.
    rules : tuple of CountryRules
        One a stop.
    neighbours : tuple of tuple of str
        Other countries within 100 km, one tuple a stop.
    windows, counts : mapping of (range key, stop id)
        Windows and count of every range at every stop.
    ranking : mapping of str to tuple of RankedRange
        By need.
    choice : mapping of str to GearRange
        The first-ranked range of each need; a need that no range can serve is left out.
    route : RoutePlan
        Carriers, legs, steps.
    """

    tour: Tour
    stations: StationTable
    gear: tuple[GearRange, ...]
    stops: tuple[Stop, ...]
    rules: tuple[CountryRules, ...]
    neighbours: tuple[tuple[str, ...], ...]
    searched: IntervalSet
    reach: ReachTable
    occupancies: tuple[Occupancy, ...]
    windows: Mapping[tuple[str, str], RangeWindows]
    counts: Mapping[tuple[str, str], RangeCount]
    ranking: Mapping[str, tuple[RankedRange, ...]]
    choice: Mapping[str, GearRange]
    route: RoutePlan
    effort: Effort

    @property
    def short_confirmed(self) -> bool:
        """Whether a need is not met at a confirmed stop."""
        return any(
            stop.status == "confirmed"
            and (
                plan.missing
                or any(
                    serves(need.stops, stop) and need.name not in self.choice
                    for need in self.tour.needs
                )
            )
            for stop, plan in zip(self.stops, self.route.stops, strict=True)
        )


def run_plan(
    tour: Tour,
    stations: StationTable,
    gear: Sequence[GearRange],
    *,
    countries_near: Callable[[float, float, float], Mapping[str, float]],
    effort: Effort = "normal",
    previous: Previous | None = None,
) -> PlanResult:
    """Run reach, occupancy, common spectrum, ranking and coordination for a tour.

    Parameters
    ----------
    tour, stations, gear : Tour, StationTable, sequence of GearRange
        What intake read; nothing is read here.
    countries_near : callable
        ``(lat_deg, lon_deg, radius_km) -> {country: distance_km}``, the gazetteer's answer.
    effort : Effort
        ``"quick"``, ``"normal"`` or ``"long"``; same effort, same bytes.
    previous : Previous or None
        An earlier plan whose carriers are kept where they still stand.

    Raises
    ------
    PlannerError
        When a stop lies in a country without rules.
    """
    stops = tuple(stop for stop in tour.stops if stop.status != "cancelled")
    rules = tuple(country_rules(stop.country) for stop in stops)
    neighbours = tuple(
        tuple(
            sorted(
                {
                    rule_country(code)
                    for code in countries_near(stop.lat_deg, stop.lon_deg, FOREIGN_RADIUS_KM)
                }
                - {rule_country(stop.country)}
            )
        )
        for stop in stops
    )
    searched = IntervalSet(row.searched_span_hz for row in gear)
    reach = compute_reach(stops, stations, rules)
    coverage = CoverageMap(stations)
    occupancies = tuple(
        compute_occupancy(
            stop,
            reach=reach,
            stop_index=index,
            stations=stations,
            rules=rules[index],
            neighbours=neighbours[index],
            coverage=coverage,
            licences=tuple(row for row in tour.licences if row.serves(stop)),
            settings=tour.settings,
            searched=searched,
        )
        for index, stop in enumerate(stops)
    )
    windows = _all_windows(tour, gear, stops, rules, occupancies)
    counts = _all_counts(tour, gear, stops, rules, windows, effort=effort)
    ranking = {
        need.name: rank_need(
            need,
            considered(need, gear),
            [stop for stop in stops if serves(need.stops, stop)],
            counts=counts,
            windows=windows,
        )
        for need in tour.needs
    }
    by_key = {row.key: row for row in gear}
    choice = {name: by_key[rows[0].range_key] for name, rows in ranking.items() if rows}
    tasks = [
        _task(stop, tour, choice, by_key, raster_hz=rules[i].carrier_raster_hz, windows=windows)
        for i, stop in enumerate(stops)
    ]
    if previous is not None:
        tasks = _following(tasks, previous, stops)
    return PlanResult(
        tour=tour,
        stations=stations,
        gear=tuple(gear),
        stops=stops,
        rules=rules,
        neighbours=neighbours,
        searched=searched,
        reach=reach,
        occupancies=occupancies,
        windows=windows,
        counts=counts,
        ranking=ranking,
        choice=choice,
        route=coordinate_route(tasks, effort=effort),
        effort=effort,
    )


def _following(
    tasks: Sequence[StopTask], previous: Previous, stops: Sequence[Stop]
) -> list[StopTask]:
    """Give each task the carriers of the earlier plan for its stop."""
    kept = kept_stops(previous.document, stops)
    found = []
    for task in tasks:
        before = kept.get(task.stop_id)
        if before is None:
            found.append(task)
            continue
        wanted = {need.name: len(need.lines) + len(need.spares) for need in task.needs}
        settled = previous.unchanged and before.accounts_for(wanted)
        found.append(dataclasses.replace(task, keep=before.carriers, settled=settled))
    return found


def _all_windows(
    tour: Tour,
    gear: Sequence[GearRange],
    stops: Sequence[Stop],
    rules: Sequence[CountryRules],
    occupancies: Sequence[Occupancy],
) -> dict[tuple[str, str], RangeWindows]:
    return {
        (row.key, stop.id): compute_windows(
            row,
            occupancies[index],
            rules=rules[index],
            settings=tour.settings,
            excluded=excluded_at(tour, stop),
        )
        for index, stop in enumerate(stops)
        for row in gear
    }


def _all_counts(
    tour: Tour,
    gear: Sequence[GearRange],
    stops: Sequence[Stop],
    rules: Sequence[CountryRules],
    windows: Mapping[tuple[str, str], RangeWindows],
    *,
    effort: Effort,
) -> dict[tuple[str, str], RangeCount]:
    """Count every range at every stop, with the most spares any need would take there."""
    counter = Counter(effort)
    spares = {
        row.key: max((need.spares for need in tour.needs if need.role == row.role), default=0)
        for row in gear
    }
    return {
        (row.key, stop.id): counter.count(
            row,
            windows[row.key, stop.id],
            rules[index].carrier_raster_hz,
            spares=spares[row.key],
        )
        for index, stop in enumerate(stops)
        for row in gear
    }


def _task(
    stop: Stop,
    tour: Tour,
    choice: Mapping[str, GearRange],
    by_key: Mapping[str, GearRange],
    *,
    raster_hz: tuple[int, int],
    windows: Mapping[tuple[str, str], RangeWindows],
) -> StopTask:
    needs = []
    for need in tour.needs:
        if need.name not in choice or not serves(need.stops, stop):
            continue
        row = choice[need.name]
        mine = windows[row.key, stop.id]
        needs.append(
            NeedTask(
                name=need.name,
                guards=guards_of(row),
                grid=grid_of(row, raster_hz, mine.centres_hz),
                faint_grid=grid_of(row, raster_hz, mine.faint_centres_hz),
                lines=need.lines,
                spares=spare_names(need),
            )
        )
    fixed = []
    for carrier in fixed_at(tour, stop):
        if carrier.range_key not in by_key:
            raise PlannerError(f"fixed carrier {carrier.name}: no range {carrier.range_key}")
        fixed.append(
            PlacedCarrier(
                frequency_hz=carrier.frequency_hz, guards=guards_of(by_key[carrier.range_key])
            )
        )
    return StopTask(stop_id=stop.id, rig=stop.rig, needs=tuple(needs), fixed=tuple(fixed))
