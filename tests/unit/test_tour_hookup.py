"""``[hookup]`` of a tour file, and what a plan makes of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.intake.faults import FaultList
from planner.intake.tour_hookup import check_hookup_parts, load_hookup_parts, read_hookup
from planner.records.hookup import HookupSpec
from tests.unit.hookup_cases import demo_parts

DATA = Path(__file__).resolve().parents[2] / "data"
NEEDS = ("vocals", "ears")


def read(**keys: object) -> tuple[HookupSpec | None, list[str]]:
    faults = FaultList("tour.toml")
    values = {"parts": "parts.csv", "cable": "RG-8X"} | keys
    spec = read_hookup({"hookup": values}, faults, needs=NEEDS)
    if spec is not None and not len(faults):
        check_hookup_parts(spec, demo_parts(), faults)
    return spec, [fault.line() for fault in faults.faults]


def test_without_the_table_there_is_none() -> None:
    faults = FaultList("tour.toml")
    assert read_hookup({}, faults, needs=NEEDS) is None
    assert not len(faults)


def test_defaults_and_every_key() -> None:
    spec, faults = read()
    assert not faults
    assert spec == HookupSpec(
        racks=spec.racks if spec else (), parts_file="parts.csv", cable="RG-8X"
    )
    assert [rack.name for rack in spec.racks] == ["Rack 1"]
    spec, faults = read(
        antenna="Directional 470-700",
        antenna_azimuth_deg=90,
        distribution="powered",
        near_m=4,
        far_m=40,
        lead_m=2,
        spares=2,
        mains="GB",
        gain_low_db=0,
        gain_high_db=4,
        transmit_areas=["stage", "ramp"],
        opposite=True,
        rack=[
            {"name": "A", "needs": ["vocals"], "receivers": 6, "cables_m": [20, 25]},
            {"zones": ["stage", "ramp"], "zone_cables_m": [10, 60], "cable": "RG-213/U"},
        ],
    )
    assert not faults
    assert spec is not None
    assert spec.limits.gain_low_binds
    assert spec.limits.gain_high_db == 4
    assert spec.transmit.opposite
    assert spec.transmit.areas == ("stage", "ramp")
    first, second = spec.racks
    assert (first.receivers, first.cables_m) == (6, (20.0, 25.0))
    assert second.name == "Rack 2"
    assert second.length_m(0, 1) == 60.0


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ({"cabel": "x"}, 'did you mean "cable"?'),
        ({"cable": "RG-8"}, 'did you mean "RG-8X"?'),
        ({"antenna": "Directional"}, "[hookup], antenna"),
        ({"far_m": 1, "near_m": 5}, "near_m not beyond far_m"),
        ({"gain_low_db": 8}, "in ascending order"),
        ({"mains": "UK"}, "[hookup], mains"),
        ({"distribution": "active"}, "any / powered / passive"),
        ({"avoid": ["nothing"]}, "parts of the catalogue"),
        ({"rack": [{"needs": ["vocal"]}]}, 'did you mean "vocals"?'),
        ({"rack": [{"cables_m": [30]}]}, "two lengths, of branch A and B"),
        ({"rack": [{"cable_m": 30, "cables_m": [30, 30]}]}, "cable_m or cables_m"),
        ({"rack": [{"zone_cables_m": [30, 40]}]}, "one length for each zone"),
        ({"rack": [{"name": "x"}, {"name": "x"}]}, "each name once"),
        ({"rack": [{"cable_m": "30"}]}, "a number from 0.5 to 2000 m"),
        ({"rack": {"name": "x"}}, "headed [[rack]]"),
    ],
)
def test_a_fault_names_the_key_and_what_is_allowed(keys: dict[str, object], expected: str) -> None:
    _, faults = read(**keys)
    assert any(expected in line for line in faults), faults


def test_a_missing_catalogue_is_one_fault() -> None:
    spec = HookupSpec(racks=(), parts_file="no-such.csv")
    parts, records, faults = load_hookup_parts(DATA, spec)
    assert (parts, records) == ((), ())
    (fault,) = faults
    assert "no-such.csv" in fault.line()
    parts, (record,), faults = load_hookup_parts(DATA, HookupSpec(racks=(), parts_file="parts.csv"))
    assert record.rows == len(parts) == len(demo_parts())
    assert not faults
