"""Reach in the United Kingdom on the regulator's real table: near, far, land, sea.

Needs ``shared/open-tv/uk/700-plan-clearance.csv`` and the importer ``ofcom``; skips without them.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from planner.cli import main
from planner.geodesy import direct
from planner.intake.stations.importers import IMPORTERS
from planner.intake.stations.loading import load_station_tables
from planner.reach import compute_reach
from tests.unit.builders import stop
from tests.unit.test_reach_world import World

if TYPE_CHECKING:
    from planner.records import StationTable

SOURCE = Path(__file__).resolve().parents[3] / "shared/open-tv/uk/700-plan-clearance.csv"
pytest.importorskip("global_land_mask", reason="the land and sea mask is not installed")


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> StationTable:
    if not SOURCE.is_file():
        pytest.skip("needs the folder shared/ beside the checkout")
    if "ofcom" not in IMPORTERS:
        pytest.skip("needs the importer ofcom")
    made = tmp_path_factory.mktemp("uk") / "uk.csv"
    arguments = ["passband", "stations", str(SOURCE), "--from", "ofcom", "--out", str(made)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.argv", arguments)
        with pytest.raises(SystemExit) as stopped:
            main()
    assert not stopped.value.code
    return load_station_tables([made])


def at(table: StationTable, name: str, azimuth_deg: float, distances_km: list[float]) -> list[int]:
    """Return how many channels of a main mast are held at each distance."""
    mine = np.flatnonzero((table.name == name) & (table.erp_kw >= 100.0))
    assert mine.size
    first = mine[0]
    stops = []
    for km in distances_km:
        lat, lon = direct(table.lat_deg[first], table.lon_deg[first], azimuth_deg, km)
        stops.append(stop(country="GB", lat_deg=float(lat), lon_deg=float(lon)))
    reach = compute_reach(stops, table, [World()] * len(stops))
    held = (reach.outside_law_km <= 0.0) & np.isin(reach.station, mine)
    return [int((held & (reach.stop == n)).sum()) for n in range(len(stops))]


@pytest.mark.parametrize(
    ("name", "azimuth_deg"),
    [("Sandy Heath", 270), ("Sandy Heath", 350), ("Crystal Palace", 315), ("Crystal Palace", 270)],
)
def test_a_main_mast_over_land(table: StationTable, name: str, azimuth_deg: float) -> None:
    assert at(table, name, azimuth_deg, [12.0, 30.0, 60.0, 120.0]) == [6, 6, 6, 0]


def test_a_main_mast_on_a_hill_holds_over_120_km_of_sea(table: StationTable) -> None:
    assert at(table, "Durris", 105.0, [120.0])[0] > 0


def test_every_site_of_10_w_holds_its_own_channels_at_2_km(
    table: StationTable, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("planner.reach.table.MODEL_LIMIT_KM", 5.0)  # the others do not matter
    strong = np.flatnonzero(table.erp_kw >= 0.01)
    places = np.stack([table.lat_deg[strong], table.lon_deg[strong]], axis=1)
    sites = np.unique(places, axis=0)
    lat, lon = direct(sites[:, 0], sites[:, 1], 90.0, 2.0)
    stops = [
        stop(country="GB", lat_deg=float(y), lon_deg=float(x))
        for y, x in zip(lat, lon, strict=True)
    ]
    reach = compute_reach(stops, table, [World()] * len(stops))
    own = (table.lat_deg[reach.station] == sites[reach.stop, 0]) & (
        table.lon_deg[reach.station] == sites[reach.stop, 1]
    )
    own &= table.erp_kw[reach.station] >= 0.01
    assert own.sum() == strong.size
    assert (reach.outside_law_km[own] <= 0.0).all()
