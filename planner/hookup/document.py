"""The hook-up as plain values: the ``hookup`` key of plan.json."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner.field_strength.free_space import SPEED_OF_LIGHT_M_S
from planner.hookup import words
from planner.hookup.bill import mains_of
from planner.hookup.document_levels import (
    branches_document,
    near_document,
    products_document,
    rounded,
    runs_document,
    television_document,
)
from planner.units import hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.hookup.records import Arrangement, Finding
    from planner.hookup.rig import Hookup
    from planner.hookup.verdicts import GroupDesign, Way
    from planner.records.hookup import HookupSpec


def hookup_document(hookup: Hookup) -> dict[str, Any]:
    """Return a hook-up as the plan document holds it.

    Parameters
    ----------
    hookup : Hookup
        The answer of :func:`planner.hookup.rig.design_hookup`.

    Returns
    -------
    dict
        ``racks, parts, branches, transmit`` and what stands beside them; figures rounded, keys in
        one order, so that the same input gives the same bytes.
    """
    spec, scenes = hookup.request.spec, hookup.request.scenes
    return {
        "racks": _racks(hookup),
        "parts": [
            {
                "part": row.part,
                "quantity": row.quantity,
                "note": row.note or None,
                "kind": row.kind,
                "spare": row.spare,
                "rack_units": row.rack_units,
                "watts": row.watts,
                "outlets": row.outlets,
                "available": row.available,
            }
            for row in hookup.bill
        ],
        "branches": [
            branch
            for design in hookup.designs
            for row in (design.shown, *design.changes)
            for branch in branches_document(design, row, scenes)
        ],
        "transmit": [
            {
                "name": row.name,
                "power_dbm": row.power_dbm,
                "kind": row.kind,
                "limit_dbm": row.limit_dbm,
                "within": row.within,
                "stop": row.stop or None,
                "frequency_mhz": hz_to_mhz(row.frequency_hz) if row.stop else None,
                "eirp_dbm": round(row.eirp_dbm, 1),
                "rule": row.rule or None,
                "greatest_gain_dbi": rounded(row.greatest_gain_dbi),
            }
            for row in hookup.radiated
        ],
        "meets": hookup.meets,
        "transmit_side": _transmit_side(hookup),
        "findings": [finding_document(row) for row in hookup.findings],
        "assumptions": _assumptions(spec),
        "safety": list(words.SAFETY),
        "practice": words.practice(hookup),
    }


def finding_document(row: Finding) -> dict[str, Any]:
    """Return a finding as plain values."""
    return {
        "code": row.code,
        "where": row.where,
        "text": row.text,
        "advice": row.advice,
        "excess_db": round(row.excess, 1),
    }


def _racks(hookup: Hookup) -> list[dict[str, Any]]:
    spec = hookup.request.spec
    found: dict[str, dict[str, Any]] = {}
    for design in hookup.designs:
        rack = design.rack
        row = found.setdefault(
            rack.name,
            {
                "name": rack.name,
                "zones": list(rack.zones),
                "cables_m": list(rack.cables_m),
                "zone_cables_m": list(rack.zone_cables_m),
                "groups": [],
                "rack_units": 0.0,
            },
        )
        row["groups"].append(_group(design, hookup))
        arrangement = design.usual.arrangement
        row["rack_units"] += (
            arrangement.tree.rack_units() + design.group.inputs * spec.receiver_rack_units
        )
    return list(found.values())


def _group(design: GroupDesign, hookup: Hookup) -> dict[str, Any]:
    group, shown, worst = design.group, design.shown, design.worst
    scenes, spec = hookup.request.scenes, hookup.request.spec
    scene, zones = scenes[shown.scene], len(design.rack.zones)
    tuned = {c.name: c for row in scene.carriers.values() for c in row}
    budget, usual = shown.budgets[0].budget, design.usual.arrangement
    return {
        "ranges": list(group.ranges),
        "low_mhz": hz_to_mhz(group.low_hz),
        "high_mhz": hz_to_mhz(group.high_hz),
        "inputs": group.inputs,
        "receivers": [
            {
                "name": name,
                "frequency_mhz": hz_to_mhz(tuned[name].frequency_hz) if name in tuned else None,
                "splitter": usual.tree.receivers[_input(group.inputs, k, group.names)],
            }
            for k, name in enumerate(group.names)
        ],
        "meets": design.meets,
        "excess_db": round(worst.excess_db, 1),
        "worst_stop": scenes[worst.scene].stop or None,
        "worst_place": scenes[worst.scene].place or None,
        "shown_stop": scene.stop or None,
        "shown_place": scene.place or None,
        "tried": design.tried,
        "required_snr_db": group.required_snr_db,
        "snr_assumed": group.snr_assumed,
        "receiver_noise_figure_db": round(group.noise_figure_db, 1),
        "transmitter_eirp_dbm": round(group.eirp_dbm, 1),
        "arrangement": arrangement_document(usual, spec, zones=zones),
        "spacing": _spacing(group.low_hz),
        "by_stop": [
            {
                "stop": scenes[row.scene].stop or None,
                "margin_db": rounded(row.margin_db),
                "compression_margin_db": rounded(row.compression_margin_db),
                "product_rise_db": rounded(row.product_rise_db),
                "excess_db": rounded(row.excess_db),
                "changed": row.arrangement != usual,
            }
            for row in design.by_stop
        ],
        "alternatives": [_alternative(row, zones) for row in design.alternatives],
        "changes": [
            {
                "stop": scenes[row.scene].stop,
                "place": scenes[row.scene].place,
                "text": words.change_words(usual, row.arrangement),
                "margin_db": rounded(row.margin_db),
                "excess_db": rounded(row.excess_db),
            }
            for row in design.changes
        ],
        "television": television_document(budget),
        "products": products_document(budget, group),
        "near_products": near_document(budget, group),
        "runs": runs_document(design, spec),
    }


def _alternative(way: Way, zones: int) -> dict[str, Any]:
    gains = [row.budget.gain_db for stop in way.stops for row in stop.budgets]
    return {
        "text": words.arrangement_words(way.arrangement),
        "boxes": way.arrangement.boxes(zones),
        "margin_db": rounded(way.least("margin_db")),
        "compression_margin_db": rounded(way.least("compression_margin_db")),
        "net_gain_db": [
            rounded(min(float(row.min()) for row in gains)),
            rounded(max(float(row.max()) for row in gains)),
        ],
    }


def _input(inputs: int, place: int, names: Sequence[str]) -> int:
    """Return the antenna input that a line uses: receivers of several channels share one."""
    return min(inputs - 1, place * inputs // max(1, len(names)))


def _spacing(low_hz: int) -> dict[str, float]:
    wavelength_m = SPEED_OF_LIGHT_M_S / low_hz
    return {
        "wavelength_m": round(wavelength_m, 2),
        "least_m": round(wavelength_m / 4, 2),
        "better_m": round(wavelength_m, 2),
    }


def arrangement_document(
    arrangement: Arrangement, spec: HookupSpec, *, zones: int
) -> dict[str, Any]:
    """Return an arrangement of parts as plain values."""
    tree = arrangement.tree

    def name(attribute: str) -> str | None:
        part = getattr(arrangement, attribute)
        return None if part is None else str(part.name)

    return {
        "text": words.arrangement_words(arrangement),
        "antenna": arrangement.antenna.name,
        "antenna_gain_dbi": arrangement.antenna.gain_dbi,
        "beam_deg": arrangement.antenna.beam_deg,
        "polarization": arrangement.antenna.polarization,
        "azimuth_deg": spec.antenna_azimuth_deg,
        "cable": arrangement.cable.name,
        "filter": name("filter"),
        "amplifier": name("amplifier"),
        "inserter": name("inserter"),
        "joiner": name("joiner"),
        "attenuator": name("attenuator"),
        "lead": name("lead"),
        "powered": arrangement.powered,
        "boxes": arrangement.boxes(zones),
        "splitters": [
            {
                "part": node.part.name,
                "branches": node.part.branches,
                "ways": node.part.ways,
                "cascade_ports": node.part.cascade_ports,
                "fed_by": node.fed_by if node.fed_by >= 0 else None,
                "port": node.port or None,
                "receivers": sum(1 for at in tree.receivers if at == index),
                "feeds": sum(1 for other in tree.nodes if other.fed_by == index),
                "active": node.part.active,
            }
            for index, node in enumerate(tree.nodes)
        ],
        "loads_a_branch": tree.loads(),
    }


def _transmit_side(hookup: Hookup) -> dict[str, Any] | None:
    design, spec = hookup.transmit, hookup.request.spec
    if design is None:
        return None
    low, high = hookup.request.transmit_span_hz
    middle = (low + high) // 2
    at = np.array([float(middle)])
    last = len(design.names) - 1
    near = hookup.coupling
    return {
        "names": list(design.names),
        "low_mhz": hz_to_mhz(low),
        "high_mhz": hz_to_mhz(high),
        "antenna": design.antenna.name,
        "antenna_gain_dbi": design.antenna.gain_dbi or 0.0,
        "polarization": design.antenna.polarization,
        "cable": design.cable.name,
        "cable_m": design.cable_m,
        "areas": list(design.areas),
        "splitter": design.splitter.name if design.splitter else None,
        "combiners": [
            {
                "part": node.part.name,
                "ways": node.part.ways,
                "feeds": node.fed_by if node.fed_by >= 0 else None,
                "transmitters": sum(1 for k in design.tree.receivers if k == index),
            }
            for index, node in enumerate(design.tree.nodes)
        ],
        "transmitters": [
            {"name": name, "combiner": design.tree.receivers[k]}
            for k, name in enumerate(design.names)
        ],
        "steps": [
            {"part": step.label, "gain_db": round(step.gain_at_db(float(at[0])), 2)}
            for step in design.elements(last, spec)
        ],
        "separation_m": spec.transmit.separation_m,
        "opposite": spec.transmit.opposite,
        "coupling_loss_db": rounded(near.loss_db) if near else None,
        "coupling_dbm": rounded(near.level_dbm) if near else None,
        "least_separation_m": rounded(near.least_separation_m) if near else None,
    }


def _assumptions(spec: HookupSpec) -> dict[str, Any]:
    limits = spec.limits
    mains = mains_of(spec.mains) if spec.mains else None
    return {
        "near_m": spec.near_m,
        "far_m": spec.far_m,
        "obstruction_db": spec.obstruction_db,
        "connector_loss_db": spec.connector_loss_db,
        "patch_m": spec.patch_m,
        "distribution": spec.distribution,
        "spares": spec.spares,
        "gain_low_db": limits.gain_low_db,
        "gain_high_db": limits.gain_high_db,
        "gain_most_db": limits.gain_most_db,
        "sensitivity_loss_most_db": limits.sensitivity_loss_most_db,
        "margin_least_db": limits.margin_least_db,
        "compression_margin_db": limits.compression_margin_db,
        "receiver_most_dbm": limits.receiver_most_dbm,
        "product_rise_most_db": limits.product_rise_most_db,
        "mains": None
        if not spec.mains
        else {
            "country": spec.mains,
            "plug": mains.plug if mains else None,
            "volts": mains.volts if mains else None,
            "hertz": mains.hertz if mains else None,
        },
    }
