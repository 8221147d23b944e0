"""Run the stages in order; every answer of a plan in one record."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.occupancy import compute_windows
from planner.plan.chances import plan_chances
from planner.plan.choice import choose_all
from planner.plan.cures import find_cures
from planner.plan.duplex import both_ways, with_returns
from planner.plan.heights import level_ground
from planner.plan.reserves import hold_reserves
from planner.plan.scope import excluded_at, serves
from planner.plan.survey import at_risk, survey
from planner.plan.tasks import Scene
from planner.ranking import Counter

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from planner.coordination.records import Effort
    from planner.coordination.tasks import RoutePlan, StopTask
    from planner.joint import JointChoice
    from planner.occupancy import Occupancy, RangeWindows, VerdictAtRisk
    from planner.plan.assignments import AssignedPoints
    from planner.plan.chances import PlanChances
    from planner.plan.company import StopCompany
    from planner.plan.cures import Cure
    from planner.plan.heights import LevelGround
    from planner.plan.previous import Previous
    from planner.plan.reserves import StopReserves
    from planner.plan.retunes import StopRetunes
    from planner.ranking import RangeCount, RankedRange
    from planner.reach import ReachTable
    from planner.records import GearRange, StationTable, Stop, Tour
    from planner.rules import CountryRules
    from planner.spectrum import IntervalSet


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
        Other countries within 100 km of the stop or of its place error, one tuple a stop.
    occupancies, point_occupancies : tuple of Occupancy
        The worst within the place error, which is planned with, and that at the points given;
        the same object where the place is known.
    level : LevelGround
        The other bound where heights had to be assumed.
    at_risk : tuple of tuple of VerdictAtRisk
        Channels whose verdict hangs on the venue's coordinates, one tuple a stop.
    windows, counts : mapping of (range key, stop id)
        Windows and count of every range at every stop.
    ranking : mapping of str to tuple of RankedRange
        By need.
    joint : JointChoice
        Combinations of ranges over all needs, in order.
    choice : mapping of str to tuple of GearRange
        The ranges of each need in the first combination; a need that no range can serve is
        left out.
    assigned : mapping of (stop id, need) to tuple of AssignedPoints
        Frequencies assigned, judged for each range of the choice.
    tasks, route, retunes : tuple of StopTask, RoutePlan, tuple of StopRetunes
        What each stop asked for; carriers, legs, steps; what is retuned.
    cures : mapping of (stop id, need) to tuple of Cure
        What would help where something is missing, each computed.
    reserves : tuple of StopReserves
        What is kept free for people who turn up, one a stop.
    companies : tuple of StopCompany
        Who is on with whom, one a stop.
    chances : PlanChances
        Of channels to be clear, of combinations to serve.
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
    point_occupancies: tuple[Occupancy, ...]
    level: LevelGround
    at_risk: tuple[tuple[VerdictAtRisk, ...], ...]
    windows: Mapping[tuple[str, str], RangeWindows]
    counts: Mapping[tuple[str, str], RangeCount]
    ranking: Mapping[str, tuple[RankedRange, ...]]
    joint: JointChoice
    choice: Mapping[str, tuple[GearRange, ...]]
    assigned: Mapping[tuple[str, str], tuple[AssignedPoints, ...]]
    tasks: tuple[StopTask, ...]
    route: RoutePlan
    retunes: tuple[StopRetunes, ...]
    cures: Mapping[tuple[str, str], tuple[Cure, ...]]
    reserves: tuple[StopReserves, ...]
    companies: tuple[StopCompany, ...]
    chances: PlanChances
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
    every = with_returns(gear)
    found = survey(tour, stations, every, countries_near=countries_near)
    stops, rules, occupancies = found.stops, found.rules, found.occupancies
    windows = _all_windows(tour, every, stops, rules, occupancies)
    scene = Scene(
        tour=tour,
        gear=tuple(gear),
        stops=stops,
        rules=rules,
        occupancies=occupancies,
        windows=windows,
    )
    counts = both_ways(_all_counts(tour, every, stops, rules, windows, effort=effort))
    chosen = choose_all(scene, counts, effort=effort, previous=previous)
    cures = find_cures(scene, found, chosen)
    companies = tuple(chosen.maker.company(index) for index in range(len(stops)))
    return PlanResult(
        tour=tour,
        stations=stations,
        gear=tuple(gear),
        stops=stops,
        rules=rules,
        neighbours=found.neighbours,
        searched=found.searched,
        reach=found.reach,
        occupancies=occupancies,
        point_occupancies=found.point_occupancies,
        level=level_ground(found, tour, stations),
        at_risk=at_risk(found, every, windows=windows),
        windows=windows,
        counts=counts,
        ranking=chosen.ranking,
        joint=chosen.joint,
        choice=chosen.choice,
        assigned=chosen.assigned,
        tasks=chosen.tasks,
        route=chosen.route,
        retunes=chosen.retunes,
        cures=cures,
        reserves=hold_reserves(
            scene,
            chosen.tasks,
            chosen.route.stops,
            companies=companies,
            effort=effort,
            previous=previous,
        ),
        companies=companies,
        chances=plan_chances(
            scene, counts, chosen.joint.combinations, assigned=frozenset(chosen.assigned)
        ),
        effort=effort,
    )


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
    pairs = [(index, row) for index in range(len(stops)) for row in gear]
    counted = counter.count_all(
        (row, windows[row.key, stops[index].id], rules[index].carrier_raster_hz, spares[row.key])
        for index, row in pairs
    )
    return {
        (row.key, stops[index].id): found
        for (index, row), found in zip(pairs, counted, strict=True)
    }
