"""Wideband blocks: how many a need takes, who is in which, how far others keep off, products.

A block is one emission of several MHz that carries many links. Inside coordination it is one
carrier, at the middle of the block, of a need whose names are its blocks. It keeps all others out
of its span (:func:`edge_distance_hz`), and it is a victim by its row's guards, counted from its
edges. It is **no source** of products. Products of a block and a carrier fill spans of six MHz and
more: 2A-B with the block as A lies in a span twice as wide as the block, with the block as B in
one as wide. The power of such a product is spread over that span, so that a receiver of 200 kHz
gets a part of it only, 15 dB less for 6 MHz and 18 dB less for 12 MHz. Were these spans closed, a
block of 6 MHz and forty carriers would close the band. So they are computed and told
(:func:`block_products`), not kept out.
"""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from planner.coordination.records import GuardSet

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.records import GearRange, Need

SECOND_BLOCK, FALLBACK, ACCEPT = "second-block", "fallback", "accept"
"""What a tour says of the loss of a block (``block_loss`` of a need)."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class WantedBlock:
    """One block that a need asks for.

    Attributes
    ----------
    name : str
        Name of the block.
    holds : tuple of str
        Names of the lines, or of the spares, in it; of a second block that no spare is asked
        in, its own name.
    spare : bool
        Whether it is there for the loss of another.
    """

    name: str
    holds: tuple[str, ...]
    spare: bool


def wanted_blocks(need: Need, links_per_block: int) -> tuple[WantedBlock, ...]:
    """Return the blocks that a need asks for: those of its lines, then spare ones.

    Parameters
    ----------
    need : Need
        The need. With spares, or with ``block_loss = "second-block"``, there is a block that is
        on beside all others and can carry the links of any one of them.
    links_per_block : int
        Links that one block carries, 1 or more.

    Notes
    -----
    Lines are dealt in their order, a block as full as it can be before the next begins.
    """
    spares = tuple(f"{need.name} spare {number + 1}" for number in range(need.spares))
    found = [
        WantedBlock(name=f"{need.name} block {number}", holds=names, spare=False)
        for number, names in enumerate(_dealt(need.lines, links_per_block), start=1)
    ]
    extra = _dealt(spares, links_per_block)
    if not extra and need.block_loss == SECOND_BLOCK:
        extra = [(f"{need.name} spare block 1",)]
    found += [
        WantedBlock(name=f"{need.name} spare block {number}", holds=names, spare=True)
        for number, names in enumerate(extra, start=1)
    ]
    return tuple(found)


def _dealt(names: Sequence[str], size: int) -> list[tuple[str, ...]]:
    return [tuple(names[first : first + size]) for first in range(0, len(names), size)]


def links_headroom(need: Need, links_per_block: int, blocks: int) -> int:
    """Return the headroom of a need in links, when so many blocks were found for it.

    Parameters
    ----------
    need, links_per_block : Need, int
        As for :func:`wanted_blocks`.
    blocks : int
        Blocks found, lines' and spare ones.

    Returns
    -------
    int
        Links of all blocks less lines and spares, where no block is missing; else the names in
        the missing blocks as a negative number, the spare blocks going first.
    """
    wanted = wanted_blocks(need, links_per_block)
    if blocks >= len(wanted):
        return blocks * links_per_block - need.count - need.spares
    return -sum(len(block.holds) for block in wanted[max(0, blocks) :])


def blocks_headroom(need: Need, gear: GearRange, *, clear: int, faint: int) -> int:
    """Return the headroom of a need in links, for blocks of one row counted alone.

    Parameters
    ----------
    need, gear : Need, GearRange
        The need, and the row of the blocks.
    clear, faint : int
        Blocks in windows that lines may use, and in those for spares only.
    """
    spares = sum(block.spare for block in wanted_blocks(need, gear.links_per_block))
    blocks = clear + min(spares, faint)
    if gear.available is not None:
        blocks = min(blocks, gear.available + spares)
    return links_headroom(need, gear.links_per_block, blocks)


def counting_guards(gear: GearRange) -> GuardSet:
    """Return the guards with which the blocks of one row are counted alone: only distance."""
    return GuardSet(spacing_hz=max(gear.spacing_hz, gear.bandwidth_hz))


def block_guards(gear: GearRange) -> GuardSet:
    """Return the guards of a block beside others; its distances are in the stop's company.

    The row's guards are counted from the edges of the block, as its links lie anywhere in it; 0
    protects it from nothing.
    """
    half_hz = (gear.bandwidth_hz + 1) // 2

    def from_edge(guard_hz: int) -> int:
        return half_hz + guard_hz if guard_hz else 0

    return GuardSet(
        spacing_hz=half_hz,
        guard_2a_b_hz=from_edge(gear.guard_2a_b_hz),
        guard_a_b_c_hz=from_edge(gear.guard_a_b_c_hz),
        guard_3a_2b_hz=from_edge(gear.guard_3a_2b_hz),
    )


def edge_distance_hz(gear: GearRange) -> int:
    """Return how far the centre of a row's carriers stays from the edge of a block [Hz].

    The block counts as if the outermost of its energy were a carrier of that row just inside its
    edge, to which the row's spacing holds; never less than half the occupied bandwidth.
    """
    half_hz = (gear.bandwidth_hz + 1) // 2
    return max(half_hz, gear.spacing_hz - gear.bandwidth_hz // 2)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class BlockKind:
    """What tells the blocks of two rows apart in a company.

    Attributes
    ----------
    half_hz, gap_hz : int
        Half the width, and what is kept free beyond the edges [Hz]: what the row's spacing
        exceeds its bandwidth by.
    """

    half_hz: int
    gap_hz: int

    @classmethod
    def of(cls, gear: GearRange) -> BlockKind:
        """Return the kind of a row's blocks."""
        half_hz = (gear.bandwidth_hz + 1) // 2
        return cls(half_hz=half_hz, gap_hz=max(0, gear.spacing_hz - gear.bandwidth_hz))

    def from_block_hz(self, other: BlockKind) -> int:
        """Return the least distance of two blocks' middles [Hz]."""
        return self.half_hz + other.half_hz + max(self.gap_hz, other.gap_hz)

    def from_carrier_hz(self, *, edge_hz: int, half_hz: int) -> int:
        """Return the least distance from the middle to a carrier [Hz].

        ``edge_hz`` is what the carrier keeps from an edge, ``half_hz`` half its own bandwidth.
        """
        return self.half_hz + max(edge_hz, half_hz + self.gap_hz)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class BlockProduct:
    """A third-order product of a block and a carrier that reaches a protected carrier.

    Attributes
    ----------
    kind : str
        ``"2C-block"`` or ``"2block-C"``, C the carrier.
    block_hz, source_hz, victim_hz : int
        Middle of the block, the carrier, the carrier it falls on [Hz].
    low_hz, high_hz : int
        Span of the product [Hz].
    spread_db : float
        By how much its power in the victim's bandwidth is less than that of a product that
        falls into it whole [dB].
    """

    kind: str
    block_hz: int
    source_hz: int
    victim_hz: int
    low_hz: int
    high_hz: int
    spread_db: float


def block_products(
    blocks: Sequence[tuple[int, int]],
    carriers: Sequence[tuple[int, int, int]],
) -> Iterator[BlockProduct]:
    """Yield the third-order products of blocks and carriers that reach a protected carrier.

    Parameters
    ----------
    blocks : sequence of (int, int)
        Low and high edge of each block [Hz].
    carriers : sequence of (int, int, int)
        Frequency, guard 2A-B and bandwidth of each carrier [Hz]; a guard of 0 is not protected.

    Notes
    -----
    For a block from a to b and a carrier c the product 2c - block fills 2c - b to 2c - a, and
    2 block - c fills 2a - c to 2b - c, twice as wide: the spectrum of a product of noise-like
    signals is the convolution of theirs, taken as even here. A carrier is reached when its guard
    ends inside; equality is allowed.
    """
    for low, high in blocks:
        for source, _, _ in carriers:
            for kind, first, last in (
                ("2C-block", 2 * source - high, 2 * source - low),
                ("2block-C", 2 * low - source, 2 * high - source),
            ):
                for victim, guard, bandwidth in carriers:
                    if victim == source or guard <= 0:
                        continue
                    if first - guard < victim < last + guard:
                        yield BlockProduct(
                            kind=kind,
                            block_hz=(low + high) // 2,
                            source_hz=source,
                            victim_hz=victim,
                            low_hz=first,
                            high_hz=last,
                            spread_db=10 * math.log10(max(1.0, (last - first) / bandwidth)),
                        )
