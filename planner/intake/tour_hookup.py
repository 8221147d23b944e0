"""The ``[hookup]`` table of a tour file: racks, cables, limits, transmit side, parts catalogue."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.errors import InputFaults
from planner.intake.cells import NumberRange
from planner.intake.countries import ALLOWED, COUNTRY_CODES, country_advice
from planner.intake.faults import nearest_word
from planner.intake.parts import load_parts
from planner.intake.tour_fields import TomlFields, sub_table, sub_tables
from planner.intake.tour_files import InputRecord, sha256_of, written_name
from planner.records.hookup import (
    ANTENNA,
    CABLE,
    COMBINER,
    DISTRIBUTIONS,
    FIBRE,
    HookupLimits,
    HookupSpec,
    RackSpec,
    TransmitSpec,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from planner.errors import Fault
    from planner.intake.faults import FaultList
    from planner.records.hookup import Part

_DECIBEL = NumberRange(low=-40, high=60, unit="dB")
_LOSS_DB = NumberRange(low=0, high=60, unit="dB")
_LEVEL_DBM = NumberRange(low=-60, high=30, unit="dBm")
_DISTANCE_M = NumberRange(low=0.5, high=500, unit="m")
_CABLE_M = NumberRange(low=0.5, high=2000, unit="m")
_LEAD_M = NumberRange(low=0, high=30, unit="m")
_AZIMUTH_DEG = NumberRange(low=0, high=360, unit="deg")
_PIECES = NumberRange(low=0, high=100)
_COUNT = NumberRange(low=1, high=500)
_UNITS = NumberRange(low=0, high=20)
_PAIR = 2
_ZONES = 8

_LIMITS = {
    "gain_low_db": _DECIBEL,
    "gain_high_db": _DECIBEL,
    "gain_most_db": _DECIBEL,
    "sensitivity_loss_most_db": _LOSS_DB,
    "margin_least_db": _DECIBEL,
    "compression_margin_db": _LOSS_DB,
    "receiver_most_dbm": _LEVEL_DBM,
    "product_rise_most_db": _LOSS_DB,
}
_NUMBERS = {
    "near_m": _DISTANCE_M,
    "far_m": _DISTANCE_M,
    "obstruction_db": _LOSS_DB,
    "connector_loss_db": NumberRange(low=0, high=3, unit="dB"),
    "required_snr_db": _LOSS_DB,
    "receiver_rack_units": _UNITS,
}
HOOKUP_KEYS = (
    "parts",
    "cable",
    "antenna",
    "antenna_azimuth_deg",
    "distribution",
    "avoid",
    "lead_m",
    "spares",
    "mains",
    *_NUMBERS,
    *_LIMITS,
    "transmit_antenna",
    "transmit_cable",
    "transmit_combiner",
    "transmit_cable_m",
    "transmit_areas",
    "separation_m",
    "opposite",
    "rack",
)
RACK_KEYS = (
    "name",
    "needs",
    "receivers",
    "cable_m",
    "cables_m",
    "zones",
    "zone_cables_m",
    "antenna",
    "cable",
)


def read_hookup(
    data: Mapping[str, object], faults: FaultList, *, needs: Sequence[str]
) -> HookupSpec | None:
    """Read ``[hookup]`` with its ``[[hookup.rack]]``; None where the tour file has none.

    Parameters
    ----------
    data : mapping
        The tour file.
    faults : FaultList
        Its faults.
    needs : sequence of str
        Names of its needs.
    """
    if "hookup" not in data:
        return None
    values = sub_table(data, "hookup", faults)
    fields = TomlFields(values, "[hookup]", faults, known=HOOKUP_KEYS)
    parts, cable = "", ""
    if fields.require("parts", "the name of a parts catalogue"):
        parts = fields.filled_text("parts")
    if fields.require("cable", "the name of a cable of the parts"):
        cable = fields.filled_text("cable")
    racks = [
        _rack(TomlFields(row, f"[[hookup.rack]] {k}", faults, known=RACK_KEYS), k, needs=needs)
        for k, row in enumerate(sub_tables(values, "rack", faults), start=1)
    ]
    _unique(racks, fields)
    default = HookupSpec(racks=())
    numbers: dict[str, Any] = {
        key: found
        for key, allowed in _NUMBERS.items()
        if (found := fields.number(key, allowed)) is not None
    }
    lead = fields.number("lead_m", _LEAD_M)
    spares = fields.integer("spares", _PIECES)
    spec = HookupSpec(
        racks=tuple(racks) or (RackSpec(name="Rack 1"),),
        parts_file=parts,
        antenna=fields.text("antenna"),
        cable=cable,
        antenna_azimuth_deg=fields.number("antenna_azimuth_deg", _AZIMUTH_DEG),
        distribution=fields.word("distribution", DISTRIBUTIONS, default=default.distribution),
        avoid=fields.texts("avoid"),
        patch_m=default.patch_m if lead is None else lead,
        spares=default.spares if spares is None else spares,
        mains=_country(fields),
        limits=_limits(fields),
        transmit=_transmit(fields),
        **numbers,
    )
    if spec.near_m > spec.far_m:
        fields.fault(
            "near_m",
            value=f"{spec.near_m:g}, far_m {spec.far_m:g}",
            allowed="near_m not beyond far_m",
            advice="swap or correct them",
        )
    return spec


def _limits(fields: TomlFields) -> HookupLimits:
    found: dict[str, Any] = {
        key: value
        for key, allowed in _LIMITS.items()
        if (value := fields.number(key, allowed)) is not None
    }
    limits = HookupLimits(**found, gain_low_binds="gain_low_db" in found)
    if not limits.gain_low_db <= limits.gain_high_db <= limits.gain_most_db:
        fields.fault(
            "gain_low_db",
            value=f"{limits.gain_low_db:g}, gain_high_db {limits.gain_high_db:g}, gain_most_db "
            f"{limits.gain_most_db:g}",
            allowed="in ascending order",
            advice="correct them",
        )
    return limits


def _transmit(fields: TomlFields) -> TransmitSpec:
    default = TransmitSpec()
    cable_m = fields.number("transmit_cable_m", _CABLE_M)
    apart = fields.number("separation_m", _DISTANCE_M)
    return TransmitSpec(
        antenna=fields.text("transmit_antenna"),
        cable=fields.text("transmit_cable"),
        combiner=fields.text("transmit_combiner"),
        cable_m=default.cable_m if cable_m is None else cable_m,
        areas=fields.texts("transmit_areas") or default.areas,
        separation_m=default.separation_m if apart is None else apart,
        opposite=fields.flag("opposite", default=default.opposite),
    )


def _country(fields: TomlFields) -> str:
    code = fields.text("mains")
    if code and code not in COUNTRY_CODES:
        fields.fault("mains", value=f'"{code}"', allowed=ALLOWED, advice=country_advice(code))
    return code


def _rack(fields: TomlFields, number: int, *, needs: Sequence[str]) -> RackSpec:
    default = RackSpec(name="")
    named = fields.texts("needs")
    for name in named:
        if name not in needs:
            near = nearest_word(name, needs)
            fields.fault(
                "needs",
                value=f'"{name}"',
                allowed=", ".join(needs) or "a need of the tour",
                advice=f'did you mean "{near}"?' if near else "name a need",
            )
    one = fields.number("cable_m", _CABLE_M)
    both = fields.numbers("cables_m", _CABLE_M)
    if fields.has("cables_m") and len(both) != _PAIR:
        fields.fault(
            "cables_m",
            value=f"a list of {len(both)}",
            allowed="two lengths, of branch A and B",
            advice="write e.g. cables_m = [30, 35]",
        )
    if fields.has("cable_m") and fields.has("cables_m"):
        fields.fault("cable_m", value="both", allowed="cable_m or cables_m", advice="take one out")
    cables = default.cables_m if one is None else (one, one)
    zones = fields.texts("zones") or default.zones
    lengths = fields.numbers("zone_cables_m", _CABLE_M)
    if len(zones) > _ZONES or len(set(zones)) < len(zones):
        fields.fault(
            "zones", value=", ".join(zones), allowed=f"up to {_ZONES}, each once", advice="shorten"
        )
    if lengths and len(lengths) != len(zones):
        fields.fault(
            "zone_cables_m",
            value=f"a list of {len(lengths)} for {len(zones)} zones",
            allowed="one length for each zone",
            advice="add or take out lengths",
        )
        lengths = ()
    return RackSpec(
        name=fields.text("name") or f"Rack {number}",
        needs=named,
        receivers=fields.integer("receivers", _COUNT) or 0,
        cables_m=(both[0], both[1]) if len(both) == _PAIR else cables,
        zones=zones,
        zone_cables_m=lengths,
        antenna=fields.text("antenna"),
        cable=fields.text("cable"),
    )


def _unique(racks: Sequence[RackSpec], fields: TomlFields) -> None:
    names = [rack.name for rack in racks]
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            fields.fault(
                "rack",
                value=f'"{name}" {names.count(name)} times',
                allowed="each name once",
                advice="rename one of them",
            )


def load_hookup_parts(
    folder: Path, spec: HookupSpec | None
) -> tuple[tuple[Part, ...], tuple[InputRecord, ...], tuple[Fault, ...]]:
    """Read the parts catalogue that ``[hookup]`` names, and check the names in it against that.

    Parameters
    ----------
    folder : Path
        Of the tour file.
    spec : HookupSpec or None
        None reads nothing.

    Returns
    -------
    parts, records, faults : tuple
        All empty without ``[hookup]``.
    """
    if spec is None or not spec.parts_file:
        return (), (), ()
    path = folder / spec.parts_file
    try:
        parts = load_parts(path, name=spec.parts_file)
    except InputFaults as error:
        return (), (), error.faults
    record = InputRecord(
        file=written_name(spec.parts_file), sha256=sha256_of(path), rows=len(parts)
    )
    return parts, (record,), ()


def check_hookup_parts(spec: HookupSpec | None, parts: Sequence[Part], faults: FaultList) -> None:
    """Fault every part that ``[hookup]`` names and the catalogue does not hold."""
    if spec is None or not parts:
        return
    wanted: list[tuple[str, str, tuple[str, ...]]] = [
        ("[hookup], cable", spec.cable, (CABLE, FIBRE)),
        ("[hookup], antenna", spec.antenna, (ANTENNA,)),
        ("[hookup], transmit_antenna", spec.transmit.antenna, (ANTENNA,)),
        ("[hookup], transmit_cable", spec.transmit.cable, (CABLE,)),
        ("[hookup], transmit_combiner", spec.transmit.combiner, (COMBINER,)),
    ]
    for rack in spec.racks:
        wanted.append((f"[[hookup.rack]] {rack.name}, antenna", rack.antenna, (ANTENNA,)))
        wanted.append((f"[[hookup.rack]] {rack.name}, cable", rack.cable, (CABLE, FIBRE)))
    for where, name, kinds in wanted:
        known = [part.name for part in parts if part.kind in kinds]
        if name and name not in known:
            near = nearest_word(name, known)
            faults.add(
                where,
                value=f'"{name}"',
                allowed=", ".join(known) or f"a part of kind {' or '.join(kinds)}",
                advice=f'did you mean "{near}"?' if near else f"add it to {spec.parts_file}",
            )
    for name in spec.avoid:
        if name not in {part.name for part in parts}:
            faults.add(
                "[hookup], avoid",
                value=f'"{name}"',
                allowed="parts of the catalogue",
                advice="correct or remove it",
            )
