"""Why lines are retuned, pair by pair of consecutive stops; printed by ``route_30_stops``.

Of the lines on the air at both stops of a pair, each that is retuned is counted once:

must
    proven: so many lines do not fit into what is open at both stops, whatever the plan.
unknown
    the pair alone, searched as a route of two stops that need not care for any other, retunes
    them too: either the bound is too low or the search too weak, and which is not known.
route
    the pair alone could have kept them; they were given up for what other stops keep, or because
    the pair alone lacks more carriers than the route does, or by a search that was too short.
    Below nothing where the route keeps more than the pair alone was found to keep.

``closed`` says of the retuned lines and spares how many had a frequency that is closed at the
second stop: what stands at the first was good for something else there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.coordination.route import coordinate_route
from planner.plan.retunes import RetuneCounter

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from planner.coordination.tasks import RoutePlan, StopTask


def tell_pairs(tasks: Sequence[StopTask], plan: RoutePlan, say: Callable[[str], None]) -> None:
    """Print a row for each pair of consecutive stops of a route of one rig, and the sums.

    Parameters
    ----------
    tasks, plan : sequence of StopTask, RoutePlan
        What was asked, and the answer to it.
    say : callable
        Prints a line.
    """
    counter = RetuneCounter()
    rows = counter.count(tasks, plan)
    sums = [0] * 7
    say(f"{'pair':35} both kept limit alone = moved: must unknown route; closed")
    for at in range(1, len(tasks)):
        pair = tasks[at - 1 : at + 1]
        alone = coordinate_route(pair, effort="normal")
        both = _both(pair, plan, at - 1)
        moved, must = rows[at].lines, rows[at].bound
        other = counter.count(pair, alone)[1]
        # of as many lines as the route has at both stops; fewer may stand in the pair alone
        could = min(both, _both(pair, alone, 0) - other.lines)
        figures = (both, both - moved, both - must, could, must, both - must - could)
        row = (*figures, could - (both - moved))
        name = f"{pair[0].stop_id} - {pair[1].stop_id}"
        say(
            f"{name:35} {row[0]:4} {row[1]:4} {row[2]:5} {row[3]:5} = {moved:5}: {row[4]:4} "
            f"{row[5]:7} {row[6]:5}; {rows[at].forced:6}"
        )
        sums = [total + figure for total, figure in zip(sums, row, strict=True)]
    say(
        f"{'all':35} {sums[0]:4} {sums[1]:4} {sums[2]:5} {sums[3]:5} = {sums[0] - sums[1]:5}: "
        f"{sums[4]:4} {sums[5]:7} {sums[6]:5}"
    )


def _both(pair: Sequence[StopTask], plan: RoutePlan, first: int) -> int:
    """Return how many lines are on the air at both stops of a pair."""
    here, there = (stop.carriers for stop in plan.stops[first : first + 2])
    lines = {(need.name, line) for need in pair[1].needs for line in need.lines}
    return len(lines & here.keys() & there.keys())
