"""Benchmark, run by hand: many roles at once at the masks of eight real cities.

``python tests/bench/many_roles.py STATIONS.csv [--effort normal]`` asks at each city, in what is
clear between 470 and 608 MHz indoors, for

- 40 carriers: 24 microphones, 12 in-ears, 4 links;
- 100 carriers: 60 digital lines, 24 in-ears, 16 microphones in two zones that do not hear each
  other's products, and one wideband block of 6 MHz, which makes no products of its own.

Each answer is verified; where carriers are missing the proven least number of missing ones stands
beside it. Times are process CPU time with the kernel warm.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from packing_cases import CITIES, KHZ, MHZ, STEP_HZ, clear_windows

from planner.coordination import (
    Choice,
    Company,
    Grid,
    Group,
    GuardSet,
    Order,
    PlacedCarrier,
    coordinate,
    prepare,
    require_sound,
)
from planner.coordination.stop_bounds import stop_limits

if TYPE_CHECKING:
    from collections.abc import Sequence

SPAN_MHZ = (470, 608)
FORTY = (
    ("microphones", (350, 100, 50, 0), 24, 0),
    ("in-ears", (500, 100, 50, 0), 12, 0),
    ("links", (600, 100, 0, 0), 4, 0),
)
"""Name, spacing and guards 2A-B, A+B-C, 3A-2B [kHz], count, group."""
HUNDRED = (
    ("digital lines", (200, 50, 0, 0), 60, 0),
    ("in-ears", (350, 100, 0, 0), 24, 0),
    ("microphones north", (350, 100, 0, 0), 8, 1),
    ("microphones south", (350, 100, 0, 0), 8, 2),
)
ZONES = Company(
    groups=(Group(zone="stage"), Group(zone="north"), Group(zone="south")),
    unheard=frozenset(
        (victim, sources)
        for victim, other in (("north", "south"), ("south", "north"))
        for sources in ((other, other), (other, other, other))
    ),
)
_NOWHERE = Grid(origin_hz=0, step_hz=STEP_HZ, windows_hz=())


def orders_in(
    windows_hz: Sequence[tuple[int, int]],
    rows: Sequence[tuple[str, tuple[int, int, int, int], int, int]],
) -> list[Order]:
    """Return what is asked for in some windows."""
    grid = Grid(origin_hz=0, step_hz=STEP_HZ, windows_hz=tuple(windows_hz))
    return [
        Order(
            name=name,
            choices=(
                Choice(range_key=name, guards=_guards(row_khz), grid=grid, spare_grid=_NOWHERE),
            ),
            count=count,
            group=group,
        )
        for name, row_khz, count, group in rows
    ]


def _guards(row_khz: tuple[int, int, int, int]) -> GuardSet:
    spacing, two, three, five = (KHZ * value for value in row_khz)
    return GuardSet(
        spacing_hz=spacing, guard_2a_b_hz=two, guard_a_b_c_hz=three, guard_3a_2b_hz=five
    )


def with_block(
    windows_hz: Sequence[tuple[int, int]],
) -> tuple[list[tuple[int, int]], PlacedCarrier | None]:
    """Take the highest whole channel out for a block of 6 MHz; None where there is none."""
    for low, high in reversed(windows_hz):
        if high - low >= 6 * MHZ - 200 * KHZ:
            half = 3 * MHZ
            middle = (low + high) // 2
            block = PlacedCarrier(
                frequency_hz=middle, guards=GuardSet(spacing_hz=half), source=False
            )
            return [row for row in windows_hz if row != (low, high)], block
    return list(windows_hz), None


def report(
    name: str,
    orders: Sequence[Order],
    fixed: Sequence[PlacedCarrier],
    company: Company,
    effort: str,
) -> None:
    """Coordinate, verify, and print one line."""
    began = time.process_time()
    answer = coordinate(orders, fixed, company=company, effort=effort)
    took = time.process_time() - began
    chosen = [
        PlacedCarrier(
            frequency_hz=carrier.frequency_hz, guards=order.choices[0].guards, group=order.group
        )
        for order, filled in zip(orders, answer.filled, strict=True)
        for carrier in filled.carriers
    ]
    began = time.process_time()
    require_sound(chosen, fixed, company)
    checked = time.process_time() - began
    missing = {row.name: row.missing for row in answer.filled if row.missing}
    began = time.process_time()
    proof = stop_limits(orders, fixed, company)
    proved = time.process_time() - began
    sys.stdout.write(
        f"{name:22} {sum(missing.values()):3d} missing {missing or ''}, proven missing "
        f"{proof.missing_lines}, {took:6.2f} s search, {checked:5.2f} s verified, "
        f"{proved:5.2f} s bounds, {answer.steps} steps\n"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("stations", type=Path)
    parser.add_argument("--effort", default="normal")
    parser.add_argument("--cities", type=int, default=8)
    options = parser.parse_args()
    prepare()
    coordinate(orders_in(((470 * MHZ, 475 * MHZ),), FORTY), effort="glance")
    windows = clear_windows(options.stations)
    for city, _, _ in CITIES[: options.cities]:
        here = windows[city, SPAN_MHZ]
        clear_mhz = sum(high - low for low, high in here) / MHZ
        sys.stdout.write(f"{city}: {len(here)} windows, {clear_mhz:.1f} MHz of carrier centres\n")
        report("  40 carriers", orders_in(here, FORTY), (), Company(), options.effort)
        rest, block = with_block(here)
        fixed = [block] if block else []
        name = "  100 and a block" if block else "  100, no block fits"
        report(name, orders_in(rest, HUNDRED), fixed, ZONES, options.effort)


if __name__ == "__main__":
    main()
