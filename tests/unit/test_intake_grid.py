from __future__ import annotations

import pytest

from planner.intake.stations.grid import (
    BRITISH_EPSG,
    IRISH_EPSG,
    british_metres,
    grid_degrees,
    irish_metres,
)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("TQ33947122", (533_940, 171_220)),
        ("SV 00 00", (0, 0)),
        ("NV45861683", (45_860, 516_830)),
        ("HP60", (460_000, 1_200_000)),
        ("XD90802800", (390_800, -72_000)),
        ("tq3394071220", (533_940, 171_220)),
    ],
)
def test_british_letters(text: str, metres: tuple[float, float]) -> None:
    assert british_metres(text) == metres


@pytest.mark.parametrize("text", ["", "T33947122", "TI33947122", "TQ339471221", "TQ", "TQ33x47122"])
def test_no_british_reference(text: str) -> None:
    assert british_metres(text) is None


@pytest.mark.parametrize("text", ["J287750", "IJ287750", "IJ 287 750"])
def test_irish_letters(text: str) -> None:
    assert irish_metres(text) == (328_700, 375_000)


def test_no_irish_reference() -> None:
    assert irish_metres("") is None
    assert irish_metres("IJ28775") is None


def test_a_point_of_the_british_grid() -> None:
    # A published conversion by Airy ellipsoid and seven parameters; 1e-4 deg is 11 m.
    lat_deg, lon_deg = grid_degrees(BRITISH_EPSG, 533_940, 171_220)
    assert lat_deg == pytest.approx(51.42417, abs=1e-4)
    assert lon_deg == pytest.approx(-0.07494, abs=1e-4)


def test_the_irish_origin_is_where_its_projection_says() -> None:
    # EPSG:29903: 53.5 N, 8 W at (200 km, 250 km) on its own datum; the change to WGS84 is < 150 m.
    lat_deg, lon_deg = grid_degrees(IRISH_EPSG, 200_000, 250_000)
    assert lat_deg == pytest.approx(53.5, abs=0.0015)
    assert lon_deg == pytest.approx(-8.0, abs=0.0022)
