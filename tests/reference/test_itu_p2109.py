"""Building entry loss against values of the general library pycraf 2.1 (Rec. ITU-R P.2109)."""

from __future__ import annotations

import csv
from math import log, sqrt
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from planner.field_strength.building import building_types, entry_loss_db

CHECKS = Path(__file__).parent / "data" / "itu_p2109_checks.csv"


def rows() -> list[dict[str, str]]:
    with CHECKS.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def columns(table: list[dict[str, str]]) -> dict[str, np.ndarray]:
    names = ("frequency_ghz", "probability_percent", "elevation_deg", "loss_db")
    return {name: np.array([float(row[name]) for row in table]) for name in names}


def by_rational_normal(probability_percent: float) -> float:
    """Return the probability [%] whose normal deviate is the approximate one of this one.

    The library takes the rational approximation of Rec. ITU-R P.1546-6, annex 5, section 16,
    equation 39, good to 4.5e-4; the planner takes the exact deviate.
    """
    tail = min(probability_percent, 100.0 - probability_percent) / 100.0
    t = sqrt(-2.0 * log(tail))
    above = (0.010328 * t + 0.802853) * t + 2.515517
    below = ((0.001308 * t + 0.189269) * t + 1.432788) * t + 1.0
    deviate = t - above / below
    return 100.0 * NormalDist().cdf(deviate if probability_percent > 50.0 else -deviate)


@pytest.mark.parametrize("building", ["traditional", "thermally-efficient"])
def test_losses(building: str) -> None:
    table = [row for row in rows() if row["building"] == building]
    assert len(table) == 60
    column = columns(table)
    asked = column["probability_percent"]
    approximate = np.array([p if p == 50.0 else by_rational_normal(p) for p in asked])
    # Half the last printed digit; and with exact deviates, the approximation's own error times the
    # greatest spread.
    for probability, tolerance_db in ((approximate, 0.6e-4), (asked, 4.5e-4 * 13.5)):
        loss = entry_loss_db(
            column["frequency_ghz"] * 1e9,
            probability_percent=probability,
            building=building,
            elevation_deg=column["elevation_deg"],
        )
        assert np.abs(loss - column["loss_db"]).max() <= tolerance_db


def test_all_building_types_are_checked() -> None:
    assert {row["building"] for row in rows()} == set(building_types())
