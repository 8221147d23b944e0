"""The hook-up of a plan: what surrounds the rig at each stop, and the ``hookup`` key."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.field_strength.building import entry_loss_db
from planner.field_strength.free_space import field_dbuv_m
from planner.field_strength.noise import received_power_dbm, thermal_noise_dbm
from planner.field_strength.working_range import LinkAssumptions
from planner.hookup.document import hookup_document
from planner.hookup.records import Carrier, LocalTransmitter, ReceiverGroup, StopScene
from planner.hookup.rig import HookupRequest, design_hookup
from planner.hookup.television import AirChannels
from planner.hookup.transmit import conducted_dbm
from planner.occupancy import surroundings
from planner.occupancy.interference import arrivals
from planner.occupancy.receiver import IN_EAR, receiver_of
from planner.units import convert_power_mw, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from planner.plan.pipeline import PlanResult
    from planner.records import GearRange, Need, Stop
    from planner.records.hookup import HookupSpec, Part, RackSpec

WEAKEST_DBM = -75.0
"""Whole power of a transmitter at an isotropic antenna below which it loads no part."""
MICROPHONE = "mic"
_ONE_SIGMA_PERCENT = 15.87
"""Share of buildings that shield less than the median by one standard deviation."""


def hookup_section(
    result: PlanResult, document: Mapping[str, Any], parts: Sequence[Part]
) -> tuple[dict[str, Any] | None, list[dict[str, str]]]:
    """Return the ``hookup`` key of the plan document and its warnings.

    Parameters
    ----------
    result : PlanResult
        The plan.
    document : mapping
        Its document, with the stops and their carriers.
    parts : sequence of Part
        The parts catalogue.

    Returns
    -------
    dict or None, list
        None where the tour has no ``[hookup]``, or no parts are given.

    Raises
    ------
    InputFaults
        When parts of the rig are missing or do not cover a range that the plan chose.
    """
    spec = result.tour.hookup
    if spec is None or not parts:
        return None, []
    spec = dataclasses.replace(spec, mains=spec.mains or _country(result.stops))
    racks, left = _racks(result, document, spec)
    if not racks:
        text = "no need of this tour has receivers for a rack: no hook-up is designed"
        return None, [_warning("hookup-empty", "[hookup]", text)]
    scenes = tuple(_scene(result, document, index) for index in range(len(result.stops)))
    names, span = _transmitters(result)
    request = HookupRequest(
        parts=tuple(parts),
        spec=spec,
        racks=racks,
        scenes=scenes,
        transmitters=names,
        transmit_span_hz=span,
    )
    hookup = design_hookup(request)
    warnings = [
        _warning("hookup-limit", row.where, f"{row.text}: {row.advice}")
        for row in hookup.findings
        if row.excess > 0 or row.code == "part-missing"
    ]
    if left:
        text = f"no rack takes the receivers of {', '.join(left)}: raise receivers, or add a rack"
        warnings.append(_warning("hookup-receivers-left", "[hookup]", text))
    return hookup_document(hookup), warnings


def _warning(code: str, where: str, text: str) -> dict[str, str]:
    return {"code": code, "where": where, "text": text}


def _country(stops: Sequence[Stop]) -> str:
    """Return the one country of the route, empty where there are several."""
    codes = {stop.country for stop in stops}
    return codes.pop() if len(codes) == 1 else ""


def _scene(result: PlanResult, document: Mapping[str, Any], index: int) -> StopScene:
    stop, record = result.stops[index], document["stops"][index]
    gear = {row.key: row for row in result.gear}
    carriers: dict[str, list[Carrier]] = {}
    transmitters: list[LocalTransmitter] = []
    for row in record["carriers"]:
        if row["need"] is None or row["spare"] or row.get("direction") or row["range"] not in gear:
            continue
        if row["role"] == IN_EAR:
            transmitters.append(_transmitter(row, record))
        else:
            carriers.setdefault(row["need"], []).append(_carrier(row, gear[row["range"]], result))
    return StopScene(
        stop=stop.id,
        place=stop.place,
        air=air_channels(result, index),
        carriers={name: tuple(rows) for name, rows in carriers.items()},
        environment=surroundings(stop, result.tour.settings),
        location_error_km=stop.location_error_km,
        transmitters=tuple(transmitters),
    )


def _carrier(row: Mapping[str, Any], gear: GearRange, result: PlanResult) -> Carrier:
    """Return a microphone carrier with what others put into its bandwidth."""
    rise = row["noise_rise_db"]
    interference = None
    if rise:
        figure = receiver_of(gear, result.tour.settings).noise_figure_db
        own = thermal_noise_dbm(float(gear.bandwidth_hz), figure)
        interference = own + 10 * math.log10(10 ** (rise / 10) - 1)
    return Carrier(
        name=_line(row["need"], row["name"]),
        frequency_hz=mhz_to_hz(row["frequency_mhz"]),
        interference_dbm=interference,
    )


def _line(need: str, name: str) -> str:
    """Return the name of a line that is unique over all needs."""
    return name if name.startswith(need) else f"{name} ({need})"


def _transmitter(row: Mapping[str, Any], record: Mapping[str, Any]) -> LocalTransmitter:
    """Return an in-ear transmitter with the limit under which its frequency was planned."""
    at, half = row["frequency_mhz"], row["bandwidth_khz"] / 2000
    span = next(
        (
            span
            for span in record["ranges"][row["range"]]["law_spans"]
            if span["low_mhz"] <= at - half and at + half <= span["high_mhz"]
        ),
        None,
    )
    power_mw = row["power_mw"] or 0.001
    return LocalTransmitter(
        name=_line(row["need"], row["name"]),
        frequency_hz=mhz_to_hz(at),
        power_dbm=conducted_dbm(power_mw, row["power_kind"] or "EIRP"),
        power_kind=row["power_kind"] or "EIRP",
        limit_mw=span["limit_mw"] if span else None,
        limit_kind=(span["limit_kind"] or "") if span else "",
        rule=(span["rule"] or "") if span else "",
    )


def air_channels(result: PlanResult, index: int) -> AirChannels:
    """Return what arrives at a stop, as an isotropic antenna at its height takes it.

    Parameters
    ----------
    result, index : PlanResult, int
        The plan, and which stop.

    Returns
    -------
    AirChannels
        Transmitters of :data:`WEAKEST_DBM` or more, by station; fields exceeded for 10 % of the
        time, no more than free space gives, indoors less the median loss of the building; the
        spread is that over places and, indoors, over buildings.
    """
    stop, stations, reach = result.stops[index], result.stations, result.reach
    found = arrivals(stop, reach, index, stations, result.tour.settings)
    centre = ((stations.low_hz + stations.high_hz) / 2.0)[found.station]
    share = np.minimum(result.tour.settings.reference_bandwidth_hz / found.emission_hz, 1.0)
    power = found.power_dbm - 10 * np.log10(share)
    ceiling = np.asarray(
        received_power_dbm(
            np.asarray(
                field_dbuv_m(reach.distance_km[found.rows], reach.erp_toward_stop_kw[found.rows])
            ),
            centre,
        )
    )
    spread = reach.sigma_db[found.rows]
    if stop.indoor:
        building = result.tour.settings.building_loss
        median = entry_loss_db(centre, probability_percent=50.0, building=building)
        strong = entry_loss_db(centre, probability_percent=_ONE_SIGMA_PERCENT, building=building)
        ceiling = ceiling - median
        spread = np.hypot(spread, np.asarray(median) - np.asarray(strong))
    power = np.minimum(power, ceiling)
    keep = np.flatnonzero(power >= WEAKEST_DBM)
    station = found.station[keep]
    return AirChannels(
        low_hz=stations.low_hz[station].astype(np.int64),
        high_hz=stations.high_hz[station].astype(np.int64),
        occupied_hz=found.emission_hz[keep].astype(np.float64),
        power_dbm=power[keep],
        spread_db=spread[keep].astype(np.float64),
        bearing_deg=reach.bearing_from_stop_deg[found.rows[keep]].astype(np.float64),
        label=tuple(str(stations.name[k]) for k in station),
    )


def _racks(
    result: PlanResult, document: Mapping[str, Any], spec: HookupSpec
) -> tuple[tuple[tuple[RackSpec, tuple[ReceiverGroup, ...]], ...], list[str]]:
    """Deal the lines of the needs out to the racks; return also the needs with lines left."""
    needs = {need.name: need for need in result.tour.needs if need.name in result.choice}
    waiting = {name: list(need.lines) for name, need in needs.items()}
    filled = []
    for rack in spec.racks:
        wanted = rack.needs or tuple(n for n, need in needs.items() if need.role == MICROPHONE)
        room = rack.receivers or sum(len(waiting.get(name, ())) for name in wanted)
        groups: list[ReceiverGroup] = []
        for name in wanted:
            lines, waiting[name] = _split(waiting.get(name, []), room)
            room -= len(lines)
            if name in needs and lines:
                groups += _groups(result, document, needs[name], lines)
        if groups:
            filled.append((rack, _one_a_range(groups)))
    named = {name for rack in spec.racks for name in rack.needs}
    left = [
        name
        for name, lines in waiting.items()
        if lines and name in needs and (needs[name].role == MICROPHONE or name in named)
    ]
    return tuple(filled), left


def _split(lines: list[str], count: int) -> tuple[list[str], list[str]]:
    return lines[:count], lines[count:]


def _groups(
    result: PlanResult, document: Mapping[str, Any], need: Need, lines: Sequence[str]
) -> list[ReceiverGroup]:
    """Return the receivers of some lines, one group for each range of the need."""
    rows = result.choice[need.name]
    by_range: dict[str, list[str]] = {}
    usual = _usual_ranges(document, need.name)
    for line in lines:
        by_range.setdefault(usual.get(line, rows[0].key), []).append(line)
    gear = {row.key: row for row in rows}
    return [
        _group(result, document, need, gear[key], names)
        for key, names in by_range.items()
        if key in gear
    ]


def _usual_ranges(document: Mapping[str, Any], need: str) -> dict[str, str]:
    """Return the range that each line uses at most stops."""
    counted: dict[str, dict[str, int]] = {}
    for stop in document["stops"]:
        for row in stop["carriers"]:
            if row["need"] == need and not row["spare"] and row["range"]:
                uses = counted.setdefault(row["name"], {})
                uses[row["range"]] = uses.get(row["range"], 0) + 1
    return {name: max(uses, key=lambda key: uses[key]) for name, uses in counted.items()}


def _group(
    result: PlanResult,
    document: Mapping[str, Any],
    need: Need,
    gear: GearRange,
    lines: Sequence[str],
) -> ReceiverGroup:
    spec, settings = result.tour.hookup, result.tour.settings
    receiver = receiver_of(gear, settings)
    assumed = receiver.required_snr_db is None
    fallback = spec.required_snr_db if spec is not None else 20.0
    low, high = gear.searched_span_hz
    powers = [
        float(row["power_mw"])
        for row in _carriers_of(document, need.name)
        if row["range"] == gear.key and row["power_mw"]
    ]
    least = min(powers, default=gear.powers_mw[-1])
    form = need.form or gear.form
    return ReceiverGroup(
        ranges=(gear.key,),
        low_hz=low,
        high_hz=high,
        names=tuple(_line(need.name, line) for line in lines),
        inputs=math.ceil(len(lines) / (gear.chassis_channels or 1)),
        bandwidth_hz=gear.bandwidth_hz,
        noise_figure_db=receiver.noise_figure_db,
        required_snr_db=fallback if receiver.required_snr_db is None else receiver.required_snr_db,
        snr_assumed=assumed,
        eirp_dbm=10 * math.log10(convert_power_mw(least, gear.power_kind, "EIRP")),
        body_loss_db=LinkAssumptions().body_loss_db(form),
    )


def _carriers_of(document: Mapping[str, Any], need: str) -> Iterable[Mapping[str, Any]]:
    return (row for stop in document["stops"] for row in stop["carriers"] if row["need"] == need)


def _one_a_range(groups: Sequence[ReceiverGroup]) -> tuple[ReceiverGroup, ...]:
    """Return the groups with those of one range made one; the harder figure counts."""
    found: dict[tuple[str, ...], ReceiverGroup] = {}
    for group in groups:
        before = found.get(group.ranges)
        if before is None:
            found[group.ranges] = group
            continue
        found[group.ranges] = dataclasses.replace(
            before,
            names=(*before.names, *group.names),
            inputs=before.inputs + group.inputs,
            eirp_dbm=min(before.eirp_dbm, group.eirp_dbm),
            body_loss_db=max(before.body_loss_db, group.body_loss_db),
        )
    return tuple(found.values())


def _transmitters(result: PlanResult) -> tuple[tuple[str, ...], tuple[int, int]]:
    """Return the in-ear lines and the spectrum of their ranges."""
    names: list[str] = []
    spans = []
    for need in result.tour.needs:
        if need.role == IN_EAR and need.name in result.choice:
            names += [_line(need.name, line) for line in need.lines]
            spans += [row.searched_span_hz for row in result.choice[need.name]]
    if not spans:
        return (), (0, 0)
    return tuple(names), (min(low for low, _ in spans), max(high for _, high in spans))
