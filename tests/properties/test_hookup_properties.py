"""What holds for every hook-up: steps sum up, ports suffice, more television never helps."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.hookup.budget import at_antenna, examine
from planner.hookup.cascade import Stage, gain_db, iip3_dbm, noise_figure_db, oip3_dbm
from planner.hookup.document import hookup_document
from planner.hookup.rig import HookupRequest, design_hookup
from planner.hookup.trees import smallest_trees
from planner.records.hookup import HookupSpec, RackSpec
from tests.unit.hookup_cases import AERIAL, EIGHT, FOUR_BY_TWO, TWO, demo_parts, group, mast, scene
from tests.unit.test_hookup_levels import SPEC, chain
from tests.unit.test_hookup_trees import check

STAGES = st.lists(
    st.builds(
        Stage,
        part=st.just("stage"),
        gain_db=st.floats(-30, 30),
        noise_figure_db=st.floats(0, 30),
        oip3_dbm=st.one_of(st.just(math.inf), st.floats(-10, 50)),
    ),
    min_size=1,
    max_size=8,
)


@given(STAGES)
def test_a_row_is_never_better_than_its_first_stage(stages: list[Stage]) -> None:
    assert noise_figure_db(stages) >= stages[0].noise_figure_db - 1e-9
    assert iip3_dbm(stages) <= stages[0].oip3_dbm - stages[0].gain_db + 1e-9
    assert abs(oip3_dbm(stages) - gain_db(stages) - iip3_dbm(stages)) <= 1e-9 or math.isinf(
        oip3_dbm(stages)
    )


@given(STAGES, st.integers(1, 7))
def test_stages_may_be_taken_together(stages: list[Stage], cut: int) -> None:
    """A row cut in two and each half made one stage is the same row."""
    halves = [part for part in (stages[:cut], stages[cut:]) if part]
    joined = [
        Stage(
            part="half",
            gain_db=gain_db(half),
            noise_figure_db=noise_figure_db(half),
            oip3_dbm=oip3_dbm(half),
        )
        for half in halves
    ]
    assert abs(noise_figure_db(joined) - noise_figure_db(stages)) <= 1e-6
    if math.isfinite(oip3_dbm(stages)):
        assert abs(oip3_dbm(joined) - oip3_dbm(stages)) <= 1e-6


@given(
    st.integers(1, 60),
    st.sets(st.sampled_from([FOUR_BY_TWO, TWO, EIGHT]), min_size=1).map(tuple),
)
@settings(max_examples=60)
def test_no_port_is_used_twice_or_left_open(receivers: int, parts: tuple) -> None:  # type: ignore[type-arg]
    for tree in smallest_trees(parts, receivers):
        check(tree, receivers)


@given(
    receivers=st.integers(1, 24),
    cable_m=st.floats(1, 120),
    distribution=st.sampled_from(["any", "powered", "passive"]),
    zones=st.integers(1, 3),
)
@settings(max_examples=25, deadline=None)
def test_net_gain_is_the_sum_of_the_steps(
    receivers: int, cable_m: float, distribution: str, zones: int
) -> None:
    rack = RackSpec(
        name="Rack",
        cables_m=(cable_m, cable_m / 2 + 0.5),
        zones=tuple(f"zone {k}" for k in range(zones)),
    )
    spec = HookupSpec(
        racks=(rack,),
        antenna="Directional 470-700",
        cable="RG-213/U",
        distribution=distribution,
    )
    document = hookup_document(
        design_hookup(
            HookupRequest(
                parts=demo_parts(),
                spec=spec,
                racks=((rack, (group(receivers),)),),
                scenes=(scene(),),
            )
        )
    )
    assert document["branches"]
    for branch in document["branches"]:
        total = math.fsum(step["gain_db"] for step in branch["steps"])
        assert abs(branch["net_gain_db"] - total) <= 1e-9
        assert branch["input_dbm_near"] >= branch["input_dbm_far"]
    (rack_row,) = document["racks"]
    (found,) = rack_row["groups"]
    assert len(found["receivers"]) == receivers
    taken = sum(row["receivers"] for row in found["arrangement"]["splitters"])
    assert taken == receivers or (receivers == 1 and not found["arrangement"]["splitters"])


@given(
    low=st.lists(st.sampled_from([470, 476, 482, 488, 500, 506, 518]), min_size=1, unique=True),
    distance_km=st.floats(1, 40),
)
@settings(max_examples=25, deadline=None)
def test_more_television_never_helps(low: list[int], distance_km: float) -> None:
    few = mast(distance_km=distance_km, erp_kw=100.0, low_mhz=tuple(low))
    more = mast(distance_km=distance_km, erp_kw=100.0, low_mhz=(*low, 530))
    before, after = (
        examine(chain(), group(8), at_antenna(AERIAL, group(8), scene(air), SPEC))
        for air in (few, more)
    )
    assert after.compression_margin_db <= before.compression_margin_db + 1e-9
    assert np.all(after.margin_db <= before.margin_db + 1e-9)
    nearer = dataclasses.replace(few, power_dbm=few.power_dbm + 3.0)
    closer = examine(chain(), group(8), at_antenna(AERIAL, group(8), scene(nearer), SPEC))
    assert closer.compression_margin_db <= before.compression_margin_db + 1e-9
