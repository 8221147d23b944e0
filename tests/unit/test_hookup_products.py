"""Products 2A-B of microphones at the near edge, made by the distribution: worked by hand."""

from __future__ import annotations

import dataclasses

import pytest

from planner.hookup.budget import Budget, at_antenna, examine
from planner.hookup.chains import Element
from planner.hookup.products import near_findings, near_products
from planner.hookup.records import Carrier, ReceiverGroup
from planner.records.hookup import HookupSpec, RackSpec
from tests.unit.hookup_cases import AERIAL, TEN, group, scene


def budget_of(*frequencies_mhz: float, near_m: float = 3.0) -> tuple[Budget, ReceiverGroup]:
    """Return the budget of a 10 dB amplifier with these carriers before it."""
    receivers = group(len(frequencies_mhz))
    rows = tuple(
        Carrier(name=name, frequency_hz=round(value * 1e6))
        for name, value in zip(receivers.names, frequencies_mhz, strict=True)
    )
    here = dataclasses.replace(scene(stop="town"), carriers={"need": rows})
    spec = HookupSpec(racks=(RackSpec(name="Rack"),), near_m=near_m)
    at = at_antenna(AERIAL, receivers, here, spec)
    return examine([Element(label="ten", part=TEN, flat_db=10.0)], receivers, at), receivers


def test_the_level_by_hand() -> None:
    """10 dBm, 3 m of free space at 500 MHz 35.97 dB, antenna 6 dBi: -19.97 dBm each.

    IIP3 = 27 - 10 = 17 dBm; 3 x -19.97 - 2 x 17 = -93.91 dBm.
    """
    near = near_products(*budget_of(500.0))
    assert abs(near.level_dbm - -93.91) <= 0.02  # each level above is rounded to 0.01 dB
    assert near.on_carriers == 0


@pytest.mark.parametrize(
    ("frequencies_mhz", "met"),
    [
        ((500.0, 500.4, 500.8), 2),  # 2 x 500.4 - 500.0 and 2 x 500.4 - 500.8
        ((500.0, 500.4, 501.0), 0),  # 499.0, 499.6, 499.8, 500.8, 501.6, 502.0
        ((500.0, 500.4, 500.9), 2),  # 500.8 and 499.9 lie 0.1 MHz off, under the 0.2 of a carrier
    ],
)
def test_whom_they_meet(frequencies_mhz: tuple[float, ...], met: int) -> None:
    budget, receivers = budget_of(*frequencies_mhz)
    near = near_products(budget, receivers)
    assert near.on_carriers == met
    found = list(near_findings(budget, receivers, where="Rack A"))
    assert bool(found) == (met > 0)
    for row in found:
        assert f"on {met} of the carriers planned" in row.text
        assert "less gain" in row.advice


def test_farther_from_the_stage_they_fall_three_decibels_for_one() -> None:
    near, _ = budget_of(500.0, near_m=3.0)
    far, receivers = budget_of(500.0, near_m=4.5)
    change = float(near.antenna.near_dbm[0] - far.antenna.near_dbm[0])
    levels = near_products(near, receivers).level_dbm - near_products(far, receivers).level_dbm
    assert abs(levels - 3 * change) <= 1e-9
