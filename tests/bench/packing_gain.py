"""Benchmark, run by hand: carriers found beside first-fit, random orders and the proven limit.

``python tests/bench/packing_gain.py STATIONS.csv [--seconds 0.2 2] [--seeds 5] [--cases all]
[--limit-instances N] [--json FILE]``

Sixty instances: twelve cities of the United States, five guard sets, spans of 44 to 138 MHz, and
what is clear there by this product's own rules (``packing_cases.py``). Every other city is one the
search was tuned on; the rest is held out. Time is that of the process, search alone, the kernel
compiled before. First-fit takes the lowest free centre again and again; random orders try all
centres in 200 random orders and the best counts.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import sys
import time
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from planner.coordination import Budget, PlacedCarrier, prepare, require_sound, upper_bound
from planner.coordination.pack_search import PackSearch, find_ground
from planner.coordination.packing import pack_ground
from planner.coordination.search import Scan
from tests.bench.packing_cases import GUARD_SETS_KHZ, build_cases, row_name

if TYPE_CHECKING:
    from tests.bench.packing_cases import Case

_ORDERS = 200


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Outcome:
    """What was found for one instance; ``found`` maps seconds to one number a seed."""

    name: str
    row: str
    part: str
    protected: bool
    first_fit: int
    random: int
    limit: int
    found: dict[float, list[int]]


def first_fit(case: Case) -> int:
    """Return what the ascending pass finds."""
    search = _search(case)
    search.fill(Scan())
    return search.found


def best_random(case: Case) -> int:
    """Return the best of first-fit over many random orders of the centres."""
    dice, search = np.random.default_rng(1), _search(case)
    for _ in range(_ORDERS):
        search.begin()
        search.put_all(dice.permutation(search.ground.candidates))
    return search.found


def search_for(case: Case, seconds: float, seed: int) -> int:
    """Return what the search finds in a time."""
    search = _search(case, seed=seed)
    end_s = time.process_time() + seconds
    pack_ground(search, Budget(expired=lambda: time.process_time() >= end_s))
    require_sound(
        [PlacedCarrier(frequency_hz=hz, guards=case.guards) for hz in search.carriers_hz()]
    )
    return search.found


def run(case: Case, seconds: list[float], seeds: int) -> Outcome:
    """Measure one instance; fail when anything is below first-fit or above the limit."""
    base = first_fit(case)
    limit = upper_bound(
        case.grid.windows_hz, step_hz=case.grid.step_hz, origin_hz=0, guards=case.guards
    )
    found = {
        time_s: [search_for(case, time_s, seed) for seed in range(seeds)] for time_s in seconds
    }
    for counts in found.values():
        if min(counts) < base or max(counts) > limit:
            raise SystemExit(f"{case.name}: found {counts}, first-fit {base}, limit {limit}")
    return Outcome(
        name=case.name,
        row=row_name(case.row_khz),
        part="tuned on" if case.tuned else "held out",
        protected=bool(case.row_khz[2] or case.row_khz[3]),
        first_fit=base,
        random=best_random(case),
        limit=limit,
        found=found,
    )


def say(text: str) -> None:
    """Write a line at once."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def print_table(title: str, outcomes: list[Outcome], seconds: list[float]) -> None:
    """Print medians over instances and seeds, one line a guard set."""
    say(f"\n{title}: medians over instances and seeds")
    heads = [f"{time_s:g} s/first" for time_s in seconds]
    last = seconds[-1]
    say(
        f"{'guard set [kHz]':18} n  "
        + "  ".join(f"{head:>11}" for head in heads)
        + f"  {'rand/first':>10}  {f'{last:g} s/rand':>9}  limit/found"
    )
    groups = [
        (row_name(row), [o for o in outcomes if o.row == row_name(row)]) for row in GUARD_SETS_KHZ
    ]
    groups.append(("protected", [o for o in outcomes if o.protected]))
    for name, group in groups:
        if group:
            ratios = [
                median(count / o.first_fit for o in group for count in o.found[time_s])
                for time_s in seconds
            ]
            say(
                f"{name:18} {len(group):2} "
                + "  ".join(f"{ratio:11.3f}" for ratio in ratios)
                + f"  {median(o.random / o.first_fit for o in group):10.3f}"
                + f"  {median(c / o.random for o in group for c in o.found[last]):9.3f}"
                + f"  {median(o.limit / c for o in group for c in o.found[last]):11.3f}"
            )


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description="Carriers found beside first-fit.")
    parser.add_argument("stations", type=Path)
    parser.add_argument("--seconds", type=float, nargs="+", default=[0.2, 2.0])
    parser.add_argument("--seeds", type=int, default=5)
    parser.add_argument("--cases", choices=["all", "tuned", "held"], default="all")
    parser.add_argument("--limit-instances", type=int, default=0)
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    cases = [c for c in build_cases(asked.stations) if asked.cases in ("all", _part(c))]
    if asked.limit_instances:
        cases = cases[:: -(-len(cases) // asked.limit_instances)]
    prepare()
    outcomes = []
    for case in cases:
        outcomes.append(run(case, asked.seconds, asked.seeds))
        last = outcomes[-1]
        say(
            f"{last.name}: first {last.first_fit} random {last.random} {last.found} "
            f"limit {last.limit}"
        )
    for title in ("tuned on", "held out"):
        mine = [o for o in outcomes if o.part == title]
        if mine:
            print_table(title, mine, asked.seconds)
    print_table("all", outcomes, asked.seconds)
    if asked.json:
        asked.json.write_text(json.dumps([dataclasses.asdict(o) for o in outcomes], indent=1))


def _part(case: Case) -> str:
    return "tuned" if case.tuned else "held"


def _search(case: Case, *, seed: int = 0) -> PackSearch:
    ground = find_ground(case.grid.points(), case.grid.step_hz, case.guards)
    if ground is None:
        raise SystemExit(f"{case.name}: nothing is clear")
    return PackSearch(ground, seed=seed)


if __name__ == "__main__":
    main()
