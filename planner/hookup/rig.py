"""The whole hook-up: every rack, the transmit side, the bill, over all stops."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from planner.errors import InputFaults
from planner.hookup.bill import Bill, BillLine, bill_group, bill_transmit
from planner.hookup.choosing import shelf
from planner.hookup.design import design_group
from planner.hookup.findings import excess
from planner.hookup.records import Finding, ReceiverGroup
from planner.hookup.transmit import (
    Coupling,
    Radiated,
    TransmitDesign,
    coupling,
    design_transmit,
    radiated,
    transmit_findings,
)
from planner.records.hookup import ANTENNA, CABLE, FIBRE, SPLITTER

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.errors import Fault
    from planner.hookup.records import StopScene
    from planner.hookup.verdicts import GroupDesign
    from planner.records.hookup import HookupSpec, Part, RackSpec


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class HookupRequest:
    """What the designer is asked.

    Attributes
    ----------
    parts, spec : tuple of Part, HookupSpec
        The catalogue and the wishes.
    racks : tuple of (RackSpec, tuple of ReceiverGroup)
        One group a tuning range.
    scenes : tuple of StopScene
        At least one; without a tour one in which nothing arrives.
    transmitters : tuple of str
        In-ear transmitters; may be empty.
    transmit_span_hz : (int, int)
        Spectrum of their ranges [Hz].
    """

    parts: tuple[Part, ...]
    spec: HookupSpec
    racks: tuple[tuple[RackSpec, tuple[ReceiverGroup, ...]], ...]
    scenes: tuple[StopScene, ...]
    transmitters: tuple[str, ...] = ()
    transmit_span_hz: tuple[int, int] = (0, 0)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Hookup:
    """The answer.

    Attributes
    ----------
    designs : tuple of GroupDesign
        Rack by rack, group by group.
    transmit : TransmitDesign or None
        None without in-ear transmitters.
    radiated : tuple of Radiated
        Every transmitter at every stop.
    coupling : Coupling or None
        Of the strongest transmitter into the microphone antennas.
    bill : tuple of BillLine
        Over all racks.
    findings : tuple of Finding
        Worst first.
    """

    request: HookupRequest
    designs: tuple[GroupDesign, ...]
    transmit: TransmitDesign | None
    radiated: tuple[Radiated, ...]
    coupling: Coupling | None
    bill: tuple[BillLine, ...]
    findings: tuple[Finding, ...]

    @property
    def meets(self) -> bool:
        """Whether every limit is kept."""
        return excess(self.findings) <= 0


def design_hookup(request: HookupRequest) -> Hookup:
    """Design every rack and the transmit side.

    Parameters
    ----------
    request : HookupRequest
        What is wanted.

    Raises
    ------
    InputFaults
        When parts are missing or do not cover a range.
    """
    spec, parts = request.spec, request.parts
    transmit = _transmit_side(request)
    rows: list[Radiated] = []
    local: dict[str, tuple[float, ...]] = {}
    if transmit is not None:
        for scene in request.scenes:
            here = radiated(transmit, scene, spec)
            rows += here
            local[scene.stop] = tuple(row.eirp_dbm for row in here)
    designs = [
        design_group(parts, group, rack, spec, scenes=request.scenes, local_eirp_dbm=local)
        for rack, groups in request.racks
        for group in joined_groups(groups, rack, parts, spec)
    ]
    bill = Bill(parts, spec)
    for design in designs:
        bill_group(bill, design, spec)
    if transmit is not None:
        bill_transmit(bill, transmit)
    near = _coupling(designs, rows, spec)
    findings = [
        *(finding for design in designs for finding in design.findings),
        *transmit_findings(rows),
        *_coupling_findings(near, spec),
        *bill.missing.values(),
    ]
    return Hookup(
        request=request,
        designs=tuple(designs),
        transmit=transmit,
        radiated=tuple(rows),
        coupling=near,
        bill=tuple(bill.lines()),
        findings=tuple(sorted(findings, key=lambda row: -row.excess)),
    )


def _transmit_side(request: HookupRequest) -> TransmitDesign | None:
    """Return the transmit side; what is missing on either side is told in one go."""
    spec, parts = request.spec, request.parts
    faults: list[Fault] = []
    for rack, groups in request.racks:
        for group in joined_groups(groups, rack, parts, spec):
            try:
                shelf(parts, group, rack, spec)
            except InputFaults as found:
                faults += [fault for fault in found.faults if fault not in faults]
    transmit = None
    if request.transmitters:
        try:
            transmit = design_transmit(
                parts, request.transmitters, spec, span_hz=request.transmit_span_hz
            )
        except InputFaults as found:
            faults += found.faults
    if faults:
        raise InputFaults(faults)
    return transmit


def joined_groups(
    groups: Sequence[ReceiverGroup], rack: RackSpec, parts: Sequence[Part], spec: HookupSpec
) -> tuple[ReceiverGroup, ...]:
    """Return the groups of a rack, made one where one set of parts covers all their ranges.

    Parameters
    ----------
    groups : sequence of ReceiverGroup
        One a tuning range.
    rack, parts, spec : RackSpec, sequence of Part, HookupSpec
        Named antennas and cables count alone.
    """
    if len(groups) < 2:
        return tuple(groups)
    low = min(group.low_hz for group in groups)
    high = max(group.high_hz for group in groups)
    usable = [part for part in parts if part.covers(low, high) and part.name not in spec.avoid]

    def there(kinds: tuple[str, ...], name: str) -> bool:
        return any(part.kind in kinds and (not name or part.name == name) for part in usable)

    whole = (
        there((ANTENNA,), rack.antenna or spec.antenna)
        and there((CABLE, FIBRE), rack.cable or spec.cable)
        and there((SPLITTER,), "")
    )
    if not whole:
        return tuple(groups)
    return (
        ReceiverGroup(
            ranges=tuple(key for group in groups for key in group.ranges),
            low_hz=low,
            high_hz=high,
            names=tuple(name for group in groups for name in group.names),
            inputs=sum(group.inputs for group in groups),
            bandwidth_hz=max(group.bandwidth_hz for group in groups),
            noise_figure_db=max(group.noise_figure_db for group in groups),
            required_snr_db=max(group.required_snr_db for group in groups),
            snr_assumed=any(group.snr_assumed for group in groups),
            eirp_dbm=min(group.eirp_dbm for group in groups),
            body_loss_db=max(group.body_loss_db for group in groups),
        ),
    )


def _coupling(
    designs: Sequence[GroupDesign], rows: Sequence[Radiated], spec: HookupSpec
) -> Coupling | None:
    """Return the coupling of the strongest transmitter into the most sensitive branch."""
    if not rows or not designs:
        return None
    strongest = max(rows, key=lambda row: row.eirp_dbm)
    antennas = [design.usual.arrangement.antenna for design in designs]
    gain = max(
        (part.gain_dbi or 0.0) - ((part.front_to_back_db or 0.0) if spec.transmit.opposite else 0.0)
        for part in antennas
    )
    return coupling(
        strongest.eirp_dbm,
        strongest.frequency_hz,
        receive_gain_dbi=gain,
        separation_m=spec.transmit.separation_m,
        allowed_dbm=_allowed_dbm(designs, strongest.frequency_hz, spec),
    )


def _allowed_dbm(
    designs: Sequence[GroupDesign], frequency_hz: int, spec: HookupSpec
) -> float | None:
    """Return what an antenna may put out so that no active part leaves its margin [dBm]."""
    allowed = math.inf
    for design in designs:
        for row in design.shown.budgets:
            gain = 0.0
            for step in row.budget.elements:
                stage = step.stage(float(frequency_hz))
                gain += stage.gain_db
                if step.active and math.isfinite(stage.p1db_dbm):
                    allowed = min(
                        allowed, stage.p1db_dbm - spec.limits.compression_margin_db - gain
                    )
    return allowed if math.isfinite(allowed) else None


def _coupling_findings(near: Coupling | None, spec: HookupSpec) -> Iterator[Finding]:
    if near is None or near.least_separation_m is None:
        return
    apart = spec.transmit.separation_m
    if near.least_separation_m > apart:
        yield Finding(
            code="coupling",
            where="transmit",
            text=f"an in-ear antenna {apart:g} m from a microphone antenna puts "
            f"{near.level_dbm:.1f} dBm into it",
            advice=f"keep them {near.least_separation_m:.1f} m apart or more, on opposite sides "
            "or at other heights, backs turned, or filter the microphone range",
            excess=20 * math.log10(near.least_separation_m / apart),
        )
