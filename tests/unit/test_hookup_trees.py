"""Splitters behind each other: counts against an enumerator that shares no code with them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from planner.hookup.trees import CASCADE, WAY, build_tree, smallest_trees
from tests.unit.hookup_cases import EIGHT, FOUR_BY_TWO, TWO

if TYPE_CHECKING:
    from planner.hookup.trees import Tree
    from planner.records.hookup import Part

CATALOGUES = {
    "four by two": (FOUR_BY_TWO,),
    "two": (TWO,),
    "two and eight": (TWO, EIGHT),
    "all": (FOUR_BY_TWO, TWO, EIGHT),
}


def fewest_pieces(parts: tuple[Part, ...], receivers: int) -> int:
    """Grow trees piece by piece: every way to hang one more splitter on a free port.

    A state is what matters of a tree: free ways, and for each kind its free cascade ports. Pieces
    are counted over two branches.
    """
    start = (1, (0,) * len(parts))
    reached = {start: 0}
    wave = {start}
    best = 0 if receivers == 1 else math.inf
    while wave:
        following: dict[tuple[int, tuple[int, ...]], int] = {}
        for ways, cascades in wave:
            cost = reached[ways, cascades]
            for k, part in enumerate(parts):
                pieces = cost + math.ceil(2 / part.branches)
                if pieces >= best:
                    continue
                for port in (WAY, CASCADE):
                    after = list(cascades)
                    if port == CASCADE and not after[k]:
                        continue
                    if port == WAY and not ways:
                        continue
                    after[k] += part.cascade_ports - (port == CASCADE)
                    state = (
                        min(receivers, ways - (port == WAY) + part.ways),
                        tuple(min(value, receivers) for value in after),
                    )
                    if state[0] >= receivers:
                        best = min(best, pieces)
                    if pieces < reached.get(state, math.inf):
                        following[state] = min(pieces, following.get(state, pieces))
        reached |= following
        wave = set(following)
    return int(best)


def check(tree: Tree, receivers: int) -> None:
    """Every receiver has a port of its own, and no port is used twice or left open."""
    used: dict[int, int] = {}
    for node in tree.receivers:
        used[node] = used.get(node, 0) + 1
    ports = 0
    for index, node in enumerate(tree.nodes):
        on_ways = sum(n.fed_by == index and n.port == WAY for n in tree.nodes)
        on_cascade = sum(n.fed_by == index and n.port == CASCADE for n in tree.nodes)
        assert used.get(index, 0) + on_ways <= node.part.ways
        assert on_cascade <= node.part.cascade_ports
        assert (node.fed_by == -1) == (index == 0)
        assert node.fed_by < index
        ports += node.part.ways + node.part.cascade_ports
    assert len(tree.receivers) == receivers
    if tree.nodes:
        assert tree.loads() == ports - receivers - (len(tree.nodes) - 1)
        assert tree.loads() >= 0
    for receiver in range(receivers):
        path = tree.path(receiver)
        assert [node for node, _ in path][:1] == ([0] if tree.nodes else [])
        if path:
            assert path[-1] == (tree.receivers[receiver], WAY)


@pytest.mark.parametrize("parts", CATALOGUES.values(), ids=CATALOGUES)
@pytest.mark.parametrize("receivers", [1, 2, 3, 5, 8, 9, 13, 16, 18, 40, 72])
def test_the_smallest_tree_is_as_small_as_any(parts: tuple[Part, ...], receivers: int) -> None:
    trees = smallest_trees(parts, receivers)
    for tree in trees:
        check(tree, receivers)
    assert trees[0].pieces() == fewest_pieces(parts, receivers)
    assert [tree.pieces() for tree in trees] == sorted(tree.pieces() for tree in trees)


@pytest.mark.parametrize(("receivers", "splitters"), [(4, 1), (8, 2), (16, 4), (40, 10), (72, 18)])
def test_eight_receivers_take_two_four_way_two_branch_splitters(
    receivers: int, splitters: int
) -> None:
    """Common practice, no source: eight behind one remote antenna pair take two of them."""
    tree = smallest_trees((FOUR_BY_TWO,), receivers)[0]
    assert tree.pieces() == splitters


def test_without_cascade_ports_a_tree_takes_one_more_for_each_that_is_fed() -> None:
    tree = build_tree([FOUR_BY_TWO] * 3, 8, cascade=False)
    assert tree is not None
    assert [node.port for node in tree.nodes] == ["", WAY, WAY]
    assert build_tree([FOUR_BY_TWO] * 2, 8, cascade=False) is None


def test_the_enumerator_knows_what_it_says() -> None:
    """Three small cases by hand: 2 dividers make 3 ports; an 8-way alone makes 8."""
    assert fewest_pieces((TWO,), 3) == 4  # two a branch
    assert fewest_pieces((EIGHT,), 8) == 2
    assert fewest_pieces((FOUR_BY_TWO,), 9) == 3
