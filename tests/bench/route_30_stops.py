"""Benchmark, run by hand: retunes over a route of 30 stops against simpler ways and a bound.

``python tests/bench/route_30_stops.py STATIONS.csv OUT [order] [effort]`` plans 16 + 4
microphones and 8 + 2 in-ears for 30 large cities of the United States, in the order of
``plan_30_stops.py`` (``size``) or of a drivable tour (``road``). It prints the cities where a
proven bound says that not all carriers exist (they are left out), weighted retunes of each way,
the lower bound, time, and a row a stop. A line's retune weighs 4, a spare's 1
(``planner.coordination.names``).

Ways compared, all with the same ranges and windows:

(i) ascending first-fit a city, names in the order of frequencies;
(ii) the same carriers, names dealt at the least retunes from the last stop;
(iii) each city alone with as long a search as the route has, names dealt as in (ii): as many
carriers as the route finds, which first-fit does not;
(iv) as (iii), but each city's search holds on to what first-fit found there: (ii) made full;
(route) the whole route.

A line that (ii) lacks has nothing to retune, so (ii) is cheaper the more it lacks. Two fair
measures stand beside the raw one: (iv), which has about as many carriers as the route, and
``missing as retunes``, where a name without a carrier at a stop weighs what its retune would, in
every way alike. The last table is that of :mod:`tests.bench.route_pairs`.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import tests.bench.plan_30_stops as cities
from planner.coordination import coordinate, require_sound
from planner.coordination.names import LINE_WEIGHT, Names, Use, deal_stop, is_retune
from planner.coordination.records import PlacedCarrier
from planner.coordination.route import coordinate_route, orders_of
from planner.coordination.search import Scan, Search
from planner.coordination.stop_sets import wishes_for
from planner.intake.tour import load_tour
from planner.places import countries_within
from planner.plan import run_plan
from planner.plan.retunes import RetuneCounter
from tests.bench.route_pairs import tell_pairs

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination.records import Effort, Filled
    from planner.coordination.tasks import LineKey, NeedTask, RoutePlan, StopTask

    Carriers = Mapping[LineKey, Use]

ROAD = (
    "New York", "Boston", "Philadelphia", "Baltimore", "Charlotte", "Jacksonville", "Atlanta",
    "Memphis", "Nashville", "Louisville", "Columbus", "Indianapolis", "Chicago", "Milwaukee",
    "Minneapolis", "Omaha", "Kansas City", "Houston", "San Antonio", "Austin", "Dallas",
    "Oklahoma City", "Denver", "Albuquerque", "Phoenix", "Las Vegas", "Los Angeles",
    "San Francisco", "Portland", "Seattle",
)  # fmt: skip
"""The same cities from neighbour to neighbour (shortest way found by exchanges of two, 12,150 km
of great circles)."""


def say(text: str) -> None:
    """Write a line."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def tasks_of(stations: Path, out: Path, order: str) -> tuple[StopTask, ...]:
    """Return what each city asks for, with the ranges that the plan chooses."""
    if order == "road":
        by_name = {row[0]: row for row in cities.CITIES}
        cities.CITIES = tuple(by_name[name] for name in ROAD)
    tour = cities.write_tour(out / f"tour-{order}", stations, mics=(16, 4), ears=(8, 2))
    loaded = load_tour(tour)
    return run_plan(
        loaded.tour, loaded.stations, loaded.gear, countries_near=countries_within, effort="quick"
    ).tasks


def is_infeasible(task: StopTask) -> bool:
    """Say whether a proven bound is less than what a need wants."""
    return any(need.limit is not None and need.limit < len(need.names) for need in task.needs)


def first_fit(task: StopTask) -> tuple[Filled, ...]:
    """Return ascending first-fit, lines before spares."""
    search = Search(orders_of(task, {}), task.fixed, company=task.company)
    board = search.begin()
    search.fill(board, Scan(), range(len(task.needs)))
    return search.filled(board)


def made_full(task: StopTask, filled: Sequence[Filled]) -> tuple[Filled, ...]:
    """Search a city for as many carriers as there are, those of a set rather than others."""
    sets = {
        need.name: {(c.range_key, c.frequency_hz, c.main) for c in row.carriers}
        for need, row in zip(task.needs, filled, strict=True)
    }
    orders = orders_of(task, wishes_for(sets))
    return coordinate(orders, task.fixed, company=task.company, effort="hard").filled


def in_order(task: StopTask, filled: Sequence[Filled]) -> Carriers:
    """Give carriers to names in the order of frequencies; spares get what lines may not use."""
    found: dict[LineKey, Use] = {}
    for need, row in zip(task.needs, filled, strict=True):
        uses = [need.use(c.range_key, c.frequency_hz, main=c.main) for c in row.carriers]
        mains = [use for use in uses if use.main][: len(need.lines)]
        rest = [use for use in uses if use not in mains]
        found |= {(need.name, name): use for name, use in zip(need.lines, mains, strict=False)}
        found |= {(need.name, name): use for name, use in zip(need.spares, rest, strict=False)}
    return found


def dealt(tasks: Sequence[StopTask], sets: Sequence[Sequence[Filled]]) -> list[Carriers]:
    """Deal each stop's carriers at the least retunes from the last stop."""
    last: dict[LineKey, Use] = {}
    answers: list[Carriers] = []
    for task, filled in zip(tasks, sets, strict=True):
        names = [
            Names(
                need=need.name,
                lines=need.lines,
                spares=need.spares,
                units=need.units,
                last={
                    name: last[need.name, name] for name in need.names if (need.name, name) in last
                },
            )
            for need in task.needs
        ]
        carriers = {
            need.name: [need.use(c.range_key, c.frequency_hz, main=c.main) for c in row.carriers]
            for need, row in zip(task.needs, filled, strict=True)
        }
        answers.append(deal_stop(names, carriers, separation_hz=task.separation_hz))
        last.update(answers[-1])
    return answers


def weighted(tasks: Sequence[StopTask], answers: Sequence[Carriers]) -> list[tuple[int, int]]:
    """Return for each stop lines and spares retuned."""
    last: dict[LineKey, Use] = {}
    rows = []
    for task, found in zip(tasks, answers, strict=True):
        moved = [key for key, use in found.items() if key in last and is_retune(last[key], use)]
        lines = sum(
            key[1] in need.lines for key in moved for need in task.needs if need.name == key[0]
        )
        rows.append((lines, len(moved) - lines))
        last.update(found)
    return rows


def verify(tasks: Sequence[StopTask], answers: Sequence[Carriers]) -> None:
    """Refuse carriers that violate a guard at their stop."""
    for task, found in zip(tasks, answers, strict=True):
        needs = {need.name: need for need in task.needs}
        placed = [
            PlacedCarrier(
                frequency_hz=use.frequency_hz,
                guards=next(
                    row.guards for row in needs[need].choices if row.range_key == use.range_key
                ),
                group=needs[need].group,
            )
            for (need, _), use in found.items()
        ]
        require_sound(placed, task.fixed, company=task.company)


def total(rows: Sequence[tuple[int, int]]) -> int:
    """Return weighted retunes."""
    return sum(LINE_WEIGHT * lines + spares for lines, spares in rows)


def tell(
    name: str, tasks: Sequence[StopTask], answers: Sequence[Carriers], seconds: float
) -> tuple[int, int]:
    """Print one way's figures; return its weighted retunes, and with what is missing."""
    verify(tasks, answers)
    rows = weighted(tasks, answers)
    lack = [
        [
            sum((need.name, name) not in found for need in task.needs for name in names(need))
            for names in (_lines, _spares)
        ]
        for task, found in zip(tasks, answers, strict=True)
    ]
    no_line, no_spare = sum(row[0] for row in lack), sum(row[1] for row in lack)
    lines, spares = sum(row[0] for row in rows), sum(row[1] for row in rows)
    fair = total(rows) + LINE_WEIGHT * no_line + no_spare
    say(
        f"{name:8} {total(rows):5} weighted = {lines} lines, {spares} spares; missing "
        f"{no_line} lines, {no_spare} spares; missing as retunes {fair}; "
        f"{seconds:.2f} s of one core"
    )
    return total(rows), fair


def _lines(need: NeedTask) -> Sequence[str]:
    return need.lines


def _spares(need: NeedTask) -> Sequence[str]:
    return need.spares


def main() -> None:
    """Run the comparison."""
    stations, out = Path(sys.argv[1]), Path(sys.argv[2])
    order = sys.argv[3] if len(sys.argv) > 3 else "size"
    effort: Effort = sys.argv[4] if len(sys.argv) > 4 else "normal"  # type: ignore[assignment]
    every = tasks_of(stations, out, order)
    gone = [task.stop_id for task in every if is_infeasible(task)]
    tasks = [task for task in every if not is_infeasible(task)]
    say(f"order {order}, effort {effort}: {len(tasks)} stops; proven infeasible, left out: {gone}")
    say(str({need.name: [c.range_key for c in need.choices] for need in tasks[0].needs}))
    coordinate_route(tasks[:3], effort="quick")  # compiled before it is timed
    start = time.process_time()
    sets = [first_fit(task) for task in tasks]
    lap = time.process_time()
    tell("(i)", tasks, [in_order(*row) for row in zip(tasks, sets, strict=True)], lap - start)
    second = tell("(ii)", tasks, dealt(tasks, sets), time.process_time() - start)
    start = time.process_time()
    alone = [coordinate(orders_of(t, {}), t.fixed, company=t.company, effort="hard") for t in tasks]
    tell("(iii)", tasks, dealt(tasks, [a.filled for a in alone]), time.process_time() - start)
    start = time.process_time()
    full = [made_full(*row) for row in zip(tasks, sets, strict=True)]
    fourth = tell("(iv)", tasks, dealt(tasks, full), time.process_time() - start)
    start = time.process_time()
    plan: RoutePlan = coordinate_route(tasks, effort=effort)
    seconds = time.process_time() - start
    ours = tell("route", tasks, [stop.carriers for stop in plan.stops], seconds)
    start = time.process_time()
    counter = RetuneCounter()
    bound = counter.route_bound(tasks, plan)
    say(
        f"bound    {bound.weighted:5} weighted, {bound.lines} lines; "
        f"{time.process_time() - start:.2f} s; legs {len(plan.legs)}"
    )
    say(
        f"route against (ii): raw {1 - ours[0] / second[0]:+.1%} fewer, missing as retunes "
        f"{1 - ours[1] / second[1]:+.1%}; against (iv): raw {1 - ours[0] / fourth[0]:+.1%}, "
        f"missing as retunes {1 - ours[1] / fourth[1]:+.1%}; above the bound: "
        f"{ours[0] / max(1, bound.weighted) - 1:+.1%}"
    )
    for task, stop, row in zip(tasks, plan.stops, counter.count(tasks, plan), strict=True):
        lack = ", ".join(f"{need} lacks {count}" for need, count in stop.missing.items())
        say(
            f"{task.stop_id:18} weighted {row.weighted:3}: {row.lines:2} lines, {row.spares} "
            f"spares; {row.forced:2} from frequencies closed here; bound of the pair "
            f"{row.bound:2} {lack}"
        )
    tell_pairs(tasks, plan, say)


if __name__ == "__main__":
    main()
