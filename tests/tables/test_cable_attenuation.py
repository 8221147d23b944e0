"""Attenuation of general cable types: physics, military limits, other people's figures."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from planner.errors import OutOfModelRange
from planner.hookup.cables import attenuation_db_100m, cable_loss_db, cable_types
from planner.tables import read_table

TABLE = read_table("cable_attenuation")
COLLECTION = Path(__file__).resolve().parents[3] / "shared" / "reference" / "checks" / "coax.csv"
FEET_100_M = 30.48


def loss_db_100m(name: str, frequency_mhz: float) -> float:
    cable = cable_types()[name]
    return attenuation_db_100m(cable.a, cable.b, frequency_mhz * 1e6)


@pytest.mark.parametrize("name", TABLE["cable"])
def test_loss_is_positive_and_rises_between_root_and_proportional(name: str) -> None:
    cable = cable_types()[name]
    assert cable.a > 0
    assert cable.b >= 0
    ratio = loss_db_100m(name, 1000) / loss_db_100m(name, 250)
    assert 2.0 <= ratio < 4.0  # skin effect alone doubles, dielectric alone quadruples
    assert cable.low_hz < cable.high_hz == 1_000_000_000
    assert cable.impedance_ohm in {50, 75}


def test_thicker_cables_lose_less() -> None:
    order = ("half-inch foam corrugated", "RG-8 foam", "RG-213/U", "RG-8X", "RG-58C/U")
    losses = [loss_db_100m(name, 600) for name in order]
    assert losses == sorted(losses)
    assert loss_db_100m("RG-11 (series 11 foam)", 600) < loss_db_100m("RG-6 (series 6 foam)", 600)


@pytest.mark.parametrize(("name", "limit_db_100ft"), [("RG-58C/U", 28.0), ("RG-213/U", 9.0)])
def test_typical_loss_stays_below_the_military_limit_at_1_ghz(
    name: str, limit_db_100ft: float
) -> None:
    """Limits of MIL-C-17G as reported second-hand, dB per 100 ft."""
    assert loss_db_100m(name, 1000) <= limit_db_100ft * 100 / FEET_100_M


@pytest.mark.parametrize(
    ("name", "frequency_mhz", "expected_db_100m", "tolerance"),
    [
        # printed points of other tables than the fit leans on most; 15 % is the spread of the
        # trade's figures, 30 % for RG-58
        ("RG-58C/U", 1000, 54.0, 0.30),
        ("RG-58C/U", 450, 38.5, 0.30),
        ("RG-213/U", 1000, 8.0 * 100 / FEET_100_M, 0.15),
        ("RG-214/U", 600, 20.0, 0.15),
        ("RG-8X", 450, 28.215, 0.15),
        ("RG-8 foam", 850, 17.06, 0.15),
        ("half-inch foam corrugated", 850, 6.759, 0.15),
        ("RG-11 (series 11 foam)", 865, 13.058, 0.15),
        # from memory, generic attenuation table: beyond the two fitted points
        ("RG-59B/U", 400, 22.966, 0.15),
    ],
)
def test_printed_points(
    name: str, frequency_mhz: float, expected_db_100m: float, tolerance: float
) -> None:
    assert abs(loss_db_100m(name, frequency_mhz) / expected_db_100m - 1) <= tolerance


def test_a_length_and_the_span_of_the_figures() -> None:
    # 0.6165 sqrt(600) + 0.00669 x 600 = 15.1011 + 4.014 = 19.1151 dB per 100 m, by hand
    assert abs(cable_loss_db("RG-213/U", 50, 600e6) - 9.5576) <= 5e-4
    assert cable_loss_db("RG-213/U", 0, 600e6) == 0
    with pytest.raises(OutOfModelRange, match=r"frequency_hz 2e\+09"):
        cable_loss_db("RG-213/U", 50, 2e9)
    with pytest.raises(OutOfModelRange, match=r"length_m -1"):
        cable_loss_db("RG-213/U", -1, 600e6)


def test_coefficients_are_those_of_the_collection() -> None:
    if not COLLECTION.is_file():
        pytest.skip("the collection of published points is not beside the checkout")
    fits: dict[str, tuple[str, str]] = {}
    with COLLECTION.open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            match = re.match(r"FIT computed here: ([\d.]+)\*sqrt\(f\)\+([\d.]+)\*f", row["source"])
            if match:
                fits[row["cable"].lower().removesuffix(" 50 ohm")] = (match[1], match[2])
    mine = {
        name.lower(): (a, b)
        for name, a, b in zip(TABLE["cable"], TABLE["a"], TABLE["b"], strict=True)
    }
    assert mine == fits
