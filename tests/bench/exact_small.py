"""Benchmark, run by hand: the constraint solver beside our search, on small real instances.

``python tests/bench/exact_small.py STATIONS.csv [--seconds 60] [--most-centres 320] [--most 10]``
takes the instances of ``packing_cases`` cut to their lowest windows until they hold no more
centres than asked for. For each: the solver alone (no start, deterministic seconds: about so many
of one core), ours at 0.2 s and 2 s of process time, and the limit in closed form. Needs the extra
``exact``.
"""

from __future__ import annotations

import argparse
import dataclasses
import sys
import time
from pathlib import Path

from packing_cases import CITIES, STEP_HZ, Case, build_cases, row_name

from planner.coordination import Budget, Grid, pack_carriers, prepare, upper_bound
from planner.coordination.exact import solve_exactly

OURS_S = (0.2, 2.0)


def small(case: Case, most_centres: int) -> Case:
    """Return an instance with only its lowest windows, the last one cut."""
    windows: list[tuple[int, int]] = []
    left = most_centres
    for low, high in sorted(case.grid.windows_hz):
        first = -(-low // STEP_HZ) * STEP_HZ
        last = min(high, first + (left - 1) * STEP_HZ)
        if left > 0 and first <= last:
            windows.append((low, last))
            left -= (last - first) // STEP_HZ + 1
    return dataclasses.replace(
        case, grid=Grid(origin_hz=0, step_hz=STEP_HZ, windows_hz=tuple(windows))
    )


def ours(case: Case, seconds: float) -> int:
    """Return what our search finds in so much process time."""
    end_s = time.process_time() + seconds
    budget = Budget(expired=lambda: time.process_time() >= end_s)
    return pack_carriers(case.grid, case.guards, budget=budget).found


def main() -> None:
    """Print a row for each instance."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("stations", type=Path)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--most-centres", type=int, default=320)
    parser.add_argument("--most", type=int, default=10)
    options = parser.parse_args()
    prepare()
    sys.stdout.write(
        "city, guards [kHz], centres, 0.2 s, 2 s, solver, its limit, proven, limit, solver CPU s\n"
    )
    cases = build_cases(options.stations)
    seen = set()
    # city by city, so that every guard set comes early
    for number in sorted(range(len(cases)), key=lambda number: number % len(CITIES)):
        whole = cases[number]
        case = small(whole, options.most_centres)
        key = (case.row_khz, case.grid.windows_hz)
        if key in seen or len(seen) >= options.most:
            continue
        seen.add(key)
        found = [ours(case, seconds) for seconds in OURS_S]
        begin_s = time.process_time()
        solved = solve_exactly(case.grid, case.guards, seconds=options.seconds)
        spent_s = time.process_time() - begin_s
        limit = upper_bound(case.grid.windows_hz, step_hz=STEP_HZ, origin_hz=0, guards=case.guards)
        sys.stdout.write(
            f"{case.city}, {row_name(case.row_khz)}, {case.grid.points().size}, {found[0]}, "
            f"{found[1]}, {solved.found}, {solved.limit}, {solved.proven}, {limit}, {spent_s:.1f}\n"
        )
        sys.stdout.flush()


if __name__ == "__main__":
    main()
