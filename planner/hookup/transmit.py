"""The transmit side: combiners, cable, antenna, radiated power against the rule, coupling."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.field_strength.free_space import path_loss_db
from planner.hookup.chains import Element
from planner.hookup.records import Finding
from planner.hookup.trees import WAY, Node, Tree, ideal_split_loss_db
from planner.records.hookup import ANTENNA, CABLE, COMBINER, SPLITTER
from planner.units import DIPOLE_GAIN_DBI, convert_power_mw, format_mhz

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.hookup.records import LocalTransmitter, StopScene
    from planner.records.hookup import HookupSpec, Part

_ROUNDED_DB = 0.1
"""Levels are rounded to this before they are compared with a limit."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class TransmitDesign:
    """Combiners, cable and antennas of the in-ear transmitters.

    Attributes
    ----------
    names : tuple of str
        Transmitters, in order.
    tree : Tree
        Combiners as a tree whose root feeds the cable.
    antenna, cable, splitter : Part, Part, Part or None
        The splitter feeds the antennas of several areas.
    cable_m : float
        Length [m].
    areas : tuple of str
        One antenna each.
    """

    names: tuple[str, ...]
    tree: Tree
    antenna: Part
    cable: Part
    cable_m: float
    areas: tuple[str, ...]
    splitter: Part | None = None

    def elements(self, transmitter: int, spec: HookupSpec) -> list[Element]:
        """Return the steps from a transmitter to its antenna."""
        path = self.tree.path(transmitter)
        steps = [
            Element(
                label=self.tree.nodes[node].part.name,
                part=self.tree.nodes[node].part,
                flat_db=self.tree.nodes[node].part.gain_db,
                node=node,
            )
            for node, _ in reversed(path)
        ]
        if self.splitter is not None:
            loss = max(-self.splitter.gain_db, ideal_split_loss_db(len(self.areas)))
            steps.append(Element(label=self.splitter.name, part=self.splitter, flat_db=-loss))
        steps.append(
            Element(
                label=f"{self.cable.name}, {self.cable_m:g} m",
                part=self.cable,
                length_m=self.cable_m,
                place="run",
            )
        )
        pairs = len(steps) + 1
        steps.append(
            Element(
                label=f"{pairs} connector pairs",
                flat_db=-pairs * spec.connector_loss_db,
                place="run",
            )
        )
        return steps

    def gain_db(self, transmitter: int, frequency_hz: int, spec: HookupSpec) -> float:
        """Return the gain from a transmitter to its antenna's connector [dB]."""
        steps = self.elements(transmitter, spec)
        return math.fsum(step.gain_at_db(float(frequency_hz)) for step in steps)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Radiated:
    """A transmitter at a stop against the rule.

    Attributes
    ----------
    power_dbm : float
        As the limit measures it [dBm]; EIRP where there is no limit.
    limit_dbm : float or None
        What the rule permits [dBm].
    eirp_dbm : float
        Over isotropic [dBm].
    greatest_gain_dbi : float or None
        Of the antenna with which the limit is just kept.
    """

    name: str
    stop: str
    frequency_hz: int
    power_dbm: float
    kind: str
    limit_dbm: float | None
    eirp_dbm: float
    rule: str
    greatest_gain_dbi: float | None

    @property
    def within(self) -> bool | None:
        """Whether the limit is kept; None where none is known."""
        return None if self.limit_dbm is None else self.power_dbm <= self.limit_dbm


def design_transmit(
    parts: Sequence[Part], names: Sequence[str], spec: HookupSpec, *, span_hz: tuple[int, int]
) -> TransmitDesign:
    """Return combiners, cable and antennas for some transmitters.

    Parameters
    ----------
    parts : sequence of Part
        The catalogue.
    names : sequence of str
        Transmitters; at least one.
    spec : HookupSpec
        Its transmit side names parts, or leaves them to the catalogue's order.
    span_hz : (int, int)
        Spectrum of the transmitters [Hz].

    Raises
    ------
    InputFaults
        With one line for each part that is missing.
    """
    wanted = spec.transmit
    faults: list[Fault] = []

    def pick(kind: str, name: str) -> tuple[Part, ...]:
        rows = [part for part in parts if part.kind == kind and part.name not in spec.avoid]
        if name:
            rows = [part for part in rows if part.name == name]
        fitting = tuple(part for part in rows if part.covers(*span_hz))
        if not fitting:
            known = ", ".join(f"{p.name} ({p.band})" for p in parts if p.kind == kind)
            low, high = (format_mhz(edge, 0) for edge in span_hz)
            faults.append(
                Fault(
                    file=spec.parts_file,
                    where=f"transmit side, {kind}",
                    value=f'"{name}" does not cover {low}-{high} MHz'
                    if rows
                    else (f'"{name}"' if name else f"none for {low}-{high} MHz"),
                    allowed=known or f"a part of kind {kind}",
                    advice="name or add one that covers the range",
                )
            )
        return fitting

    antennas = pick(ANTENNA, wanted.antenna)
    cables = pick(CABLE, wanted.cable or spec.cable)
    combiners = pick(COMBINER, wanted.combiner) if len(names) > 1 else ()
    splitters: tuple[Part, ...] = ()
    if len(wanted.areas) > 1:
        splitters = tuple(
            p for p in pick(SPLITTER, "") if not p.active and p.ways >= len(wanted.areas)
        )
    if faults:
        raise InputFaults(faults)
    return TransmitDesign(
        names=tuple(names),
        tree=_level_tree(combiners, len(names), spec),
        antenna=antennas[0],
        cable=cables[0],
        cable_m=wanted.cable_m,
        areas=wanted.areas,
        splitter=splitters[0] if splitters else None,
    )


def _level_tree(combiners: Sequence[Part], count: int, spec: HookupSpec) -> Tree:
    """Return the fewest combiners that treat all transmitters alike: one, or one behind several.

    Raises
    ------
    InputFaults
        When two levels of these combiners do not hold so many.
    """
    if count == 1:
        return Tree(nodes=(), receivers=(-1,))
    found: list[tuple[tuple[float, ...], Tree]] = []
    for root in combiners:
        if root.ways >= count:
            tree = Tree(nodes=(Node(part=root),), receivers=(0,) * count)
            found.append(((1, -root.gain_db, root.order), tree))
        for leaf in combiners:
            leaves = math.ceil(count / leaf.ways)
            if 1 < leaves <= root.ways:
                nodes = (Node(part=root), *[Node(part=leaf, fed_by=0, port=WAY)] * leaves)
                spread = tuple(1 + k * leaves // count for k in range(count))
                size = (1 + leaves, -root.gain_db - leaf.gain_db, root.order, leaf.order)
                found.append((size, Tree(nodes=nodes, receivers=spread)))
    if not found:
        most = max(part.ways for part in combiners) ** 2
        raise InputFaults(
            [
                Fault(
                    file=spec.parts_file,
                    where="transmit side, combiner",
                    value=f"{count} transmitters",
                    allowed=f"up to {most} with these combiners, one behind several",
                    advice="add a larger combiner, or spread them over two transmit antennas",
                )
            ]
        )
    return min(found, key=lambda item: item[0])[1]


def radiated(design: TransmitDesign, scene: StopScene, spec: HookupSpec) -> tuple[Radiated, ...]:
    """Return every transmitter of a stop against the rule it was planned under."""
    places = {name: k for k, name in enumerate(design.names)}
    return tuple(
        _radiated(design, row, scene.stop, spec, place=places.get(row.name, 0))
        for row in scene.transmitters
    )


def _radiated(
    design: TransmitDesign, row: LocalTransmitter, stop: str, spec: HookupSpec, *, place: int
) -> Radiated:
    at_antenna_dbm = row.power_dbm + design.gain_db(place, row.frequency_hz, spec)
    gain_dbi = design.antenna.gain_dbi or 0.0
    eirp_dbm = at_antenna_dbm + gain_dbi
    kind = row.limit_kind if row.limit_mw is not None and row.limit_kind else "EIRP"
    power = {"EIRP": eirp_dbm, "ERP": eirp_dbm - DIPOLE_GAIN_DBI, "conducted": row.power_dbm}[kind]
    limit_dbm = None if row.limit_mw is None else _rounded(10 * math.log10(row.limit_mw))
    greatest = None
    if limit_dbm is not None and kind != "conducted":
        over_isotropic = limit_dbm + (DIPOLE_GAIN_DBI if kind == "ERP" else 0.0)
        greatest = _rounded_down(over_isotropic - at_antenna_dbm)
    return Radiated(
        name=row.name,
        stop=stop,
        frequency_hz=row.frequency_hz,
        power_dbm=_rounded(power),
        kind=kind,
        limit_dbm=limit_dbm,
        eirp_dbm=eirp_dbm,
        rule=row.rule,
        greatest_gain_dbi=greatest,
    )


def _rounded(value_db: float) -> float:
    return round(value_db, 1)


def _rounded_down(value_db: float) -> float:
    return math.floor(value_db / _ROUNDED_DB) * _ROUNDED_DB


def conducted_dbm(power_mw: float, power_kind: str) -> float:
    """Return the power at a transmitter's own connector from a catalogue figure.

    Parameters
    ----------
    power_mw : float
        Power setting [mW].
    power_kind : str
        How the catalogue measures it; of a radiated figure the gain of a half-wave dipole is
        taken off, the antenna that the transmitter is sold with at best.

    Returns
    -------
    float
        Power [dBm]. The true one is higher where that antenna is worse: measure it, or ask for
        the conducted figure.
    """
    return 10 * math.log10(convert_power_mw(power_mw, power_kind, "conducted"))


def transmit_findings(rows: Sequence[Radiated]) -> Iterator[Finding]:
    """Yield a finding for the worst transmitter of each rule that is over its limit."""
    worst: dict[str, Radiated] = {}
    for row in rows:
        if row.within is False and row.limit_dbm is not None:
            before = worst.get(row.rule)
            if before is None or _over(row) > _over(before):
                worst[row.rule] = row
    for rule, row in worst.items():
        cure = (
            f"an antenna of {row.greatest_gain_dbi:.1f} dBi at most, or {_over(row):.1f} dB less "
            "power or more loss"
            if row.greatest_gain_dbi is not None
            else f"a power setting {_over(row):.1f} dB lower"
        )
        yield Finding(
            code="power-over-limit",
            where=f"{row.name}, {row.stop}" if row.stop else row.name,
            text=f"{row.power_dbm:.1f} dBm {row.kind} on {format_mhz(row.frequency_hz)} MHz; "
            f"{rule or 'the limit given'} permits {row.limit_dbm:.1f} dBm",
            advice=cure,
            excess=_over(row),
        )


def _over(row: Radiated) -> float:
    return 0.0 if row.limit_dbm is None else row.power_dbm - row.limit_dbm


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Coupling:
    """What an in-ear antenna puts into a microphone antenna.

    Attributes
    ----------
    level_dbm : float
        At the receive antenna's output [dBm], strongest transmitter.
    loss_db : float
        Free space between the antennas [dB].
    least_separation_m : float or None
        Distance at which the first active part keeps its compression margin [m]; None where no
        such part is known.
    """

    level_dbm: float
    loss_db: float
    least_separation_m: float | None


def coupling(
    eirp_dbm: float,
    frequency_hz: int,
    *,
    receive_gain_dbi: float,
    separation_m: float,
    allowed_dbm: float | None,
) -> Coupling:
    """Return the coupling between a transmit and a receive antenna in free space.

    Parameters
    ----------
    eirp_dbm : float
        Radiated toward the receive antenna [dBm].
    frequency_hz : int
        Carrier [Hz].
    receive_gain_dbi : float
        Of the receive antenna toward the transmit antenna [dBi].
    separation_m : float
        Distance [m], more than 0; near field effects are not in it.
    allowed_dbm : float or None
        What the receive antenna may put out [dBm].
    """
    loss_db = float(path_loss_db(separation_m / 1e3, float(frequency_hz)))
    level_dbm = eirp_dbm + receive_gain_dbi - loss_db
    least_m = None
    if allowed_dbm is not None:
        least_m = separation_m * 10 ** ((level_dbm - allowed_dbm) / 20)
    return Coupling(level_dbm=level_dbm, loss_db=loss_db, least_separation_m=least_m)
