"""Recommendation ITU-R P.1546-6 against its own reference code.

``data/itu_p1546_fields.csv``: 450 fields for 1 kW ERP, computed with the reference implementation
published with P.1546-6 (2019), without terrain data: land, cold and warm sea, mixed paths.
``CEILINGS``: greatest fields tabulated with the Recommendation (annexes 2 to 4).
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from planner.field_strength import p1546
from planner.field_strength.p1546_curves import ceiling_dbuv_m

FIELDS = Path(__file__).parent / "data" / "itu_p1546_fields.csv"
TOLERANCE_DB = 0.01
"""The goal of the check; the figures are printed to 0.00001 dB."""


def rows() -> list[dict[str, str]]:
    with FIELDS.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def share(row: dict[str, str], zone: str) -> float:
    lengths = [float(text) for text in row["path_km"].split(";")]
    zones = row["path_zones"].split(";")
    return sum(km for km, name in zip(lengths, zones, strict=True) if name == zone) / sum(lengths)


def column(name: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([float(row[name]) for row in rows()])


def computed() -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    table = rows()
    distance = [sum(float(km) for km in row["path_km"].split(";")) for row in table]
    field = p1546.field_dbuv_m(
        column("frequency_mhz") * 1e6,
        p1546.Paths(
            distance_km=np.array(distance),
            effective_height_m=column("effective_height_m"),
            cold_sea_share=np.array([share(row, "cold-sea") for row in table]),
            warm_sea_share=np.array([share(row, "warm-sea") for row in table]),
        ),
        time_percent=column("time_percent"),
        receiver=p1546.Receiver(
            height_m=column("receiver_height_m"),
            surroundings=np.array([row["clutter"].lower() for row in table]),
            clutter_height_m=column("clutter_height_m"),
            location_percent=column("location_percent"),
        ),
    )
    return np.asarray(field)


def test_every_field_of_the_reference_code() -> None:
    expected = column("field_dbuvm_1kw")
    assert len(expected) == 450
    worst = np.abs(computed() - expected)
    assert worst.max() <= TOLERANCE_DB, rows()[int(worst.argmax())]


CEILINGS = [
    ("land", 50.0, 1.0, 106.9),
    ("land", 50.0, 7.0, 89.998),
    ("land", 50.0, 20.0, 80.8794),
    ("land", 50.0, 100.0, 66.9),
    ("land", 50.0, 450.0, 53.8358),
    ("land", 50.0, 1000.0, 46.9),
    ("land", 10.0, 1.0, 106.9),
    ("land", 10.0, 7.0, 89.998),
    ("land", 10.0, 20.0, 80.8794),
    ("land", 10.0, 100.0, 66.9),
    ("land", 10.0, 450.0, 53.8358),
    ("land", 10.0, 1000.0, 46.9),
    ("land", 1.0, 1.0, 106.9),
    ("land", 1.0, 7.0, 89.998),
    ("land", 1.0, 20.0, 80.8794),
    ("land", 1.0, 100.0, 66.9),
    ("land", 1.0, 450.0, 53.8358),
    ("land", 1.0, 1000.0, 46.9),
    ("sea", 50.0, 1.0, 106.9),
    ("sea", 50.0, 7.0, 89.998),
    ("sea", 50.0, 20.0, 80.8794),
    ("sea", 50.0, 100.0, 66.9),
    ("sea", 50.0, 450.0, 53.8358),
    ("sea", 50.0, 1000.0, 46.9),
    ("cold-sea", 10.0, 1.0, 107.076),
    ("cold-sea", 10.0, 7.0, 90.9013),
    ("cold-sea", 10.0, 20.0, 82.3653),
    ("cold-sea", 10.0, 100.0, 68.5635),
    ("cold-sea", 10.0, 450.0, 55.4993),
    ("cold-sea", 10.0, 1000.0, 48.5635),
    ("cold-sea", 1.0, 1.0, 107.3279),
    ("cold-sea", 1.0, 7.0, 92.1935),
    ("cold-sea", 1.0, 20.0, 84.4912),
    ("cold-sea", 1.0, 100.0, 70.9435),
    ("cold-sea", 1.0, 450.0, 57.8793),
    ("cold-sea", 1.0, 1000.0, 50.9435),
    ("warm-sea", 10.0, 1.0, 107.076),
    ("warm-sea", 10.0, 7.0, 90.9013),
    ("warm-sea", 10.0, 20.0, 82.3653),
    ("warm-sea", 10.0, 100.0, 68.5635),
    ("warm-sea", 10.0, 450.0, 55.4993),
    ("warm-sea", 10.0, 1000.0, 48.5635),
    ("warm-sea", 1.0, 1.0, 107.3279),
    ("warm-sea", 1.0, 7.0, 92.1935),
    ("warm-sea", 1.0, 20.0, 84.4912),
    ("warm-sea", 1.0, 100.0, 70.9435),
    ("warm-sea", 1.0, 450.0, 57.8793),
    ("warm-sea", 1.0, 1000.0, 50.9435),
]


@pytest.mark.parametrize(("path", "time_percent", "distance_km", "most"), CEILINGS)
def test_ceiling(path: str, time_percent: float, distance_km: float, most: float) -> None:
    found = ceiling_dbuv_m(
        np.array(distance_km), np.array(time_percent), np.array(float(path != "land"))
    )
    assert float(found) == pytest.approx(most, abs=0.0001), "half a unit of the fourth decimal"
