"""Which parts may stand in a branch, and every arrangement of them, the smallest first."""

from __future__ import annotations

import dataclasses
import itertools
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.hookup.chains import joint_loss_db
from planner.hookup.records import Arrangement
from planner.hookup.trees import smallest_trees
from planner.records.hookup import (
    AMPLIFIER,
    ANTENNA,
    ATTENUATOR,
    CABLE,
    COMBINER,
    FIBRE,
    FILTER,
    GIVES_POWER,
    INSERTER,
    NEEDS_POWER,
    PASSES_POWER,
    SPLITTER,
)
from planner.units import shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from planner.hookup.records import ReceiverGroup
    from planner.hookup.trees import Tree
    from planner.records.hookup import HookupSpec, Part, RackSpec

TREES = 16
"""Splitter trees of two kinds looked at, from the smallest; those of one kind all are."""
COMMAND_LINE = "hook-up"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Shelf:
    """The parts that may stand in the branches of one group.

    Attributes
    ----------
    antennas, splitters, amplifiers, filters, attenuators, inserters, joiners, leads : tuple of Part
        In the catalogue's order.
    cable : Part
        The run from the antennas.
    """

    antennas: tuple[Part, ...]
    cable: Part
    splitters: tuple[Part, ...]
    amplifiers: tuple[Part, ...]
    filters: tuple[Part, ...]
    attenuators: tuple[Part, ...]
    inserters: tuple[Part, ...]
    joiners: tuple[Part, ...]
    leads: tuple[Part, ...]


def shelf(parts: Sequence[Part], group: ReceiverGroup, rack: RackSpec, spec: HookupSpec) -> Shelf:
    """Return the parts that fit a group of a rack.

    Raises
    ------
    InputFaults
        With one line for each thing that is missing.
    """
    low, high = group.low_hz, group.high_hz
    usable = [part for part in parts if part.name not in spec.avoid]
    fitting = [part for part in usable if part.covers(low, high)]
    faults: list[Fault] = []

    def fit(*kinds: str, powered: bool | None = None) -> tuple[Part, ...]:
        return tuple(
            part
            for part in fitting
            if part.kind in kinds and (powered is None or part.active == powered)
        )

    antenna = rack.antenna or spec.antenna
    antennas = fit(ANTENNA)
    if antenna:
        antennas = _named(parts, antenna, (ANTENNA,), group, spec, faults)
    elif not antennas:
        faults.append(_nothing(ANTENNA, usable, group, spec))
    cables = _named(parts, rack.cable or spec.cable, (CABLE, FIBRE), group, spec, faults)
    wanted = {"any": None, "powered": True, "passive": False}[spec.distribution]
    splitters = fit(SPLITTER, powered=wanted)
    if group.inputs > 1 and not splitters:
        faults.append(_nothing(SPLITTER, usable, group, spec))
    joiners = tuple(
        part
        for part in fit(SPLITTER, COMBINER, powered=False)
        if part.ways >= len(rack.zones) > 1 and part.branches == 1
    )
    if len(rack.zones) > 1 and not joiners:
        faults.append(
            Fault(
                file=spec.parts_file,
                where=rack.name,
                value=f"no passive splitter or combiner of {len(rack.zones)} ways or more for "
                f"{_span(group)}",
                allowed="one, to join the antennas of the zones on one branch",
                advice="add it to the parts",
            )
        )
    if faults:
        raise InputFaults(faults)
    return Shelf(
        antennas=antennas,
        cable=cables[0],
        splitters=splitters,
        amplifiers=() if spec.distribution == "passive" else fit(AMPLIFIER),
        filters=fit(FILTER),
        attenuators=fit(ATTENUATOR),
        inserters=fit(INSERTER),
        joiners=joiners,
        leads=fit(CABLE),
    )


def _named(
    parts: Sequence[Part],
    name: str,
    kinds: tuple[str, ...],
    group: ReceiverGroup,
    spec: HookupSpec,
    faults: list[Fault],
) -> tuple[Part, ...]:
    """Return the part of a name, or a fault when it is missing or does not cover the range."""
    words = " or ".join(kinds)
    of_kind = [part for part in parts if part.kind in kinds]
    found = next((part for part in of_kind if part.name == name), None)
    if found is None:
        faults.append(
            Fault(
                file=spec.parts_file,
                where=words,
                value=f'"{name}"' if name else f"no {words} named",
                allowed=", ".join(part.name for part in of_kind) or f"a part of kind {words}",
                advice=f"name a {words} of the parts",
            )
        )
        return ()
    if not found.covers(group.low_hz, group.high_hz):
        faults.append(
            Fault(
                file=spec.parts_file,
                where=f"{words} {name}",
                value=f"{found.band} for {_span(group)}",
                allowed="a band that covers the range",
                advice=f"name another {words}, or another range",
            )
        )
    return (found,)


def _nothing(kind: str, parts: Sequence[Part], group: ReceiverGroup, spec: HookupSpec) -> Fault:
    near = ", ".join(f"{part.name} ({part.band})" for part in parts if part.kind == kind)
    return Fault(
        file=spec.parts_file,
        where=kind,
        value=f"none that covers {_span(group)}"
        + (f", {spec.distribution}" if kind == SPLITTER and spec.distribution != "any" else ""),
        allowed=f"{kind} for that range; there are {near}" if near else f"a part of kind {kind}",
        advice="add one to the parts, or choose another range",
    )


def _span(group: ReceiverGroup) -> str:
    ranges = ", ".join(group.ranges)
    span = f"{shortest_mhz(group.low_hz)}-{shortest_mhz(group.high_hz)} MHz"
    return span if ranges == span else f"{span} ({ranges})"


def arrangements(
    on_shelf: Shelf, group: ReceiverGroup, rack: RackSpec, spec: HookupSpec
) -> Iterator[Arrangement]:
    """Yield arrangements, the one with the fewest boxes first.

    Parameters
    ----------
    on_shelf, group, rack, spec : Shelf, ReceiverGroup, RackSpec, HookupSpec
        Parts, receivers and zones.

    Notes
    -----
    Boxes are splitters, amplifiers, filters and the rest, over both branches; then come rack
    units, direct current and the catalogue's order. Every choice of antenna, amplifier, filter and
    attenuator (behind amplifiers only) is tried with the smallest splitter trees.
    """
    zones = len(rack.zones)
    trees = _few(smallest_trees(on_shelf.splitters, group.inputs))
    if spec.distribution == "powered" and group.inputs == 1:
        trees = [tree for tree in trees if tree.nodes] or trees
    joiners = on_shelf.joiners[:1] if zones > 1 else ()
    joiner = (
        dataclasses.replace(joiners[0], gain_db=-joint_loss_db(joiners[0], zones))
        if joiners
        else None
    )
    found: list[tuple[tuple[float, ...], Arrangement]] = []
    choices = itertools.product(
        enumerate(on_shelf.antennas),
        trees,
        (None, *on_shelf.amplifiers),
        (None, *on_shelf.filters),
        (None, *on_shelf.attenuators),
    )
    for (place, antenna), tree, amplifier, band_filter, attenuator in choices:
        if attenuator is not None and amplifier is None:
            continue
        bare = Arrangement(
            antenna=antenna,
            cable=on_shelf.cable,
            tree=tree,
            amplifier=amplifier,
            filter=band_filter,
            attenuator=attenuator,
            joiner=joiner,
            lead=_lead(on_shelf, tree),
        )
        whole = _fed(bare, on_shelf)
        if whole is not None:
            found.append((_size(whole, zones, place), whole))
    found.sort(key=lambda item: item[0])
    for _, arrangement in found:
        yield arrangement


def _few(trees: Sequence[Tree]) -> list[Tree]:
    """Return the trees of one kind of splitter and the smallest of the others, still in order."""
    left = TREES
    kept = []
    for tree in trees:
        mixed = len({node.part.name for node in tree.nodes}) > 1
        if mixed:
            left -= 1
        if not mixed or left >= 0:
            kept.append(tree)
    return kept


def _lead(on_shelf: Shelf, tree: Tree) -> Part | None:
    """Return the first cable whose connectors fit the splitters, else the run's own."""
    if not tree.nodes:
        return None
    wanted = tree.nodes[0].part.connector
    fitting = (part for part in on_shelf.leads if not wanted or part.connector == wanted)
    own = on_shelf.cable if on_shelf.cable.kind == CABLE else None
    return next(fitting, own)


def _fed(bare: Arrangement, on_shelf: Shelf) -> Arrangement | None:
    """Return the arrangement with direct current for its amplifier, None where none can come."""
    if bare.amplifier is None or bare.amplifier.line_power != NEEDS_POWER:
        return bare
    if bare.cable.kind == FIBRE:
        return None  # no direct current over glass
    between = [part for part in (bare.joiner, bare.attenuator) if part is not None]
    first = bare.tree.nodes[0].part if bare.tree.nodes else None
    if all(part.line_power == PASSES_POWER for part in between) and first is not None:
        enough = first.supply_ma >= bare.amplifier.supply_ma * max(1, len(between) and 1)
        if first.line_power == GIVES_POWER and enough:
            return bare
    for part in on_shelf.inserters:
        if part.supply_ma >= bare.amplifier.supply_ma:
            return dataclasses.replace(bare, inserter=part)
    return None


def _size(arrangement: Arrangement, zones: int, place: int) -> tuple[float, ...]:
    supply = sum(part.supply_ma for part in _chosen(arrangement) if part.kind == AMPLIFIER)
    chosen = [part.order for part in _chosen(arrangement)]
    return (
        arrangement.boxes(zones),
        arrangement.tree.rack_units(),
        supply,
        place,
        *chosen,
    )


def _chosen(arrangement: Arrangement) -> Iterable[Part]:
    row = (
        arrangement.antenna,
        *(node.part for node in arrangement.tree.nodes),
        arrangement.amplifier,
        arrangement.filter,
        arrangement.attenuator,
        arrangement.inserter,
    )
    return [part for part in row if part is not None]
