"""Chances: of a channel to be clear, of a combination to serve; by draws with known answers."""

from __future__ import annotations

import dataclasses
import math
from statistics import NormalDist
from typing import Any

import numpy as np

from planner.joint.records import Combination
from planner.occupancy import channel_chances, compute_windows
from planner.occupancy.chance import DRAWS, MAST_SIGMA_DB, SHARED_SIGMA_DB
from planner.plan.chances import channel_table, plan_chances
from planner.plan.tasks import Scene
from planner.ranking import Counter
from planner.records import Settings
from planner.rules import country_rules
from planner.spectrum import IntervalSet
from tests.unit.builders import gear, need, station, stop, tour
from tests.unit.test_occupancy import FAR, at_km, occupancy

US = country_rules("US")
STANDARD_ERROR = 0.5 / math.sqrt(DRAWS)
LIMIT_DB = 6.0


def far_station(channel: int, km: float, **more: Any) -> dict[str, Any]:
    return station(channel, station_id=f"s{channel}-{km:g}", **{**at_km(km), **more})


def chances(rows: list[dict[str, Any]], limit_db: float = LIMIT_DB) -> Any:
    return channel_chances(occupancy(rows), limit_db=limit_db)


def test_the_standard_error_is_below_one_per_cent() -> None:
    assert STANDARD_ERROR < 0.01


def test_one_transmitter_is_the_normal_law() -> None:
    """P(power + error < room), the error of the table's own standard deviation."""
    for km in (110.0, 130.0, 150.0):
        found = occupancy([far_station(20, km)])
        curve = found.curve
        assert curve is not None
        emitters = curve.emitters
        sigma = max(float(emitters.sigma_db[0]), math.hypot(SHARED_SIGMA_DB, MAST_SIGMA_DB))
        room = curve.noise_dbm + 10 * math.log10(10 ** ((LIMIT_DB - 0.05) / 10) - 1)
        expected = NormalDist(0, sigma).cdf(room - float(emitters.power_dbm[0]))
        got = channel_chances(found, limit_db=LIMIT_DB).chance["20"]
        assert got is not None
        assert abs(got - expected) <= 4 * STANDARD_ERROR
        assert 0.0 < expected < 1.0


def test_held_is_never_and_silent_is_always_clear() -> None:
    found = chances([station(20), FAR])
    assert found.chance["20"] == 0.0
    assert found.chance["30"] == 1.0
    assert "20" not in found.clear


def test_nothing_is_said_where_nothing_is_predicted() -> None:
    found = channel_chances(
        occupancy([far_station(20, 120.0)], coverages=(), neighbours=()), limit_db=LIMIT_DB
    )
    assert found.chance["30"] is None
    assert set(found.chance.values()) <= {None, 0.0}  # channel 37 is held whatever the tables
    bare = dataclasses.replace(occupancy([far_station(20, 120.0)]), curve=None)
    assert set(channel_chances(bare, limit_db=LIMIT_DB).chance.values()) <= {None, 0.0}


def test_channels_of_one_mast_stand_and_fall_together() -> None:
    """Both share 3 and 5.5 dB of their errors; two masts share 3 dB only."""
    weak = {"erp_kw": 0.1, "haat_m": 60.0, "service": "low-power"}
    one, two = (
        chances([far_station(20, 30.0, **weak), far_station(25, km, **weak)], limit_db=0.5)
        for km in (30.0, -30.0)
    )
    same, apart = (float(np.corrcoef(row.clear["20"], row.clear["25"])[0, 1]) for row in (one, two))
    # Nearly all of the spread so near is the mast's: 9 of 39 parts of the variance are shared by
    # all. The standard error of a correlation of 4096 draws is 0.016.
    assert 0.05 < apart < 0.4
    assert same > 0.75


def test_a_transmitter_added_never_makes_a_channel_likelier() -> None:
    before = chances([far_station(20, 130.0)])
    after = chances([far_station(20, 130.0), far_station(20, 160.0)])
    assert not (after.clear["20"] & ~before.clear["20"]).any()
    assert after.chance["20"] < before.chance["20"]


def test_same_input_same_draws_and_other_stops_other_draws() -> None:
    rows = [far_station(20, 130.0)]
    assert np.array_equal(chances(rows).clear["20"], chances(rows).clear["20"])
    elsewhere = channel_chances(
        dataclasses.replace(occupancy(rows), stop_id="there"), limit_db=LIMIT_DB
    )
    assert not np.array_equal(elsewhere.clear["20"], chances(rows).clear["20"])


def test_a_laxer_limit_is_likelier_met() -> None:
    rows = [far_station(20, 130.0)]
    assert chances(rows, 3.0).chance["20"] < chances(rows, 9.0).chance["20"]


def scene_of(rows: list[dict[str, Any]], **more: Any) -> tuple[Scene, Any]:
    here, row = stop(), gear(low_hz=500_100_000, high_hz=519_900_000)
    found = occupancy(rows)
    plan = tour([here], [need(count=more.pop("count", 4), spares=0)], **more)
    windows = compute_windows(
        row, found, rules=US, settings=plan.settings, excluded=IntervalSet(())
    )
    counted = Counter("quick").count(row, windows, US.carrier_raster_hz, spares=0)
    scene = Scene(
        tour=plan,
        gear=(row,),
        stops=(here,),
        rules=(US,),
        occupancies=(found,),
        windows={(row.key, here.id): windows},
    )
    return scene, counted


def combination(scene: Scene, headroom: int) -> Combination:
    name = scene.tour.needs[0].name
    return Combination(
        ranges={name: (scene.gear[0].key,)},
        rank=1,
        headrooms={"here": {name: headroom}},
        confirmed_met=1,
        stops_met=1,
        stops=1,
        worst_stop="here",
        worst_headroom={name: headroom},
        retunes=0,
        retunes_bound=0,
        why="",
    )


def all_stops(rows: list[dict[str, Any]], *, assigned: bool = False, **more: Any) -> float:
    scene, counted = scene_of(rows, **more)
    key = (scene.gear[0].key, "here")
    head = len(counted.clear_hz) - scene.tour.needs[0].count
    found = plan_chances(
        scene,
        {key: counted},
        [combination(scene, head)],
        assigned=frozenset({("here", scene.tour.needs[0].name)} if assigned else ()),
    ).all_stops[0]
    assert found is not None
    return found


NOISY = [FAR, *(far_station(channel, 125.0 + channel) for channel in (19, 20, 21, 22))]


def test_all_stops_lies_between_none_and_one_and_falls_with_the_need() -> None:
    scene, counted = scene_of(NOISY)
    most = len(counted.clear_hz)
    assert most >= 6
    few, many = (all_stops(NOISY, count=count) for count in (1, most))
    assert 0.0 < many < few <= 1.0
    assert all_stops([FAR], count=4) == 1.0
    table = channel_table(
        counted,
        scene.windows[scene.gear[0].key, "here"],
        scene.occupancies[0],
        raster=US.raster,
    )
    assert sum(predicted for predicted, _ in table.values()) == most


def test_assigned_needs_and_use_of_faint_do_not_hang_on_the_draw() -> None:
    assert all_stops(NOISY, count=4, assigned=True) == 1.0
    assert all_stops(NOISY, count=4, settings=Settings(use_faint="all")) == 1.0
