"""The tabulated points of the FCC curves: complete, ordered, and right where checked by hand."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from planner.tables import read_table

MILE_KM = 1.609344
FOOT_M = 0.3048
FEET = (100, 200, 400, 600, 800, 1000, 1250, 1500, 1750, 2000, 3000, 4000, 5000)
MILES = {
    "F(50,50)": (1, 2, 3, 4, 5, *range(10, 201, 10)),
    "F(50,10)": tuple(range(10, 311, 10)),
}
BANDS = ("vhf-low", "vhf-high", "uhf")
GRIDS = list(itertools.product(MILES, BANDS))


def points(curve: str, band: str) -> dict[tuple[float, float], float]:
    table = read_table("fcc_r6602_curves")
    return {
        (float(table["haat_m"][row]), float(table["distance_km"][row])): float(
            table["field_dbuv_m"][row]
        )
        for row in range(len(table["curve"]))
        if (table["curve"][row], table["band"][row]) == (curve, band)
    }


def grid(curve: str, band: str) -> np.ndarray:
    found = points(curve, band)
    heights = sorted({height for height, _ in found})
    distances = sorted({distance for _, distance in found})
    return np.array([[found[height, distance] for distance in distances] for height in heights])


def test_only_these_curves_and_bands() -> None:
    table = read_table("fcc_r6602_curves")
    assert set(zip(table["curve"], table["band"], strict=True)) == set(GRIDS)
    assert len(table["curve"]) == 3 * 13 * (25 + 31)


@pytest.mark.parametrize(("curve", "band"), GRIDS)
def test_grid_is_whole_and_stands_on_round_feet_and_miles(curve: str, band: str) -> None:
    """The printed curves are drawn for heights in feet over distances in miles."""
    found = sorted(points(curve, band))
    expected = sorted((feet * FOOT_M, miles * MILE_KM) for feet in FEET for miles in MILES[curve])
    # Exact, but for 310 miles, which the regulator's table writes 0.2 m short.
    assert np.abs(np.array(found) - np.array(expected)).max() <= 2.5e-4


@pytest.mark.parametrize(("curve", "band"), GRIDS)
def test_farther_is_weaker_and_higher_is_not_weaker(curve: str, band: str) -> None:
    fields = grid(curve, band)
    assert (np.diff(fields, axis=1) < 0).all()
    assert (np.diff(fields, axis=0) >= 0).all()


@pytest.mark.parametrize(("curve", "band"), GRIDS)
def test_fields_lie_below_free_space(curve: str, band: str) -> None:
    for (_, distance_km), field in points(curve, band).items():
        # 47 CFR 73.684(c): about 103 dBu at 1 mile; the points are read to 0.1 dB.
        assert field <= 102.8 - 20 * np.log10(distance_km / MILE_KM) + 0.3


@pytest.mark.parametrize("band", BANDS)
def test_rare_fields_are_stronger(band: str) -> None:
    median, tenth = points("F(50,50)", band), points("F(50,10)", band)
    both = set(median) & set(tenth)
    assert len(both) == 13 * 20
    # At 10 miles the two sheets meet; digitised apart, they may cross by a few tenths of a dB.
    assert all(tenth[point] >= median[point] - 0.5 for point in both)
    assert all(tenth[point] > median[point] for point in both if point[1] > 40)


def test_points_typed_by_hand() -> None:
    """UHF, 1000 feet: 72.0 dBu at 10 miles; 28.3 and 36.7 dBu at 50 miles.

    FCC contours-api-node, commit b9c92ea, its UHF tables, as noted apart from this table.
    """
    median, tenth = points("F(50,50)", "uhf"), points("F(50,10)", "uhf")
    assert median[304.8, 16.09344] == 72.0
    assert median[304.8, 80.4672] == 28.3
    assert tenth[304.8, 80.4672] == 36.7
