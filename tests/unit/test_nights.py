"""The stops of a rig as boards: filling, exchanging, and that all of it can be undone."""

from __future__ import annotations

import dataclasses
import importlib.util
import itertools
from functools import cache
from typing import TYPE_CHECKING, Any
from unittest import mock

import numpy as np
import pytest

from planner.coordination import (
    TOGETHER,
    Choice,
    Company,
    Grid,
    Group,
    GuardSet,
    PlacedCarrier,
    compiled,
    kernel,
    night_kernel,
    nights,
    require_sound,
)
from planner.coordination.night_search import NightSearch
from planner.coordination.nights import RigNights
from planner.coordination.stop_sets import is_fuller
from planner.coordination.tasks import NeedTask, StopTask

if TYPE_CHECKING:
    from types import ModuleType

GUARDS = GuardSet(spacing_hz=350_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=50_000)
EARS = GuardSet(spacing_hz=500_000, guard_2a_b_hz=150_000, guard_a_b_c_hz=100_000)
NO_GRID = Grid(origin_hz=0, step_hz=25_000, windows_hz=())
MHZ = 1_000_000
STATE = kernel.CHANGING.index("state")
TASKS_MHZ = (((470, 476), (494, 500)), ((472, 478), (496, 500)), ((470, 474), (480, 486)))


def task(name: str, *spans: tuple[float, float], company: Company = TOGETHER) -> StopTask:
    grid = Grid(
        origin_hz=0,
        step_hz=25_000,
        windows_hz=tuple((round(low * MHZ), round(high * MHZ)) for low, high in spans),
    )
    needs = tuple(
        NeedTask(
            name=need,
            choices=(Choice(range_key=need, guards=guards, grid=grid, spare_grid=NO_GRID),),
            lines=tuple(f"{need} {k}" for k in range(lines)),
            spares=(f"{need} spare",),
            group=group,
        )
        for need, guards, lines, group in (
            ("mics", GUARDS, 6, 0),
            ("ears", EARS, 3, len(company.groups) - 1),
        )
    )
    return StopTask(stop_id=name, rig="A", needs=needs, company=company)


def route(company: Company = TOGETHER) -> RigNights:
    return RigNights([task(f"s{k}", *spans, company=company) for k, spans in enumerate(TASKS_MHZ)])


def check(rig: RigNights) -> None:
    """Verify what stands by the verifier, and flags against boards."""
    for stop, asked in enumerate(rig.tasks):
        guards = {"mics": GUARDS, "ears": EARS}
        groups = {need.name: need.group for need in asked.needs}
        placed = [
            PlacedCarrier(frequency_hz=hz, guards=guards[name], group=groups[name])
            for name, rows in rig.sets(stop).items()
            for _, hz, _ in rows
        ]
        require_sound(placed, company=asked.company)
        assert len(placed) == int(rig.boards[stop].state[0])
        assert sum(rig.lack(stop)) == len(asked.names) - len(placed)


def state(rig: RigNights) -> list[list[Any]]:
    return [[part.tolist() for part in rig.remember(stop)] for stop in range(len(rig.tasks))]


def test_the_first_carrier_of_a_filled_route_serves_every_stop_that_it_can() -> None:
    rig = route()
    rig.fill(range(3), rig.orders()[0])
    check(rig)
    everywhere = {
        hz for _, hz, _ in set.intersection(*(rig.sets(stop)["mics"] for stop in range(3)))
    }
    # 472 to 474 MHz is open at all three
    assert everywhere
    assert all(472 * MHZ <= hz <= 474 * MHZ for hz in everywhere)


@pytest.mark.parametrize(
    "company",
    [TOGETHER, Company(groups=(Group(hours=1), Group(hours=3)))],
    ids=["together", "in turns"],
)
def test_search_keeps_every_stop_sound_and_gives_up_nothing_once_held(company: Company) -> None:
    rig = route(company)
    order = rig.orders()[0]
    rig.fill(range(3), order)
    search = NightSearch(rig, order)
    search.run(8, 20, (32, 8))
    check(rig)
    lacks = [rig.lack(stop) for stop in range(3)]
    search.hold()
    before = state(rig)
    search.run(8, 20, (400, 0))
    check(rig)
    assert state(rig) != before
    # at such a heat sets are given up on the way, but not in the end
    assert all(not is_fuller(lack, rig.lack(stop)) for stop, lack in enumerate(lacks))


def test_without_heat_no_sweep_makes_a_route_dearer() -> None:
    rig = route()
    order = rig.orders()[0]
    rig.fill(range(3), order)
    search = NightSearch(rig, order)

    def price() -> int:
        fines = sum(60 * lines + 50 * spares for lines, spares in map(rig.lack, range(3)))
        return fines + sum(
            course.weight * rig.moves(stop, number)
            for stop in range(3)
            for number, course in enumerate(rig.courses)
        )

    prices = [price()]
    for _ in range(12):
        search.run(1, 20, (0, 0))
        prices.append(price())
    assert prices == sorted(prices, reverse=True)
    assert prices[-1] < prices[0]


def test_melting_a_short_stop_fills_it_or_leaves_it_as_it_was() -> None:
    rig = RigNights([task("tight", (470, 472.5), (494, 496.5))])
    order = rig.orders()[0]
    rig.fill(range(1), order)
    search, before, lack = NightSearch(rig, order), state(rig), rig.lack(0)
    assert sum(lack) > 0
    found = search.melt(0, 800, (64, 4))
    check(rig)
    assert found == is_fuller(rig.lack(0), lack)
    if not found:
        steps = before[0][STATE][1]
        assert int(rig.boards[0].state[1]) > steps
        rig.boards[0].state[1] = steps
        assert state(rig) == before


def test_a_stop_is_brought_back_as_it_stood() -> None:
    rig = route()
    rig.fill(range(3), (0, 1))
    before, kept = state(rig), rig.remember(1)
    rig.anneal(1, (0, 1), (60, 50), 30, 400)
    assert state(rig) != before
    check(rig)
    steps = int(rig.boards[1].state[1])
    rig.restore(1, kept)
    assert int(rig.boards[1].state[1]) == steps
    rig.boards[1].state[1] = kept[STATE][1]
    assert state(rig) == before


def test_thresholds_are_spread_as_an_exponential_distribution() -> None:
    dice = np.array([0, 0, 12345, 0], dtype=np.int64)
    assert night_kernel.threshold(dice, 0) == 0
    drawn = np.array([night_kernel.threshold(dice, 1600) for _ in range(20_000)]) / 1600
    # mean 1 and 1 / e above it: within 5 % for ln 2 as 11 / 16 and the even part between powers
    assert drawn.mean() == pytest.approx(1.0, rel=0.05)
    assert (drawn > 1).mean() == pytest.approx(np.exp(-1), rel=0.05)
    assert (drawn > 3).mean() == pytest.approx(np.exp(-3), rel=0.2)


def test_a_kept_carrier_is_never_taken_away() -> None:
    rig = route()
    kept = {"mics": {("mics", 473 * MHZ, True)}, "ears": {("ears", 497 * MHZ, True)}}
    rig.place(1, kept, kept=True)
    order = rig.orders()[0]
    rig.fill(range(3), order)
    NightSearch(rig, order).run(6, 20, (64, 0))
    rig.anneal(1, order, (60, 50), 100, 400)
    check(rig)
    assert kept["mics"] <= rig.sets(1)["mics"]
    assert kept["ears"] <= rig.sets(1)["ears"]


def test_a_shut_stop_stays_as_it_is() -> None:
    rig = route()
    rig.place(0, {"mics": {("mics", 471 * MHZ, True)}})
    rig.shut.add(0)
    rig.fill(range(3), (0, 1))
    NightSearch(rig, (0, 1)).run(6, 20, (64, 0))
    rig.anneal(0, (0, 1), (60, 50), 40, 400)
    assert rig.sets(0) == {"mics": {("mics", 471 * MHZ, True)}, "ears": set()}


@cache
def plain_twin() -> ModuleType:
    """Return the compiled parts a second time, nothing of their own compiled."""
    spec = importlib.util.spec_from_file_location("plain_nights", night_kernel.__file__)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    with mock.patch.object(compiled, "compiled", lambda function: function):
        spec.loader.exec_module(module)
    return module


def test_compiled_and_plain_search_change_a_route_alike() -> None:
    def searched() -> list[list[Any]]:
        rig = route()
        rig.fill(range(3), (0, 1))
        NightSearch(rig, (0, 1)).run(2, 6, (64, 16))
        return state(rig)

    fast = searched()
    parts = ("anneal_at", "best_run", "moves", "put_at", "refresh")
    with mock.patch.multiple(nights, **{name: getattr(plain_twin(), name) for name in parts}):
        slow = searched()
    assert fast == slow


def test_runs_that_join_come_before_longer_ones() -> None:
    free = np.zeros((4, 3), dtype=np.int8)
    held = np.zeros_like(free)
    chain = np.array([-1, 0, 1, 2, 3, -1])
    free[1, 0] = 1
    held[0, 0] = held[2, 0] = 1
    free[:, 1] = 1
    assert night_kernel.best_run(free, held, chain, 99) == (0, 2, 2)
    held[2, 0] = 0
    assert night_kernel.best_run(free, held, chain, 99)[0] == 0
    held[0, 0] = 0
    assert night_kernel.best_run(free, held, chain, 99) == (1, 1, 4)
    # runs of one stop and more alike: the lower one
    assert night_kernel.best_run(free, held, chain, 1) == (0, 2, 2)


@pytest.mark.parametrize("turn", [1, 5])
def test_batches_hold_every_stop_once_and_no_two_neighbours(turn: int) -> None:
    """Every third stop has no ears, so that their neighbours are further apart."""
    tasks = [task(f"s{n}", (470, 476)) for n in range(12)]
    for n in range(2, 12, 3):
        tasks[n] = dataclasses.replace(tasks[n], needs=tasks[n].needs[:1])
    found = RigNights(tasks).batches([n * turn % 12 for n in range(12)])
    assert sorted(stop for batch in found for stop in batch) == list(range(12))
    heard = [n for n in range(12) if n % 3 != 2]
    for chain in (list(range(12)), heard):
        for one, two in itertools.pairwise(chain):
            assert not any(one in batch and two in batch for batch in found)
    assert len(found) < 5
