"""Levels of the hook-up as plain values: branches, runs, television, products."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.hookup.chains import CONNECTORS, branch_elements
from planner.hookup.design import BRANCHES
from planner.hookup.products import near_products, tv_products
from planner.units import hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.hookup.budget import Budget
    from planner.hookup.chains import Element
    from planner.hookup.records import ReceiverGroup, StopScene
    from planner.hookup.verdicts import BranchBudget, GroupDesign, StopVerdict
    from planner.records.hookup import HookupSpec

TV_SHOWN = 8


def rounded(value: float | None, digits: int = 1) -> float | None:
    """Return a figure rounded, None for none or an infinite one; never minus zero."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), digits) + 0.0


def runs_document(design: GroupDesign, spec: HookupSpec) -> list[dict[str, Any]]:
    """Return every antenna's run to the first splitter, and the levels behind each splitter."""
    arrangement, rack = design.usual.arrangement, design.rack
    first = design.shown.budgets[0].budget
    antenna = first.antenna
    place = int(np.argmin(first.margin_db))
    at = antenna.carriers_hz[place : place + 1]
    found = []
    for branch in range(2):
        for zone in range(len(rack.zones)):
            steps: list[dict[str, Any]] = []
            behind: dict[int, dict[str, Any]] = {}
            for receiver in range(len(arrangement.tree.receivers)):
                elements = branch_elements(
                    arrangement,
                    spec,
                    length_m=rack.length_m(branch, zone),
                    zones=len(rack.zones),
                    path=arrangement.tree.path(receiver),
                )
                gain = 0.0
                own = []
                for step in elements:
                    gain += step.gain_at_db(float(at[0]))
                    row = {
                        "part": step.label,
                        "kind": _kind(step),
                        "place": step.place,
                        "gain_db": rounded(step.gain_at_db(float(at[0]))),
                        "far_dbm": rounded(float(antenna.far_dbm[place]) + gain),
                        "near_dbm": rounded(float(antenna.near_dbm[place]) + gain),
                    }
                    if step.node < 0:
                        own.append(row)
                    elif step.node == arrangement.tree.receivers[receiver]:
                        behind.setdefault(step.node, row)
                steps = steps or [row for row in own if row["kind"] != CONNECTORS]
            found.append(
                {
                    "branch": BRANCHES[branch],
                    "zone": rack.zones[zone],
                    "cable_m": rack.length_m(branch, zone),
                    "frequency_mhz": round(float(at[0]) / 1e6, 6),
                    "antenna_far_dbm": rounded(float(antenna.far_dbm[place])),
                    "antenna_near_dbm": rounded(float(antenna.near_dbm[place])),
                    "steps": [row for row in steps if " lead, " not in row["part"]],
                    "splitters": {str(node): row for node, row in sorted(behind.items())},
                }
            )
    return found


def branches_document(
    design: GroupDesign, verdict: StopVerdict, scenes: Sequence[StopScene]
) -> list[dict[str, Any]]:
    """Return every branch of a group at one stop, at its lowest and its highest carrier."""
    return [branch for row in verdict.budgets for branch in _branches(design, verdict, row, scenes)]


def _branches(
    design: GroupDesign, verdict: StopVerdict, row: BranchBudget, scenes: Sequence[StopScene]
) -> list[dict[str, Any]]:
    budget, group, rack = row.budget, design.group, design.rack
    last = len(budget.antenna.carriers_hz) - 1
    same = rack.zone_cables_m or rack.cables_m[0] == rack.cables_m[1]
    letters = "A and B" if same else BRANCHES[row.branch]
    name = f"{rack.name} {letters}"
    if len(rack.zones) > 1:
        name += f", {rack.zones[row.zone]}"
    arrangement = verdict.arrangement
    return [
        _branch(budget, design, place, name=name, stop=scenes[verdict.scene].stop or None)
        | {
            "antenna_gain_dbi": arrangement.antenna.gain_dbi or 0.0,
            "rack": rack.name,
            "zone": rack.zones[row.zone],
            "ranges": list(group.ranges),
            "receiver": group.names[min(len(group.names) - 1, row.receiver)],
            "path": [node for node, _ in arrangement.tree.path(row.receiver)],
            "changed": arrangement != design.usual.arrangement,
        }
        for place in sorted({0, last})
    ]


def _branch(
    budget: Budget, design: GroupDesign, place: int, *, name: str, stop: str | None
) -> dict[str, Any]:
    group, antenna = design.group, budget.antenna
    carrier = antenna.carriers_hz[place : place + 1]
    far, near = float(antenna.far_dbm[place]), float(antenna.near_dbm[place])
    steps: list[dict[str, Any]] = []
    gain = 0.0
    loads = {row.step: row for row in budget.loads}
    for number, step in enumerate(budget.elements):
        own = round(step.gain_at_db(float(carrier[0])), 2) + 0.0
        gain += own
        load = loads.get(number)
        steps.append(
            {
                "part": step.label,
                "gain_db": own,
                "kind": _kind(step),
                "place": step.place,
                "far_dbm": rounded(far + gain),
                "near_dbm": rounded(near + gain),
                "total_dbm": rounded(load.total_dbm) if load else None,
                "p1db_dbm": load.p1db_dbm if load else None,
                "compression_margin_db": rounded(load.margin_db) if load else None,
                "spread_db": rounded(load.spread_db) if load else None,
            }
        )
    net = round(math.fsum(row["gain_db"] for row in steps), 2) + 0.0
    return {
        "name": name,
        "stop": stop,
        "low_mhz": hz_to_mhz(group.low_hz),
        "high_mhz": hz_to_mhz(group.high_hz),
        "antenna_gain_dbi": 0.0,
        "net_gain_db": net,
        "noise_figure_db": round(float(budget.noise_figure_db[place]), 1),
        "input_dbm_near": rounded(near + net),
        "input_dbm_far": rounded(far + net),
        "margin_db": rounded(float(budget.margin_db[place])),
        "steps": steps,
        "frequency_mhz": round(float(carrier[0]) / 1e6, 6),
        "antenna_far_dbm": rounded(far),
        "antenna_near_dbm": rounded(near),
        "fading_db": rounded(antenna.fading_db),
        "sensitivity_loss_db": rounded(float(budget.sensitivity_loss_db[place])),
        "product_rise_db": rounded(float(budget.product_rise_db[place])),
        "compression_margin_db": rounded(budget.compression_margin_db),
    }


def _kind(step: Element) -> str:
    return step.part.kind if step.part is not None else CONNECTORS


def television_document(budget: Budget) -> list[dict[str, Any]]:
    """Return the strongest transmitters at an antenna."""
    antenna = budget.antenna
    order = np.argsort(-antenna.tv_dbm, kind="stable")[:TV_SHOWN]
    return [
        {
            "name": antenna.tv_label[k],
            "middle_mhz": round(float(antenna.tv_hz[k]) / 1e6, 3),
            "power_dbm": rounded(antenna.tv_dbm[k]),
            "spread_db": rounded(antenna.tv_spread_db[k]),
            "bearing_deg": rounded(antenna.tv_bearing_deg[k]),
        }
        for k in map(int, order)
        if math.isfinite(antenna.tv_dbm[k])
    ]


def near_document(budget: Budget, group: ReceiverGroup) -> dict[str, Any] | None:
    """Return the product of two near microphones; None where no part is known to make any."""
    near = near_products(budget, group)
    if not math.isfinite(near.level_dbm):
        return None
    return {
        "level_dbm": rounded(near.level_dbm),
        "noise_dbm": rounded(near.noise_dbm),
        "on_carriers": near.on_carriers,
    }


def products_document(budget: Budget, group: ReceiverGroup) -> list[dict[str, Any]]:
    """Return the strongest products of television at the carriers."""
    return [
        {
            "formula": row.formula,
            "low_mhz": round(row.low_hz / 1e6, 3),
            "high_mhz": round(row.high_hz / 1e6, 3),
            "level_dbm": rounded(row.level_dbm),
            "noise_dbm": rounded(row.noise_dbm),
        }
        for row in tv_products(budget, group)
    ]
