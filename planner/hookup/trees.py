"""How splitters stand behind each other so that every receiver has a port."""

from __future__ import annotations

import dataclasses
import math
from collections import deque
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.records.hookup import Part

WAY, CASCADE = "way", "cascade"


def ideal_split_loss_db(ways: int) -> float:
    """Return the loss of a splitter without losses of its own, 10 log10(ways) [dB].

    Parameters
    ----------
    ways : int
        1 or more.
    """
    return 10 * math.log10(ways)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Node:
    """One splitter of a branch.

    Attributes
    ----------
    part : Part
        What it is.
    fed_by : int
        Index of the splitter before it; -1 for the first.
    port : str
        The kind of port it hangs on: ``"way"`` or ``"cascade"``; empty for the first.
    """

    part: Part
    fed_by: int = -1
    port: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Tree:
    """Splitters of one branch and the ports that receivers take.

    Attributes
    ----------
    nodes : tuple of Node
        Each after the one that feeds it; none: the receiver hangs on the cable itself.
    receivers : tuple of int
        For each receiver port wanted, the node whose way it takes; -1 without splitters.
    """

    nodes: tuple[Node, ...]
    receivers: tuple[int, ...]

    def path(self, receiver: int) -> tuple[tuple[int, str], ...]:
        """Return the nodes from the cable to a receiver, each with the port it is left by."""
        steps: list[tuple[int, str]] = []
        node, port = self.receivers[receiver], WAY
        while node >= 0:
            steps.append((node, port))
            node, port = self.nodes[node].fed_by, self.nodes[node].port
        return tuple(reversed(steps))

    def loads(self) -> int:
        """Return how many ports of one branch are left over and take a load."""
        ports = sum(node.part.ways + node.part.cascade_ports for node in self.nodes)
        fed = max(0, len(self.nodes) - 1)
        taken = sum(1 for node in self.receivers if node >= 0)
        return ports - fed - taken

    def pieces(self, branches: int = 2) -> int:
        """Return how many pieces of hardware serve that many branches."""
        return sum(math.ceil(branches / node.part.branches) for node in self.nodes)

    def rack_units(self, branches: int = 2) -> float:
        """Return their height in a rack."""
        return sum(
            math.ceil(branches / node.part.branches) * node.part.rack_units for node in self.nodes
        )


def build_tree(parts: Sequence[Part], ports: int, *, cascade: bool) -> Tree | None:
    """Return the tree of some splitters, put up in the order given, or None if ports are short.

    Parameters
    ----------
    parts : sequence of Part
        The first is fed by the cable.
    ports : int
        Receiver ports wanted, 1 or more.
    cascade : bool
        Whether a splitter hangs on the cascade port of another of its kind where one is free;
        else on the free way nearest to the cable.

    Notes
    -----
    Receivers take the ways nearest to the cable first, so that losses stay even.
    """
    if not parts:
        return Tree(nodes=(), receivers=(-1,)) if ports == 1 else None
    nodes = [Node(part=parts[0])]
    ways: deque[int] = deque([0] * parts[0].ways)
    tails: dict[str, list[int]] = {parts[0].name: [0] * parts[0].cascade_ports}
    for part in parts[1:]:
        free = tails.setdefault(part.name, [])
        if cascade and free:
            nodes.append(Node(part=part, fed_by=free.pop(0), port=CASCADE))
        elif ways:
            nodes.append(Node(part=part, fed_by=ways.popleft(), port=WAY))
        else:
            return None
        ways.extend([len(nodes) - 1] * part.ways)
        free.extend([len(nodes) - 1] * part.cascade_ports)
    if len(ways) < ports:
        return None
    return Tree(nodes=tuple(nodes), receivers=tuple(ways[k] for k in range(ports)))


def ports_of(counts: Sequence[tuple[Part, int]], *, cascade: bool) -> int:
    """Return how many receiver ports some splitters give in the best order.

    Parameters
    ----------
    counts : sequence of (Part, int)
        Kinds and how many of each.
    cascade : bool
        Whether cascade ports are used.

    Notes
    -----
    Every splitter but the first takes a port: a way, or the cascade port of another of its kind,
    of which each but the last of its kind has one to give.
    """
    total = sum(count for _, count in counts)
    if not total:
        return 1
    ways = sum(part.ways * count for part, count in counts)
    spared = 0
    if cascade:
        spared = sum(count - 1 for part, count in counts if part.cascade_ports and count > 1)
    return ways - (total - 1) + spared


def smallest_trees(parts: Sequence[Part], ports: int) -> list[Tree]:
    """Return trees that give enough ports, the smallest first.

    Parameters
    ----------
    parts : sequence of Part
        Splitters that may be used.
    ports : int
        Receiver ports wanted a branch, 1 or more.

    Returns
    -------
    list of Tree
        For one kind alone and for every count of a first kind before a second, the fewest of the
        latter that suffice, by cascade ports and without; ordered by pieces, rack units and place
        in the catalogue. The first has the fewest pieces of all trees of these parts: pieces and
        ports are both sums over the splitters, so a mixture of three kinds never beats the best
        of two.
    """
    found: dict[tuple[tuple[str, int, str], ...], Tree] = {}
    if ports == 1:
        found[()] = Tree(nodes=(), receivers=(-1,))
    for row in _rows(parts, ports):
        for cascade in (True, False):
            tree = build_tree(row, ports, cascade=cascade)
            if tree is not None:
                shape = tuple((n.part.name, n.fed_by, n.port) for n in tree.nodes)
                found.setdefault(shape, tree)
    return sorted(found.values(), key=_size)


def _rows(parts: Sequence[Part], ports: int) -> Iterator[list[Part]]:
    """Yield splitters in the order in which they are put up."""
    most = ports + 1
    for first in parts:
        for cascade in (True, False):
            alone = _fewest([], first, ports, cascade=cascade, most=most)
            if alone:
                yield [first] * alone
        for second in parts:
            if second.name == first.name:
                continue
            for ahead in range(1, most):
                counts = [(first, ahead)]
                if ports_of(counts, cascade=True) >= ports:
                    break
                for cascade in (True, False):
                    behind = _fewest(counts, second, ports, cascade=cascade, most=most)
                    if behind:
                        yield [first] * ahead + [second] * behind


def _fewest(
    ahead: Sequence[tuple[Part, int]], part: Part, ports: int, *, cascade: bool, most: int
) -> int:
    """Return the fewest of a kind that give the ports behind others, 0 when none do."""
    for count in range(1, most):
        if ports_of([*ahead, (part, count)], cascade=cascade) >= ports:
            return count
        if part.ways == 1:
            return 0
    return 0


def _size(tree: Tree) -> tuple[float, ...]:
    order = [node.part.order for node in tree.nodes]
    cascades = sum(node.port == CASCADE for node in tree.nodes)
    return (tree.pieces(), tree.rack_units(), -cascades, *order)
