"""Parts, racks and scenes for the tests of the hook-up."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength.free_space import field_dbuv_m
from planner.field_strength.noise import received_power_dbm
from planner.hookup.design import design_group
from planner.hookup.records import ReceiverGroup, StopScene
from planner.hookup.television import AirChannels, no_air
from planner.intake.parts import load_parts
from planner.records.hookup import (
    AMPLIFIER,
    ANTENNA,
    CABLE,
    SPLITTER,
    HookupSpec,
    Part,
    RackSpec,
)

if TYPE_CHECKING:
    from planner.hookup.verdicts import GroupDesign

ROOT = Path(__file__).resolve().parents[2]
SPAN_HZ = (470_000_000, 534_000_000)

FOUR_BY_TWO = Part(
    name="four by two",
    kind=SPLITTER,
    low_hz=450_000_000,
    high_hz=700_000_000,
    ways=4,
    branches=2,
    gain_db=1.5,
    noise_figure_db=4.0,
    oip3_dbm=30.0,
    p1db_dbm=18.0,
    cascade_ports=1,
    cascade_gain_db=0.5,
    line_power="gives",
    supply_ma=150.0,
    rack_units=1.0,
)
TWO = Part(name="two", kind=SPLITTER, ways=2, gain_db=-3.4, line_power="passes", order=1)
EIGHT = Part(name="eight", kind=SPLITTER, ways=8, gain_db=-10.4, line_power="passes", order=2)
AERIAL = Part(
    name="aerial", kind=ANTENNA, gain_dbi=6.0, beam_deg=100.0, front_to_back_db=14.0, order=3
)
RUN = Part(name="run", kind=CABLE, cable_a=1.0780, cable_b=0.01115, line_power="passes", order=4)
TEN = Part(
    name="ten",
    kind=AMPLIFIER,
    gain_db=10.0,
    noise_figure_db=3.5,
    oip3_dbm=27.0,
    p1db_dbm=14.0,
    line_power="needs",
    supply_ma=60.0,
    order=5,
)


@functools.cache
def demo_parts() -> tuple[Part, ...]:
    return load_parts(ROOT / "data" / "parts.csv", name="parts.csv")


def group(count: int, *, span_hz: tuple[int, int] = SPAN_HZ, inputs: int = 0) -> ReceiverGroup:
    return ReceiverGroup(
        ranges=("a range",),
        low_hz=span_hz[0],
        high_hz=span_hz[1],
        names=tuple(f"{k + 1}" for k in range(count)),
        inputs=inputs or count,
    )


def mast(
    *, distance_km: float, erp_kw: float, low_mhz: tuple[int, ...], bearing_deg: float = 90.0
) -> AirChannels:
    """Return the channels of one mast in free space, 6 MHz wide each."""
    low = np.array(low_mhz, dtype=np.int64) * 1_000_000
    field = field_dbuv_m(distance_km, erp_kw)
    count = len(low)
    return AirChannels(
        low_hz=low,
        high_hz=low + 6_000_000,
        occupied_hz=np.full(count, 5.38e6),
        power_dbm=np.asarray(received_power_dbm(np.full(count, field), low + 3e6)),
        spread_db=np.full(count, 5.5),
        bearing_deg=np.full(count, bearing_deg),
        label=tuple(f"mast {value + 3}" for value in low_mhz),
    )


def scene(air: AirChannels | None = None, *, stop: str = "") -> StopScene:
    return StopScene(stop=stop, place=stop.title(), air=air or no_air(), carriers={})


def design(
    count: int,
    *,
    cable_m: float,
    cable: str = "RG-8X",
    distribution: str = "any",
    antenna: str = "Directional 470-700",
    scenes: tuple[StopScene, ...] = (),
    avoid: tuple[str, ...] = (),
    zones: tuple[str, ...] = ("stage",),
    inputs: int = 0,
) -> GroupDesign:
    """Return the design of one rack with the demo's parts."""
    rack = RackSpec(name="Rack", cables_m=(cable_m, cable_m), zones=zones)
    spec = HookupSpec(
        racks=(rack,), antenna=antenna, cable=cable, distribution=distribution, avoid=avoid
    )
    return design_group(
        demo_parts(),
        group(count, inputs=inputs),
        rack,
        spec,
        scenes=scenes or (scene(),),
        local_eirp_dbm={},
    )
