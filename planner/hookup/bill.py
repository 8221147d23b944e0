"""Bill of materials over all racks: pieces, cables by length, adaptors, loads, spares, mains."""

from __future__ import annotations

import dataclasses
import itertools
import math
from typing import TYPE_CHECKING

from planner.hookup.records import Finding
from planner.records.hookup import (
    ADAPTOR,
    AMPLIFIER,
    ANTENNA,
    CABLE,
    INSERTER,
    LOAD,
    SUPPLY,
)
from planner.tables import read_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.hookup.records import Arrangement
    from planner.hookup.transmit import TransmitDesign
    from planner.hookup.verdicts import GroupDesign
    from planner.records.hookup import HookupSpec, Part

SPARED = (ANTENNA, CABLE, AMPLIFIER, INSERTER, SUPPLY, ADAPTOR)
"""Kinds of which spare pieces are packed (common practice, no source)."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class BillLine:
    """One line of the bill.

    Attributes
    ----------
    part, kind : str
        Name, with its length where it is a cable.
    quantity, spare : int
        Pieces in use; spare pieces beside them.
    rack_units, watts, outlets : float, float, int
        Of all pieces in use.
    note : str
        Where it goes.
    available : int or None
        In stock; None when unknown.
    """

    part: str
    kind: str
    quantity: int
    spare: int = 0
    rack_units: float = 0.0
    watts: float = 0.0
    outlets: int = 0
    note: str = ""
    available: int | None = None


class Bill:
    """Counts pieces as they are named."""

    def __init__(self, parts: Sequence[Part], spec: HookupSpec) -> None:
        self._parts, self._spec = parts, spec
        self._counted: dict[str, tuple[Part, int, list[str]]] = {}
        self.missing: dict[str, Finding] = {}

    def like(self) -> Bill:
        """Return an empty bill of the same catalogue."""
        return Bill(self._parts, self._spec)

    @property
    def counted(self) -> dict[str, tuple[Part, int]]:
        """Parts and pieces in use, by name."""
        return {name: (part, count) for name, (part, count, _) in self._counted.items()}

    def add(self, part: Part, count: int, where: str, *, name: str = "") -> None:
        """Count some pieces of a part."""
        if count <= 0:
            return
        key = name or part.name
        _, before, places = self._counted.get(key, (part, 0, []))
        if where not in places:
            places = [*places, where]
        self._counted[key] = (part, before + count, places)

    def add_cable(self, part: Part, length_m: float, where: str, *, count: int = 1) -> None:
        """Count cables of a length: the shortest piece sold that reaches, or several joined."""
        if part.kind != CABLE:
            self.add(part, count, where)
            return
        for piece_m, pieces in cable_pieces(part.lengths_m, length_m):
            self.add(part, pieces * count, where, name=f"{part.name}, {piece_m:g} m")
        joints = sum(pieces for _, pieces in cable_pieces(part.lengths_m, length_m)) - 1
        if joints > 0:
            self._adaptor(part.connector, part.output, joints * count, where)

    def join(self, line: Sequence[Part], where: str, *, count: int = 1) -> None:
        """Count adaptors where the connectors of neighbours in a row differ."""
        for before, after in itertools.pairwise(line):
            if before.output and after.connector and before.output != after.connector:
                self._adaptor(before.output, after.connector, count, where)

    def loads(self, part: Part, count: int, where: str) -> None:
        """Count a load for each port that is left over."""
        if count <= 0:
            return
        load = next(
            (
                row
                for row in self._parts
                if row.kind == LOAD and (not part.connector or row.connector == part.connector)
            ),
            None,
        )
        if load is None:
            self._lacking(f"a load for {part.connector or 'any connector'}", count, where)
        else:
            self.add(load, count, where)

    def _adaptor(self, one: str, other: str, count: int, where: str) -> None:
        found = next(
            (
                row
                for row in self._parts
                if row.kind == ADAPTOR and {row.connector, row.output} == {one, other}
            ),
            None,
        )
        if found is None:
            self._lacking(f"an adaptor {one} to {other}", count, where)
        else:
            self.add(found, count, where)

    def _lacking(self, what: str, count: int, where: str) -> None:
        self.missing.setdefault(
            what,
            Finding(
                code="part-missing",
                where=where,
                text=f"the parts have no {what.split(' ', 1)[1]}; {count} wanted or more",
                advice=f"add {what} to {self._spec.parts_file}, or order it beside this list",
            ),
        )

    def lines(self) -> list[BillLine]:
        """Return the bill in the order of kinds and of the catalogue, spares counted."""
        rows = []
        for name, (part, count, places) in self._counted.items():
            spare = self._spec.spares if part.kind in SPARED else 0
            rows.append(
                BillLine(
                    part=name,
                    kind=part.kind,
                    quantity=count,
                    spare=spare,
                    rack_units=count * part.rack_units,
                    watts=count * part.watts,
                    outlets=count * part.outlets,
                    note="; ".join(places),
                    available=part.available,
                )
            )
        return sorted(rows, key=lambda row: (_kind_order(row.kind), row.part))


def _kind_order(kind: str) -> int:
    order = (
        "antenna",
        "amplifier",
        "filter",
        "cable",
        "fibre",
        "power-inserter",
        "splitter",
        "combiner",
        "attenuator",
        "adaptor",
        "load",
    )
    return order.index(kind) if kind in order else len(order)


def cable_pieces(lengths_m: Sequence[float], wanted_m: float) -> list[tuple[float, int]]:
    """Return the pieces that make up a run.

    Parameters
    ----------
    lengths_m : sequence of float
        Lengths sold, ascending [m]; none: made to length.
    wanted_m : float
        Length of the run [m]; 0 gives none.

    Returns
    -------
    list of (float, int)
        Length and count: one piece where one reaches, else the longest ones and a rest.
    """
    if wanted_m <= 0:
        return []
    if not lengths_m:
        return [(wanted_m, 1)]
    longest = lengths_m[-1]
    whole = math.floor(wanted_m / longest) if wanted_m > longest else 0
    rest = wanted_m - whole * longest
    pieces = [(longest, whole)] if whole else []
    if rest > 1e-9:
        reach = next(length for length in lengths_m if length >= rest - 1e-9)
        pieces = [(longest, whole + 1)] if reach == longest else [*pieces, (reach, 1)]
    return pieces


def bill_group(bill: Bill, design: GroupDesign, spec: HookupSpec) -> None:
    """Count the parts of one group of a rack."""
    _bill_arrangement(bill, design, spec, design.usual.arrangement)
    base = _counts(design, spec, design.usual.arrangement, bill)
    extra: dict[str, tuple[Part, int, int]] = {}
    for change in design.changes:
        for name, (part, count) in _counts(design, spec, change.arrangement, bill).items():
            more = count - base.get(name, (part, 0))[1]
            if more > 0:
                before = extra.get(name, (part, 0, 0))
                extra[name] = (part, max(before[1], more), before[2] + 1)
    for name, (part, more, stops) in extra.items():
        where = f"{design.rack.name}, at {stops} stop{'s' if stops > 1 else ''} (see changes)"
        bill.add(part, more, where, name=name)


def _counts(
    design: GroupDesign, spec: HookupSpec, arrangement: Arrangement, bill: Bill
) -> dict[str, tuple[Part, int]]:
    """Return what one arrangement takes, by name."""
    alone = bill.like()
    _bill_arrangement(alone, design, spec, arrangement)
    return alone.counted


def _bill_arrangement(
    bill: Bill, design: GroupDesign, spec: HookupSpec, arrangement: Arrangement
) -> None:
    rack, where = design.rack, design.rack.name
    for branch in range(2):
        for zone in range(len(rack.zones)):
            _bill_run(bill, arrangement, where, length_m=rack.length_m(branch, zone))
        for part in (arrangement.joiner, arrangement.attenuator):
            if part is not None:
                bill.add(part, 1, where)
    if arrangement.joiner is not None:
        bill.loads(arrangement.joiner, 2 * (arrangement.joiner.ways - len(rack.zones)), where)
    _bill_splitters(bill, design, spec, arrangement)


def _bill_run(bill: Bill, arrangement: Arrangement, where: str, *, length_m: float) -> None:
    """Count one antenna with all that stands between it and the rack."""
    front = [part for part in (arrangement.filter, arrangement.amplifier) if part is not None]
    inserter = [arrangement.inserter] if arrangement.inserter is not None else []
    for part in (arrangement.antenna, *front, *inserter):
        bill.add(part, 1, where)
    bill.add_cable(arrangement.cable, length_m, where)
    nodes = arrangement.tree.nodes
    after = [
        *inserter,
        *(part for part in (arrangement.joiner, arrangement.attenuator) if part is not None),
        *([nodes[0].part] if nodes else []),
    ]
    bill.join([arrangement.antenna, *front, arrangement.cable, *after], where)


def _bill_splitters(
    bill: Bill, design: GroupDesign, spec: HookupSpec, arrangement: Arrangement
) -> None:
    """Count the splitters of both branches, their loads and the leads to the receivers."""
    where, nodes = design.rack.name, arrangement.tree.nodes
    counted: dict[str, tuple[Part, int]] = {}
    for node in nodes:
        _, before = counted.get(node.part.name, (node.part, 0))
        counted[node.part.name] = (node.part, before + 1)
    for part, count in counted.values():
        bill.add(part, math.ceil(count * 2 / part.branches), where)
    if not nodes:
        return
    bill.loads(nodes[0].part, 2 * arrangement.tree.loads(), where)
    leads = 2 * (design.group.inputs + len(nodes) - 1)
    if arrangement.lead is not None and spec.patch_m:
        bill.add_cable(arrangement.lead, spec.patch_m, f"{where}, leads", count=leads)


def bill_transmit(bill: Bill, design: TransmitDesign) -> None:
    """Count the parts of the transmit side."""
    where = "transmit"
    for node in design.tree.nodes:
        bill.add(node.part, 1, where)
    if design.tree.nodes:
        bill.loads(design.tree.nodes[0].part, design.tree.loads(), where)
    if design.splitter is not None:
        bill.add(design.splitter, 1, where)
        bill.loads(design.splitter, design.splitter.ways - len(design.areas), where)
    areas = len(design.areas)
    bill.add(design.antenna, areas, where)
    bill.add_cable(design.cable, design.cable_m, where, count=areas)
    root = [design.tree.nodes[0].part] if design.tree.nodes else []
    bill.join([*root, design.cable, design.antenna], where, count=areas)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Mains:
    """Plugs and voltage of a country; from memory, to be checked at the venue."""

    country: str
    plug: str
    volts: int
    hertz: int


def mains_of(country: str) -> Mains | None:
    """Return what is known of a country's mains, None where nothing is."""
    table = read_table("mains_plugs")
    for row, code in enumerate(table["country"]):
        if code == country:
            return Mains(
                country=code,
                plug=table["plug"][row],
                volts=int(table["volts"][row]),
                hertz=int(table["hertz"][row]),
            )
    return None


def total(lines: Iterable[BillLine], name: str) -> float:
    """Return the sum of a column over the pieces in use."""
    return math.fsum(float(getattr(row, name)) for row in lines)
