"""Cleaner centres for finished carriers: quieter, farther from products, never at a price."""

from __future__ import annotations

import dataclasses
from typing import Any

from planner.coordination import Choice, Grid, GuardSet, nearest_products
from planner.coordination.cleanest import Preference, cleaned
from planner.coordination.names import Use
from planner.coordination.standing import placed
from planner.coordination.tasks import Leg, NeedTask, RoutePlan, StopCarriers, StopTask

MHZ = 1_000_000
WHOLE = ((500 * MHZ, 510 * MHZ),)
CENTRE = 505 * MHZ


def stop_task(stop_id: str = "one", **more: Any) -> StopTask:
    """Return a stop of one need, lines x and y and a spare s, on 100 kHz over 10 MHz."""
    row = NeedTask(
        name="a",
        choices=(choice(WHOLE),),
        lines=("x", "y"),
        spares=("s",),
        half_width_hz={"r": 100_000},
    )
    return StopTask(**{"stop_id": stop_id, "rig": "A", "needs": (row,), **more})


def choice(windows_hz: tuple[tuple[int, int], ...], guards: GuardSet | None = None) -> Choice:
    return Choice(
        range_key="r",
        guards=guards or GuardSet(spacing_hz=300_000),
        grid=Grid(origin_hz=0, step_hz=100_000, windows_hz=windows_hz),
        spare_grid=Grid(origin_hz=0, step_hz=100_000, windows_hz=()),
    )


def with_choice(task: StopTask, row: Choice, **more: Any) -> StopTask:
    need = dataclasses.replace(task.needs[0], choices=(row,), **more)
    return dataclasses.replace(task, needs=(need,))


def route(*stops: dict[str, int]) -> RoutePlan:
    """Return a route with these carriers [Hz] at each stop."""
    made = [
        StopCarriers(
            stop_id=f"{number}",
            carriers={("a", name): Use(range_key="r", frequency_hz=hz) for name, hz in row.items()},
            missing={},
        )
        for number, row in enumerate(stops)
    ]
    return RoutePlan(stops=tuple(made), legs=(), steps=7)


def frequencies(plan: RoutePlan, place: int = 0) -> dict[str, int]:
    return {name: use.frequency_hz for (_, name), use in plan.stops[place].carriers.items()}


def rises(*rows: tuple[int, int, float]) -> tuple[tuple[int, int, float], ...]:
    return tuple((low * MHZ, high * MHZ, rise) for low, high, rise in rows)


def test_a_carrier_leaves_the_noise() -> None:
    task = stop_task(rises=rises((500, 504, 5.0), (504, 510, 0.3)))
    found = cleaned([task], route({"x": 501 * MHZ}))
    assert frequencies(found)["x"] >= 504 * MHZ + 100_000
    assert found.steps > 7


def test_one_keeps_off_a_strong_neighbour_and_off_edges() -> None:
    task = stop_task(rises=rises((494, 500, 60.0), (500, 510, 0.0)))
    hz = frequencies(cleaned([task], route({"x": 500 * MHZ})))["x"]
    assert hz >= 506 * MHZ
    assert hz <= 510 * MHZ - 500_000


def test_the_weights_decide() -> None:
    task = stop_task(rises=rises((500, 504, 5.0), (504, 510, 0.3)))
    blind = Preference(noise_rise=0.0, window_edge=0.0)
    before = route({"x": 501 * MHZ})
    assert cleaned([task], before, preference=blind).stops == before.stops


def test_little_gain_moves_nobody() -> None:
    task = stop_task(rises=rises((500, 504, 0.4), (504, 510, 0.3)))
    before = route({"x": 502 * MHZ})
    assert cleaned([task], before).stops == before.stops


def test_products_come_less_near() -> None:
    guards = GuardSet(spacing_hz=300_000, guard_2a_b_hz=100_000)
    task = with_choice(stop_task(), choice(WHOLE, guards))
    before = route({"x": CENTRE, "y": CENTRE + 400_000, "s": CENTRE + 900_000})
    after = cleaned([task], before)

    def least(plan: RoutePlan) -> int:
        rows = nearest_products(placed(task, plan.stops[0].carriers))
        return min(abs(row.offset_hz) for row in rows if row is not None)

    assert least(before) == 100_000
    assert least(after) >= 200_000


def test_nothing_moves_at_a_glance_nor_what_an_earlier_plan_set() -> None:
    task = stop_task(rises=rises((500, 504, 5.0), (504, 510, 0.3)))
    before = route({"x": 501 * MHZ, "y": 502 * MHZ})
    assert cleaned([task], before, effort="glance").stops == before.stops
    kept = dataclasses.replace(task, keep={("a", "x"): Use(range_key="r", frequency_hz=501 * MHZ)})
    found = frequencies(cleaned([kept], before))
    assert found["x"] == 501 * MHZ
    assert found["y"] > 504 * MHZ
    assert cleaned([dataclasses.replace(task, settled=True)], before).stops == before.stops


def test_a_carrier_of_several_stops_moves_at_all_of_them_or_not_at_all() -> None:
    noisy = rises((500, 504, 5.0), (504, 510, 0.3))
    one, two = stop_task("one", rises=noisy), stop_task("two", rises=noisy)
    before = route({"x": 501 * MHZ}, {"x": 501 * MHZ})
    after = cleaned([one, two], before)
    assert frequencies(after, 0) == frequencies(after, 1)
    assert frequencies(after)["x"] > 504 * MHZ
    # the second stop has no quiet window: what would be free at the first alone is no use
    narrow = with_choice(two, choice(((500 * MHZ, 502 * MHZ),)))
    held = cleaned([one, narrow], before)
    assert frequencies(held, 0) == frequencies(held, 1)
    assert frequencies(held)["x"] <= 502 * MHZ


def test_legs_hold_the_new_carriers() -> None:
    task = stop_task("0", rises=rises((500, 504, 5.0), (504, 510, 0.3)))
    before = route({"x": 501 * MHZ})
    leg = Leg(stop_ids=("0",), carriers=before.stops[0].carriers)
    after = cleaned([task], dataclasses.replace(before, legs=(leg,)))
    assert after.legs[0].carriers == after.stops[0].carriers
    assert after.stops != before.stops


def test_power_and_performers_stay_as_they_are() -> None:
    noisy = rises((500, 504, 5.0), (504, 510, 0.3))
    task = with_choice(
        stop_task(rises=noisy),
        choice(WHOLE),
        powers={"r": ((499 * MHZ, 504 * MHZ, 50.0), (504 * MHZ, 511 * MHZ, 10.0))},
    )
    before = route({"x": 501 * MHZ})
    stop = before.stops[0]
    loud = {key: dataclasses.replace(use, power_mw=50.0) for key, use in stop.carriers.items()}
    before = dataclasses.replace(before, stops=(dataclasses.replace(stop, carriers=loud),))
    assert cleaned([task], before).stops == before.stops
    pair = NeedTask(
        name="b", choices=(choice(WHOLE),), lines=("x",), spares=(), pair_with="a",
        half_width_hz={"r": 100_000},
    )  # fmt: skip
    base = stop_task(rises=noisy, separation_hz=3 * MHZ)
    both = dataclasses.replace(base, needs=(*base.needs, pair))
    two = route({"x": 501 * MHZ})
    there = {**two.stops[0].carriers, ("b", "x"): Use(range_key="r", frequency_hz=505 * MHZ)}
    two = dataclasses.replace(two, stops=(dataclasses.replace(two.stops[0], carriers=there),))
    after = cleaned([both], two).stops[0].carriers
    assert abs(after["a", "x"].frequency_hz - after["b", "x"].frequency_hz) >= 3 * MHZ


def test_one_transmitter_still_reaches_all_its_carriers() -> None:
    noisy = rises((500, 504, 5.0), (504, 510, 0.3))
    quiet = rises((500, 510, 0.0))
    one = with_choice(stop_task("one", rises=noisy), choice(WHOLE), widths_hz={"r": 2 * MHZ})
    two = with_choice(
        stop_task("two", rises=quiet), choice(((500 * MHZ, 501 * MHZ),)), widths_hz={"r": 2 * MHZ}
    )
    after = cleaned([one, two], route({"x": 502 * MHZ}, {"x": 500_500_000}))
    hz = [frequencies(after, place)["x"] for place in (0, 1)]
    assert abs(hz[0] - hz[1]) <= 2 * MHZ


def test_spares_leave_the_channels_of_lines() -> None:
    channels = tuple((k * MHZ, (k + 2) * MHZ) for k in range(500, 510, 2))
    task = stop_task(channels_hz=channels)
    blind = Preference(window_edge=0.0, near_product=0.0)
    after = cleaned([task], route({"x": 501 * MHZ, "s": 501_500_000}), preference=blind)
    hz = frequencies(after)
    assert hz["x"] // (2 * MHZ) != hz["s"] // (2 * MHZ)
