"""Second check of the P.1546 curves: no gaps, physics, spot values."""

from __future__ import annotations

import numpy as np
import pytest

from planner.tables import read_table

TABLE = read_table("itu_p1546_curves")
HEIGHTS = [name for name in TABLE if name.startswith("field_")]
FIELDS = np.array([TABLE[name] for name in HEIGHTS], dtype=np.float64)
KEYS = list(zip(TABLE["path"], TABLE["time_percent"], TABLE["frequency_mhz"], strict=True))


def test_every_curve_has_the_same_78_distances() -> None:
    wanted = {
        (path, time, band)
        for band in ("100", "600", "2000")
        for path, times in (
            ("land", ("1", "10", "50")),
            ("cold-sea", ("1", "10")),
            ("warm-sea", ("1", "10")),
            ("sea", ("50",)),
        )
        for time in times
    }
    assert set(KEYS) == wanted
    grids = {
        tuple(d for d, k in zip(TABLE["distance_km"], KEYS, strict=True) if k == key)
        for key in wanted
    }
    assert len(grids) == 1
    grid = [float(text) for text in grids.pop()]
    assert (len(grid), grid[0], grid[-1]) == (78, 1.0, 1000.0)
    assert np.all(np.diff(grid) > 0)


def test_farther_is_weaker() -> None:
    for key in set(KEYS):
        rows = [k == key for k in KEYS]
        assert np.all(np.diff(FIELDS[:, rows], axis=1) < 0), key


def test_nothing_is_above_the_ceiling() -> None:
    distance = np.array(TABLE["distance_km"], dtype=np.float64)
    time = np.array(TABLE["time_percent"], dtype=np.float64)
    sea = np.array([path != "land" for path in TABLE["path"]])
    free = 106.9 - 20 * np.log10(distance)
    most = free + sea * 2.38 * (1 - np.exp(-distance / 8.94)) * np.log10(50 / time)
    assert np.all(most + 0.0001 >= FIELDS), "half a unit of the fourth decimal"


def test_seldom_is_stronger() -> None:
    place = {
        (key, distance): n
        for n, (key, distance) in enumerate(zip(KEYS, TABLE["distance_km"], strict=True))
    }
    for (path, time, band), distance in place:
        other = {"1": (path, "10"), "10": ("land" if path == "land" else "sea", "50")}.get(time)
        if other:
            stronger = FIELDS[:, place[(path, time, band), distance]]
            weaker = FIELDS[:, place[(*other, band), distance]]
            assert np.all(stronger >= weaker - 0.0001), (path, time, band, distance)


@pytest.mark.parametrize(
    ("path", "time", "band", "distance", "height", "field"),
    [
        ("land", "50", "100", "1", "field_10_m", 89.9759),
        ("land", "50", "100", "1", "field_75_m", 97.3845),
    ],
)
def test_spot_values(
    path: str, time: str, band: str, distance: str, height: str, field: float
) -> None:
    rows = [
        n
        for n, key in enumerate(KEYS)
        if key == (path, time, band) and TABLE["distance_km"][n] == distance
    ]
    assert len(rows) == 1
    assert float(TABLE[height][rows[0]]) == pytest.approx(field, abs=0.00005)
