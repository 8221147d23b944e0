"""The hook-up question without a tour: receivers, ranges and cables from a command line."""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.hookup.cables import cable_types
from planner.hookup.records import LocalTransmitter, ReceiverGroup, StopScene
from planner.hookup.rig import HookupRequest
from planner.hookup.television import no_air
from planner.intake.cells import NumberRange
from planner.intake.faults import nearest_word
from planner.records.hookup import (
    ANTENNA,
    CABLE,
    DISTRIBUTIONS,
    FIBRE,
    HookupSpec,
    Part,
    RackSpec,
    TransmitSpec,
)
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Sequence

COMMAND = "command line"
_SPAN = re.compile(r"\s*(\d+(?:\.\d{1,6})?)\s*-\s*(\d+(?:\.\d{1,6})?)\s*")
_RECEIVERS = NumberRange(low=1, high=200)
_RACKS = NumberRange(low=1, high=20)
_CHANNELS = NumberRange(low=1, high=32)
_CABLE_M = NumberRange(low=0, high=1000, unit="m", above=True)
_DISTANCE_M = NumberRange(low=0.5, high=500, unit="m")
_POWER_MW = NumberRange(low=0.1, high=1000, unit="mW")
_SNR_DB = NumberRange(low=0, high=60, unit="dB")


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class HookupOptions:
    """What was asked on a command line.

    Attributes
    ----------
    receivers, ranges : tuple of int, tuple of str
        As many receivers as ranges, ``"LOW-HIGH"`` in MHz.
    channels_per_receiver : int
        Channels that share one pair of antenna inputs.
    racks : int
        Racks over which the receivers are spread evenly.
    cable, antenna : str
        Part names, or a general cable type.
    in_ears, in_ear_range : int, str
        In-ear transmitters.
    """

    receivers: tuple[int, ...]
    ranges: tuple[str, ...]
    cable: str
    cable_m: float
    antenna: str = ""
    channels_per_receiver: int = 1
    racks: int = 1
    distribution: str = "any"
    zones: int = 1
    near_m: float = 3.0
    far_m: float = 25.0
    power_mw: float = 10.0
    required_snr_db: float = 20.0
    in_ears: int = 0
    in_ear_range: str = ""
    mains: str = ""


def request_from_options(
    options: HookupOptions, parts: Sequence[Part], *, parts_file: str
) -> HookupRequest:
    """Return the question for the designer.

    Parameters
    ----------
    options : HookupOptions
        What was asked.
    parts : sequence of Part
        The catalogue; a general cable type that it does not hold is added, made to length.
    parts_file : str
        Its name in messages.

    Raises
    ------
    InputFaults
        With every fault of the command line.
    """
    faults: list[Fault] = []
    parts = _with_cable(options.cable, parts, faults)
    _check_numbers(options, faults)
    if options.antenna and options.antenna not in _names(parts, (ANTENNA,)):
        faults.append(_unknown("--antenna", options.antenna, _names(parts, (ANTENNA,))))
    spans = [_span(text, "--range", faults) for text in options.ranges]
    in_ear = _span(options.in_ear_range, "--in-ear-range", faults) if options.in_ears else (0, 0)
    if faults:
        raise InputFaults(faults)
    racks = tuple(
        RackSpec(
            name=f"Rack {k + 1}",
            cables_m=(options.cable_m, options.cable_m),
            zones=tuple(f"zone {z + 1}" for z in range(options.zones))
            if options.zones > 1
            else ("stage",),
        )
        for k in range(options.racks)
    )
    spec = HookupSpec(
        racks=racks,
        parts_file=parts_file,
        antenna=options.antenna,
        cable=options.cable,
        distribution=options.distribution,
        near_m=options.near_m,
        far_m=options.far_m,
        required_snr_db=options.required_snr_db,
        mains=options.mains,
        transmit=TransmitSpec(),
    )
    names = tuple(f"in-ear {k + 1}" for k in range(options.in_ears))
    scene = StopScene(
        stop="",
        place="",
        air=no_air(),
        carriers={},
        transmitters=tuple(_in_ears(names, in_ear, options.power_mw)),
    )
    return HookupRequest(
        parts=tuple(parts),
        spec=spec,
        racks=tuple(zip(racks, _groups(options, spans), strict=True)),
        scenes=(scene,),
        transmitters=names,
        transmit_span_hz=in_ear,
    )


def _in_ears(
    names: Sequence[str], span_hz: tuple[int, int], power_mw: float
) -> list[LocalTransmitter]:
    """Return transmitters spread over their range, at their connectors."""
    from planner.hookup.transmit import conducted_dbm

    low, high = span_hz
    step = (high - low) // (len(names) + 1)
    return [
        LocalTransmitter(
            name=name,
            frequency_hz=low + step * (k + 1),
            power_dbm=conducted_dbm(power_mw, "conducted"),
        )
        for k, name in enumerate(names)
    ]


def _groups(
    options: HookupOptions, spans: Sequence[tuple[int, int]]
) -> list[tuple[ReceiverGroup, ...]]:
    """Return the groups of each rack; receivers are spread evenly over the racks."""
    from math import log10

    racks: list[list[ReceiverGroup]] = [[] for _ in range(options.racks)]
    numbered = 0
    for count, text, (low_hz, high_hz) in zip(
        options.receivers, options.ranges, spans, strict=True
    ):
        for k in range(options.racks):
            share = count // options.racks + (k < count % options.racks)
            if not share:
                continue
            names = tuple(f"{numbered + n + 1}" for n in range(share))
            numbered += share
            racks[k].append(
                ReceiverGroup(
                    ranges=(f"{text} MHz",),
                    low_hz=low_hz,
                    high_hz=high_hz,
                    names=names,
                    inputs=-(-share // options.channels_per_receiver),
                    required_snr_db=options.required_snr_db,
                    eirp_dbm=10 * log10(options.power_mw),
                )
            )
    return [tuple(rack) for rack in racks]


def _names(parts: Sequence[Part], kinds: tuple[str, ...]) -> list[str]:
    return [part.name for part in parts if part.kind in kinds]


def _unknown(option: str, value: str, known: Sequence[str]) -> Fault:
    near = nearest_word(value, known)
    return Fault(
        file=COMMAND,
        where=option,
        value=value,
        allowed=", ".join(known),
        advice=f'did you mean "{near}"?' if near else "name one of the parts, or use --parts",
    )


def _with_cable(name: str, parts: Sequence[Part], faults: list[Fault]) -> list[Part]:
    """Return the parts with the cable asked for, a general type made to length where need be."""
    known = _names(parts, (CABLE, FIBRE))
    if name in known:
        return list(parts)
    if name not in cable_types():
        faults.append(_unknown("--cable", name, list(dict.fromkeys([*known, *cable_types()]))))
        return list(parts)
    kind = cable_types()[name]
    return [
        *parts,
        Part(
            name=name,
            kind=CABLE,
            low_hz=kind.low_hz,
            high_hz=kind.high_hz,
            gain_db=0.0,
            cable_a=kind.a,
            cable_b=kind.b,
            impedance_ohm=kind.impedance_ohm,
            line_power="passes",
            order=len(parts),
        ),
    ]


def _span(text: str, option: str, faults: list[Fault]) -> tuple[int, int]:
    match = _SPAN.fullmatch(text)
    low, high = (mhz_to_hz(match[1]), mhz_to_hz(match[2])) if match else (0, 0)
    if low >= high:
        faults.append(
            Fault(
                file=COMMAND,
                where=option,
                value=text or "nothing",
                allowed="LOW-HIGH in MHz, low below high",
                advice=f"write e.g. {option} 470-534",
            )
        )
    return low, high


def _check_numbers(options: HookupOptions, faults: list[Fault]) -> None:
    if len(options.receivers) != len(options.ranges) or not options.ranges:
        faults.append(
            Fault(
                file=COMMAND,
                where="--receivers, --range",
                value=f"{len(options.receivers)} and {len(options.ranges)}",
                allowed="one --receivers for each --range, at least one",
                advice="write e.g. --receivers 16 --range 470-534",
            )
        )
    checks: list[tuple[str, float, NumberRange]] = [
        *(("--receivers", count, _RECEIVERS) for count in options.receivers),
        ("--racks", options.racks, _RACKS),
        ("--channels-per-receiver", options.channels_per_receiver, _CHANNELS),
        ("--cable-m", options.cable_m, _CABLE_M),
        ("--near-m", options.near_m, _DISTANCE_M),
        ("--far-m", options.far_m, _DISTANCE_M),
        ("--power-mw", options.power_mw, _POWER_MW),
        ("--snr", options.required_snr_db, _SNR_DB),
        ("--zones", options.zones, NumberRange(low=1, high=8)),
        ("--in-ears", options.in_ears, NumberRange(low=0, high=64)),
    ]
    faults += [
        Fault(
            file=COMMAND,
            where=option,
            value=f"{value:g}",
            allowed=allowed.text(),
            advice="correct it",
        )
        for option, value, allowed in checks
        if not allowed.holds(value)
    ]
    if options.near_m > options.far_m:
        faults.append(
            Fault(
                file=COMMAND,
                where="--near-m",
                value=f"{options.near_m:g} m, --far-m {options.far_m:g} m",
                allowed="near not beyond far",
                advice="swap them",
            )
        )
    if options.distribution not in DISTRIBUTIONS:
        faults.append(_unknown("--distribution", options.distribution, DISTRIBUTIONS))
