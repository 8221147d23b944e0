"""Benchmark, run by hand: the hook-up of 72 receivers in four racks beside loud television.

``python tests/bench/hookup_72.py`` designs it with the demo's parts at one quiet stop and at ten
stops with a mast of twelve channels each, and prints processor seconds: the first call, which
imports and caches, and the least of five after it. Target: 1 s.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from planner.hookup.document import hookup_document
from planner.hookup.rig import HookupRequest, design_hookup
from planner.records.hookup import HookupSpec, RackSpec
from tests.unit.hookup_cases import demo_parts, group, mast, scene

if TYPE_CHECKING:
    from planner.hookup.records import StopScene

RACKS = 4
RECEIVERS = 72


def request(scenes: tuple[StopScene, ...]) -> HookupRequest:
    """Return 72 receivers in four racks, 50 m from their antennas."""
    racks = tuple(RackSpec(name=f"Rack {k + 1}", cables_m=(50.0, 50.0)) for k in range(RACKS))
    spec = HookupSpec(racks=racks, antenna="Directional 470-700", cable="RG-8X")
    return HookupRequest(
        parts=demo_parts(),
        spec=spec,
        racks=tuple((rack, (group(RECEIVERS // RACKS),)) for rack in racks),
        scenes=scenes,
    )


def seconds(asked: HookupRequest) -> float:
    """Return the processor time of design and record [s]."""
    start = time.process_time()
    hookup_document(design_hookup(asked))
    return time.process_time() - start


def main() -> None:
    """Print both cases."""
    channels = tuple(range(470, 542, 6))
    tour = tuple(
        scene(mast(distance_km=2.0 + k, erp_kw=100.0, low_mhz=channels), stop=f"stop {k + 1}")
        for k in range(10)
    )
    for name, scenes in (("one quiet stop", (scene(),)), ("ten stops beside a mast", tour)):
        asked = request(scenes)
        first = seconds(asked)
        least = min(seconds(asked) for _ in range(5))
        sys.stdout.write(f"{name}: {first:.2f} s the first time, {least:.2f} s then\n")


if __name__ == "__main__":
    main()
