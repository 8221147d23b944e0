"""The packing kernel: compiled and plain agree, taking undoes putting, closed is what is barred."""

from __future__ import annotations

import importlib.util
import random
from functools import cache
from typing import TYPE_CHECKING
from unittest import mock

import numpy as np
import pytest

from planner.coordination import (
    GuardSet,
    PlacedCarrier,
    pack_kernel,
    pack_search,
    pack_walk,
    walker,
)
from planner.coordination import compiled as compiling
from planner.coordination.pack_search import Ground, PackSearch, find_ground
from planner.coordination.search import scans
from planner.coordination.walker import Walker, least_spans
from tests.properties.coordination_oracle import Guards, is_valid

if TYPE_CHECKING:
    from types import ModuleType


@cache
def plain_twin(path: str) -> ModuleType:
    """Return a module a second time, nothing in it compiled."""
    spec = importlib.util.spec_from_file_location("plain_twin", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    with mock.patch.object(compiling, "compiled", lambda function: function):
        spec.loader.exec_module(module)
    return module


def kernel_twin() -> ModuleType:
    return plain_twin(str(pack_kernel.__file__))


def guard_set(row: Guards) -> GuardSet:
    return GuardSet(
        spacing_hz=row[0], guard_2a_b_hz=row[1], guard_a_b_c_hz=row[2], guard_3a_2b_hz=row[3]
    )


def random_ground(seed: int) -> Ground:
    """Return a ground of two windows; every second has fixed carriers, inside, outside, off it."""
    dice = random.Random(seed)  # noqa: S311 - test data
    row = (
        dice.randrange(12),
        dice.randrange(8),
        dice.randrange(8),
        dice.choice([0, dice.randrange(6)]),
    )
    guards, step = guard_set(row), dice.randrange(1, 4)
    points = np.union1d(np.arange(0, 300, step), np.arange(600 // step * step, 900, step))
    fixed = [
        PlacedCarrier(frequency_hz=dice.randrange(-50, 1000), guards=guards)
        for _ in range(dice.randrange(5) if seed % 2 else 0)
    ]
    ground = find_ground(points, step, guards, fixed)
    assert ground is not None
    return ground


def test_the_twin_is_plain_and_the_kernel_is_compiled() -> None:
    pytest.importorskip("numba", reason="without numba the kernel is its own twin")
    assert hasattr(pack_kernel.stir, "py_func")
    assert not hasattr(kernel_twin().stir, "py_func")


@pytest.mark.parametrize("seed", range(16))
def test_compiled_and_plain_lattices_are_identical_step_by_step(seed: int) -> None:
    ground = random_ground(seed)

    def searched() -> list[pack_kernel.Lattice]:
        search, seen = PackSearch(ground, seed=seed), []
        for scan in scans(4):
            search.begin()
            search.fill(scan)
        search.resume()
        for times in (1, 1, 1, 12):
            search.stir(times)
            seen.append(pack_kernel.Lattice(*(part.copy() for part in search._lattice)))
        return seen

    ours = searched()
    with mock.patch.object(pack_search, "pack_kernel", kernel_twin()):
        theirs = searched()
    for one, two in zip(ours, theirs, strict=True):
        for name in pack_kernel.Lattice._fields:
            assert np.array_equal(getattr(one, name), getattr(two, name)), name
    assert int(ours[-1].state[pack_kernel.STEPS]) > int(ours[0].state[pack_kernel.STEPS])


@pytest.mark.parametrize("seed", range(30))
def test_a_candidate_is_closed_exactly_when_it_harms_somebody(seed: int) -> None:
    """Of every guard set, whether differences are sifted or not, beside broken fixed carriers."""
    ground = random_ground(seed)
    search, dice = PackSearch(ground, seed=seed), random.Random(seed)  # noqa: S311 - test data
    for place in dice.sample(ground.candidates.tolist(), 4):
        search.put_all(np.array([place]))
    lattice = search._lattice
    units = tuple(int(value) for value in lattice.rules[:4])
    count = int(lattice.state[pack_kernel.COUNT])
    standing = [(int(at), units) for at in lattice.standing[:count, pack_kernel.AT]]
    assert count > len(ground.fixed)
    for place in ground.candidates[:: max(1, ground.candidates.size // 60)].tolist():
        word = place // pack_kernel.BITS
        bit = 1 << place % pack_kernel.BITS
        free = pack_kernel.sift_word(lattice, word, int(lattice.allowed[word]) & bit) != 0
        assert free == is_valid([(place, units)], standing, []), place


@pytest.mark.parametrize("seed", range(12))
def test_a_stirred_lattice_is_what_its_carriers_alone_would_make(seed: int) -> None:
    ground = random_ground(seed)
    search = PackSearch(ground, seed=seed)
    search.fill(scans(1)[0])
    search.stir(20)
    lattice = search._lattice
    count = int(lattice.state[pack_kernel.COUNT])
    again = PackSearch(ground)
    for place in lattice.standing[len(ground.fixed) : count, pack_kernel.AT].tolist():
        pack_kernel.put(again._lattice, place)
    for name in pack_kernel.CHANGING:
        assert np.array_equal(getattr(lattice, name), getattr(again._lattice, name)), name


def test_places_of_bits_are_found() -> None:
    for k in range(pack_kernel.BITS):
        assert pack_kernel.lowest_bit(1 << k | 1 << 61) == k
        assert pack_kernel.highest_bit(1 << k | 1) == k


def test_grounds_are_refused_where_the_kernel_does_not_serve() -> None:
    points, guards = np.arange(0, 100, 5), guard_set((10, 5, 5, 0))
    other = PlacedCarrier(frequency_hz=50, guards=guard_set((20, 5, 5, 0)))
    victim = PlacedCarrier(frequency_hz=50, guards=guards, source=False)
    far = PlacedCarrier(frequency_hz=5_000_001, guards=guards)
    for fixed in (other, victim, far):
        assert find_ground(points, 5, guards, [fixed]) is None
    assert find_ground(points[:0], 5, guards) is None
    finer = find_ground(points, 5, guards, [PlacedCarrier(frequency_hz=52, guards=guards)])
    assert finer is not None
    assert (finer.unit_hz, finer.fixed) == (1, (52,))


def test_walks_find_and_prove_like_trying_all() -> None:
    """A guard of two units, spacing three, and a gap: compared with every subset."""
    guards = guard_set((3, 2, 2, 0))
    points = np.array([*range(12), *range(17, 26)])
    ground = find_ground(points, 1, guards)
    assert ground is not None
    assert Walker.serves(ground)
    units = (3, 2, 2, 0)
    most = 0

    def grow(chosen: list[tuple[int, Guards]], rest: list[int]) -> None:
        nonlocal most
        most = max(most, len(chosen))
        for k, place in enumerate(rest):
            longer = [*chosen, (place, units)]
            if is_valid(longer):
                grow(longer, rest[k + 1 :])

    grow([], points.tolist())
    walk = Walker(ground)
    walk.look_for(most)
    found = walk.go(100_000)
    assert found is not None
    assert is_valid([(int(place), units) for place in found])
    walk.look_for(most + 1)
    assert walk.go(100_000) is None
    assert walk.exhausted


def test_walks_are_the_same_compiled_and_plain() -> None:
    ground = find_ground(np.arange(35), 1, guard_set((1, 1, 1, 0)))
    assert ground is not None

    def walked() -> tuple[list[int], int]:
        least_spans.cache_clear()
        walk = Walker(ground)
        walk.look_for(8)
        found = walk.go(1000)
        return [] if found is None else found.tolist(), walk.steps

    with mock.patch.object(walker, "_NODES_FOR_SPANS", 20_000):
        ours = walked()
        with mock.patch.object(walker, "pack_walk", plain_twin(str(pack_walk.__file__))):
            assert walked() == ours
    least_spans.cache_clear()
    assert len(ours[0]) == 8


def test_least_spans_are_those_of_the_shortest_rulers() -> None:
    # OEIS A003022: lengths of the shortest Golomb rulers with 2, 3, ... marks
    spans, nodes = least_spans(1, 1)
    assert spans[:9] == (0, 1, 3, 6, 11, 17, 25, 34, 44)
    assert nodes > 0
